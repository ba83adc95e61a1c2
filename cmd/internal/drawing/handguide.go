package drawing

import "telltale/cmd/internal/doc"

// lifted is the top of a lower guide whose free end, at the right, is lifted.
func lifted(x float64) float64 { return 82 - 18*(x-20)/262 }

// The lower guide on its supports, from the side.
const (
	guideThick   = 12.0
	supportTop   = 94.0 // where the guide lies when it is down
	supportWide  = 64.0
	supportLeft  = 20.0
	supportRight = 282 - supportWide
	shimThick    = 5.0
)

// ShimUnderGuide shows a shim going under the free end of a lower guide.
func ShimUnderGuide() doc.Figure {
	c := handCanvas()
	c.text(0, 12, start, "power end")
	c.text(HandWidth, 12, end, "fluid end")
	c.shape([]point{{40, lifted(40)}, {44, 30}, {124, 25}, {120, lifted(120)}}, white)
	c.text(82, 58, middle, "crosshead")
	// Power frame, supports, guide.
	c.shaded(6, 112, 290, 8, 7)
	c.rect(supportLeft, supportTop, supportWide, 18, white)
	c.rect(supportRight, supportTop, supportWide, 18, white)
	c.shape([]point{{20, lifted(20)}, {282, lifted(282)}, {282, lifted(282) + guideThick}, {20, lifted(20) + guideThick}}, white)
	for x := 26.0; x < 280; x += 9 {
		c.line(x+5, lifted(x+5), x-2, lifted(x-2)+guideThick, hatch)
	}
	c.rect(supportRight, supportTop-shimThick, supportWide, shimThick, black)
	// The block that carries it.
	top := lifted(176) + guideThick
	c.shape([]point{{156, 112}, {156, top + 1.4}, {196, top - 1.4}, {196, 112}}, white)
	c.text(176, 103, middle, "block")
	// Clamps: tight at one end, slack and off at the other.
	for _, x := range []float64{24, 66} {
		c.rect(x, lifted(x)+3, 10, 24, white)
		c.circle(x+5, lifted(x)+9, 2.5, black)
	}
	c.rect(224, lifted(224)-12, 10, 20, white)
	c.circle(229, lifted(224)-6, 2.5, black)
	c.rect(268, lifted(268)-24, 10, 20, dashed)
	c.text(0, 138, start, "clamps tight")
	c.line(30, 126, 30, 106, thin)
	c.text(262, 27, end, "outer clamp off")
	c.line(262, 30, 270, 42, thin)
	c.text(216, 44, end, "inner slack")
	c.line(216, 46, 224, 54, thin)
	c.text(128, 63, start, "lower guide")
	c.arrow(point{292, 108}, point{292, lifted(290) + 2}, heavy)
	c.bold(HandWidth, 138, end, "lift")
	c.bold(226, 138, middle, "shim")
	c.line(226, 126, 232, supportTop-2, thin)
	// Across, from the end.
	c.text(0, 164, start, "Seen from the end:")
	for i, w := range []struct {
		title           string
		from, to, slant float64
		mark            func(x, y float64)
	}{
		{"right across", 0, 70, 0, c.ticked}, {"half a shim", 0, 30, 5, c.struck}, {"sticks out", -12, 58, 0, c.struck},
	} {
		x, y := 16+float64(i)*101, 206.0
		c.rect(x, y, 70, 14, white)
		c.rect(x+w.from, y-shimThick, w.to-w.from, shimThick, black)
		c.shape([]point{{x, y - shimThick}, {x + 70, y - shimThick + w.slant}, {x + 70, y - shimThick + w.slant - 14}, {x, y - shimThick - 14}}, white)
		w.mark(x+30, 184)
		c.text(x+35, y+30, middle, w.title)
	}
	return c.picture("shim-under-guide", "Shim under the lower guide", "Lift and shim drawn far too large. "+schematic,
		"The crosshead stands at the end away from the one to be shimmed. The clamps there stay tight. At the free end the outer clamp is off and the inner clamp is slack and stays on.",
		"The free end is lifted no higher than the shims need, and a block carries it before anybody reaches in.",
		"The shim lies flat on the support above the power frame, right through and across the whole width. Wrong: half a shim, or one that sticks out.")
}

