package page

import (
	"fmt"
	"io"
	"strings"

	"telltale/engine"
)

// Teardown writes the plan of a teardown: what it is for, how far it goes, what
// is at hand before it starts, the steps, and how it is closed again.
func Teardown(w io.Writer, t *engine.Teardown, width int, markdown bool) error {
	title := append(pumpLines(t.Report), bookLine(t.Report))
	title[0] = "TEARDOWN PLAN. " + title[0]
	blocks := stopBlocks(t.Report)
	if t.LeavePump {
		return writeBlocks(w, title, append(blocks, footBlock()), width, markdown)
	}
	blocks = append(blocks,
		forBlock(t), openBlock(t), timeBlock(t), toldBlock(t), handBlock(t),
		stepBlock(t, "ISOLATE AND OPEN, THEN LOOK, IN THIS ORDER", func(s engine.StepReport) bool { return s.Kind != engine.StepReturn }),
		readingBlock(t), correctionBlock(t), whileOpenBlock(t), askBlock(t),
		stepBlock(t, "CLOSE UP, LAST OPENED FIRST, AND RETURN TO SERVICE", func(s engine.StepReport) bool { return s.Kind == engine.StepReturn }),
		footBlock("Times are judged. The repair itself is not in them."),
	)
	return writeBlocks(w, title, present(blocks), width, markdown)
}

// present drops blocks that have nothing to say.
func present(blocks []block) []block {
	var out []block
	for _, b := range blocks {
		if len(b.paras)+len(b.list) > 0 || b.table != nil {
			out = append(out, b)
		}
	}
	return out
}

// mostTargets keeps the head of a plan short; JSON has all.
const mostTargets = 6

func forBlock(t *engine.Teardown) block {
	b := block{heading: "WHAT FOR"}
	if t.Named {
		b.paras = append(b.paras, "The causes were named; the percentages are the ranking's.")
	}
	for i, f := range t.For {
		if i == mostTargets {
			break
		}
		b.list = append(b.list, percent(f.Chance)+"  "+titled(f.Title, f.Where))
	}
	for _, c := range t.Confirmed {
		b.list = append(b.list, "PROVED: "+titled(c.Title, c.Where)+". Repair: "+c.Repair)
	}
	if len(t.For) == 0 {
		b.list = append(b.list, "No cause is likely enough to open the pump for.")
	}
	return b
}

func openBlock(t *engine.Teardown) block {
	b := block{heading: "HOW FAR TO OPEN"}
	for _, o := range t.Opens {
		line := titled(o.Title, o.Where)
		if o.Step == 0 {
			b.list = append(b.list, line+" (done)")
			continue
		}
		b.list = append(b.list, fmt.Sprintf("%s (step %d, %s, %s)", line, o.Step, minutes(o.Minutes), people(o.Hands)))
	}
	if len(b.list) == 0 {
		b.paras = append(b.paras, "Nothing is opened by this plan.")
	}
	return b
}

func people(n int) string {
	if n == 1 {
		return "1 person"
	}
	return fmt.Sprintf("%d people", n)
}

func timeBlock(t *engine.Teardown) block {
	b := block{heading: "TIME AND HANDS"}
	b.paras = append(b.paras, fmt.Sprintf("To the cause: %s on average; %s to the first check, %s for the whole list. Closing up and return: %s.",
		minutes(t.Times.ToCause), minutes(t.Times.Quickest), minutes(t.Times.Whole), minutes(t.Times.Closing)))
	b.paras = append(b.paras, fmt.Sprintf("The whole job without the repair: %s if it goes well and the first check shows it, up to %s if it goes badly and nothing is found. Hands: %s.",
		minutes(t.Times.Low), minutes(t.Times.High), people(t.Hands)))
	if t.Order != nil {
		b.paras = append(b.paras, orderLine(t.Order))
	}
	return b
}

func toldBlock(t *engine.Teardown) block {
	b := block{heading: "TELL BEFORE YOU START"}
	for _, who := range t.Told {
		b.list = append(b.list, box+who.Who+": "+who.Of)
	}
	return b
}

