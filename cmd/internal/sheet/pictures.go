package sheet

import (
	"fmt"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/drawing"
	"telltale/cmd/internal/page"
	"telltale/engine"
	"telltale/engine/figures"
	"telltale/evidence"
	"telltale/rules"
)

// afterWord says how what is foreseen is called: an "if" where the lift is not
// to be made.
func afterWord(c *figures.Centring) string {
	if c.IfRaised() {
		return "if raised"
	}
	return "after the shims"
}

func mark(l page.Lengths, x *figures.Length) *drawing.Mark {
	if x == nil {
		return nil
	}
	return &drawing.Mark{Metres: x.Mean, Label: l.Short(*x)}
}

func stands(l page.Lengths, x *figures.Length, under, over string) *drawing.Mark {
	if x == nil {
		return nil
	}
	return &drawing.Mark{Metres: x.Mean, Label: l.Stands(*x, under, over)}
}

// slug makes a cylinder's place in the list part of a picture's name; its own
// name may hold anything.
func slug(kind string, k *evidence.Case, cylinder string) string {
	for i, c := range k.Pump.Cylinders {
		if c == cylinder {
			return fmt.Sprintf("%s-%d", kind, i+1)
		}
	}
	return kind
}

func planeTitle(c *figures.Centring, i int) string {
	if len(c.Planes) < 2 {
		return ""
	}
	return fmt.Sprintf("Plane %d", i+1)
}

// rodPictures shows the rod in its opening, a picture for each plane that was
// measured.
func rodPictures(c *figures.Centring, k *evidence.Case) []doc.Figure {
	l := page.InCrewUnits(c.Metric)
	var out []doc.Figure
	for i := range c.Planes {
		plane := drawing.RodPlane{Title: planeTitle(c, i)}
		for n := range c.Planes[i].Positions {
			plane.Positions = append(plane.Positions, rodPosition(l, &c.Planes[i].Positions[n]))
		}
		r := drawing.Rod{
			Name: fmt.Sprintf("%s-%d", slug("rod", k, c.Cylinder), i+1), Cylinder: page.At(evidence.Place{Cylinder: c.Cylinder}), Unit: l.Unit(), After: afterWord(c),
			Planes: []drawing.RodPlane{plane},
		}
		out = append(out, r.Draw())
	}
	return out
}

func rodPosition(l page.Lengths, p *figures.Position) drawing.RodPosition {
	out := drawing.RodPosition{
		Name: p.Name, Suspect: p.Suspect,
		Top: mark(l, p.Top), Bottom: mark(l, p.Bottom), Left: mark(l, p.Left), Right: mark(l, p.Right),
		Height: stands(l, p.Height, "low", "high"), Side: stands(l, p.Side, "to the left", "to the right"),
	}
	if a := p.After; a != nil {
		out.After = &drawing.RodAfter{Top: *mark(l, &a.Top), Bottom: *mark(l, &a.Bottom), Height: *stands(l, &a.Height, "low", "high")}
	}
	return out
}

