package drawing

import (
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

// Lane is one cylinder; each text names steps, "" for none.
type Lane struct {
	Name                         string
	PowerEnd, RodSpace, FluidEnd string
	CrankEnd, HeadEnd            string // duplex alone
}

// The columns of the plan.
const (
	laneName   = 96.0
	powerLeft  = 124.0
	powerRight = 304.0
	fluidLeft  = 440.0
)

// Draw draws the plan.
func (p *Plan) Draw() doc.Figure {
	c := &canvas{}
	says := []string{}
	c.bold((powerLeft+powerRight)/2, 14, middle, "POWER END")
	c.text((powerLeft+powerRight)/2, 30, middle, "crosshead and guides")
	c.bold((powerRight+fluidLeft)/2, 14, middle, "ROD SPACE")
	c.text((powerRight+fluidLeft)/2, 30, middle, "rods, clamp, wiper")
	c.bold((fluidLeft+Width)/2, 14, middle, "FLUID END")
	c.text((fluidLeft+Width)/2, 30, middle, "liner, piston, valves")
	top := 38.0
	y := top
	for _, lane := range p.Lanes {
		bottom := p.lane(c, y, lane)
		y = bottom + 8
		says = append(says, p.say(lane))
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

// cell is one area of a lane.
type cell struct {
	x, w float64
	text string
}

func (l cell) lines() []string {
	if l.text == "" {
		return nil
	}
	return wrap(l.text, boldColumns(l.w-12))
}

// lane draws one cylinder and gives its foot.
func (p *Plan) lane(c *canvas, y float64, lane Lane) float64 {
	cells := []cell{{powerLeft, powerRight - powerLeft - 6, lane.PowerEnd}, {powerRight, fluidLeft - powerRight - 6, lane.RodSpace}, {fluidLeft, Width - fluidLeft - 2, lane.FluidEnd}}
	most := 0
	for _, l := range cells {
		most = max(most, len(l.lines()))
	}
	ends := []cell{{fluidLeft + 4, (Width-fluidLeft)/2 - 8, join("crank end", lane.CrankEnd)}, {(fluidLeft+Width)/2 + 2, (Width-fluidLeft)/2 - 8, join("head end", lane.HeadEnd)}}
	text := float64(most)*lineHeight + 8
	height := text + 26
	under := 0.0
	if p.Duplex {
		for _, l := range ends {
			under = max(under, float64(len(l.lines()))*lineHeight+8)
		}
		height += under - 12
	}
	name := wrap(lane.Name, boldColumns(laneName-6))
	height = max(height, float64(len(name))*lineHeight+8)
	c.block(0, y+16, start, name, c.bold)
	rod := y + height - 12
	for _, l := range cells {
		frame(c, l.x, y, l.w, height, l.text != "")
		c.block(l.x+6, y+16, start, l.lines(), c.bold)
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
	for i, l := range ends {
		touched := lane.CrankEnd
		if i == 1 {
			touched = lane.HeadEnd
		}
		frame(c, l.x, y+height-under-4, l.w, under, touched != "")
		put := c.text
		if touched != "" {
			put = c.bold
		}
		c.block(l.x+6, y+height-under-4+15, start, l.lines(), put)
	}
	return y + height
}

func join(name, steps string) string {
	if steps == "" {
		return name
	}
	return name + ": " + steps
}

func frame(c *canvas, x, y, w, h float64, touched bool) {
	style := thin
	if touched {
		style = heavy
	}
	c.rect(x, y, w, h, style)
}

func (p *Plan) say(l Lane) string {
	var parts []string
	for _, a := range []struct{ name, steps string }{
		{"power end", l.PowerEnd}, {"rod space", l.RodSpace}, {"fluid end", l.FluidEnd}, {"crank end", l.CrankEnd}, {"head end", l.HeadEnd},
	} {
		if a.steps != "" {
			parts = append(parts, a.name+" "+a.steps)
		}
	}
	if len(parts) == 0 {
		parts = []string{"no step"}
	}
	return fmt.Sprintf("%s: %s.", l.Name, strings.Join(parts, "; "))
}
