package pages

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// What a page shows of the causes unless everything is asked for.
const (
	mostCauses  = 6
	mostReasons = 4
	leastChance = 0.05 // but two at least
	leastGroup  = 0.2
	mostAsked   = 5
)

// nothingLeft stands for the list of a closed case.
const nothingLeft = "This case is closed. Nothing is left to do. Start a new case for anything new."

// nothingSettles stands where there are no steps.
const nothingSettles = "No check of the rulebook would settle what is open."

// wayBackLeft stands for the list where all is settled and something still stands open or
// locked, or owes its way back to service.
const wayBackLeft = "What is left is the way back to service: see what stands open or locked, and what is owed. Then write it off."

// onlyWayBack says whether all that was proved is settled and no more than the way back is
// left.
func onlyWayBack(r *engine.Report) bool {
	return !r.Closed && len(r.Confirmed) > 0 && len(r.Unexplained) == 0 &&
		!slices.ContainsFunc(r.Confirmed, func(c chances.Confirmed) bool { return !c.LookedAgain || !c.RootLeft && len(c.RootsLeft) > 0 })
}

// noSteps is what stands where there are no steps.
func noSteps(r *engine.Report) string {
	switch {
	case r.Closed:
		return nothingLeft
	case onlyWayBack(r):
		return wayBackLeft
	}
	return nothingSettles
}

// Triage is the answer to a case; with all it shows every cause, not only the
// likely ones.
func Triage(r *engine.Report, all bool) *doc.Document {
	d := begin("", r)
	d.Add(before(r)...)
	if !r.LeavePump {
		d.Add(ratings(r), next(r), troubles(r, false), measured(r), confirmed(r), causes(r, all), ask(r), steps(r), runAgain(r, toldSteps))
	}
	d.Add(notes(r.Notes...))
	return d
}

// next is the next thing to do.
func next(r *engine.Report) doc.Section {
	return doc.Section{Heading: "Do next", Parts: []doc.Part{doc.Text(nextLine(r)), doc.Text(straightLine(r))}}
}

// saidNext is the stop of which the words come next: the gravest that is at once,
// else the gravest. What a local book wants at once waits for a graver stop.
func saidNext(stops []chances.Stop) chances.Stop {
	for _, s := range stops {
		if s.By == string(rules.AtOnce) && (!s.FromLocal || s.Signal == stops[0].Signal) {
			return s
		}
	}
	return stops[0]
}

// nextLine is what the stop says that comes next, else what was proved and is to be
// corrected, and the first step with the first check that it leads to; empty if
// there is nothing.
func nextLine(r *engine.Report) string {
	if len(r.Stop) > 0 {
		return saidNext(r.Stop).Do[0] + " Read all of the stop box before anything else."
	}
	if len(r.Steps) == 0 && (r.Closed || onlyWayBack(r)) {
		return noSteps(r)
	}
	return together(doc.If(UntilItStands(r) != "", tellNow), correctLine(r), firstSteps(r, true))
}

// NextOfNote is what comes next for whoever noted something in a file, in a line, and
// where all of it is told. The stop conditions were read out before it; ifSo says whether
// one was that holds if what was not written is so.
func NextOfNote(r *engine.Report, ifSo bool, file string) string {
	steps := firstSteps(r, false)
	reported := len(r.Confirmed) > 0 || slices.ContainsFunc(r.Found, func(f chances.Finding) bool { return f.Answer == string(evidence.Present) })
	switch {
	case len(r.Stop) > 0 || ifSo:
		steps = "First all of the stop box" + doc.If(len(r.Stop) == 0, ", if it is so") + ", line by line."
	case !reported:
		return "Nothing that is wrong is noted yet. Note what was seen, or tell it: telltale ask " + file
	default:
		steps = cmp.Or(together(correctLine(r), steps), noSteps(r))
	}
	return together(steps, "The rest: telltale triage "+file)
}

// together puts sentences together, without those that are empty.
func together(texts ...string) string { return strings.Join(doc.Said(texts...), " ") }

