package page

import (
	"fmt"
	"strings"

	"telltale/engine/figures"
	"telltale/evidence"
)

// The shims of a guide: the sums, the steps with their cautions, the readings
// before and after.

// Room stands in a cell or a line for a place to write.
const Room = "________"

// sumsBlock writes out how a thickness comes about and what it leaves.
func sumsBlock(c *figures.Centring) block {
	b := block{heading: "The sums"}
	if c.Wanted != nil {
		b.paras = append(b.paras, "Under the lower guide the shim is (top - bottom) / 2.")
		b.list = append(b.list, shimSums(c)...)
	}
	left := leftSums(c)
	if len(left) > 0 {
		b.paras = append(b.paras, "What is left over the crosshead is the clearance less the shim"+keepLine(c)+".")
	}
	b.list = append(append(b.list, left...), upperSums(c)...)
	return b
}

// upperSums say how far shims above the upper guide may go, and what they
// leave.
func upperSums(c *figures.Centring) []string {
	u, r := c.UpperFix, ruler{c.Metric}
	if u == nil || u.Pack == nil || c.Least == nil || c.Most == nil {
		return nil
	}
	var out []string
	var smallest, largest figures.Length
	for i, s := range c.Upper {
		now := beforeUpper(s)
		if i == 0 || now.Mean < smallest.Mean {
			smallest = now
		}
		if i == 0 || now.Mean > largest.Mean {
			largest = now
		}
		out = append(out, leftSum(r, s.Name+", with the upper shims", now, *s.AfterBoth, ""))
	}
	return append([]string{
		fmt.Sprintf("Above the upper guide no less than %s, no more than %s. Taken: %s.",
			lessSum(r, largest, *c.Most), lessSum(r, smallest, *c.Least), r.say(u.Pack.Thickness)),
	}, out...)
}

// beforeUpper is the clearance that the upper shims find.
func beforeUpper(s figures.UpperSpot) figures.Length {
	if s.After != nil {
		return *s.After
	}
	return s.Length
}

// lessSum is "36.0 - 25.0 = 11.0 thou (0.279 mm)".
func lessSum(r ruler, from figures.Length, limit float64) string {
	first, _ := r.parts(from)
	less, _ := r.parts(figures.Length{Mean: limit, U: from.U})
	return first + " - " + less + " = " + r.say(figures.Length{Mean: from.Mean - limit, U: from.U})
}

// shimSums are the sums of the lower guide's shims.
func shimSums(c *figures.Centring) []string {
	r := ruler{c.Metric}
	var out []string
	for i := range c.Planes {
		for _, p := range c.Planes[i].Positions {
			if p.Height != nil {
				out = append(out, shimSum(r, planeName(c, i)+"crosshead at the "+positionName(p), p))
			}
		}
	}
	switch {
	case c.Guide == nil:
		out = append(out, "On average, for both ends: "+lift(r, c.Wanted.Front)+".")
	case c.Wanted.Equal:
		out = append(out, "Without what comes from a rod out of square, for both ends: "+lift(r, c.Wanted.Front)+".")
	default:
		out = append(out, endSum(r, c, "front", c.Wanted.Front), endSum(r, c, "rear", c.Wanted.Rear))
	}
	if e := c.ByEnds; e != nil {
		out = append(out, fmt.Sprintf("Read end by end it would be %s at the rear and %s at the front. For the engineer.", r.say(e.Rear), r.say(e.Front)))
	}
	return out
}

// keepLine says the limits over the crosshead, as far as they are known.
func keepLine(c *figures.Centring) string {
	r := ruler{c.Metric}
	switch {
	case c.Least != nil && c.Most != nil:
		return "; keep " + r.say(figures.Length{Mean: *c.Least}) + " to " + r.say(figures.Length{Mean: *c.Most})
	case c.Least != nil:
		return "; keep at least " + r.say(figures.Length{Mean: *c.Least})
	}
	return "; no least is known, take it from the manual"
}

// shimSum is "crosshead at the back: (137.0 - 113.0) / 2 = 12.0 thou".
func shimSum(r ruler, where string, p figures.Position) string {
	top, _ := r.parts(*p.Top)
	bottom, _ := r.parts(*p.Bottom)
	want := figures.Length{Mean: -p.Height.Mean, U: p.Height.U}
	return fmt.Sprintf("%s: (%s - %s) / 2 = %s.", capital(where), top, bottom, r.say(want))
}

