package sheet

import (
	"fmt"
	"slices"
	"strings"

	"telltale/cmd/internal/page"
	"telltale/engine"
)

// steps is the list in its order up to the last check. The steps of the
// site's isolation stand in the panel; here a line keeps their place.
func (j *job) steps() Section {
	s := Section{Heading: "Steps, in this order"}
	if len(j.Plan.Steps) == 0 {
		s.Parts = append(s.Parts, text("No check of the rulebook would settle what is open. Call the maintenance engineer."))
		return s
	}
	s.Parts = append(s.Parts, text(page.WhenFound))
	return j.list(s, func(step engine.StepReport) bool { return step.Kind != engine.StepReturn })
}

// list writes the steps of a kind. What was said at a sister cylinder is not
// said again.
func (j *job) list(s Section, which func(engine.StepReport) bool) Section {
	said := map[string]*engine.StepReport{}
	rest := page.RestFrom(j.Plan.Steps)
	var gate []int
	closeGate := func() {
		if len(gate) == 0 {
			return
		}
		s.Parts = append(s.Parts, Part{Step: &Step{
			Title: capital(stepsWord(gate)) + ": isolation, in the panel at the head of this sheet",
			Facts: []Fact{{"Do", "Go on only when every line of the panel is ticked and initialled."}},
		}})
		gate = nil
	}
	for i := range j.Plan.Steps {
		step := j.Plan.Steps[i]
		if !which(step) {
			continue
		}
		if j.ofSite(step) {
			gate = append(gate, step.Number)
			continue
		}
		closeGate()
		if step.Number == rest {
			s.Parts = append(s.Parts, Part{Text: []string{page.OnlyIfNothing}, With: true, Strong: true})
		}
		key := step.Kind + step.ID
		s.Parts = append(s.Parts, Part{Step: j.step(step, said[key])})
		if said[key] == nil {
			said[key] = &step
		}
	}
	closeGate()
	return s
}

// step lays one step out; said is the step that says the same of a sister
// cylinder, nil for none.
func (j *job) step(s engine.StepReport, said *engine.StepReport) *Step {
	out := &Step{Number: s.Number, Signal: s.Signal, Title: page.Titled(s.Title, s.Place)}
	if s.Minutes > 0 {
		out.Notes = append(out.Notes, page.Minutes(s.Minutes))
	}
	if s.Pump != "" && s.Pump != "any" {
		out.Notes = append(out.Notes, "pump "+strings.ReplaceAll(s.Pump, "-", " "))
	}
	if s.Kind == engine.StepCheck {
		out.Notes = append(out.Notes, "found by here: "+chance(s.FoundByHere))
	}
	if said != nil {
		out.Facts = append(out.Facts, Fact{"Do", fmt.Sprintf("As step %d.", said.Number)})
	} else {
		out.Facts = append(out.Facts, Fact{"Do", s.Do})
		if len(s.Tools) > 0 && s.Kind != engine.StepReturn {
			out.Facts = append(out.Facts, Fact{"Tools", strings.Join(s.Tools, ", ")})
		}
	}
	if len(s.Looks) > 0 && (said == nil || !slices.Equal(s.Looks, said.Looks)) {
		out.Facts = append(out.Facts, Fact{"Look for", strings.Join(s.Looks, "; ")})
	}
	for _, r := range s.Results {
		if said != nil {
			out.Boxes = append(out.Boxes, r.If)
			continue
		}
		out.Results = append(out.Results, Tick{Strong: r.If + ":", Text: r.Then})
	}
	if back := j.Book.Returns.Get(s.ID); s.Kind == engine.StepCheck || s.Kind == engine.StepReturn && back != nil && len(back.Repeats) > 0 {
		j.readings(out, s)
	}
	if said != nil {
		out.Gauges = nil
	}
	return out
}

