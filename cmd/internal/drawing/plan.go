package drawing

import (
	"cmp"
	"fmt"
	"strings"

	"telltale/cmd/internal/doc"
)

// Plan is a pump from above, with the steps of a job at the places that they
// touch. Drive side and makers' shapes are left out.
type Plan struct {
	Name   string
	Duplex bool
	Lanes  []Lane
	Whole  string // steps of the whole pump
}

// The places of a cylinder that a plan tells apart; the last two on a duplex
// alone.
const (
	PowerEnd = iota
	RodSpace
	FluidEnd
	CrankEnd
	HeadEnd
)

var placeNames = [5]string{"power end", "rod space", "fluid end", "crank end", "head end"}

// Lane is one cylinder with the steps at each of its places, "" for none.
type Lane struct {
	Name  string
	Steps [5]string
}

// The columns of the plan.
const (
	laneName   = 96.0
	powerLeft  = 124.0
	powerRight = 304.0
	fluidLeft  = 440.0
)

// laneColumns are the frames of a lane, with what lies in each.
var laneColumns = [...]struct {
	x, to, gap float64
	what       string
}{
	PowerEnd: {powerLeft, powerRight, 6, "crosshead and guides"},
	RodSpace: {powerRight, fluidLeft, 6, "rods, clamp, wiper"},
	FluidEnd: {fluidLeft, Width, 2, "liner, piston, valves"},
}

// Draw draws the plan.
func (p *Plan) Draw() doc.Figure {
	c := &canvas{}
	says := []string{}
	for i, l := range laneColumns {
		c.bold((l.x+l.to)/2, 14, middle, strings.ToUpper(placeNames[i]))
		c.text((l.x+l.to)/2, 30, middle, l.what)
	}
	top := 38.0
	y := top
	for _, lane := range p.Lanes {
		y = p.lane(c, y, lane) + 8
		says = append(says, lane.say())
	}
	c.shaded(laneName+6, top, 12, y-8-top, 6)
	c.line(laneName+12, y-8, laneName+12, y+2, thin)
	c.text(laneName+6, y+14, start, "crankshaft; drive side not shown")
	y += 22
	if p.Whole != "" {
		lines := wrap("Whole pump: "+p.Whole, boldColumns(Width-20))
		height := float64(len(lines))*lineHeight + 10
		c.rect(1, y, Width-2, height, heavy)
		c.block(10, y+17, start, lines, c.bold)
		says = append(says, "Whole pump: "+p.Whole+".")
	}
	return c.picture(p.Name, "The pump from above: where the steps are", "Heavy frames mark the places that the steps touch. The figures are step numbers. Not to scale.", says...)
}

// cell is one frame of a lane.
type cell struct {
	x, w    float64
	lines   []string
	touched bool
}

func newCell(x, w float64, name, steps string) cell {
	l := cell{x: x, w: w, touched: steps != ""}
	if name != "" {
		steps = strings.TrimSuffix(name+": "+steps, ": ")
	}
	if steps != "" {
		l.lines = wrap(steps, boldColumns(w-12))
	}
	return l
}

func (l cell) height() float64 { return float64(len(l.lines))*lineHeight + 8 }

// draw draws the frame with its head at y, heavy where a step touches it.
func (l cell) draw(c *canvas, y, height, foot float64) {
	style, put := thin, c.text
	if l.touched {
		style, put = heavy, c.bold
	}
	c.rect(l.x, y, l.w, height, style)
	c.block(l.x+6, y+foot, start, l.lines, put)
}

// lane draws one cylinder and gives its foot.
func (p *Plan) lane(c *canvas, y float64, lane Lane) float64 {
	var cells []cell
	text := 8.0
	for i, l := range laneColumns {
		cells = append(cells, newCell(l.x, l.to-l.x-l.gap, "", lane.Steps[i]))
		text = max(text, cells[i].height())
	}
	const half = (Width - fluidLeft) / 2
	ends := []cell{newCell(fluidLeft+4, half-8, placeNames[CrankEnd], lane.Steps[CrankEnd]), newCell(fluidLeft+half+2, half-8, placeNames[HeadEnd], lane.Steps[HeadEnd])}
	height, under := text+26, max(ends[0].height(), ends[1].height())
	if p.Duplex {
		height += under - 12
	}
	name := wrap(lane.Name, boldColumns(laneName-6))
	height = max(height, float64(len(name))*lineHeight+8)
	c.block(0, y+16, start, name, c.bold)
	rod := y + height - 12
	for _, l := range cells {
		l.draw(c, y, height, 16)
	}
	// Running gear along the foot of the lane: crosshead, rod, piston.
	c.line(powerLeft-6, rod, powerLeft+40, rod, solid)
	c.rect(powerLeft+40, rod-7, 34, 14, white)
	c.line(powerLeft+74, rod, fluidLeft+6, rod, solid)
	if !p.Duplex {
		c.line(fluidLeft+6, rod, fluidLeft+70, rod, solid)
		c.shaded(fluidLeft+70, rod-8, 16, 16, 5)
		return y + height
	}
	for _, l := range ends {
		l.draw(c, y+height-under-4, under, 15)
	}
	return y + height
}

func (l *Lane) say() string {
	var parts []string
	for i, steps := range l.Steps {
		parts = append(parts, doc.If(steps != "", placeNames[i]+" "+steps))
	}
	return fmt.Sprintf("%s: %s.", l.Name, cmp.Or(strings.Join(doc.Said(parts...), "; "), "no step"))
}
