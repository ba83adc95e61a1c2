package drawing

import (
	"cmp"
	"fmt"
	"html"
	"math"
	"strconv"
	"strings"

	"telltale/cmd/internal/doc"
)

// Width is that of a picture across the page in CSS pixels; 680 of them are
// 180 mm on paper.
const Width = 680

// HandWidth is that of a picture that stands beside a step: 80 mm on paper.
const HandWidth = 302

// pixelsPerMetre is the size of a CSS pixel on paper: 96 to the inch (CSS
// Values and Units Module, absolute lengths).
const pixelsPerMetre = 96 / 0.0254

// textSize is that of all text in a picture, in CSS pixels: 9.4 pt on paper.
const textSize = 12.5

// lineHeight is the distance between two lines of text.
const lineHeight = 16

// How things are drawn.
const (
	thin   = `fill="none" stroke="#000" stroke-width="1"`
	solid  = `fill="none" stroke="#000" stroke-width="1.8"`
	heavy  = `fill="none" stroke="#000" stroke-width="3"`
	dashed = `fill="none" stroke="#000" stroke-width="1.8" stroke-dasharray="6 4"`
	dotted = `fill="none" stroke="#000" stroke-width="1.6" stroke-dasharray="1.5 4"`
	chain  = `fill="none" stroke="#000" stroke-width="0.9" stroke-dasharray="12 3 2 3"`
	hatch  = `fill="none" stroke="#000" stroke-width="0.8"`
	white  = `fill="#fff" stroke="#000" stroke-width="1.8"`
	black  = `fill="#000" stroke="none"`
)

// canvas collects the marks of a picture.
type canvas struct {
	marks  strings.Builder
	height float64
	width  int // 0 is Width
}

// number prints a coordinate to a tenth. A tie is pushed up, so that the last
// digit of a sum does not depend on the processor.
func number(x float64) string {
	tenths := math.Floor(x*10 + 0.5 + 1e-6)
	if tenths == 0 {
		return "0"
	}
	return strconv.FormatFloat(tenths/10, 'f', -1, 64)
}

func (c *canvas) reach(y float64) { c.height = math.Max(c.height, y) }

func (c *canvas) line(x1, y1, x2, y2 float64, style string) {
	c.reach(math.Max(y1, y2))
	fmt.Fprintf(&c.marks, `<line x1="%s" y1="%s" x2="%s" y2="%s" %s/>`+"\n", number(x1), number(y1), number(x2), number(y2), style)
}

func (c *canvas) rect(x, y, w, h float64, style string) {
	c.reach(y + h)
	fmt.Fprintf(&c.marks, `<rect x="%s" y="%s" width="%s" height="%s" %s/>`+"\n", number(x), number(y), number(w), number(h), style)
}

func (c *canvas) circle(x, y, r float64, style string) {
	c.reach(y + r)
	fmt.Fprintf(&c.marks, `<circle cx="%s" cy="%s" r="%s" %s/>`+"\n", number(x), number(y), number(r), style)
}

// point is a place on the canvas.
type point struct{ x, y float64 }

func (c *canvas) path(points []point, style string) {
	var d []string
	for i, p := range points {
		c.reach(p.y)
		letter := "L"
		if i == 0 {
			letter = "M"
		}
		d = append(d, letter+number(p.x)+" "+number(p.y))
	}
	fmt.Fprintf(&c.marks, `<path d="%s" %s/>`+"\n", strings.Join(d, " "), style)
}

// How text stands to its place.
const (
	start  = "start"
	middle = "middle"
	end    = "end"
)

// write puts one line of text with its foot at y.
func (c *canvas) write(x, y float64, anchor, text, more string) {
	if text == "" {
		return
	}
	c.reach(y + 4)
	fmt.Fprintf(&c.marks, `<text x="%s" y="%s" text-anchor="%s"%s>%s</text>`+"\n", number(x), number(y), anchor, more, html.EscapeString(text))
}

func (c *canvas) text(x, y float64, anchor, text string) { c.write(x, y, anchor, text, "") }
func (c *canvas) bold(x, y float64, anchor, text string) {
	c.write(x, y, anchor, text, ` font-weight="bold"`)
}

// axis writes what belongs to the scale of a chart and is no figure of the
// case.
func (c *canvas) axis(x, y float64, anchor, text string) {
	c.write(x, y, anchor, text, ` class="axis"`)
}

// columns is how many letters surely fit a width: the widest fonts in use take
// 0.62 of their size for a letter, bold ones 0.69 (measured on DejaVu Sans).
func columns(width float64) int { return max(1, int(width/(textSize*0.62))) }

func boldColumns(width float64) int { return max(1, int(width/(textSize*0.69))) }

// wrap breaks text to a width in letters.
func wrap(text string, columns int) []string { return doc.Wrap(text, columns, columns) }

// block writes lines of text one below the other, the first with its foot at
// y, and gives the foot of the next one.
func (c *canvas) block(x, y float64, anchor string, lines []string, put func(x, y float64, anchor, text string)) float64 {
	for _, line := range lines {
		put(x, y, anchor, line)
		y += lineHeight
	}
	return y
}

// shaded draws a rectangle filled with slanting lines, a gap apart.
func (c *canvas) shaded(x, y, w, h, gap float64) {
	c.rect(x, y, w, h, white)
	for d := gap; d < w+h; d += gap { // the line u+v = d in the rectangle's own axes
		c.line(x+math.Min(d, w), y+math.Max(0, d-w), x+math.Max(0, d-h), y+math.Min(d, h), hatch)
	}
}

// hatchedDisc fills a circle with slanting lines.
func (c *canvas) hatchedDisc(x, y, r, gap float64) {
	const slant = math.Sqrt2 / 2
	for d := -r + gap/2; d < r; d += gap {
		half := math.Sqrt(math.Max(0, r*r-d*d))
		c.line(x+d*slant-half*slant, y+d*slant+half*slant, x+d*slant+half*slant, y+d*slant-half*slant, hatch)
	}
}

// picture closes the canvas.
func (c *canvas) picture(name, title, key string, says ...string) doc.Figure {
	p := doc.Figure{Name: name, Title: title, Key: key, Says: says}
	height, width := math.Ceil(c.height+6), cmp.Or(c.width, Width)
	var out strings.Builder
	fmt.Fprintf(&out, `<svg role="img" aria-labelledby="%s-t %s-d" width="%d" height="%s" viewBox="0 0 %d %s" font-family="Arial, Helvetica, 'Liberation Sans', 'DejaVu Sans Condensed', 'DejaVu Sans', sans-serif" font-size="%s" fill="#000">`+"\n",
		name, name, width, number(height), width, number(height), number(textSize))
	fmt.Fprintf(&out, "<title id=\"%s-t\">%s</title>\n<desc id=\"%s-d\">%s</desc>\n", name, html.EscapeString(title), name, html.EscapeString(p.Words()))
	out.WriteString(c.marks.String())
	out.WriteString("</svg>")
	p.SVG = out.String()
	return p
}

// times picks the largest enlargement from a list with which size still fits
// most; 0 if none does.
func times(size, most float64, list ...float64) float64 {
	best := 0.0
	for _, t := range list {
		if size*t <= most*(1+1e-9) {
			best = t
		}
	}
	return best
}
