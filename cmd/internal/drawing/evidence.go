package drawing

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"telltale/cmd/internal/doc"
)

// Evidence is what speaks for and against causes.
type Evidence struct {
	Name   string
	Causes []Cause
}

// Cause is one cause with the weight of each finding.
type Cause struct {
	Title   string // with its chance in words
	Reasons []Reason
}

// Reason is a finding's weight in decibans, above zero for the cause.
type Reason struct {
	Text     string
	Decibans float64
	Words    string // how strongly
}

// The columns of the bars.
const (
	reasonText = 336.0 // beside a bar that speaks against
	barZero    = 508.0
	barRoom    = 96.0
)

const nothingSpeaks = "no finding speaks for or against it"

// Draw draws a bar for each finding, to the right for a cause, to the left
// against it, all to one scale.
func (e *Evidence) Draw() doc.Figure {
	c := &canvas{}
	most := 0.0
	for _, cause := range e.Causes {
		for _, r := range cause.Reasons {
			most = math.Max(most, math.Abs(r.Decibans))
		}
	}
	c.text(barZero-8, 12, end, "speaks against")
	c.text(barZero+8, 12, start, "speaks for")
	var says []string
	y := 20.0
	for _, cause := range e.Causes {
		y += 8
		y = c.block(0, y+12, start, wrap(cause.Title, boldColumns(Width)), c.bold) - 8
		if len(cause.Reasons) == 0 {
			c.text(8, y+14, start, nothingSpeaks)
			y += lineHeight
		}
		top := y
		for _, r := range cause.Reasons {
			y = bar(c, y, r, most)
		}
		c.line(barZero, top, barZero, y, solid)
		says = append(says, cause.Title+": "+e.words(cause)+".")
	}
	return c.picture(e.Name, "What speaks for and against the first causes", "A longer bar speaks more strongly. Hatched bars speak for the cause, white ones against it.", says...)
}

// bar draws one finding with its head at y and gives its foot.
func bar(c *canvas, y float64, r Reason, most float64) float64 {
	room := barZero - 16
	if r.Decibans < 0 {
		room = reasonText
	}
	lines := wrap(r.Text, columns(room))
	c.block(8, y+14, start, lines, c.text)
	width := 0.0
	if most > 0 {
		width = math.Abs(r.Decibans) / most * barRoom
	}
	if r.Decibans < 0 {
		c.rect(barZero-width, y+4, width, 12, white)
		c.text(barZero-width-5, y+15, end, r.Words)
	} else {
		c.shaded(barZero, y+4, width, 12, 5)
		c.text(barZero+width+5, y+15, start, r.Words)
	}
	return y + math.Max(float64(len(lines))*lineHeight, 18) + 4
}

func (e *Evidence) words(cause Cause) string {
	said := doc.Each(cause.Reasons, func(r Reason) string {
		return fmt.Sprintf("%s speaks %s %s it", r.Text, r.Words, cmp.Or(doc.If(r.Decibans < 0, "against"), "for"))
	})
	return cmp.Or(strings.Join(said, "; "), nothingSpeaks)
}
