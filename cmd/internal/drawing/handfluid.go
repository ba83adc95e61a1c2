package drawing

import (
	"fmt"

	"telltale/cmd/internal/doc"
)

// The stuffing box in section: the rod's middle, the rod, the bore.
const (
	boxMiddle = 100.0
	boxRod    = 15.0
	boxBore   = 39.0
	boxEnd    = 232.0 // the bottom of the box, toward the pressure
)

// PackingOrder shows the rings of a stuffing box in their order.
func PackingOrder() doc.Figure {
	c := handCanvas()
	for _, up := range []float64{-1, 1} {
		band := func(x, w, near, far float64, draw func(x, y, w, h float64)) {
			from, to := boxMiddle+up*near, boxMiddle+up*far
			draw(x, min(from, to), w, max(from, to)-min(from, to))
		}
		styled := func(style string) func(x, y, w, h float64) {
			return func(x, y, w, h float64) { c.rect(x, y, w, h, style) }
		}
		band(64, 196, boxBore, boxBore+14, func(x, y, w, h float64) { c.shaded(x, y, w, h, 7) })
		band(boxEnd, 28, boxRod, boxBore, func(x, y, w, h float64) { c.shaded(x, y, w, h, 7) })
		band(40, 76, boxRod, boxBore, styled(white))       // the gland
		band(30, 12, boxRod, boxBore+14, styled(white))    // its flange
		band(150, 22, boxRod+2, boxBore-2, styled(dashed)) // a lantern ring
		for _, x := range []float64{202, 178, 122} {
			c.ring(x, up)
		}
		c.arrow(point{298, boxMiddle + up*27}, point{266, boxMiddle + up*27}, heavy)
	}
	c.rect(0, boxMiddle-boxRod, HandWidth, 2*boxRod, white)
	c.text(78, boxMiddle+4, start, "piston rod")
	c.bold(HandWidth, 44, end, "pressure")
	for i, x := range []float64{214, 190, 134} {
		c.line(x, 28, x, boxMiddle-boxBore+6, thin)
		c.spot(x, 20, fmt.Sprint(i+1))
	}
	c.text(0, 24, start, "gland")
	c.line(24, 28, 36, 46, thin)
	c.text(228, 24, start, "first in")
	c.line(161, boxMiddle+boxBore-6, 161, 164, thin)
	c.text(151, 176, middle, "lantern ring, only if this box has one")
	// The joints.
	for i, angle := range []float64{-90, 30, 150} {
		x, y := 26+float64(i)*52, 214.0
		c.path(round(x, y, 18, angle+14, angle+346), heavy)
		c.write(x, y+4.5, middle, fmt.Sprint(i+1), ` font-weight="bold" class="axis"`)
	}
	c.text(166, 218, start, "joints staggered")
	c.bold(0, 252, start, "Lips toward the pressure.")
	return c.picture("packing-order", "Packing rings in their order", "Fluid end on the right. How many rings, which, and the place of a lantern ring: this pump's manual. "+schematic,
		"The rings go in from the bottom of the box on: 1 first. Every lip looks toward the pressure.",
		"The joints of split rings are staggered, none in line with the next. A lantern ring only if this box has one.",
		"Gland evenly, not hard.")
}

// ring draws the section of one packing ring, above or below the rod, with its
// lips toward the pressure.
func (c *canvas) ring(x, up float64) {
	const near, far = boxRod + 1.5, boxBore - 1.5
	y := func(from float64) float64 { return boxMiddle + up*from }
	mid := (near + far) / 2
	c.shape([]point{{x, y(mid)}, {x + 16, y(near)}, {x + 24, y(near)}, {x + 9, y(mid)}, {x + 24, y(far)}, {x + 16, y(far)}}, black)
}

// The valve pot in section, from its middle line on: the deck with its taper.
const (
	potMiddle = 100.0
	deckTop   = 146.0
	deckFoot  = 206.0
	taperTop  = 42.0
	taperFoot = 34.0
	deckEdge  = 92.0
)

// ValvePot shows where to look at a valve and its seat.
func ValvePot() doc.Figure {
	c := handCanvas()
	c.shape([]point{{62, 112}, {138, 112}, {138, 134}, {123, 154}, {77, 154}, {62, 134}}, white) // the valve
	for _, side := range []float64{-1, 1} {
		at := func(points ...point) []point {
			for i := range points {
				points[i].x = potMiddle + side*points[i].x
			}
			return points
		}
		c.shape(at(point{taperTop, deckTop}, point{deckEdge, deckTop}, point{deckEdge, deckFoot}, point{taperFoot, deckFoot}), white)
		for a := -24.0; a < deckEdge; a += 7 { // a line that goes up and out from a at the deck's foot
			const high = deckFoot - deckTop
			from, to := max(0, (taperFoot-a)/(1-(taperTop-taperFoot)/high)), min(high, deckEdge-a)
			if from < to {
				p := at(point{a + from, deckFoot - from}, point{a + to, deckFoot - to})
				c.line(p[0].x, p[0].y, p[1].x, p[1].y, hatch)
			}
		}
		c.shape(at(point{43.6, 134}, point{40, 134}, point{25, 154}, point{25, 198}, point{35, 198}), white) // the seat
		c.path(at(point{39, 134}, point{24, 154}), heavy)                                                    // the face
		c.shape(at(point{38, 114}, point{46, 122}, point{41, 131}, point{37, 131}, point{31, 124}), black)   // the insert
		c.shape(at(point{15, 154}, point{15, 190}, point{22, 190}, point{22, 154}), white)                   // the guide
		c.shaded(potMiddle+side*84-8, 46, 16, 100, 6)                                                        // the pot
		c.shaded(potMiddle+side*43-33, 22, 66, 24, 7)                                                        // the cover
	}
	c.rect(potMiddle-6, 30, 12, 82, white)
	var coils []point
	for i := range 8 {
		coils = append(coils, point{potMiddle + 30*float64(1-2*(i%2)), 110 - float64(i)*9})
	}
	c.path(coils, heavy)
	for _, s := range []struct {
		label, text string
		y           float64
		at          point
	}{
		{"4", "cover", 34, point{160, 34}}, {"4", "spring", 72, point{126, 74}}, {"1", "insert", 110, point{141, 123}},
		{"2", "face", 142, point{131, 145}}, {"3", "taper", 174, point{139, 172}}, {"4", "guide", 206, point{119, 184}},
	} {
		c.line(206, s.y, s.at.x, s.at.y, thin)
		c.circle(s.at.x, s.at.y, 2.5, white)
		c.spot(214, s.y, s.label)
		c.text(230, s.y+4, start, s.text)
	}
	foot := 232.0
	for _, line := range []string{"1 torn or swollen", "2 cut through, pounded flat, cracked", "3 loose, or mud has washed behind it", "4 broken, short, missing, worn"} {
		c.axis(0, foot, start, line)
		foot += lineHeight
	}
	return c.picture("valve-pot", "Four places to look at in a valve pot", schematic,
		"1, the insert: torn or swollen.",
		"2, the face of valve and seat: cut through in a groove, pounded flat or cracked. Something was under it.",
		"3, the taper of the seat in the deck: it is loose or came out too easily, or mud has washed behind it.",
		"4, spring, guide and cover: the spring broken, shorter than a new one, missing or wrong way in; the valve worn on one side; guide or stem worn; threads and seal of the cover.")
}
