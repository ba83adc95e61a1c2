package pages

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/work"
)

// noCheckLeft stands before a list that looks for nothing.
const noCheckLeft = "There is nothing to look for. What was opened is closed up"

// nothingToLookFor is noCheckLeft with what comes then.
func nothingToLookFor(r *engine.Report) string {
	if r.OutOfService {
		return noCheckLeft + ". The pump does not run again."
	}
	return noCheckLeft + ", and the pump goes back to service."
}

// closeUp is the heading over the closing up.
func closeUp(r *engine.Report) string {
	if r.OutOfService {
		return "Close up, last opened first; the pump does not run again"
	}
	return "Close up, last opened first, and return to service"
}

// whenFound says when to leave the list of steps.
const whenFound = "When a check shows the cause: leave the list there, repair it behind the isolation, or behind what its repair names instead, then do the return steps for all that was opened. " +
	"Write the result into the case file and run telltale again: what is still unexplained is looked for next."

// nearlyFound is the chance of having found the trouble from which the rest of
// a list is only for when nothing was found.
const nearlyFound = 0.95

// onlyIfNothing is said before that rest.
func onlyIfNothing() doc.Part {
	return doc.Part{Text: []string{"Only if nothing was found so far: what is below adds little."}, Strong: true, With: true}
}

// restFrom gives the number of the first step of that rest: the first opening
// or check once the trouble is nearly found; 0 if there is none.
func restFrom(steps []work.Step) int {
	found := 0.0
	for _, s := range steps {
		if found >= nearlyFound && (s.Kind == work.StepCheck || s.Kind == work.StepOpening) {
			return s.Number
		}
		if s.Kind == work.StepCheck {
			found = s.FoundByHere
		}
	}
	return 0
}

// orderLine says how good the order is and what other ways would take.
func orderLine(o *work.Order) string {
	line := "This is the shortest possible order of these steps"
	if !o.Shortest {
		line = fmt.Sprintf("This order is within %.0f %% of the shortest possible", math.Ceil(100*(o.Within-1)))
	}
	return line + fmt.Sprintf("; the likeliest cause first would take %s, a fixed order %s.", words.Minutes(math.Round(o.LikeliestFirst)), words.Minutes(math.Round(o.Textbook)))
}

// stepNotes sum up a step: minutes, and for a check the chance.
func stepNotes(s *work.Step) []string {
	check := s.Kind == work.StepCheck
	return doc.Said(doc.If(check || s.Minutes > 0, words.Minutes(s.Minutes)), doc.If(check, "found by here: "+words.Percent(s.FoundByHere)+" in "+words.Minutes(s.MinutesByHere)))
}

// results has a line to tick for each result of a step.
func results(s *work.Step) []doc.Item {
	return doc.Each(s.Results, func(r work.Result) doc.Item {
		return doc.Item{Box: doc.ToTick, Strong: r.If + ":", Text: r.Then}
	})
}

// planned lists the steps of a plan, each with a box to tick.
type planned struct{ *engine.Teardown }

// list has the steps of a kind. What was said at a sister cylinder is not said
// again.
func (p planned) list(which func(kind string) bool) []doc.Part {
	var out []doc.Part
	said, rest := map[string]*work.Step{}, restFrom(p.Steps)
	for i := range p.Steps {
		s := &p.Steps[i]
		if !which(s.Kind) {
			continue
		}
		if s.Number == rest {
			out = append(out, onlyIfNothing())
		}
		key := s.Kind + s.ID
		out = append(out, doc.Part{Step: p.step(s, said[key])})
		if said[key] == nil && s.Kind != work.StepSafety {
			said[key] = s
		}
	}
	return out
}

func returning(kind string) bool { return kind == work.StepReturn }

func looking(kind string) bool { return kind != work.StepReturn }

// ofSite says whether a step is one of the site's isolation.
func (p planned) ofSite(s *work.Step) bool {
	return s.Kind == work.StepSafety && slices.Contains(p.SiteSteps, s.ID)
}