// endSum is how one end comes out of the guide's line.
func endSum(r ruler, c *figures.Centring, end string, want figures.Length) string {
	same := figures.Length{Mean: -c.Guide.Height.Mean, U: c.Guide.Height.U}
	more := figures.Length{Mean: want.Mean - same.Mean, U: want.U}
	word := "plus"
	if more.Mean < 0 {
		word, more.Mean = "less", -more.Mean
	}
	return fmt.Sprintf("%s end: %s to bring the guide to height, %s %s for its slope = %s%s.", capital(end), r.say(same), word, r.say(more), r.say(want), r.give(want))
}

func planeName(c *figures.Centring, i int) string {
	if len(c.Planes) < 2 {
		return ""
	}
	return fmt.Sprintf("plane %d, ", i+1)
}

// leftSums are what the shims leave over the crosshead, against its limits.
func leftSums(c *figures.Centring) []string {
	r := ruler{c.Metric}
	var out []string
	for _, u := range c.Upper {
		if u.After != nil && u.After.Mean != u.Mean {
			out = append(out, leftSum(r, u.Name, u.Length, *u.After, u.AfterStand))
		}
	}
	return out
}

// leftSum is "Over the crosshead, rear: 33.0 - 12.0 = 21.0 thou; inside".
func leftSum(r ruler, where string, from, left figures.Length, stand string) string {
	first, _ := r.parts(from)
	taken := figures.Length{Mean: from.Mean - left.Mean, U: from.U}
	sign := "-"
	if taken.Mean < 0 {
		sign, taken.Mean = "+", -taken.Mean
	}
	less, _ := r.parts(taken)
	line := fmt.Sprintf("Over the crosshead, %s: %s %s %s = %s", where, first, sign, less, r.say(left))
	if word := stands[stand]; word != "" {
		line += ": " + word
	}
	return line + "."
}

// procedureBlocks are the steps of each guide, and the readings before and
// after.
func procedureBlocks(c *figures.Centring) []block {
	var out []block
	for i := range c.Procedures {
		p := &c.Procedures[i]
		b := block{heading: procedureTitle(c, p), paras: packsAt(c, p), procedure: p}
		for _, s := range p.Steps {
			b.list = append(b.list, fmt.Sprintf(box+"%d. %s. %s", s.Number, s.Title, s.Do))
			if s.Caution != "" {
				b.list = append(b.list, below+strings.ToUpper(s.Signal)+": "+s.Caution)
			}
			if line := writeLine(s); line != "" {
				b.list = append(b.list, below+line)
			}
		}
		out = append(out, b, block{heading: "Readings before and after, " + p.Guide + " guide", paras: []string{"In " + ruler{c.Metric}.head() + "."}, table: beforeAfter(c, p)})
	}
	return out
}

func procedureTitle(c *figures.Centring, p *figures.Procedure) string {
	return p.Title + ": " + p.Guide + " guide, " + at(evidence.Place{Cylinder: c.Cylinder})
}

// writeLine is the room beside a step in a list.
func writeLine(s figures.Step) string {
	switch s.Writes {
	case "name":
		return "Decided by: " + Room + " front: " + Room + " rear: " + Room
	case "before", "after":
		return "In the table below. Taken by: " + Room
	}
	return ""
}

// packsAt says what goes in or comes out at a guide.
func packsAt(c *figures.Centring, p *figures.Procedure) []string {
	r := ruler{c.Metric}
	if p.Guide == "upper" {
		return []string{packLine(r, *c.UpperFix.Pack)}
	}
	if len(c.Packs) == 0 {
		return []string{wantedLine(r, c.Wanted)}
	}
	var out []string
	for _, pack := range c.Packs {
		out = append(out, packLine(r, pack))
	}
	return out
}

// beforeAfter has what was read, what is foreseen and room for what is read
// then, for the readings that a procedure changes.
func beforeAfter(c *figures.Centring, p *figures.Procedure) *grid {
	r := ruler{c.Metric}
	g := &grid{header: []string{"Reading", "Before", "Foreseen", "After"}}
	add := func(name string, before, foreseen *figures.Length) {
		g.rows = append(g.rows, []string{name, r.cell(before), r.cell(foreseen), Room})
	}
	if p.Guide == "lower" {
		for i := range c.Planes {
			for _, s := range c.Planes[i].Positions {
				if s.After != nil {
					where := planeName(c, i) + s.Name
					add(where+", top", s.Top, &s.After.Top)
					add(where+", bottom", s.Bottom, &s.After.Bottom)
				}
			}
		}
	}
	for _, u := range c.Upper {
		before, foreseen := &u.Length, u.After
		if p.Guide == "upper" {
			found := beforeUpper(u)
			before, foreseen = &found, u.AfterBoth
		}
		add("over the crosshead, "+u.Name, before, foreseen)
	}
	return g
}
