package trainer

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine/practice"
	"telltale/evidence"
)

var endWords = map[practice.End]string{
	practice.Solved: "found", practice.Left: "the pump was left to the driller, as it must be", practice.LeftIdle: "the pump was left although nothing demanded it",
	practice.GaveUp: "given up", practice.Broken: "the input ended",
}

// told is what is said of one thing when an exercise is over.
type told []prompt.Line

func (t *told) below(format string, args ...any) { *t = append(*t, below(format, args...)) }

func (t *told) item(mark, text string) {
	*t = append(*t, prompt.Line{Kind: prompt.Item, Mark: mark, Text: text})
}

func (t *told) under(mark, text string) {
	*t = append(*t, prompt.Line{Kind: prompt.Under, Mark: mark, Text: text})
}

// tell gives all that is said when an exercise is over.
func (x *Exercise) tell(r *practice.Review) []prompt.Line {
	var out []prompt.Line
	for _, part := range []struct {
		head  string
		lines told
	}{
		{"Result", x.result(r)}, {"Your choices, and the tool's at that moment", x.choices(r)}, {"The chain of evidence", x.chains(r)},
		{"The tool's list at the start", x.planned()}, {"There to be seen, and not looked for", x.missed(r)},
	} {
		if len(part.lines) > 0 {
			out = append(append(out, prompt.Line{Kind: prompt.Head, Text: part.head}), part.lines...)
		}
	}
	return out
}

func (x *Exercise) result(r *practice.Review) told {
	var t told
	for _, trouble := range x.s.World.Troubles() {
		x.trouble(&t, trouble)
	}
	v := x.s.Verdict()
	verdict := "Passed"
	switch {
	case v.Faults > 0:
		verdict = fmt.Sprintf("FAILED, safety faults: %d", v.Faults)
	case !v.Ended:
		verdict = "Not solved"
	case !v.Passed:
		verdict = "NOT PASSED"
	}
	t.below("%s. End: %s.", verdict, endWords[x.s.End])
	x.lacking(&t, &v)
	t.below("Minutes: yours %.0f, the tool's own order in the same world %.0f (%s).", r.Minutes, r.Best.Minutes(), toolsEnd(r.Best))
	if r.Compared {
		t.below("Ratio: %.2f (1.00 is the tool's own order).", r.Ratio)
	}
	if x.correctionsAsked+x.shimsAsked > 0 {
		t.below("Corrections right: %d of %d. Shims right: %d of %d.", x.corrections, x.correctionsAsked, x.shims, x.shimsAsked)
	}
	return t
}

// trouble says what failed and what brought it on.
func (x *Exercise) trouble(t *told, trouble practice.Trouble) {
	lead := x.s.Lead(trouble)
	title := x.titled(practice.Name, lead.ID, lead.Place)
	if len(trouble.Failed) == 0 {
		t.below("What was wrong: %s.", title)
		t.under("", "Nothing brought it on, and it brought nothing on.")
		return
	}
	t.below("What failed: %s.", title)
	t.under("", x.broughtOnBy(x.s.World.Way(lead)))
	besides := slices.DeleteFunc(slices.Clone(trouble.Failed), func(at evidence.At) bool { return at == lead })
	if len(besides) > 0 {
		t.under("", "Failed by the same: "+x.list(practice.Name, besides)+".")
	}
}

// broughtOnBy names what brought a failure on, step by step.
func (x *Exercise) broughtOnBy(way []evidence.At) string {
	var out []string
	for _, at := range way {
		out = append(out, x.titled(practice.Name, at.ID, at.Place))
	}
	return "Brought on by: " + strings.Join(out, "; that was brought on by: ") + "."
}

// list names things of the book, each once with all its places.
func (x *Exercise) list(do practice.Doing, list []evidence.At) string {
	var out, ids []string
	for _, at := range list {
		i := slices.Index(ids, at.ID)
		if i < 0 {
			ids, out = append(ids, at.ID), append(out, x.titled(do, at.ID, at.Place))
			continue
		}
		out[i] += ", " + words.Place(at.Place)
	}
	return strings.Join(out, "; ")
}

// toolsEnd says how the tool's own way ended.
func toolsEnd(best *practice.Session) string {
	if v := best.Verdict(); v.Ended && len(v.Unproved) > 0 {
		return "found by a guess"
	}
	if best.End == practice.Running {
		return "broken off: too many findings to weigh together"
	}
	return endWords[best.End]
}

