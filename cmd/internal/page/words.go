package page

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"telltale/engine"
	"telltale/evidence"
	"telltale/rules"
)

// The columns that a text page can have.
const (
	LeastWidth = 60
	MostWidth  = 160
)

// What a page shows of the causes unless everything is asked for.
const (
	mostCauses  = 6
	leastChance = 0.03
	leastGroup  = 0.2
	mostAsked   = 5
)

// JSON writes a report or a plan as one indented JSON value.
func JSON(w io.Writer, r any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(r)
}

// Percent prints a chance with no more digits than are known.
func Percent(p float64) string {
	switch {
	case p < 0.01:
		return "under 1 %"
	case p > 0.99:
		return "over 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

// Minutes prints a time.
func Minutes(m float64) string {
	switch {
	case m < 1:
		return "under 1 min"
	case m >= longTime:
		return fmt.Sprintf("%.1f h", m/60)
	}
	return fmt.Sprintf("%.0f min", m)
}

// longTime is the minutes from which a time is said in hours.
const longTime = 240

// decibans prints a weight of evidence.
func decibans(db float64) string { return fmt.Sprintf("%+.0f", db) }

// at says a place in words, "cylinder 2" or "left cylinder, head end"; empty
// for the whole pump.
func at(w evidence.Place) string {
	if w.Cylinder == "" {
		return ""
	}
	out := w.Cylinder + " cylinder"
	if _, err := strconv.Atoi(w.Cylinder); err == nil {
		out = "cylinder " + w.Cylinder
	}
	if w.End != "" {
		out += ", " + w.End + " end"
	}
	return out
}

// Titled joins a title and its place.
func Titled(title string, w evidence.Place) string {
	if place := at(w); place != "" {
		return title + ", " + place
	}
	return title
}

// likely picks the causes that a page shows.
func likely(r *engine.Report, all bool) []engine.CauseReport {
	if all {
		return r.Causes
	}
	for i, c := range r.Causes {
		if i == mostCauses || i > 0 && c.Probability < leastChance {
			return r.Causes[:i]
		}
	}
	return r.Causes
}

// pumpLines describes the pump in one or two lines.
func pumpLines(r *engine.Report) []string {
	p := r.Pump
	name := p.Name
	if name == "" {
		name = "Pump"
	}
	lines := []string{fmt.Sprintf("%s: %s, %s", name, strings.Replace(p.Action, "-", " ", 1), p.State)}
	var parts []string
	for _, part := range []struct{ name, value string }{
		{"liner", p.Liner}, {"stroke", p.Stroke}, {"speed", p.Speed}, {"discharge", p.Discharge},
	} {
		if part.value != "" {
			parts = append(parts, part.name+" "+part.value)
		}
	}
	if p.Rotation != "unknown" {
		parts = append(parts, "rotation "+p.Rotation)
	}
	if len(parts) > 0 {
		lines = append(lines, strings.Join(parts, ", "))
	}
	if len(p.Recent) > 0 {
		lines = append(lines, "Done lately: "+strings.Join(p.Recent, "; "))
	}
	if len(p.Open) > 0 {
		lines = append(lines, "Done already: "+strings.Join(p.Open, "; "))
	}
	return lines
}

func bookLine(r *engine.Report) string {
	line := fmt.Sprintf("Rulebook: %s, version %s, digest %s", r.Rulebook.Name, r.Rulebook.Version, r.Rulebook.Digest)
	if local := r.Rulebook.Local; local != nil {
		line += fmt.Sprintf("; changed by the local book %s, version %s, digest %s", local.Name, local.Version, local.Digest)
	}
	return line
}

// firmLine says how firm the first cause is; empty if it was not tried.
func firmLine(r *engine.Report) string {
	f := r.Firmness
	if f == nil {
		return ""
	}
	return fmt.Sprintf("How firm: with every judged figure moved at random (odds by about a factor of %.1f), the first cause stays first in %d of %d tries; its chance runs from %s to %s.",
		math.Exp(f.Spread), f.StaysFirst, f.Books, Percent(f.Low), Percent(f.High))
}

// signalMeanings are those of ANSI Z535 and ISO 3864 (from memory, in our
// words).
var signalMeanings = []struct{ word, meaning string }{
	{"danger", "will kill or badly hurt somebody if you do not avoid it"},
	{"warning", "could kill or badly hurt somebody"},
	{"caution", "could hurt somebody lightly"},
}

// signalLegend explains the signal words that the report uses.
func signalLegend(r *engine.Report) []string {
	used := map[string]bool{}
	for _, s := range r.Stop {
		used[s.Signal] = true
	}
	for _, s := range r.Steps {
		used[s.Signal] = true
	}
	var out []string
	for _, s := range signalMeanings {
		if used[s.word] {
			out = append(out, strings.ToUpper(s.word)+": "+s.meaning+".")
		}
	}
	return out
}

// govern is printed on every page.
const govern = "This pump's manual, the site's isolation procedure, local rules and licensed practice govern. " +
	"Do not carry an unrated device into a hazardous area: print this page."

// stepNote sums up a step: minutes, and for a check the chance.
func stepNote(s engine.StepReport) string {
	if s.Kind != engine.StepCheck {
		return Minutes(s.Minutes)
	}
	return Minutes(s.Minutes) + "; found by here: " + Percent(s.FoundByHere) + " in " + Minutes(s.MinutesByHere)
}

// StopHead names a stop condition with its signal word and with when the pump
// is stopped for it.
func StopHead(s engine.StopReport) string {
	return strings.ToUpper(s.Signal+", "+rules.StopBy(s.By).Words()) + ": " + s.Title
}

// BehindWords says what the repair of a proved cause is done behind.
func BehindWords(c engine.ConfirmedReport) string {
	var first []string
	for _, g := range c.Safety {
		first = append(first, g.Title)
	}
	return rules.Behind(c.Behind).Words(first)
}

// nextLine is the next thing to do: what the gravest stop says, else what was
// proved and is to be corrected, and the first step with the first check that
// it leads to; empty if there is nothing.
func nextLine(r *engine.Report) string {
	if len(r.Stop) > 0 && len(r.Stop[0].Do) > 0 {
		return r.Stop[0].Do[0] + " Read all of the stop box before anything else."
	}
	if len(r.Steps) == 0 && r.Closed {
		return nothingLeft
	}
	line := correctLine(r)
	if len(r.Steps) == 0 {
		return line
	}
	first := r.Steps[0]
	line = strings.TrimLeft(line+" ", " ") + fmt.Sprintf("Step 1: %s (%s). %s", Titled(first.Title, first.Place), Minutes(first.Minutes), first.Do)
	for _, s := range r.Steps[1:] {
		if first.Kind != engine.StepCheck && s.Kind == engine.StepCheck {
			return line + fmt.Sprintf(" The first check is step %d: %s.", s.Number, Titled(s.Title, s.Place))
		}
	}
	return line
}

// correctLine names what was proved and is not corrected yet; empty if there is
// nothing.
func correctLine(r *engine.Report) string {
	var titles []string
	for _, c := range r.Confirmed {
		if !c.Corrected {
			titles = append(titles, Titled(c.Title, c.Place))
		}
	}
	if len(titles) == 0 {
		return ""
	}
	return "Correct what was proved: " + strings.Join(titles, "; ") + "."
}

// FirstCheck names the first check of the list with its place and minutes;
// empty if there is none.
func FirstCheck(r *engine.Report) string {
	for _, s := range r.Steps {
		if s.Kind == engine.StepCheck {
			return fmt.Sprintf("%s (%s)", Titled(s.Title, s.Place), Minutes(s.Minutes))
		}
	}
	return ""
}

// anyPresent says whether any sign was seen at all.
func anyPresent(r *engine.Report) bool {
	for _, f := range r.Found {
		if f.Answer == "present" {
			return true
		}
	}
	return false
}

// whenFound says when to leave the list.
const whenFound = "When a check shows the cause: leave the list there, repair it behind the isolation, or behind what its repair names instead, then do the return steps for all that was opened. " +
	"Write the result into the case file and run telltale again: what is still unexplained is looked for next."

// listNote says what the list of steps amounts to.
func listNote(r *engine.Report) string {
	line := fmt.Sprintf("Chance that this list finds the trouble: %s. If it does, then on average after %s of work.",
		Percent(1-r.NotInSteps), Minutes(math.Round(r.ExpectedMinutes)))
	if o := r.Order; o != nil {
		line += " " + orderLine(o)
	}
	return line
}

// nearlyFound is the chance of having found the trouble from which the rest of
// a list is only for when nothing was found.
const nearlyFound = 0.95

// onlyIfNothing is printed before that rest.
const onlyIfNothing = "Only if nothing was found so far: what is below adds little."

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

// runAgainNote says what a look at the running pump costs.
func runAgainNote(a *engine.RunAgainReport) string {
	return fmt.Sprintf("These looks need the running pump, so they come after all the return steps (%s). Minutes count from the start of the list of return steps.", Minutes(a.ReturnMinutes))
}

// orderLine says how good the order is and what other ways would take.
func orderLine(o *engine.OrderReport) string {
	line := "This is the shortest possible order of these steps"
	if !o.Shortest {
		line = fmt.Sprintf("This order is within %.0f %% of the shortest possible", math.Ceil(100*(o.Within-1)))
	}
	return line + fmt.Sprintf("; the likeliest cause first would take %s, a fixed order %s.", Minutes(math.Round(o.LikeliestFirst)), Minutes(math.Round(o.Textbook)))
}

// question is one open sign with the places where it was not answered.
type question struct {
	engine.QuestionReport
	places []evidence.Place // in the order of the pump
}

// questions joins the same sign at several places, best first.
func questions(r *engine.Report) []question {
	var out []question
	index := map[string]int{}
	for _, q := range r.Ask {
		i, seen := index[q.Sign]
		if !seen {
			if len(out) == mostAsked {
				continue
			}
			i = len(out)
			index[q.Sign] = i
			out = append(out, question{QuestionReport: q})
		}
		if q.Place != (evidence.Place{}) {
			out[i].places = append(out[i].places, q.Place)
		}
	}
	for _, q := range out {
		slices.SortStableFunc(q.places, func(a, b evidence.Place) int {
			return cmp.Or(slices.Index(r.Pump.Cylinders, a.Cylinder)-slices.Index(r.Pump.Cylinders, b.Cylinder), cmp.Compare(a.End, b.End))
		})
	}
	return out
}

func (q question) text() string {
	if len(q.places) == 0 {
		return q.Question
	}
	var places []string
	for _, w := range q.places {
		places = append(places, at(w))
	}
	return q.Question + " (" + strings.Join(places, "; ") + ")"
}

// doesNotFit heads what speaks against each other in a case.
const doesNotFit = "DOES NOT FIT TOGETHER"

// nothingLeft stands for the list of a closed case.
const nothingLeft = "This case is closed. Nothing is left to do. Start a new case for anything new."

// DoneWith says what was done about a proved cause, "" if it is not corrected.
func DoneWith(c engine.ConfirmedReport) string {
	switch {
	case c.LookedAgain:
		return "Corrected, and right when it was looked at again."
	case c.Corrected:
		return "Corrected. Still to be looked at again: " + c.LookAgain
	}
	return ""
}

// Fact is something that is said under a label.
type Fact struct{ Label, Text string }

// ProvedFacts is what every view says of a proved cause, in this order.
func ProvedFacts(c engine.ConfirmedReport) []Fact {
	if done := DoneWith(c); done != "" {
		return []Fact{{"Done", done}}
	}
	out := []Fact{{"Repair", BehindWords(c) + " " + c.Repair}, {"Then", c.LookAgain}}
	if len(c.Parts) > 0 {
		out = append(out, Fact{"Parts", strings.Join(c.Parts, ", ") + "."})
	}
	return append(out, Fact{"If left", c.Ruins})
}

// ExplainsAll says that what is proved explains each sign; empty where it does
// not, or where none was seen.
func ExplainsAll(r *engine.Report) string {
	if len(r.Confirmed) == 0 || len(r.Unexplained) > 0 || !anyPresent(r) {
		return ""
	}
	return "This more likely than not explains each sign that was seen."
}

// straightLine offers to go straight to the look that can prove the likeliest
// cause; empty where no cause is likely enough.
func straightLine(r *engine.Report) string {
	g := r.GoStraight
	if g == nil || len(g.First) == g.Step-1 { // the list goes there anyway
		return ""
	}
	line := fmt.Sprintf("Or go straight there. %s: %s. Step %d can prove it: %s.", Titled(g.Title, g.Place), Percent(g.Probability), g.Step, Titled(g.CheckTitle, g.At))
	if len(g.First) > 0 {
		line += fmt.Sprintf(" Before it only steps %s: safety, openings, what the rulebook puts first.", ranges(g.First))
	}
	return line
}

// ranges writes numbers in order as "1 to 4, 7".
func ranges(numbers []int) string {
	var parts []string
	for i := 0; i < len(numbers); {
		j := i
		for j+1 < len(numbers) && numbers[j+1] == numbers[j]+1 {
			j++
		}
		part := strconv.Itoa(numbers[i])
		if j > i {
			part += " to " + strconv.Itoa(numbers[j])
		}
		parts, i = append(parts, part), j+1
	}
	return strings.Join(parts, ", ")
}
