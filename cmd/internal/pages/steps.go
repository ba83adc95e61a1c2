package pages

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine"
)

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
func restFrom(steps []engine.StepReport) int {
	found := 0.0
	for _, s := range steps {
		if found >= nearlyFound && (s.Kind == engine.StepCheck || s.Kind == engine.StepOpening) {
			return s.Number
		}
		if s.Kind == engine.StepCheck {
			found = s.FoundByHere
		}
	}
	return 0
}

// orderLine says how good the order is and what other ways would take.
func orderLine(o *engine.OrderReport) string {
	line := "This is the shortest possible order of these steps"
	if !o.Shortest {
		line = fmt.Sprintf("This order is within %.0f %% of the shortest possible", math.Ceil(100*(o.Within-1)))
	}
	return line + fmt.Sprintf("; the likeliest cause first would take %s, a fixed order %s.", words.Minutes(math.Round(o.LikeliestFirst)), words.Minutes(math.Round(o.Textbook)))
}

// stepNotes sum up a step: minutes, and for a check the chance.
func stepNotes(s *engine.StepReport) []string {
	if s.Kind == engine.StepCheck {
		return []string{words.Minutes(s.Minutes), "found by here: " + words.Percent(s.FoundByHere) + " in " + words.Minutes(s.MinutesByHere)}
	}
	if s.Minutes > 0 {
		return []string{words.Minutes(s.Minutes)}
	}
	return nil
}

// results has a line to tick for each result of a step.
func results(s *engine.StepReport) []doc.Item {
	var out []doc.Item
	for _, r := range s.Results {
		out = append(out, doc.Item{Box: doc.ToTick, Strong: r.If + ":", Text: r.Then})
	}
	return out
}

// planSteps has the steps of a kind with a box each, as a plan shows them. What
// to do and what a result means stands once for sister cylinders; a step of the
// site's isolation has no words, since the site's procedure has them.
func planSteps(t *engine.Teardown, which func(kind string) bool) []doc.Part {
	var out []doc.Part
	said, rest := map[string]int{}, restFrom(t.Steps)
	for i := range t.Steps {
		s := &t.Steps[i]
		if !which(s.Kind) {
			continue
		}
		if s.Number == rest {
			out = append(out, onlyIfNothing())
		}
		step := &doc.Step{Number: s.Number, Tick: true, Signal: s.Signal, Title: words.Titled(s.Title, s.Place), Notes: stepNotes(s)}
		switch first := said[s.Kind+s.ID]; {
		case s.Kind == engine.StepSafety && slices.Contains(t.SiteSteps, s.ID):
		case first > 0 && s.Kind != engine.StepSafety:
			step.Do = fmt.Sprintf("As step %d.", first)
		default:
			said[s.Kind+s.ID] = s.Number
			step.Do, step.Results = s.Do, results(s)
		}
		out = append(out, doc.Part{Step: step})
	}
	return out
}

// firstCheck is the first check of a list; nil if there is none.
func firstCheck(r *engine.Report) *engine.StepReport {
	for i := range r.Steps {
		if r.Steps[i].Kind == engine.StepCheck {
			return &r.Steps[i]
		}
	}
	return nil
}

// FirstCheck names the first check of the list with its place and minutes;
// empty if there is none.
func FirstCheck(r *engine.Report) string {
	s := firstCheck(r)
	if s == nil {
		return ""
	}
	return fmt.Sprintf("%s (%s)", words.Titled(s.Title, s.Place), words.Minutes(s.Minutes))
}

// toldSteps has each step at length, to be read.
func toldSteps(list []engine.StepReport) []doc.Part {
	var out []doc.Part
	rest := restFrom(list)
	for i := range list {
		s := &list[i]
		if s.Number == rest {
			out = append(out, onlyIfNothing())
		}
		step := &doc.Step{Number: s.Number, Kind: s.Kind, Signal: s.Signal, Title: words.Titled(s.Title, s.Place), Notes: stepNotes(s), Do: s.Do, Results: results(s)}
		if len(s.Tools) > 0 {
			step.Facts = append(step.Facts, doc.Fact{Label: "Tools", Text: strings.Join(s.Tools, ", ")})
		}
		if len(s.Looks) > 0 {
			step.Facts = append(step.Facts, doc.Fact{Label: "Shows", Text: strings.Join(s.Looks, "; ")})
		}
		out = append(out, doc.Part{Step: step})
	}
	return out
}