// firstSteps names the first step, told at length or not, and the first check
// that it leads to; empty if there is no step.
func firstSteps(r *engine.Report, told bool) string {
	if len(r.Steps) == 0 {
		return ""
	}
	first, then := r.Steps[0], ""
	if check := firstCheck(r); check != nil && check.Number > first.Number {
		then = fmt.Sprintf("%s step %d: %s.", cmp.Or(doc.If(told, "The first check is"), "First check,"), check.Number, words.Titled(check.Title, check.Place))
	}
	return together(fmt.Sprintf("Step 1: %s (%s).", words.Titled(first.Title, first.Place), words.Minutes(first.Minutes)), doc.If(told, first.Do), then)
}

// correctLine names what was proved and is not corrected yet; empty if there is
// nothing.
func correctLine(r *engine.Report) string {
	var titles []string
	for _, c := range r.Confirmed {
		if !c.Corrected {
			titles = append(titles, words.Titled(c.Title, c.Place))
		}
	}
	return doc.If(len(titles) > 0, "Correct what was proved: "+strings.Join(titles, "; ")+".")
}

// straightLine offers to go straight to the look that can prove the likeliest
// cause; empty where no cause is likely enough.
func straightLine(r *engine.Report) string {
	g := r.GoStraight
	if g == nil || len(g.First) == g.Step-1 { // the list goes there anyway
		return ""
	}
	line := fmt.Sprintf("Or go straight there. %s: %s. Step %d can prove it: %s.", words.Titled(g.Title, g.Place), words.Likely(g.Probability), g.Step, words.Titled(g.CheckTitle, g.At))
	return line + doc.If(len(g.First) > 0, fmt.Sprintf(" Before it only %s: safety, openings, what the rulebook puts first.", words.Steps(g.First)))
}

// confirmed has what was proved, on every page under the same word.
func confirmed(r *engine.Report) doc.Section {
	return doc.Section{Heading: "Proved", Parts: []doc.Part{proved(r)}}
}

// likely picks the causes that a page shows.
func likely(r *engine.Report, all bool) []chances.Cause {
	if all {
		return r.Causes
	}
	for i, c := range r.Causes {
		if i == mostCauses || i > 1 && c.Probability < leastChance {
			return r.Causes[:i]
		}
	}
	return r.Causes
}

func causes(r *engine.Report, all bool) doc.Section {
	shown := likely(r, all)
	part := doc.Text(noRivals(shown))
	for _, c := range shown {
		weighed := words.WeighedCause(r, c)
		rank := doc.Rank{Figure: words.Percent(c.Probability), Text: words.Titled(c.Title, c.Place), To: []doc.Ref{titled("cause", c.Cause, c.Title)}, Note: strings.TrimSpace(words.Capital(words.Likelihood(c.Probability)) + ". " + roleNote(c))}
		for _, side := range weighed.Sides(mostReasons) {
			for _, w := range side.Weights {
				rank.Moved = append(rank.Moved, doc.Weight{Way: side.Way, Figure: words.Decibans(w.Decibans), Text: w.Text})
			}
		}
		part.Ranks = append(part.Ranks, rank)
	}
	rest := len(r.Causes) - len(shown)
	foot := []string{
		doc.If(rest > 0, fmt.Sprintf("%d more are less likely (--all shows them).", rest)),
		doc.If(len(r.Troubles) == 0, noneLine(r)),
		"By area: " + areas(r) + ".",
		"Weights are in decibans: +10 makes a cause ten times likelier, -10 ten times less likely (as odds).",
		r.Rulebook.Basis,
	}
	if f := r.Firmness; f != nil {
		foot = append(foot, fmt.Sprintf("How firm: with every judged figure moved at random (odds by about a factor of %.1f), the first cause stayed first in %d of %d tries.", math.Exp(f.Spread), f.StaysFirst, f.Books),
			fmt.Sprintf("In those tries its chance ran from %s to %s.", words.Percent(f.Low), words.Percent(f.High)))
	}
	return doc.Section{Heading: causesHead, Parts: []doc.Part{part, doc.Text(foot...)}}
}

// causesHead stands over the ranked causes.
const causesHead = "Causes, likeliest first"

// noneLine gives none of the rulebook's causes its share.
func noneLine(r *engine.Report) string {
	return "None of these, nor any other cause of the rulebook: " + noneShare(r) + "."
}

func noneShare(r *engine.Report) string {
	if len(r.Confirmed) > 0 {
		return words.RuledOut + ", since something is " + words.Proved
	}
	return words.Likely(r.NoneOfThese)
}

