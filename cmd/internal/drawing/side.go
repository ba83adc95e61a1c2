package drawing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
)

// Side is a crosshead between its guides, with the rod through its opening,
// seen from the side.
type Side struct {
	Name        string
	Cylinder    string
	Unit        string
	After       string // how what is foreseen is called
	Planes      []Rod
	Over        []Over // clearance over the crosshead
	Front, Rear string // what goes under the ends of the lower guide; "" is nothing
	Parted      bool   // the rods are parted at the clamp
}

// Over is the clearance over the crosshead at one place, before and after.
type Over struct{ Name, Now, After string }

var positions = [3]string{"back", "middle", "front"}

// heights are the rod's by the crosshead's place, as measured and as foreseen;
// nil is not known.
func (r *Rod) heights() (now, after [3]*Mark) {
	for _, p := range r.Positions {
		at := max(0, slices.Index(positions[:], p.Name))
		now[at] = p.Height
		if p.After != nil {
			after[at] = p.After.Height
		}
	}
	return now, after
}

// enlarged is how many times larger than on the pump the heights are drawn.
func (s *Side) enlarged(room float64) float64 {
	most := 0.0
	for _, p := range s.Planes {
		now, after := p.heights()
		for _, m := range append(now[:], after[:]...) {
			if m != nil {
				most = math.Max(most, math.Abs(m.Metres))
			}
		}
	}
	return times(most*pixelsPerMetre, room, 1, 2, 5, 10, 20, 50, 100, 200)
}

// The room for the rod's height: in the side view and in the chart beside it.
const (
	viewRoom  = 14.0
	chartRoom = 34.0
	boreLine  = 118.0
	rodHalf   = 9.0
)

// Draw draws the side view and the measured travel beside it.
func (s *Side) Draw() doc.Figure {
	c := &canvas{}
	says := s.view(c)
	key := "Power end on the left, fluid end on the right. The thin middle line is the centre of the opening. Dotted: the crosshead at the ends of its stroke."
	if len(s.Planes) > 0 {
		says = append(says, s.travel(c)...)
	}
	return c.picture(s.Name, "Crosshead, guides and rod from the side, "+s.Cylinder, key, says...)
}

func (s *Side) view(c *canvas) []string {
	var says []string
	const left, right = 10.0, 210.0
	scale := s.enlarged(viewRoom)
	shift := 0.0
	if len(s.Planes) > 0 {
		if now, _ := s.Planes[0].heights(); now[1] != nil {
			shift = -now[1].Metres * pixelsPerMetre * scale
		}
	}
	c.text(left, 12, start, "power end")
	c.text(430, 12, end, "to the fluid end")
	c.line(336, 20, 430, 20, thin)
	c.path([]point{{424, 16}, {430, 20}, {424, 24}}, thin)
	// Guides.
	c.shaded(left, 50, right-left, 12, 8)
	c.text(right+6, 60, start, "upper guide")
	c.shaded(left, 166, right-left, 12, 8)
	c.text(right+6, 179, start, "lower guide")
	// Crosshead, with the ends of its stroke dotted.
	c.rect(40, 74, 92, 92, dotted)
	c.rect(88, 74, 92, 92, dotted)
	c.rect(64, 74, 92, 92, white)
	c.text(110, 108, middle, "crosshead")
	// Rod, clamp, opening.
	y := boreLine + shift
	c.rect(156, y-rodHalf, 190, 2*rodHalf, white)
	c.line(0, boreLine, 432, boreLine, chain)
	c.shaded(290, 66, 12, boreLine-25-66, 6)
	c.shaded(290, boreLine+25, 12, 24, 6)
	c.text(306, 62, start, "opening")
	c.text(214, y+rodHalf+15, start, "ext. rod")
	if s.Parted {
		c.rect(368, boreLine-rodHalf, 62, 2*rodHalf, white)
		c.text(357, 160, middle, "rods parted")
		c.line(357, 148, 357, boreLine+8, thin)
	} else {
		c.rect(346, y-rodHalf, 84, 2*rodHalf, white)
		c.rect(334, y-rodHalf-5, 26, 2*rodHalf+10, white)
		c.text(347, 160, middle, "clamp")
	}
	foot := 200.0
	if s.Front != "" || s.Rear != "" {
		if s.Rear != "" {
			c.rect(left+8, 178, 30, 5, black)
		}
		if s.Front != "" {
			c.rect(right-38, 178, 30, 5, black)
		}
		c.text(right+6, 195, start, "black: shims")
		says = s.shims()
		foot = c.block(left, foot+lineHeight, start, says, c.text) - lineHeight
	}
	if len(s.Over) > 0 {
		foot += lineHeight + 4
		c.text(left, foot, start, "Over the crosshead, in "+s.Unit+":")
		for _, o := range s.Over {
			foot += lineHeight
			line := s.over(o)
			c.text(left+10, foot, start, line)
			says = append(says, "Over the crosshead, "+line+".")
		}
	}
	if scale > 0 && shift != 0 {
		says = append(says, fmt.Sprintf("The rod's height in the side view is drawn %.0f times its size.", scale))
		foot += lineHeight + 4
		c.text(left, foot, start, fmt.Sprintf("Rod's height drawn %.0f times its size; the rest not to scale.", scale))
	}
	return says
}

