package drawing

import "telltale/cmd/internal/doc"

const screwRadius = 21.0

// wireEnds are where a wire leaves one screw and enters the next, from the
// middle of each, in radii.
type wireEnds struct{ leaves, enters point }

// The two ways. On the right way a pull along the wire turns both screws
// clockwise, the way a right-hand thread tightens; on the wrong way it turns
// both back.
var (
	wireRight = wireEnds{point{0.3, -0.95}, point{-0.3, 0.95}}
	wireWrong = wireEnds{point{0.3, 0.95}, point{-0.3, -0.95}}
)

// LockingWire shows which way the wire between two cap screws runs.
func LockingWire() doc.Figure {
	c := handCanvas()
	c.ticked(46, 16)
	c.bold(64, 16, start, "right")
	c.struck(202, 16)
	c.bold(218, 16, start, "WRONG")
	c.line(151, 4, 151, 118, thin)
	c.pair(32, 66, wireRight)
	c.pair(188, 66, wireWrong)
	c.text(73, 116, middle, "pulls tighter")
	c.text(229, 116, middle, "pulls loose")
	return c.picture("locking-wire", "Which way the locking wire runs", "Right-hand threads, seen on the screw heads. Arrows: the way the wire pulls. "+schematic,
		"Right: the wire goes from the side of one screw to the opposite side of the next, so that a pull on it turns both screws clockwise, tighter.",
		"Wrong: from the other sides the same pull turns both screws back, looser.",
		"New wire, whole, through every cap screw. The ends are turned in. A second person looks at it.")
}

// wireStyle is how the twisted wire is drawn, under its white strands.
const wireStyle = `fill="none" stroke="#000" stroke-width="5"`

// pair draws two cap screws from the middle of the first on, with their wire.
func (c *canvas) pair(x, y float64, w wireEnds) {
	const apart = 82
	from := point{x + w.leaves.x*screwRadius, y + w.leaves.y*screwRadius}
	to := point{x + apart + w.enters.x*screwRadius, y + w.enters.y*screwRadius}
	turn := 50.0 // clockwise
	if w.leaves.y > 0 {
		turn = -turn
	}
	for i, at := range []float64{x, x + apart} {
		c.circle(at, y, screwRadius, white)
		hexagon := round(at, y, 12, 0, 360)
		c.shape([]point{hexagon[0], hexagon[4], hexagon[8], hexagon[12], hexagon[16], hexagon[20]}, thin)
		outside := 180 - 180*float64(i)
		c.turned(at, y, screwRadius+8, outside-turn, outside+turn, solid)
	}
	c.line(from.x, from.y, to.x, to.y, wireStyle)
	c.line(from.x, from.y, to.x, to.y, `fill="none" stroke="#fff" stroke-width="2" stroke-dasharray="3 3"`)
	c.circle(from.x, from.y, 3.5, white)
	c.circle(to.x, to.y, 3.5, white)
}
