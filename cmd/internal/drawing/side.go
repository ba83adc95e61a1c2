package drawing

import (
	"fmt"
	"math"
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
	Planes      []SidePlane
	Over        []Over // clearance over the crosshead
	Front, Rear string // what goes under the ends of the lower guide; "" is nothing
	Parted      bool   // the rods are parted at the clamp
}

// SidePlane is the rod's height at one opening with the crosshead at the back,
// the middle and the front; nil is not known.
type SidePlane struct {
	Title string
	Now   [3]*Mark
	After [3]*Mark
}

// Over is the clearance over the crosshead at one place, before and after.
type Over struct{ Name, Now, After string }

var positions = [3]string{"back", "middle", "front"}

// most is the greatest height of the rod, in metres.
func (s *Side) most() float64 {
	out := 0.0
	for _, p := range s.Planes {
		for i := range positions {
			for _, m := range []*Mark{p.Now[i], p.After[i]} {
				if m != nil {
					out = math.Max(out, math.Abs(m.Metres))
				}
			}
		}
	}
	return out
}

// enlarged is how many times larger than on the pump the heights are drawn.
func (s *Side) enlarged(room float64) float64 {
	return times(s.most()*pixelsPerMetre, room, 1, 2, 5, 10, 20, 50, 100, 200)
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
		if m := s.Planes[0].Now[1]; m != nil {
			shift = -m.Metres * pixelsPerMetre * scale
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
	if s.Rear != "" {
		out = append(out, "Shims under the lower guide, rear end: "+s.Rear+".")
	}
	if s.Front != "" {
		out = append(out, "Shims under the lower guide, front end: "+s.Front+".")
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

// travel draws the rod's height against the crosshead's place, a chart a
// plane, beside the side view.
func (s *Side) travel(c *canvas) []string {
	var says []string
	const x0, step = 500.0, 66.0
	scale := s.enlarged(chartRoom)
	y := 12.0
	for _, p := range s.Planes {
		title := "Rod's height at the opening"
		if p.Title != "" {
			title = p.Title
		}
		c.bold(446, y, start, title)
		line := y + 12 + chartRoom + 10
		c.line(x0-20, line, x0+2*step+20, line, chain)
		c.text(446, line+4, start, "0")
		s.series(c, x0, step, line, scale, p.After, true)
		s.series(c, x0, step, line, scale, p.Now, false)
		foot := line + chartRoom + 22
		for i, name := range positions {
			c.text(x0+float64(i)*step, foot, middle, name)
		}
		says = append(says, s.row(c, "now", x0, step, foot+18, p.Now, p.Title)...)
		y = foot + 18 + 2*lineHeight + 8
		if hasAny(p.After) {
			says = append(says, s.row(c, s.After, x0, step, y-6, p.After, p.Title)...)
			y += 2*lineHeight + 2
		}
	}
	note := fmt.Sprintf("Drawn %.0f times its size. Black dots: now. Rings: %s.", scale, s.After)
	if scale == 0 {
		note = "Height too large to be drawn to scale."
	}
	c.block(446, y, start, wrap(note, columns(Width-446)), c.text)
	return append(says, note)
}

func hasAny(marks [3]*Mark) bool { return marks[0] != nil || marks[1] != nil || marks[2] != nil }

// series joins the heights of one plane.
func (s *Side) series(c *canvas, x0, step, line, scale float64, marks [3]*Mark, after bool) {
	var points []point
	for i, m := range marks {
		if m != nil {
			points = append(points, point{x0 + float64(i)*step, line - m.Metres*pixelsPerMetre*scale})
		}
	}
	style := solid
	if after {
		style = dashed
	}
	if len(points) > 1 {
		c.path(points, style)
	}
	for _, p := range points {
		if after {
			c.circle(p.x, p.y, 4, white)
		} else {
			c.circle(p.x, p.y, 4, black)
		}
	}
}

// row writes the heights of one plane in figures.
func (s *Side) row(c *canvas, name string, x0, step, y float64, marks [3]*Mark, plane string) []string {
	c.text(446, y, start, name+":")
	y += lineHeight
	var parts []string
	for i, m := range marks {
		if m == nil {
			continue
		}
		c.text(x0+float64(i)*step, y, middle, m.Label)
		parts = append(parts, positions[i]+" "+m.Label)
	}
	if len(parts) == 0 {
		return nil
	}
	where := "Rod's height at the opening"
	if plane != "" {
		where += " (" + plane + ")"
	}
	return []string{fmt.Sprintf("%s, %s, in %s: %s.", where, name, s.Unit, strings.Join(parts, ", "))}
}