// lacking says what was missing for a pass, besides safety.
func (x *Exercise) lacking(t *told, v *practice.Verdict) {
	for _, at := range v.Back {
		t.item("", fmt.Sprintf("It came back: %s. It was put right, and what brought it on was left. After %.0f hours it was the same trouble.", x.titled(practice.Name, at.ID, at.Place), x.book.Practice.BackHours))
	}
	for _, stop := range v.Stopped {
		t.item("", fmt.Sprintf("You stopped asking at: %s.", x.titled(practice.Name, stop.Failed.ID, stop.Failed.Place)))
		if len(stop.Way) > 0 {
			t.under("", x.broughtOnBy(stop.Way))
			t.under("", fmt.Sprintf("Put right alone it is back after %.0f hours or so: the same trouble.", x.book.Practice.BackHours))
		} else {
			t.under("", "Nothing brought it on. That was still to be said.")
		}
	}
	for _, u := range v.Unproved {
		if u.Nothing {
			t.item("", fmt.Sprintf("Not shown: that nothing brought this on: %s. It was said before that was looked for.", x.titled(practice.Name, u.Cause.ID, u.Cause.Place)))
			if len(u.Shows) > 0 {
				t.under("", "Still to be done were: "+x.checks(u.Shows)+".")
			}
			continue
		}
		t.item("", fmt.Sprintf("No proof of: %s. It was named before a check or a look showed it.", x.titled(practice.Name, u.Cause.ID, u.Cause.Place)))
		if len(u.Missed) > 0 {
			t.under("", "Done, and showed nothing of it: "+x.checks(u.Missed)+".")
		}
		if len(u.Shows) > 0 {
			t.under("", "This would have shown it: "+x.checks(u.Shows)+".")
		}
	}
	for _, at := range v.Miscorrected {
		t.item("", fmt.Sprintf("Wrong correction of: %s. The book: %s", x.titled(practice.Name, at.ID, at.Place), x.s.Repair(at.ID)))
	}
}

// mostChecks is how many checks are named in one sentence.
const mostChecks = 3

func (x *Exercise) checks(list []evidence.At) string {
	return x.list(practice.Check, list[:min(len(list), mostChecks)])
}

// choices lists each choice with the best one at that moment; what was as in
// the list and needs no word stands in one line.
func (x *Exercise) choices(r *practice.Review) told {
	var t told
	if len(r.Judged) == 0 {
		return t
	}
	for i := 0; i < len(r.Judged); i++ {
		last := i
		for last < len(r.Judged) && r.Judged[last].Same && (r.Judged[last].Do == practice.Safety || r.Judged[last].Do == practice.Open) {
			last++
		}
		if last > i+1 {
			t.below("%d to %d. Safety steps and openings, the same as the tool's.", i+1, last)
			i = last - 1
			continue
		}
		x.choice(&t, i+1, &r.Judged[i])
	}
	t.below("A chance is that the check finds a cause behind the findings; its minutes hold all that was missing before it. The tool weighs the whole list, not one rate alone.")
	return t
}

func (x *Exercise) choice(t *told, n int, j *practice.Judged) {
	text := doWords[j.Do] + ": " + x.titledOrTitle(j.Action)
	if j.Do == practice.Leave {
		text = x.titledOrTitle(j.Action)
	}
	switch {
	case j.Refused != nil && j.Refused.Danger:
		text += ". STOPPED: not safe yet."
	case j.Refused != nil:
		text += ". Stopped: something else comes first."
	case j.Do == practice.Name || j.Do == practice.Root:
		text += ". " + nameWord(&j.Outcome)
	default:
		text += fmt.Sprintf(", %s.", words.Minutes(j.Choice.Minutes))
	}
	t.item(fmt.Sprintf("%d.", n), text)
	t.under("", x.beside(j))
	if why := x.reason(j); why != "" {
		t.under("", why)
	}
}

// nameWord says what came of a name, or of what was said to have brought one on.
func nameWord(o *practice.Outcome) string {
	switch {
	case o.Back:
		return "Wrong: it came back."
	case o.Right && !o.Proved:
		return "Right, but a guess: nothing had shown it."
	case o.Right:
		return "Right."
	case o.Between:
		return "There, but something brought that on in its turn."
	case o.There:
		return "There, but it did not bring this on."
	}
	return "Wrong."
}

// reason says why the tool does not begin with a check that shows a higher
// figure than its own; "" where there is nothing to explain.
func (x *Exercise) reason(j *practice.Judged) string {
	r := j.Reason
	if r == nil {
		return ""
	}
	var why []string
	if r.Rule {
		why = append(why, "The book puts the tool's check before all others now, whatever it finds.")
	}
	if n := len(r.Lost); n > 0 {
		why = append(why, fmt.Sprintf("Yours comes behind the stop or the isolation. %d of the list could not be done after it, such as: %s.", n, words.Titled(r.Lost[0].Title, r.Lost[0].Place)))
	}
	if r.Useless {
		why = append(why, "The list does not have it: its questions are answered, or it finds too little.")
		return "Why not yours: " + strings.Join(why, " ")
	}
	list, first := shown(r.Share, r.Minutes), shown(r.FirstShare, r.FirstMinutes)
	switch {
	case r.FirstShare >= r.Share-leastShare && r.FirstMinutes <= r.Minutes:
		why = append(why, fmt.Sprintf("Over the whole list yours first is no worse: %s; the tool's order %s.", first, list))
	default:
		why = append(why, fmt.Sprintf("It is the whole list that counts. The tool's order: %s. With yours first: %s.", list, first))
	}
	return "Why not yours: " + strings.Join(why, " ")
}

