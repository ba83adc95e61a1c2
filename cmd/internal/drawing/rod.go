package drawing

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
)

// Mark is a length in metres with the figure that stands beside it.
type Mark struct {
	Metres float64
	Label  string
}

// Rod is a rod in its opening, with the crosshead at up to three positions.
type Rod struct {
	Name      string // unique on the page
	Cylinder  string // "cylinder 2"
	Unit      string // of the labels
	After     string // how what is foreseen is called: "after the shims"
	Title     string // of the opening; "" if there is one alone
	Positions []RodPosition
}

// RodPosition is the clearances with the crosshead at one place, as seen
// looking toward the fluid end; nil was not read.
type RodPosition struct {
	Name                     string // back, middle, front
	Suspect                  bool
	Top, Bottom, Left, Right *Mark
	Height, Side             *Mark        // of the rod's centre over the opening's; toward the right; without a label only drawn
	After                    *RodPosition // what is foreseen: top, bottom and height
}

// Open adds the places of the crosshead that nobody read yet; they are drawn open.
func (r *Rod) Open() {
	var all []RodPosition
	for _, name := range positions {
		p := RodPosition{Name: name}
		if i := slices.IndexFunc(r.Positions, func(read RodPosition) bool { return read.Name == name }); i >= 0 {
			p = r.Positions[i]
		}
		all = append(all, p)
	}
	r.Positions = all
}

// The drawing of one opening: radius of the opening and of the rod, so that a
// rod in the centre has the same gap all round.
const (
	openingRadius = 58
	rodRadius     = 34
	meanGap       = openingRadius - rodRadius
	cellWidth     = Width / 3.0
)

// shift is how far the rod's centre stands from the opening's, as a share of
// the gap that a rod in the centre would have.
func (p *RodPosition) shift() (right, up float64) {
	return share(p.Side, p.Left, p.Right), share(p.Height, p.Top, p.Bottom)
}

func share(off, a, b *Mark) float64 {
	if off == nil || a == nil || b == nil || a.Metres+b.Metres <= 0 {
		return 0
	}
	return off.Metres / ((a.Metres + b.Metres) / 2)
}

// exaggeration is how many times larger the rods' shift is drawn than the gaps
// around them, alike for the whole picture.
func (r *Rod) exaggeration() float64 {
	most := 0.0
	for _, p := range r.Positions {
		most = math.Max(most, math.Hypot(p.shift()))
		if p.After != nil {
			most = math.Max(most, math.Hypot(p.After.shift()))
		}
	}
	return math.Max(1, times(most, 0.8, 1, 2, 3, 5, 10))
}

// Draw draws the rod in its opening at every position.
func (r *Rod) Draw() doc.Figure {
	c, e := &canvas{}, r.exaggeration()
	says, y := []string{}, 16.0
	if r.Title != "" {
		c.bold(0, y, start, r.Title)
		says = append(says, r.Title+":")
		y += 20
	}
	foot, key := y, "Hatched: the rod as measured."
	for i := range r.Positions {
		p := &r.Positions[i]
		foot = math.Max(foot, r.cell(c, float64(i)*cellWidth+cellWidth/2, y, p, e))
		says = append(says, r.sayPosition(p))
	}
	if slices.ContainsFunc(r.Positions, func(p RodPosition) bool { return p.After != nil }) {
		key += " Dashed: the rod " + r.After + ", as reckoned."
	}
	scale := fmt.Sprintf("The rod's distance from the centre is drawn %.0f times too large against the gaps; rod and opening are not to scale.", e)
	if e == 1 {
		scale = "The rod's distance from the centre is to scale with the gaps; the size of rod and opening is not."
	}
	c.block(0, foot+12, start, wrap(key+" "+scale, columns(Width)), c.text)
	unit := fmt.Sprintf("All figures in %s, seen looking toward the fluid end.", r.Unit)
	return c.picture(r.Name, "The rod in its opening, "+r.Cylinder, unit, append(says, key, scale)...)
}

// cell draws one position with its head at y and gives its foot.
func (r *Rod) cell(c *canvas, x, y float64, p *RodPosition, e float64) float64 {
	name := "Crosshead at the " + p.Name
	if p.Suspect {
		name += " ?"
	}
	c.bold(x, y, middle, name)
	c.text(x, y+18, middle, labelled("top", p.Top))
	top := y + 26
	cy := top + openingRadius
	openingAt(c, x, cy)
	right, up := p.shift()
	rx, ry := place(right, up, e)
	if p.Height != nil || p.Side != nil {
		rodAt(c, x+rx, cy-ry)
		c.circle(x+rx, cy-ry, 2.5, black)
	} else {
		c.circle(x, cy, rodRadius, dotted)
	}
	if p.After != nil {
		_, up := p.After.shift()
		ax, ay := place(right, up, e)
		c.circle(x+ax, cy-ay, rodRadius, dashed)
	}
	if p.Left != nil {
		c.text(x-openingRadius-8, cy-6, end, "left")
		c.text(x-openingRadius-8, cy+16, end, p.Left.Label)
	}
	if p.Right != nil {
		c.text(x+openingRadius+8, cy-6, start, "right")
		c.text(x+openingRadius+8, cy+16, start, p.Right.Label)
	}
	foot := cy + openingRadius + 17
	c.text(x, foot, middle, labelled("bottom", p.Bottom))
	return c.block(x, foot+lineHeight, middle, r.under(p), c.text)
}

// openingAt draws an opening with its middle lines.
func openingAt(c *canvas, x, y float64) {
	c.circle(x, y, openingRadius, solid)
	c.line(x-openingRadius-6, y, x+openingRadius+6, y, chain)
	c.line(x, y-openingRadius, x, y+openingRadius, chain)
}

// rodAt draws a rod cut across.
func rodAt(c *canvas, x, y float64) {
	c.circle(x, y, rodRadius, `fill="#fff" stroke="none"`)
	c.hatchedDisc(x, y, rodRadius, 9)
	c.circle(x, y, rodRadius, solid)
}

// place is where the rod's centre is drawn: never farther than just past the
// rim.
func place(right, up, e float64) (x, y float64) {
	size := math.Hypot(right, up) * e
	if size > 1.2 {
		e *= 1.2 / size
	}
	return right * e * meanGap, up * e * meanGap
}

func labelled(name string, m *Mark) string {
	if m == nil {
		return name + " not read"
	}
	return name + " " + m.Label
}

// under is what stands below one opening.
func (r *Rod) under(p *RodPosition) []string {
	var out []string
	if p.Suspect {
		out = append(out, "these do not fit: read again")
	}
	for _, m := range []*Mark{p.Height, p.Side} {
		if m != nil && m.Label != "" {
			out = append(out, "rod "+m.Label)
		}
	}
	if p.After != nil {
		out = append(out, r.After+": "+p.After.Height.Label, "top "+p.After.Top.Label+", bottom "+p.After.Bottom.Label)
	}
	return out
}

func (r *Rod) sayPosition(p *RodPosition) string {
	parts := []string{labelled("top", p.Top), labelled("bottom", p.Bottom)}
	if p.Left != nil {
		parts = append(parts, labelled("left", p.Left))
	}
	if p.Right != nil {
		parts = append(parts, labelled("right", p.Right))
	}
	return fmt.Sprintf("Crosshead at the %s: %s.", p.Name, strings.Join(append(parts, r.under(p)...), ", "))
}
