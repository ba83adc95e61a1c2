package pages

import (
	"cmp"
	"fmt"
	"slices"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine/figures"
)

// The shims of a guide: the sums, the steps with their cautions, the readings
// before and after.

// sums writes out how a thickness comes about and what it leaves.
func sums(c *figures.Centring) []doc.Part {
	var out []doc.Part
	add := func(says string, lines []string) {
		if len(lines) > 0 {
			out = append(out, doc.Part{Head: doc.If(len(out) == 0, "The sums"), Text: doc.Said(says), Items: doc.Items(lines...)})
		}
	}
	if c.Wanted != nil {
		add("Under the lower guide the shim is (top - bottom) / 2, with the crosshead at the place that is named.", shimSums(c))
	}
	left := leftSums(c)
	add(doc.If(len(left) > 0, "Over the crosshead is left the clearance less the shim"+keepLine(c)+"."), append(left, upperSums(c)...))
	return out
}

// upperSums say how far shims above the upper guide may go, and what they
// leave.
func upperSums(c *figures.Centring) []string {
	u, r := c.UpperFix, words.Ruler{Metric: c.Metric}
	if u == nil || u.Pack == nil || c.Least == nil || c.Most == nil {
		return nil
	}
	narrower := func(a, b figures.UpperSpot) int { return cmp.Compare(beforeUpper(a).Mean, beforeUpper(b).Mean) }
	out := []string{fmt.Sprintf("Above the upper guide no less than %s, no more than %s. Taken: %s.",
		lessSum(r, beforeUpper(slices.MaxFunc(c.Upper, narrower)), *c.Most), lessSum(r, beforeUpper(slices.MinFunc(c.Upper, narrower)), *c.Least), r.Say(u.Pack.Thickness))}
	for _, s := range c.Upper {
		out = append(out, leftSum(r, s.Name+", with the upper shims", beforeUpper(s), *s.AfterBoth, ""))
	}
	return out
}

// beforeUpper is the clearance that the upper shims find.
func beforeUpper(s figures.UpperSpot) figures.Length { return *cmp.Or(s.After, &s.Length) }

// lessSum is "36.0 - 25.0 = 11.0 thou (0.279 mm)".
func lessSum(r words.Ruler, from figures.Length, limit float64) string {
	return r.Short(from) + " - " + r.Short(figures.Length{Mean: limit, U: from.U}) + " = " + r.Say(figures.Length{Mean: from.Mean - limit, U: from.U})
}