func (s *Side) shims() []string {
	if s.Front == s.Rear {
		return []string{"Shims under the lower guide, both ends: " + s.Front + "."}
	}
	var out []string
	for _, end := range []struct{ name, pack string }{{"rear end", s.Rear}, {"front end", s.Front}} {
		if end.pack != "" {
			out = append(out, "Shims under the lower guide, "+end.name+": "+end.pack+".")
		}
	}
	return out
}

func (s *Side) over(o Over) string {
	line := o.Name + ": " + o.Now
	if o.After != "" {
		line += "; " + s.After + " " + o.After
	}
	return line
}

// heights are those of the rod at one opening, now or foreseen.
type heights struct {
	name      string
	marks     [3]*Mark
	line, dot string // styles
}

// Where the chart of the travel stands.
const (
	travelLeft = 446.0
	travelBack = 500.0 // the crosshead at the back
	travelStep = 66.0
)

// travel draws the rod's height against the crosshead's place, a chart a
// plane, beside the side view.
func (s *Side) travel(c *canvas) []string {
	var says []string
	scale := s.enlarged(chartRoom)
	y := 12.0
	for _, p := range s.Planes {
		c.bold(travelLeft, y, start, cmp.Or(p.Title, "Rod's height at the opening"))
		line := y + 12 + chartRoom + 10
		c.line(travelBack-20, line, travelBack+2*travelStep+20, line, chain)
		c.text(travelLeft, line+4, start, "0")
		measured, foreseen := p.heights()
		now, after := heights{"now", measured, solid, black}, heights{s.After, foreseen, dashed, white}
		after.series(c, line, scale)
		now.series(c, line, scale)
		foot := line + chartRoom + 22
		for i, name := range positions {
			c.text(travelBack+float64(i)*travelStep, foot, middle, name)
		}
		y = foot + 18
		for _, h := range []heights{now, after} {
			if h.name == "now" || h.marks != [3]*Mark{} {
				says = append(says, s.row(c, h, y, p.Title)...)
				y += 2*lineHeight + 2
			}
		}
		y += 6
	}
	note := fmt.Sprintf("Drawn %.0f times its size. Black dots: now. Rings: %s.", scale, s.After)
	if scale == 0 {
		note = "Height too large to be drawn to scale."
	}
	c.block(travelLeft, y, start, wrap(note, columns(Width-travelLeft)), c.text)
	return append(says, note)
}

// series joins the heights at one opening.
func (h heights) series(c *canvas, line, scale float64) {
	var points []point
	for i, m := range h.marks {
		if m != nil {
			points = append(points, point{travelBack + float64(i)*travelStep, line - m.Metres*pixelsPerMetre*scale})
		}
	}
	if len(points) > 1 {
		c.path(points, h.line)
	}
	for _, p := range points {
		c.circle(p.x, p.y, 4, h.dot)
	}
}

// row writes the heights at one opening in figures.
func (s *Side) row(c *canvas, h heights, y float64, plane string) []string {
	c.text(travelLeft, y, start, h.name+":")
	var parts []string
	for i, m := range h.marks {
		if m != nil {
			c.text(travelBack+float64(i)*travelStep, y+lineHeight, middle, m.Label)
			parts = append(parts, positions[i]+" "+m.Label)
		}
	}
	if len(parts) == 0 {
		return nil
	}
	where := "Rod's height at the opening"
	if plane != "" {
		where += " (" + plane + ")"
	}
	return []string{fmt.Sprintf("%s, %s, in %s: %s.", where, h.name, s.Unit, strings.Join(parts, ", "))}
}
