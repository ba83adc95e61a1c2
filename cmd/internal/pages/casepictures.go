package pages

import (
	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/drawing"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/evidence"
	"telltale/rules"
)

// evidencePicture shows what speaks for and against causes.
func evidencePicture(causes []words.Weighed, most int) doc.Figure {
	e := drawing.Evidence{Name: "evidence"}
	for _, c := range causes {
		cause := drawing.Cause{Title: words.Capital(words.Chance(c.Chance)) + ": " + words.Titled(c.Title, c.Place)}
		for _, list := range [][]words.Weight{c.For, c.Against} {
			for _, why := range list[:min(len(list), most)] {
				cause.Reasons = append(cause.Reasons, drawing.Reason{Text: why.Text, Decibans: why.Decibans, Words: words.Strength(why.Decibans)})
			}
		}
		e.Causes = append(e.Causes, cause)
	}
	return e.Draw()
}

// foundPicture is the chance found against minutes; nil without a check.
func foundPicture(r *engine.Report) *doc.Figure {
	f := drawing.Found{Name: "found"}
	for _, s := range r.Steps {
		if s.Kind == engine.StepCheck {
			f.Checks = append(f.Checks, drawing.FoundAt{Step: s.Number, Minutes: s.MinutesByHere, Chance: s.FoundByHere, Time: words.Minutes(s.MinutesByHere), Words: words.Chance(s.FoundByHere)})
		}
	}
	if len(f.Checks) == 0 {
		return nil
	}
	mean := func(way string, minutes float64) {
		f.Means = append(f.Means, drawing.Mean{Minutes: minutes, Words: way + " " + words.Minutes(minutes)})
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
func (j *jobSheet) touched(s engine.StepReport) []rules.Area {
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

func (j *jobSheet) onTheWay(id string, ids []string) bool {
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
func (j *jobSheet) planPicture() *doc.Figure {
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
	p := drawing.Plan{Name: "plan", Duplex: j.Case.Pump.Action == evidence.Duplex, Whole: words.Steps(whole)}
	for _, c := range j.Case.Pump.Cylinders {
		p.Lanes = append(p.Lanes, drawing.Lane{
			Name: words.Capital(words.Cylinder(c)), PowerEnd: words.Steps(at[key{c, "", rules.PowerEnd}]), RodSpace: words.Steps(at[key{c, "", rules.RodSpace}]),
			FluidEnd: words.Steps(at[key{c, "", rules.FluidEnd}]), CrankEnd: words.Steps(at[key{c, evidence.CrankEnd, rules.FluidEnd}]), HeadEnd: words.Steps(at[key{c, evidence.HeadEnd, rules.FluidEnd}]),
		})
	}
	out := p.Draw()
	return &out
}