// readings leaves room for what the check reads, and names its limits.
func (j *job) readings(out *Step, s engine.StepReport) {
	for _, r := range j.Plan.Readings {
		repeated := s.Kind == engine.StepReturn && r.Step == s.Number
		if !repeated && (r.Check != s.ID || r.Place != s.Place || r.Title != s.Title) {
			continue
		}
		if len(out.Blanks) == 0 {
			for _, g := range r.Gauges {
				out.Gauges = append(out.Gauges, page.GaugeLine(g))
			}
		}
		blank := blankFor(r.What)
		if repeated {
			blank.Label = page.Titled(strings.TrimSuffix(blank.Label, ":"), r.Place) + ":"
		}
		out.Blanks = append(out.Blanks, blank)
		for _, limit := range r.Limits {
			if !slices.Contains(out.Limits, limit) {
				out.Limits = append(out.Limits, limit)
			}
		}
	}
	if len(out.Blanks) == 0 {
		out.Blanks = []Blank{{Label: "Found:"}}
	}
}

// blankFor makes room for each thing that a reading names: "Back: top, bottom"
// is two lines to write on.
func blankFor(what string) Blank {
	for _, mark := range []string{": ", ". "} {
		if label, items, ok := strings.Cut(what, mark); ok && strings.Contains(items, ", ") {
			return Blank{Label: label + ":", Items: strings.Split(items, ", ")}
		}
	}
	return Blank{Label: what + ":", Items: []string{""}}
}

func (j *job) runAgain() Section {
	s := Section{Heading: "If nothing was found: look when the pump runs again"}
	a := j.Plan.RunAgain
	if a == nil {
		return s
	}
	s.Parts = append(s.Parts, text("These need the running pump, so they come after all the steps of the return to service."))
	for _, step := range a.Steps {
		s.Parts = append(s.Parts, Part{Step: j.step(step, nil)})
	}
	return s
}

// mostAgain keeps the list of what to check again short.
const mostAgain = 4

// again says what to check again after the repair.
func (j *job) again() Section {
	s := Section{Heading: "Check again after the repair"}
	part := Part{}
	for _, c := range j.Plan.Confirmed {
		part.Ticks = append(part.Ticks, Tick{Strong: page.Titled(c.Title, c.Place) + ":", Text: c.LookAgain, Initials: true})
	}
	for i, c := range page.Likely(j.Plan.Report) {
		if i == mostAgain || len(j.Plan.Confirmed) > 0 {
			break
		}
		part.Ticks = append(part.Ticks, Tick{Strong: "If it was: " + page.Titled(c.Title, c.Place) + ":", Text: c.LookAgain, Initials: true})
	}
	if len(part.Ticks) == 0 {
		return s
	}
	part.Text = []string{"Repeat the reading or the look that showed the fault, the same way, and write it down beside the first one."}
	part.Table = &Table{Head: []string{"Reading", "Before", "After", "Limit (manual)", "Date, hours", "Initials"}, Room: true, Rows: emptyRows(3, 6)}
	s.Parts = append(s.Parts, part)
	return s
}

func emptyRows(rows, columns int) [][]Cell {
	out := make([][]Cell, rows)
	for i := range out {
		out[i] = make([]Cell, columns)
	}
	return out
}

func (j *job) closing() Section {
	s := Section{Heading: "Close up, last opened first, and return to service"}
	return j.list(s, func(step engine.StepReport) bool { return step.Kind == engine.StepReturn })
}

// afterwards has room for the first hour and the next planned stop.
func (j *job) afterwards() Section {
	hour := &Table{Head: []string{"After", "Strokes", "Pressure", "Leaks", "Heat", "Knock", "Wash, oil", "Initials"}, Room: true}
	for _, when := range []string{"start", "10 min", "30 min", "60 min"} {
		row := make([]Cell, len(hour.Head))
		row[0].Text = when
		hour.Rows = append(hour.Rows, row)
	}
	stop := &Table{Head: []string{"Joint or reading", "Manual says", "Found", "Date, hours", "Initials"}, Room: true, Rows: emptyRows(3, 5)}
	return Section{Heading: "First hour and next planned stop", Parts: []Part{
		{Head: "First hour, from outside the guards", Table: hour},
		{Head: "Next planned stop, isolated again", Table: stop},
	}}
}
