package drawing

import (
	"math"

	"telltale/cmd/internal/doc"
)

// Pictures that show how a thing is done by hand, each beside its step. They
// are the same for every pump, so they hold no figure; what belongs to this
// pump's manual is said to stand there.

// How far such a picture can be taken at its word.
const (
	schematic = "Schematic, not to scale. Common practice, no source."
	toTheFore = "Seen looking toward the fluid end."
)

// handCanvas is an empty picture beside a step.
func handCanvas() *canvas { return &canvas{width: HandWidth} }

// shape draws an outline that is closed.
func (c *canvas) shape(points []point, style string) {
	c.path(append(append([]point{}, points...), points[0]), style)
}

// head is the head of an arrow at a point, coming from another one.
func (c *canvas) head(from, to point) {
	long := math.Hypot(to.x-from.x, to.y-from.y)
	ux, uy := (to.x-from.x)/long, (to.y-from.y)/long
	const size = 8
	bx, by := to.x-size*ux, to.y-size*uy
	c.shape([]point{to, {bx - size/2*uy, by + size/2*ux}, {bx + size/2*uy, by - size/2*ux}}, black)
}

// arrow draws a line with a head at its end.
func (c *canvas) arrow(from, to point, style string) {
	c.line(from.x, from.y, to.x, to.y, style)
	c.head(from, to)
}

// round gives the points of a piece of a circle, its angles in degrees from the
// right, clockwise as seen.
func round(x, y, r, from, to float64) []point {
	const pieces = 24
	var out []point
	for i := range pieces + 1 {
		a := (from + (to-from)*float64(i)/pieces) * math.Pi / 180
		out = append(out, point{x + r*math.Cos(a), y + r*math.Sin(a)})
	}
	return out
}

// turned is an arrow along a piece of a circle.
func (c *canvas) turned(x, y, r, from, to float64, style string) {
	p := round(x, y, r, from, to)
	c.path(p, style)
	c.head(p[len(p)-4], p[len(p)-1])
}

// crossed strikes something out.
func (c *canvas) crossed(x, y, w, h float64) {
	c.line(x, y, x+w, y+h, heavy)
	c.line(x, y+h, x+w, y, heavy)
}

// ticked is the mark of what is right.
func (c *canvas) ticked(x, y float64) {
	c.path([]point{{x, y - 5}, {x + 4, y}, {x + 12, y - 12}}, heavy)
}

// struck is the mark of what is wrong.
func (c *canvas) struck(x, y float64) { c.crossed(x, y-11, 11, 11) }

// spot is a number in a ring: a place to look at, or the order of doing.
func (c *canvas) spot(x, y float64, label string) {
	c.circle(x, y, 9, white)
	c.write(x, y+4.5, middle, label, ` font-weight="bold" class="axis"`)
}

// fourPoints are the points round a circle in the order in which they are
// taken: each one across from the one before it, then the other pair.
var fourPoints = []struct {
	label, name  string
	right, below float64
}{{"1", "top", 0, -1}, {"2", "bottom", 0, 1}, {"3", "left", -1, 0}, {"4", "right", 1, 0}}

// crosswise writes the points around a circle, with their numbers and names.
func (c *canvas) crosswise(x, y, r float64) {
	for _, p := range fourPoints {
		px, py := x+p.right*r, y+p.below*r
		c.spot(px, py, p.label)
		if p.right < 0 || p.below > 0 {
			c.text(px-13, py+4, end, p.name)
		} else {
			c.text(px+13, py+4, start, p.name)
		}
	}
}

// RoundFlange shows where the feeler leaf is tried round the flange of an
// extension rod.
func RoundFlange() doc.Figure {
	c := handCanvas()
	// From the side: crosshead, flange, rod, the leaf at the joint.
	c.shaded(0, 44, 34, 96, 7)
	c.rect(36, 48, 14, 88, white)
	c.rect(50, 80, 52, 24, white)
	for _, y := range []float64{62, 122} {
		c.rect(50, y-6, 10, 12, white)
		c.line(8, y, 62, y, chain)
	}
	c.line(35, 12, 35, 68, heavy)
	c.text(42, 22, start, "leaf")
	c.text(0, 158, start, "crosshead")
	c.text(52, 40, start, "flange")
	c.line(62, 44, 46, 54, thin)
	// Looking along the rod.
	const x, y, r = 196.0, 92.0, 44.0
	c.circle(x, y, r, white)
	for a := 45.0; a < 360; a += 90 {
		p := round(x, y, 31, a, a)[0]
		c.circle(p.x, p.y, 6, white)
	}
	c.circle(x, y, 18, white)
	c.hatchedDisc(x, y, 18, 7)
	c.circle(x, y, 18, solid)
	c.line(x, y-r, x, y+r, chain)
	c.line(x-r, y, x+r, y, chain)
	c.crosswise(x, y, r+10)
	c.turned(x, y, r+10, 18, 70, thin)
	c.text(HandWidth, y+78, end, "then all round")
	c.bold(0, 190, start, "Right: no leaf enters anywhere.")
	return c.picture("round-flange", "Feeler leaf round the flange", toTheFore+" "+schematic,
		"Wipe the joint. Try the thinnest leaf between the flange and the crosshead face: 1 top, 2 bottom, 3 left, 4 right, each across from the one before, then all round.",
		"Right: no leaf enters anywhere. A gap on one side only and a gap all round are two findings: write down which.")
}

// RoundRod shows where the gap round an extension rod is measured.
func RoundRod() doc.Figure {
	c := handCanvas()
	const x, y = 151.0, 94.0
	openingAt(c, x, y)
	rodAt(c, x, y)
	for _, p := range fourPoints { // a leaf in each gap
		c.line(x+p.right*rodRadius, y+p.below*rodRadius, x+p.right*openingRadius, y+p.below*openingRadius, heavy)
	}
	c.crosswise(x, y, openingRadius+14)
	c.text(0, 30, start, "opening")
	c.line(50, 32, x-openingRadius*0.76, y-openingRadius*0.65, thin)
	c.text(HandWidth, 30, end, "extension rod")
	c.line(232, 34, x+rodRadius*0.6, y-rodRadius*0.7, thin)
	c.block(0, 196, start, []string{"Top plus bottom must come out the same", "at back, middle and front."}, c.text)
	return c.picture("round-rod", "Feeler points round the rod", toTheFore+" "+schematic,
		"Measure the gap between rod and opening: 1 top, 2 bottom, 3 left, 4 right, each across from the one before.",
		"Do it with the crosshead at back, middle and front. Top plus bottom must come out the same each time, else measure again.")
}