// step lays one step out; said is the step that says the same of a sister
// cylinder, nil for none. A step of the site's isolation has no words, since the
// site's procedure has them.
func (p planned) step(s, said *work.Step) *doc.Step {
	out := &doc.Step{Number: s.Number, Tick: true, Signal: s.Signal, Title: words.Titled(s.Title, s.Place), To: entryOf(s.Kind, s.ID, s.Title), Notes: stepNotes(s), Do: s.Do}
	switch {
	case said != nil:
		out.Do = fmt.Sprintf("As step %d.", said.Number)
		out.Boxes = doc.Each(s.Results, func(r work.Result) string { return r.If })
	case p.ofSite(s):
		out.Do = ""
	default:
		out.Results = results(s)
	}
	if said == nil {
		out.Figure = Picture(s.Picture)
	}
	p.readings(out, s, said == nil)
	return out
}

// readings leaves room for what a check reads or a return step reads again, and
// names its limits, and its gauges if they were not named yet.
func (p planned) readings(out *doc.Step, s *work.Step, gauges bool) {
	for _, r := range p.Readings {
		repeated := s.Kind == work.StepReturn && r.Step == s.Number
		if !repeated && (s.Kind != work.StepCheck || r.Check != s.ID || r.Place != s.Place || r.Title != s.Title) {
			continue
		}
		if gauges && len(out.Blanks) == 0 {
			out.Gauges = gaugeLines(r.Gauges)
		}
		blank := blankFor(r.What)
		if repeated {
			blank.Label = words.Titled(strings.TrimSuffix(blank.Label, ":"), r.Place) + ":"
		}
		out.Blanks = append(out.Blanks, blank)
		for _, limit := range r.Limits {
			if !slices.Contains(out.Limits, limit) {
				out.Limits = append(out.Limits, limit)
			}
		}
	}
}

// blankFor makes room for each thing that a reading names: "Back: top, bottom"
// is two lines to write on.
func blankFor(what string) doc.Blank {
	for _, mark := range []string{": ", ". "} {
		if label, items, ok := strings.Cut(what, mark); ok && strings.Contains(items, ", ") {
			return doc.Blank{Label: label + ":", Items: strings.Split(items, ", ")}
		}
	}
	return doc.Blank{Label: what + ":", Items: []string{""}}
}

// stepFacts has the tools of a step, but of a return step, and what it looks for.
func stepFacts(s *work.Step, looks string) []doc.Fact {
	return facts("Tools", doc.If(s.Kind != work.StepReturn, strings.Join(s.Tools, ", ")), looks, strings.Join(s.Looks, "; "))
}

// facts are texts behind their labels, without the labels that have no text.
func facts(labelled ...string) []doc.Fact {
	var out []doc.Fact
	for i := 0; i < len(labelled); i += 2 {
		if labelled[i+1] != "" {
			out = append(out, doc.Fact{Label: labelled[i], Text: labelled[i+1]})
		}
	}
	return out
}

// firstCheck is the first check of a list; nil if there is none.
func firstCheck(r *engine.Report) *work.Step {
	i := slices.IndexFunc(r.Steps, func(s work.Step) bool { return s.Kind == work.StepCheck })
	if i < 0 {
		return nil
	}
	return &r.Steps[i]
}

// FirstCheck names the first check of the list with its place and minutes;
// empty if there is none.
func FirstCheck(r *engine.Report) string {
	if s := firstCheck(r); s != nil {
		return bracketed(words.Titled(s.Title, s.Place), words.Minutes(s.Minutes))
	}
	return ""
}

// toldSteps has each step at length, to be read.
func toldSteps(list []work.Step) []doc.Part {
	var out []doc.Part
	rest := restFrom(list)
	for i := range list {
		s := &list[i]
		if s.Number == rest {
			out = append(out, onlyIfNothing())
		}
		out = append(out, doc.Part{Step: &doc.Step{
			Number: s.Number, Kind: s.Kind, Signal: s.Signal, Title: words.Titled(s.Title, s.Place), To: entryOf(s.Kind, s.ID, s.Title), Notes: stepNotes(s), Do: s.Do, Facts: stepFacts(s, "Shows"), Results: results(s),
		}})
	}
	return out
}
