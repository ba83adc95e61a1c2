package pages

import (
	"cmp"
	"fmt"
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

// hasteHead stands over the verdict.
const hasteHead = "How long can it wait?"

// haste is the verdict with its reasons and what would change it; nothing where
// the case could not be weighed.
func haste(r *engine.Report) doc.Section {
	if r.Haste == nil {
		return doc.Section{}
	}
	return doc.Section{Heading: hasteHead, Parts: []doc.Part{{Text: []string{r.Haste.Says}, Items: doc.Items(hasteLines(r)...)}}}
}

// HasteLine is the verdict in one line, with its first reason.
func HasteLine(h *chances.Haste) string {
	line := hasteHead + " " + h.Says
	for _, reason := range h.Because[:min(len(h.Because), 1)] {
		line += " " + hasteReason(reason)
	}
	return line
}

// tellNow comes first where the verdict is to stop a pump that runs.
const tellNow = "Tell the driller now that the pump must stop."

// UntilItStands says what the looks at the running pump are for when the verdict
// is to stop it now and no stop condition holds them back; empty otherwise.
func UntilItStands(r *engine.Report) string {
	looks := slices.ContainsFunc(r.Steps, func(s work.Step) bool {
		return s.Kind == work.StepCheck && s.Pump == string(rules.NeedsRunning)
	})
	if r.Haste == nil || r.Haste.Verdict != string(rules.StopNow) || r.Pump.State != string(evidence.Running) || !looks {
		return ""
	}
	return tellNow + " Looks at the running pump are only for the time until it stands. Nobody keeps it running for them."
}

// hasteLines are what the verdict means for the list, its reasons, what would
// change it, and the doubt about it.
func hasteLines(r *engine.Report) []string {
	h := r.Haste
	return slices.Concat([]string{UntilItStands(r)}, doc.Each(h.Because, hasteReason), []string{hasteTogether(h)}, doc.Each(h.ChangesIf, hasteChange), []string{hasteDoubt(r)})
}

// hasteTogether says what the verdict was taken from where no one cause carries
// it alone; empty otherwise.
func hasteTogether(h *chances.Haste) string {
	named := 0.0
	for _, reason := range h.Because {
		if reason.Stop != "" || reason.Proved {
			return ""
		}
		named = max(named, reason.Chance)
	}
	for _, c := range h.Chances {
		if c.Wait == h.Verdict && c.Chance >= c.From && named < c.From && named > 0 {
			return fmt.Sprintf("That one at least of all causes that wait no longer is there: %s. The rulebook says so from %s on.", words.Likely(c.Chance), share(c.From))
		}
	}
	return ""
}

func hasteReason(reason chances.HasteReason) string {
	if reason.Stop != "" {
		return strings.TrimSpace("Stop condition: " + doc.Ended(reason.Title) + " " + reason.Because)
	}
	if reason.Cause == "" {
		return doc.Ended(reason.Title)
	}
	chance := cmp.Or(doc.If(reason.Proved, words.Proved), words.Likely(reason.Chance))
	return together(fmt.Sprintf("%s (%s).", words.TitledAt(reason.Title, reason.Places), chance), reason.Because)
}

func hasteChange(c chances.HasteChange) string {
	way := cmp.Or(doc.If(c.Sooner, "Sooner"), "Later")
	return fmt.Sprintf("%s (%s) if %s", way, c.Then, hasteCondition(c))
}

// hasteCondition is what a change asks for: "this is proved: ...".
func hasteCondition(c chances.HasteChange) string {
	open, proved := targets(c.Causes, false), targets(c.Causes, true)
	switch c.If {
	case chances.ChangeAnswer:
		return fmt.Sprintf("the answer is %q: %s", answerWord(c.Answer), bracketed(c.Answer.Question, words.Place(c.Answer.Place)))
	case chances.ChangeProved:
		return "this is proved: " + doc.Ended(open)
	}
	return doc.Ended(strings.Join(doc.Said(
		doc.If(len(c.Stops) > 0, "the stop condition holds no more: "+strings.Join(c.Stops, "; ")),
		doc.If(open != "", "this is ruled out: "+open),
		doc.If(proved != "", "this is corrected and looked at again: "+proved),
	), ", and "))
}

// bracketed is a text with more of it in brackets, if there is more.
func bracketed(text, more string) string { return text + doc.If(more != "", " ("+more+")") }

func answerWord(a *chances.HasteAnswer) string {
	switch {
	case a.Kind != "":
		return a.KindTitle
	case a.Answer == "present":
		return "yes"
	}
	return "no"
}

// targets names causes, those proved or the others, with the check for each.
func targets(causes []chances.HasteTarget, proved bool) string {
	var out []string
	for _, c := range causes {
		if c.Proved == proved {
			out = append(out, words.TitledAt(c.Title, c.Places)+doc.If(c.CheckTitle != "" && !proved, " (check: "+c.CheckTitle+")"))
		}
	}
	return strings.Join(out, "; ")
}

// hasteDoubt says how the verdict fares with the figures moved, where that or
// the first cause is unsure. Where what was proved explains all that was seen,
// no cause is.
func hasteDoubt(r *engine.Report) string {
	d := r.Haste.Doubt
	if d == nil {
		return ""
	}
	if d.Unsure {
		return fmt.Sprintf("Not sure: with every judged figure moved at random it stays so in %d of %d tries, is sooner in %d, later in %d. If in doubt, take the sooner.", d.Same, d.Books, d.Sooner, d.Later)
	}
	explained := len(r.Confirmed) > 0 && len(r.Unexplained) == 0
	if f := r.Firmness; !explained && f != nil && 2*f.StaysFirst < f.Books {
		return fmt.Sprintf("Which cause it is stays unsure, but with every judged figure moved at random the verdict holds in %d of %d tries.", d.Same, d.Books)
	}
	return ""
}