// areas says in which areas of the pump the trouble is.
func areas(r *engine.Report) string {
	var parts []string
	for i, g := range r.Groups {
		if i == 0 || g.Probability >= leastGroup {
			parts = append(parts, bracketed(strings.ToLower(g.Title), words.Likely(g.Probability)))
		}
	}
	return strings.Join(parts, ", ")
}

// ask has the best questions, each once with the places where it was not
// answered.
func ask(r *engine.Report) doc.Section {
	var asked []chances.Question
	places := map[string][]evidence.Place{}
	for _, q := range r.Ask {
		if _, seen := places[q.Sign]; !seen {
			if len(asked) == mostAsked {
				continue
			}
			asked = append(asked, q)
		}
		places[q.Sign] = append(places[q.Sign], q.Place)
	}
	var part doc.Part
	for _, q := range asked {
		at := places[q.Sign]
		slices.SortStableFunc(at, func(a, b evidence.Place) int { // in the order of the pump
			return cmp.Or(slices.Index(r.Pump.Cylinders, a.Cylinder)-slices.Index(r.Pump.Cylinders, b.Cylinder), cmp.Compare(a.End, b.End))
		})
		part.Items = append(part.Items, doc.Item{Text: bracketed(q.Question, words.Places(at, "; ")), Below: []doc.Item{naming(fmt.Sprintf("In the case file: %s (%.2f bits)", q.Sign, q.Bits), "sign", q.Sign)}})
	}
	return doc.Section{Heading: "Worth asking now", Aside: " (nothing to open; best first)", Parts: []doc.Part{part}}
}

func steps(r *engine.Report) doc.Section {
	s := doc.Section{Heading: "Steps, in this order"}
	switch {
	case len(r.Steps) == 0 && (r.Closed || onlyWayBack(r)):
		s.Parts = []doc.Part{doc.Text(noSteps(r))}
	case len(r.Steps) == 0:
		s.Parts = []doc.Part{doc.Text(nothingSettles + " Ask the questions above, or call the maintenance engineer.")}
	case firstCheck(r) == nil:
		s.Parts = append([]doc.Part{doc.Text(append([]string{nothingToLookFor(r)}, signalMeanings(r)...)...)}, toldSteps(r.Steps)...)
	default:
		s.Parts = append([]doc.Part{doc.Text(append([]string{listNote(r), whenFound}, signalMeanings(r)...)...)}, toldSteps(r.Steps)...)
	}
	return s
}

// listNote says what the list of steps amounts to.
func listNote(r *engine.Report) string {
	line := fmt.Sprintf("Chance that this list finds the trouble: %s. If it does, then on average after %s of work.",
		words.Likely(1-r.NotInSteps), words.Minutes(math.Round(r.ExpectedMinutes)))
	if o := r.Order; o != nil {
		line += " " + orderLine(o)
	}
	return line
}

// signals are the signal words with the meanings of ANSI Z535 and ISO 3864
// (from memory, in our words).
var signals = []struct{ word, meaning string }{
	{"danger", "will kill or badly hurt somebody if you do not avoid it"},
	{"warning", "could kill or badly hurt somebody"},
	{"caution", "could hurt somebody lightly"},
}

// signalMeanings explains the signal words that the report uses.
func signalMeanings(r *engine.Report) []string {
	var out []string
	for _, s := range signals {
		if slices.ContainsFunc(r.Stop, func(x chances.Stop) bool { return x.Signal == s.word }) ||
			slices.ContainsFunc(r.Steps, func(x work.Step) bool { return x.Signal == s.word }) {
			out = append(out, strings.ToUpper(s.word)+": "+s.meaning+".")
		}
	}
	return out
}

// runAgain has what is left to look at when the pump runs again, each step laid
// out by the page.
func runAgain(r *engine.Report, lay func([]work.Step) []doc.Part) doc.Section {
	a := r.RunAgain
	if a == nil {
		return doc.Section{}
	}
	note := fmt.Sprintf("These looks need the running pump, so they come after all the return steps (%s). Minutes count from the start of the list of return steps.", words.Minutes(a.ReturnMinutes))
	return doc.Section{Heading: "If nothing was found: look when the pump runs again", Parts: append([]doc.Part{doc.Text(note)}, lay(a.Steps)...)}
}