// leastShare is a difference in the share that a list shows which is told.
const leastShare = 0.005

// shown says what a list shows, and after how long on average.
func shown(share, minutes float64) string {
	return fmt.Sprintf("%s of the trouble shown, after %s on average", words.Percent(share), words.Minutes(math.Round(minutes)))
}

var doWords = map[practice.Doing]string{
	practice.Look: "Look", practice.Safety: "Safety", practice.Open: "Open", practice.Check: "Check", practice.Name: "Name", practice.Root: "Root", practice.Leave: "Leave",
}

// beside says what the tool would have done.
func (x *Exercise) beside(j *practice.Judged) string {
	if j.NoNext {
		return "The tool had no step left."
	}
	if j.Unweighed {
		return "The tool does not weigh so many findings together."
	}
	own := ""
	switch {
	case j.Do == practice.Check:
		own = " Yours: " + rate(j.Chance, j.Minutes) + "."
	case j.Do == practice.Name || j.Do == practice.Root:
		own = fmt.Sprintf(" The tool gave yours %s then.", words.Percent(j.Believed))
	case j.Do == practice.Look:
		own = fmt.Sprintf(" Yours was expected to tell %.2f bits", j.Bits)
		if j.BestLook.ID != "" && j.BestLook != j.Action {
			own += fmt.Sprintf("; the best question, %.2f: %s", j.BestBits, x.titledOrTitle(j.BestLook))
		}
		own += "."
	}
	if j.Guess {
		return fmt.Sprintf("The tool had no check left. Its guess then, which proves nothing: %s.", x.titledOrTitle(j.Next)) + own
	}
	if j.Same {
		if j.Do == practice.Check {
			return "The same as the tool's: " + rate(j.Chance, j.Minutes) + "."
		}
		return "The same as the tool's." + own
	}
	best := fmt.Sprintf("Best then: %s: %s", strings.ToLower(doWords[j.Next.Do]), x.titledOrTitle(j.Next))
	if j.Next.Do == practice.Leave {
		best = "Best then: " + x.titledOrTitle(j.Next)
	}
	if j.Goal.Do == practice.Check {
		if j.Goal != j.Next {
			best += ", on the way to: " + x.titledOrTitle(j.Goal)
		}
		best += ": " + rate(j.BestChance, j.BestMinutes)
	}
	return best + "." + own
}

// rate says a chance, its minutes and the chance of a minute.
func rate(chance, minutes float64) string {
	if minutes <= 0 {
		return words.Percent(chance)
	}
	return fmt.Sprintf("%s in %s, %s %% a minute", words.Percent(chance), words.Minutes(minutes), words.Significant(100*chance/minutes, 1))
}

// leastTold is the weight from which a finding is told, in decibans.
const leastTold = 0.5

// chains shows how each hidden cause came to light.
func (x *Exercise) chains(r *practice.Review) told {
	var t told
	t.below("The figures in front are decibans: 10 is ten times the odds.")
	for _, c := range r.Chains {
		t.below("%s: %s before anything was known.", x.titled(practice.Name, c.Cause.ID, c.Cause.Place), words.Percent(c.Start))
		if c.By.ID != "" {
			t.under("", "In brackets: the chance that it came from this, if it is there: "+x.titled(practice.Name, c.By.ID, c.By.Place)+".")
		}
		moved := false
		for _, l := range c.Links {
			if math.Abs(l.Decibans) < leastTold {
				continue
			}
			moved = true
			then := words.Percent(l.Chance)
			if c.By.ID != "" {
				then += " (" + words.Percent(l.Share) + ")"
			}
			t.under(fmt.Sprintf("%+.1f", l.Decibans), fmt.Sprintf("%s; then %s", x.linkText(l), then))
		}
		if !moved {
			t.under("", "Nothing that was seen moved it.")
		}
	}
	return t
}

func (x *Exercise) linkText(l practice.Link) string {
	if l.Check.ID != "" {
		return "nothing proved by: " + x.titled(practice.Check, l.Check.ID, l.Check.Place)
	}
	return x.placed(l.Finding)
}

func (x *Exercise) placed(f evidence.Finding) string {
	if len(f.Over) > 1 {
		return x.s.FindingText(f) + ", somewhere"
	}
	return words.Titled(x.s.FindingText(f), f.At)
}

// mostMissed is how many overlooked signs are told.
const mostMissed = 5

func (x *Exercise) missed(r *practice.Review) told {
	var t told
	for _, m := range r.Missed[:min(len(r.Missed), mostMissed)] {
		t.item("", fmt.Sprintf("%s: %+.1f decibans for %s", x.placed(m.Finding), m.Decibans, x.titled(practice.Name, m.Cause.ID, m.Cause.Place)))
	}
	return t
}