// shimSums are the sums of the lower guide's shims.
func shimSums(c *figures.Centring) []string {
	r := words.Ruler{Metric: c.Metric}
	var out []string
	for i := range c.Planes {
		for _, p := range c.Planes[i].Positions {
			if p.Height != nil {
				out = append(out, shimSum(r, planeName(c, i)+positionName(p), p))
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
		out = append(out, fmt.Sprintf("Read end by end it would be %s at the rear and %s at the front. For the engineer.", r.Say(e.Rear), r.Say(e.Front)))
	}
	return out
}

// keepLine says the limits over the crosshead, as far as they are known.
func keepLine(c *figures.Centring) string {
	r := words.Ruler{Metric: c.Metric}
	switch {
	case c.Least != nil && c.Most != nil:
		return "; keep " + r.Say(figures.Length{Mean: *c.Least}) + " to " + r.Say(figures.Length{Mean: *c.Most})
	case c.Least != nil:
		return "; keep at least " + r.Say(figures.Length{Mean: *c.Least})
	}
	return "; no least is known, take it from the manual"
}

// shimSum is "Back: (137.0 - 113.0) / 2 = 12.0 thou".
func shimSum(r words.Ruler, where string, p figures.Position) string {
	want := figures.Length{Mean: -p.Height.Mean, U: p.Height.U}
	return fmt.Sprintf("%s: (%s - %s) / 2 = %s.", words.Capital(where), r.Short(*p.Top), r.Short(*p.Bottom), r.Say(want))
}

// endSum is how one end comes out of the guide's line.
func endSum(r words.Ruler, c *figures.Centring, end string, want figures.Length) string {
	same := figures.Length{Mean: -c.Guide.Height.Mean, U: c.Guide.Height.U}
	more := figures.Length{Mean: want.Mean - same.Mean, U: want.U}
	word := "plus"
	if more.Mean < 0 {
		word, more.Mean = "less", -more.Mean
	}
	return fmt.Sprintf("%s end: %s to bring the guide to height, %s %s for its slope = %s%s.", words.Capital(end), r.Say(same), word, r.Say(more), r.Say(want), r.Give(want))
}

func planeName(c *figures.Centring, i int) string {
	return doc.If(len(c.Planes) > 1, fmt.Sprintf("plane %d, ", i+1))
}

// leftSums are what the shims leave over the crosshead, against its limits.
func leftSums(c *figures.Centring) []string {
	r := words.Ruler{Metric: c.Metric}
	var out []string
	for _, u := range c.Upper {
		if u.After != nil && u.After.Mean != u.Mean {
			out = append(out, leftSum(r, u.Name, u.Length, *u.After, u.AfterStand))
		}
	}
	return out
}

// leftSum is "Rear: 33.0 - 12.0 = 21.0 thou: inside".
func leftSum(r words.Ruler, where string, from, left figures.Length, stand string) string {
	taken := figures.Length{Mean: from.Mean - left.Mean, U: from.U}
	sign := "-"
	if taken.Mean < 0 {
		sign, taken.Mean = "+", -taken.Mean
	}
	return fmt.Sprintf("%s: %s %s %s = %s", words.Capital(where), r.Short(from), sign, r.Short(taken), r.Say(left)) + doc.If(stands[stand] != "", ": "+stands[stand]) + "."
}

// takenBy is who took the readings of a step.
const takenBy = "In the table below. Taken by:"

// procedures are the steps of each guide, and the readings before and after.
func procedures(c *figures.Centring) []doc.Part {
	var out []doc.Part
	for i := range c.Procedures {
		p := &c.Procedures[i]
		out = append(out, doc.Part{Head: p.Title + ": " + p.Guide + " guide, " + words.Cylinder(c.Cylinder), Text: packsAt(c, p), With: true})
		for _, s := range p.Steps {
			step := &doc.Step{Number: s.Number, Tick: true, Title: s.Title, Signal: s.Signal, Caution: s.Caution, Do: s.Do, Initials: true, Figure: Picture(s.Picture)}
			switch s.Writes {
			case "name":
				step.Blanks = []doc.Blank{{Label: "Decided by:", Items: []string{"name", "front", "rear"}}}
			case "before", "after":
				step.Blanks = []doc.Blank{{Label: takenBy, Items: []string{""}}}
			}
			out = append(out, doc.Part{Step: step})
		}
		out = append(out, doc.Part{Head: "Readings before and after, " + p.Guide + " guide", Text: []string{"In " + words.Ruler{Metric: c.Metric}.Head() + "."}, Table: beforeAfter(c, p), Whole: true})
	}
	return out
}

// packsAt says what goes in or comes out at a guide.
func packsAt(c *figures.Centring, p *figures.Procedure) []string {
	r := words.Ruler{Metric: c.Metric}
	if p.Guide == "upper" {
		return packLines(r, *c.UpperFix.Pack)
	}
	if len(c.Packs) == 0 {
		return []string{wantedLine(r, c.Wanted)}
	}
	return packLines(r, c.Packs...)
}

// beforeAfter has what was read, what is foreseen and room for what is read
// then, for the readings that a procedure changes.
func beforeAfter(c *figures.Centring, p *figures.Procedure) *doc.Table {
	r := words.Ruler{Metric: c.Metric}
	t := &doc.Table{Head: []string{"Reading", "Before", "Foreseen", "After"}, Room: true}
	add := func(name string, before, foreseen *figures.Length) {
		t.Rows = append(t.Rows, doc.Cells(name, r.Cell(before), r.Cell(foreseen), ""))
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
	return t
}