// OverCrosshead shows the way of a feeler leaf over a crosshead.
func OverCrosshead() doc.Figure {
	c := handCanvas()
	c.text(0, 12, start, "power end")
	c.text(HandWidth, 12, end, "fluid end")
	c.shaded(10, 22, 282, 12, 8)
	c.text(10, 50, start, "upper guide")
	c.rect(92, 48, 118, 44, white)
	c.text(151, 75, middle, "crosshead")
	c.shaded(10, 92, 282, 12, 8)
	c.text(10, 86, start, "lower guide")
	c.line(158, 41, 296, 41, heavy)
	c.text(HandWidth, 60, end, "leaf flat")
	c.text(HandWidth, 86, end, "no leaf under")
	// From above.
	const left, right, top, foot = 52.0, 172.0, 150.0, 206.0
	c.text(0, 130, start, "Seen from above:")
	c.rect(left, top, right-left, foot-top, white)
	for i, name := range []string{"rear", "middle", "front"} {
		x := left + 14 + float64(i)*(right-left-28)/2
		c.line(x, top-8, x, foot+8, dashed)
		for _, y := range []float64{top + 12, foot - 12} {
			c.circle(x, y, 5, black)
		}
		c.text(x, foot+24, middle, name)
	}
	c.text(left-8, top+16, end, "left")
	c.text(left-8, foot-8, end, "right")
	// How the leaf is held.
	for i, w := range []struct {
		slant float64
		mark  func(x, y float64)
		word  string
	}{{0, c.ticked, "flat"}, {11, c.struck, "aslant"}} {
		x, y := 200.0, 142.0+float64(i)*56
		c.shaded(x, y-10, 66, 10, 6)
		c.rect(x, y+14, 36, 16, white)
		c.line(x+20, y+7+w.slant/3, x+94, y+7-w.slant, heavy)
		w.mark(x+42, y+30)
		c.text(x+57, y+30, start, w.word)
	}
	return c.picture("over-crosshead", "Feeler leaf over the crosshead", "Gap drawn far too large. "+schematic,
		"The crosshead is seated on the lower guide: no leaf goes under it. The leaf goes in flat between crosshead and upper guide.",
		"Six places: rear, middle and front, each at the left and at the right (the dots). A long leaf goes right across (dashed), to feel for tight spots.",
		"Measure with the crosshead at back and at front. A leaf held aslant reads too little room.")
}

// guideWay is one way of turning, with what the connecting rod does at mid
// stroke. Up is up, the fluid end is on the right.
type guideWay struct {
	name, top string
	pin       float64 // of the crank below its middle, in throws
	clockwise bool
}

var guideWays = []guideWay{
	{"Forward", "the top moves toward the fluid end", -1, true},
	{"In reverse", "the top moves away from the fluid end", 1, false},
}

// The drive of one cylinder in the picture of the loaded guide.
const (
	crankMiddle = 52.0
	crankThrow  = 28.0
	pinMiddle   = 206.0 // of the crosshead
)

// LoadedGuide shows which guide carries the crosshead on the pressure stroke.
func LoadedGuide() doc.Figure {
	c := handCanvas()
	var says []string
	for i, w := range guideWays {
		says = append(says, w.draw(c, 12+float64(i)*158))
	}
	c.text(HandWidth, 12, end, "fluid end")
	says = append(says, "A double-acting pump presses on both strokes, on the same guide; a single-acting one on the forward stroke alone.",
		"Seen from the other side the picture is the mirror of this; what the top of the crankshaft does stays.")
	return c.picture("loaded-guide", "Which guide carries the pressure stroke", "Fluid end on the right. Black: the loaded guide. "+schematic, says...)
}

// draw draws one way of turning from a height on and says which guide is
// loaded.
func (w guideWay) draw(c *canvas, y float64) string {
	c.bold(0, y, start, w.name+":")
	c.text(0, y+lineHeight, start, w.top)
	m := y + 78    // the line of the crank's middle
	push := -w.pin // the connecting rod presses on the crosshead the way that it points
	// The crank.
	c.circle(crankMiddle, m, crankThrow, thin)
	c.circle(crankMiddle, m, 4, black)
	from, to := -135.0, -45.0
	if !w.clockwise {
		from, to = to, from
	}
	c.turned(crankMiddle, m, crankThrow+12, from, to, heavy)
	// Guides and crosshead: it lies on the loaded one.
	const half, play = 22.0, 5.0
	styles := map[bool]string{true: black, false: white}
	c.rect(136, m-half-play-10, 146, 10, styles[push < 0])
	c.rect(136, m+half+play, 146, 10, styles[push > 0])
	at := m + push*play
	c.rect(pinMiddle-30, at-half, 60, 2*half, white)
	c.rect(pinMiddle+30, at-7, 66, 14, white)
	pin := point{crankMiddle, m + w.pin*crankThrow}
	c.line(crankMiddle, m, pin.x, pin.y, heavy)
	c.line(pin.x, pin.y, pinMiddle, at, heavy)
	c.circle(pin.x, pin.y, 5, white)
	c.circle(pinMiddle, at, 5, white)
	c.arrow(point{pinMiddle + 16, at - push*8}, point{pinMiddle + 16, at + push*half}, heavy)
	c.arrow(point{pinMiddle + 42, at}, point{pinMiddle + 78, at}, solid)
	guide := "upper guide loaded"
	foot := m - half - play - 15
	if push > 0 {
		guide, foot = "lower guide loaded", m+half+play+25
	}
	c.bold(136, foot, start, guide)
	return w.name + ": " + w.top + ". On the pressure stroke the crosshead " + lies(push) + "."
}