// sidePicture is the crosshead between its guides.
func sidePicture(c *figures.Centring, k *evidence.Case) *doc.Figure {
	l := page.InCrewUnits(c.Metric)
	s := drawing.Side{Name: slug("side", k, c.Cylinder), Cylinder: page.At(evidence.Place{Cylinder: c.Cylinder}), Unit: l.Unit(), After: afterWord(c)}
	for _, rod := range k.Measured.RodInOpening {
		if rod.Place.Cylinder == c.Cylinder {
			s.Parted = rod.Parted == evidence.Yes
		}
	}
	for i := range c.Planes {
		plane := drawing.SidePlane{Title: planeTitle(c, i)}
		for _, p := range c.Planes[i].Positions {
			at := map[string]int{"back": 0, "middle": 1, "front": 2}[p.Name]
			plane.Now[at] = stands(l, p.Height, "low", "high")
			if p.After != nil {
				plane.After[at] = stands(l, &p.After.Height, "low", "high")
			}
		}
		s.Planes = append(s.Planes, plane)
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
	p := s.Draw()
	return &p
}

// turnPicture shows which guide is loaded; nil if the case does not give what
// it takes.
func turnPicture(r *engine.Report, turn *figures.Turn) *doc.Figure {
	if turn == nil || r == nil || r.Measured == nil || r.Measured.Pump == nil || r.Measured.Pump.Side == nil {
		return nil
	}
	t := drawing.Turn{Name: "turn", Forward: turn.Forward, Reverse: turn.Reverse, Most: page.Force(*r.Measured.Pump.Side)}
	if r.Pump.Rotation != string(evidence.RotationUnknown) {
		t.Rotation = r.Pump.Rotation
	}
	p := t.Draw()
	return &p
}

// foundPicture is the chance found against minutes; nil without a check.
func foundPicture(r *engine.Report) *doc.Figure {
	f := drawing.Found{Name: "found"}
	for _, s := range r.Steps {
		if s.Kind == engine.StepCheck {
			f.Checks = append(f.Checks, drawing.FoundAt{Step: s.Number, Minutes: s.MinutesByHere, Chance: s.FoundByHere, Time: page.Minutes(s.MinutesByHere), Words: chance(s.FoundByHere)})
		}
	}
	if len(f.Checks) == 0 {
		return nil
	}
	mean := func(words string, minutes float64) {
		f.Means = append(f.Means, drawing.Mean{Minutes: minutes, Words: words + " " + page.Minutes(minutes)})
	}
	mean("to the cause on average by this order:", r.ExpectedMinutes)
	if o := r.Order; o != nil {
		mean("going by the likeliest cause first:", o.LikeliestFirst)
		mean("by a fixed order:", o.Textbook)
	}
	p := f.Draw()
	return &p
}

// touched says where a step lies.
func (j *job) touched(s engine.StepReport) []rules.Area {
	ids := []string{}
	switch a := j.Book.Openings.Get(s.ID); {
	case s.Kind == engine.StepCheck:
		ids = j.Book.Checks.Get(s.ID).Openings
	case a != nil:
		ids = []string{s.ID}
	}
	var out []rules.Area
	for _, id := range ids {
		// What lies deeper names the place; the cover on the way to it does not.
		if !j.onTheWay(id, ids) {
			out = append(out, j.Book.Openings.Get(id).Lies)
		}
	}
	if len(out) == 0 {
		out = []rules.Area{rules.FluidEnd}
	}
	return out
}

func (j *job) onTheWay(id string, ids []string) bool {
	for _, other := range ids {
		a := j.Book.Openings.Get(other)
		if a == nil {
			continue
		}
		for _, need := range a.Needs {
			if need == id {
				return true
			}
		}
	}
	return false
}

// planPicture marks where the steps are; nil if none is at one cylinder.
func (j *job) planPicture() *doc.Figure {
	type key struct {
		cylinder, end string
		area          rules.Area
	}
	at := map[key][]int{}
	var whole []int
	add := func(k key, n int) {
		if list := at[k]; len(list) == 0 || list[len(list)-1] != n {
			at[k] = append(list, n)
		}
	}
	for _, s := range j.Plan.Steps {
		if s.Cylinder == "" {
			whole = append(whole, s.Number)
			continue
		}
		for _, a := range j.touched(s) {
			add(key{s.Cylinder, s.End, a}, s.Number)
		}
	}
	if len(at) == 0 {
		return nil
	}
	p := drawing.Plan{Name: "plan", Duplex: j.Case.Pump.Action == evidence.Duplex, Whole: stepsWord(whole)}
	for _, c := range j.Case.Pump.Cylinders {
		p.Lanes = append(p.Lanes, drawing.Lane{
			Name: capital(page.At(evidence.Place{Cylinder: c})), PowerEnd: stepsWord(at[key{c, "", rules.PowerEnd}]), RodSpace: stepsWord(at[key{c, "", rules.RodSpace}]),
			FluidEnd: stepsWord(at[key{c, "", rules.FluidEnd}]), CrankEnd: stepsWord(at[key{c, evidence.CrankEnd, rules.FluidEnd}]), HeadEnd: stepsWord(at[key{c, evidence.HeadEnd, rules.FluidEnd}]),
		})
	}
	out := p.Draw()
	return &out
}
