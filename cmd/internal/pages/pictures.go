package pages

import (
	"cmp"
	"fmt"
	"slices"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/drawing"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/figures"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// afterWord says how what is foreseen is called: an "if" where the lift is not
// to be made.
func afterWord(c *figures.Centring) string {
	return cmp.Or(doc.If(c.IfRaised(), "if raised"), "after the shims")
}

func mark(l words.Ruler, x *figures.Length) *drawing.Mark {
	if x == nil {
		return nil
	}
	return &drawing.Mark{Metres: x.Mean, Label: l.Short(*x)}
}

func standing(l words.Ruler, x *figures.Length, under, over string) *drawing.Mark {
	if x == nil {
		return nil
	}
	return &drawing.Mark{Metres: x.Mean, Label: l.ShortStands(*x, under, over)}
}

// slug makes a cylinder's place in the list part of a picture's name; its own
// name may hold anything.
func slug(kind string, k *evidence.Case, cylinder string) string {
	return fmt.Sprintf("%s-%d", kind, slices.Index(k.Pump.Cylinders, cylinder)+1)
}

func planeTitle(c *figures.Centring, i int) string {
	return doc.If(len(c.Planes) > 1, fmt.Sprintf("Plane %d", i+1))
}

// rodPictures shows the rod in its opening, a picture for each plane that was
// measured, and the crosshead between its guides. The tables of the page have
// all that they show. With all, places that nobody read yet are drawn open.
func rodPictures(c *figures.Centring, k *evidence.Case, all bool) []doc.Part {
	l := words.Ruler{Metric: c.Metric}
	var out []doc.Part
	var planes []drawing.Rod
	for i := range c.Planes {
		r := drawing.Rod{
			Name: fmt.Sprintf("%s-%d", slug("rod", k, c.Cylinder), i+1), Cylinder: words.Cylinder(c.Cylinder), Unit: l.Unit(), After: afterWord(c), Title: planeTitle(c, i),
		}
		for n := range c.Planes[i].Positions {
			r.Positions = append(r.Positions, rodPosition(l, &c.Planes[i].Positions[n]))
		}
		planes = append(planes, r)
		if all {
			r.Open()
		}
		out = append(out, drawn(r.Draw(), true))
	}
	return append(out, sidePicture(c, k, planes))
}

func rodPosition(l words.Ruler, p *figures.Position) drawing.RodPosition {
	out := drawing.RodPosition{
		Name: p.Name, Suspect: p.Suspect,
		Top: mark(l, p.Top), Bottom: mark(l, p.Bottom), Left: mark(l, p.Left), Right: mark(l, p.Right),
		Height: standing(l, p.Height, "low", "high"), Side: standing(l, p.Side, "to the left", "to the right"),
	}
	if a := p.After; a != nil {
		out.After = &drawing.RodPosition{Top: mark(l, &a.Top), Bottom: mark(l, &a.Bottom), Height: standing(l, &a.Height, "low", "high")}
	}
	return out
}

// sidePicture is the crosshead between its guides.
func sidePicture(c *figures.Centring, k *evidence.Case, planes []drawing.Rod) doc.Part {
	l := words.Ruler{Metric: c.Metric}
	s := drawing.Side{Name: slug("side", k, c.Cylinder), Cylinder: words.Cylinder(c.Cylinder), Unit: l.Unit(), After: afterWord(c), Planes: planes}
	for _, rod := range k.Measured.RodInOpening {
		if rod.Place.Cylinder == c.Cylinder {
			s.Parted = rod.Parted == evidence.Yes
		}
	}
	for i := range c.Upper {
		u := &c.Upper[i]
		o := drawing.Over{Name: u.Name, Now: l.Short(u.Length)}
		if u.After != nil {
			o.After = l.Short(*u.After)
		}
		s.Over = append(s.Over, o)
	}
	for _, p := range c.Packs {
		label := l.Short(p.Thickness) + " " + l.Unit()
		switch p.Where {
		case figures.UnderFront:
			s.Front = label
		case figures.UnderRear:
			s.Rear = label
		default:
			s.Front, s.Rear = label, label
		}
	}
	return drawn(s.Draw(), true)
}

// turn shows which guide is loaded; nothing if the case does not give what it
// takes.
func turn(in Input) doc.Section {
	r := in.Measured
	if in.Turn == nil || r == nil || r.Measured == nil || r.Measured.Pump == nil || r.Measured.Pump.Side == nil {
		return doc.Section{}
	}
	t := drawing.Turn{Name: "turn", Forward: in.Turn.Forward, Reverse: in.Turn.Reverse, Most: words.Force(*r.Measured.Pump.Side)}
	if r.Pump.Rotation != string(evidence.RotationUnknown) {
		t.Rotation = r.Pump.Rotation
	}
	return doc.Section{Heading: "Which guide carries the crosshead", Parts: []doc.Part{drawn(t.Draw(), false)}}
}

// byHand draws how things are done by hand, by the rulebook's names.
var byHand = map[rules.Picture]func() doc.Figure{
	rules.ShimUnderGuide: drawing.ShimUnderGuide, rules.OverCrosshead: drawing.OverCrosshead,
	rules.RoundFlange: drawing.RoundFlange, rules.RoundRod: drawing.RoundRod, rules.LockingWire: drawing.LockingWire,
	rules.PackingOrder: drawing.PackingOrder, rules.ValvePot: drawing.ValvePot, rules.LoadedGuide: drawing.LoadedGuide,
}

// Picture is the picture that a step names, to stand beside it; nil if it names
// none. A document keeps it at the first step alone; see doc.Document.Add.
func Picture(name rules.Picture) *doc.Figure {
	draw := byHand[name]
	if draw == nil {
		return nil
	}
	f := draw()
	return &f
}

// drawn is a part with one picture; told says that a table of the page has all
// that it shows.
func drawn(f doc.Figure, told bool) doc.Part {
	f.Told = told
	return doc.Part{Figure: &f}
}

// evidencePicture shows what speaks for and against causes.
func evidencePicture(causes []words.Weighed, most int) doc.Part {
	e := drawing.Evidence{Name: "evidence"}
	for _, c := range causes {
		cause := drawing.Cause{Title: words.Capital(words.Likely(c.Chance)) + ": " + words.Titled(c.Title, c.Place)}
		for _, side := range c.Sides(most) {
			for _, why := range side.Weights {
				cause.Reasons = append(cause.Reasons, drawing.Reason{Text: why.Text, Decibans: why.Decibans, Words: words.Strength(why.Decibans)})
			}
		}
		e.Causes = append(e.Causes, cause)
	}
	return drawn(e.Draw(), false)
}

// foundPicture is the chance found against minutes; empty without a check.
func foundPicture(r *engine.Report) doc.Part {
	f := drawing.Found{Name: "found"}
	for _, s := range r.Steps {
		if s.Kind == work.StepCheck {
			f.Checks = append(f.Checks, drawing.FoundAt{Step: s.Number, Minutes: s.MinutesByHere, Chance: s.FoundByHere, Time: words.Minutes(s.MinutesByHere), Words: words.Percent(s.FoundByHere)})
		}
	}
	if len(f.Checks) == 0 {
		return doc.Part{}
	}
	mean := func(way string, minutes float64) {
		f.Means = append(f.Means, drawing.Mean{Minutes: minutes, Words: way + " " + words.Minutes(minutes)})
	}
	mean("to the cause on average by this order:", r.ExpectedMinutes)
	if o := r.Order; o != nil {
		mean("going by the likeliest cause first:", o.LikeliestFirst)
		mean("by a fixed order:", o.Textbook)
	}
	return drawn(f.Draw(), false)
}