// handBlock lists tools, spares and what opening uses up.
func handBlock(t *engine.Teardown) block {
	b := block{heading: "HAVE AT HAND"}
	b.list = append(b.list, "Tools: "+strings.Join(t.Tools, ", ")+".")
	for _, s := range t.Consumed {
		b.list = append(b.list, "[ ] New in any case: "+spareText(s))
	}
	for _, s := range t.Spares {
		chance := percent(s.Chance)
		if s.AtMost {
			chance = "at most " + chance
		}
		b.list = append(b.list, box+chance+": "+spareText(s))
	}
	b.list = append(b.list, fmt.Sprintf("Parts that are needed with less than %s are not listed.", percent(t.SpareFrom)))
	return b
}

func spareText(s engine.SpareReport) string {
	if len(s.Places) == 0 || s.Places[0] == "" {
		return s.Title
	}
	return s.Title + ", " + placesOf(s.Places)
}

// stepBlock writes the steps of a kind with a box each. What to do and what a
// result means stands once for sister cylinders.
func stepBlock(t *engine.Teardown, heading string, which func(engine.StepReport) bool) block {
	b := block{heading: heading}
	said := map[string]int{}
	for _, s := range t.Steps {
		if !which(s) {
			continue
		}
		b.list = append(b.list, planStep(s, said[s.Kind+s.ID])...)
		if said[s.Kind+s.ID] == 0 {
			said[s.Kind+s.ID] = s.Number
		}
	}
	return b
}

// planStep is a step as a plan shows it: a guard in one line, since the site's
// procedure has its words; anything else with what to do, or the number of the
// step that says it.
func planStep(s engine.StepReport, said int) []string {
	if s.Kind == engine.StepSafety {
		return []string{fmt.Sprintf(box+"%d. %s: %s (%s)", s.Number, strings.ToUpper(s.Signal), s.Title, minutes(s.Minutes))}
	}
	line := fmt.Sprintf(box+"%d. %s (%s)", s.Number, titled(s.Title, s.Where), stepNote(s))
	if said > 0 {
		return []string{line + fmt.Sprintf(" As step %d.", said)}
	}
	out := []string{line + " " + s.Do}
	for _, r := range s.Results {
		out = append(out, below+r.If+": "+r.Then)
	}
	return out
}

// readingBlock leaves room for what is read, with the limits of each check
// once.
func readingBlock(t *engine.Teardown) block {
	b := block{heading: "READINGS TO WRITE DOWN"}
	last := ""
	for _, r := range t.Readings {
		if head := titled(r.Title, r.Where); head != last {
			line := head
			if len(r.Limits) > 0 {
				line += ". " + strings.Join(r.Limits, "; ")
			}
			b.list, last = append(b.list, line), head
		}
		b.list = append(b.list, below+r.What+": ________________")
	}
	return b
}

// correctionBlock repeats what the measurements of the case call for.
func correctionBlock(t *engine.Teardown) block {
	b := block{heading: "CORRECTIONS FROM WHAT WAS MEASURED"}
	if t.Measured == nil {
		return b
	}
	for i := range t.Measured.Centring {
		b.list = append(b.list, centringLine(&t.Measured.Centring[i]))
	}
	return b
}

func whileOpenBlock(t *engine.Teardown) block {
	b := block{heading: "WHILE IT IS OPEN, ALSO WORTH A LOOK"}
	for _, e := range t.WhileOpen {
		b.list = append(b.list, fmt.Sprintf(box+"%s: %s now against a chance of %s times %s for coming back = %s. It looks for: %s.",
			titled(e.Title, e.Where), minutes(e.Minutes), percent(e.Chance), minutes(e.ComeBack), minutes(e.Chance*e.ComeBack), strings.Join(e.Looks, "; ")))
	}
	return b
}

func askBlock(t *engine.Teardown) block {
	b := block{heading: "WHEN TO STOP, AND WHOM TO ASK"}
	for _, a := range t.AskInstead {
		b.list = append(b.list, a.If+": "+a.Ask)
	}
	return b
}
