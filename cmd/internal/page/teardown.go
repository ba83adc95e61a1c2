package page

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"telltale/cmd/internal/words"
	"telltale/engine"
)

// Teardown writes the plan of a teardown: what it is for, how far it goes, what
// is at hand before it starts, the steps, and how it is closed again.
func Teardown(w io.Writer, t *engine.Teardown, width int, markdown bool) error {
	title := append(pumpLines(t.Report), bookLine(t.Report))
	title[0] = "TEARDOWN PLAN. " + title[0]
	blocks := append(stopBlocks(t.Report), present([]block{lockBlock(t.Report)})...)
	if t.LeavePump {
		return writeBlocks(w, title, append(blocks, footBlock()), width, markdown)
	}
	blocks = append(blocks,
		ratingBlock(t.Report), forBlock(t), openBlock(t), timeBlock(t), toldBlock(t), handBlock(t),
		lookBlock(t),
		readingBlock(t), correctionBlock(t),
	)
	blocks = append(blocks, shimBlocks(t)...)
	blocks = append(blocks, whileOpenBlock(t), askBlock(t),
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
	for _, c := range t.Confirmed {
		b.list = append(b.list, "PROVED: "+Titled(c.Title, c.Place))
		for _, f := range ProvedFacts(c) {
			b.list = append(b.list, below+f.Label+": "+f.Text)
		}
	}
	for _, u := range t.Unexplained {
		b.list = append(b.list, "Still unexplained: "+words.Unexplained(t.Report, u))
	}
	if line := ExplainsAll(t.Report); line != "" {
		b.list = append(b.list, line)
	}
	for i, f := range t.For {
		if i == mostTargets {
			b.list = append(b.list, fmt.Sprintf("and %d more", len(t.For)-i))
			break
		}
		b.list = append(b.list, Percent(f.Chance)+"  "+Titled(f.Title, f.Place))
	}
	switch {
	case len(t.For) > 0:
	case hasCheck(t):
		b.list = append(b.list, "No single cause stands out. The checks look for many unlikely ones.")
	case len(t.Confirmed) > 0:
		b.list = append(b.list, "No other cause is likely enough to look for.")
	default:
		b.list = append(b.list, "No cause is likely enough to open the pump for.")
	}
	return b
}

func hasCheck(t *engine.Teardown) bool {
	for _, s := range t.Steps {
		if s.Kind == engine.StepCheck {
			return true
		}
	}
	return false
}

func openBlock(t *engine.Teardown) block {
	b := block{heading: "HOW FAR TO OPEN"}
	for _, o := range t.Opens {
		line := Titled(o.Title, o.Place)
		if o.Step == 0 {
			b.list = append(b.list, line+" (open already)")
			continue
		}
		b.list = append(b.list, fmt.Sprintf("%s (step %d, %s, %s)", line, o.Step, Minutes(o.Minutes), people(o.Hands)))
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
	closing := ""
	if t.Times.Closing > 0 {
		closing = fmt.Sprintf(" Closing up and return: %s.", Minutes(t.Times.Closing))
	}
	if !hasCheck(t) {
		b.paras = append(b.paras, strings.TrimSpace(fmt.Sprintf("There is nothing to look for.%s Hands: %s.", closing, people(t.Hands))))
		return b
	}
	b.paras = append(b.paras, fmt.Sprintf("To the cause: %s on average; %s to the end of the %s, %s for the whole list.%s",
		Minutes(t.Times.ToCause), Minutes(t.Times.Quickest), firstLook(t), Minutes(t.Times.Whole), closing))
	b.paras = append(b.paras, fmt.Sprintf("The whole job without the repair: %s if it goes well and that check shows it, up to %s if it goes badly and nothing is found. Hands: %s.",
		Minutes(t.Times.Low), Minutes(t.Times.High), people(t.Hands)))
	if t.Order != nil {
		b.paras = append(b.paras, orderLine(t.Order))
	}
	return b
}

// firstLook names the check that Times.Quickest is reckoned to.
func firstLook(t *engine.Teardown) string {
	for _, s := range t.Steps {
		if s.Kind == engine.StepCheck && s.Pump == "isolated" {
			return "first check behind the isolation"
		}
	}
	return "first check"
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
	if len(t.Tools) > 0 {
		b.list = append(b.list, "Tools: "+strings.Join(t.Tools, ", ")+".")
	}
	if len(t.RepairTools) > 0 {
		b.list = append(b.list, "For the repair also: "+strings.Join(t.RepairTools, ", ")+".")
	}
	for _, s := range t.Consumed {
		b.list = append(b.list, box+"New in any case: "+spareText(s))
	}
	for _, s := range t.Spares {
		b.list = append(b.list, box+Percent(s.Chance)+": "+spareText(s))
		if more := besidesText(s); more != "" {
			b.list = append(b.list, below+more)
		}
	}
	for _, w := range t.Worn {
		b.list = append(b.list, box+"Past its life: "+Titled(w.Title, w.Place))
	}
	b.list = append(b.list, fmt.Sprintf("Percent: how likely the repair takes it. Parts that are needed with less than %s are not listed, but those of what is proved.", Percent(t.SpareFrom)))
	return b
}

func spareText(s engine.SpareReport) string {
	if places := placesOf(s.Places); places != "" {
		return s.Title + ", " + places
	}
	return s.Title
}

// besidesText says what must be opened besides to fit a part; empty if the
// plan gets at it.
func besidesText(s engine.SpareReport) string {
	var list []string
	for _, o := range s.OpenBesides {
		list = append(list, fmt.Sprintf("%s (%s with closing, %s)", Titled(o.Title, o.Place), Minutes(o.Minutes), people(o.Hands)))
	}
	if len(list) == 0 {
		return ""
	}
	return "To fit it, open also: " + strings.Join(list, "; ")
}

// wornText says how long a part has run past its life.
func wornText(w engine.WornReport) string {
	life := "its expected life is " + significant(w.Life, 3) + " h"
	if w.By == "median" {
		life = "by the record half of them have failed by " + significant(w.Life, 3) + " h"
	}
	return fmt.Sprintf("%s has run %s h; %s. Nothing more to open: change it now.", Titled(w.Title, w.Place), significant(w.Hours, 3), life)
}

// lookBlock has the steps up to the last check, and when to leave them.
func lookBlock(t *engine.Teardown) block {
	b := stepBlock(t, "ISOLATE AND OPEN, THEN LOOK, IN THIS ORDER", func(s engine.StepReport) bool { return s.Kind != engine.StepReturn })
	if hasCheck(t) {
		b.paras = []string{whenFound}
	}
	return b
}

// stepBlock writes the steps of a kind with a box each. What to do and what a
// result means stands once for sister cylinders.
func stepBlock(t *engine.Teardown, heading string, which func(engine.StepReport) bool) block {
	b := block{heading: heading}
	said, rest := map[string]int{}, restFrom(t.Steps)
	for _, s := range t.Steps {
		if !which(s) {
			continue
		}
		if s.Number == rest {
			b.list = append(b.list, onlyIfNothing)
		}
		b.list = append(b.list, planStep(s, said[s.Kind+s.ID], slices.Contains(t.SiteSteps, s.ID))...)
		if said[s.Kind+s.ID] == 0 {
			said[s.Kind+s.ID] = s.Number
		}
	}
	return b
}

// planStep is a step as a plan shows it: a step of the site's isolation in one
// line, since the site's procedure has its words; anything else with what to
// do, or the number of the step that says it.
func planStep(s engine.StepReport, said int, site bool) []string {
	if s.Kind == engine.StepSafety {
		line := fmt.Sprintf(box+"%d. %s: %s (%s)", s.Number, strings.ToUpper(s.Signal), s.Title, Minutes(s.Minutes))
		if site {
			return []string{line}
		}
		return []string{line + " " + s.Do}
	}
	line := fmt.Sprintf(box+"%d. %s", s.Number, Titled(s.Title, s.Place))
	if s.Minutes > 0 {
		line += " (" + stepNote(s) + ")"
	} else {
		line += "."
	}
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
	for i, r := range t.Readings {
		if head := Titled(r.Title, r.Place); head != last {
			line := head
			if limits := limitsFrom(t.Readings[i:]); len(limits) > 0 {
				line += ". " + strings.Join(limits, "; ")
			}
			b.list, last = append(b.list, line), head
			for _, g := range r.Gauges {
				b.list = append(b.list, below+"With: "+gaugeLine(g))
			}
		}
		b.list = append(b.list, below+r.What+": ________________")
	}
	return b
}

// limitsFrom gives the limits of all readings of the first one's check and
// place, each once.
func limitsFrom(readings []engine.BlankReport) []string {
	var out []string
	for _, r := range readings {
		if r.Check != readings[0].Check || r.Place != readings[0].Place {
			break
		}
		for _, limit := range r.Limits {
			if !slices.Contains(out, limit) {
				out = append(out, limit)
			}
		}
	}
	return out
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

// shimBlocks have the sums and steps of the shims that are planned.
func shimBlocks(t *engine.Teardown) []block {
	var out []block
	if t.Measured == nil {
		return out
	}
	for i := range t.Measured.Centring {
		if c := &t.Measured.Centring[i]; len(c.Procedures) > 0 {
			out = append(append(out, sumsBlock(c)), procedureBlocks(c)...)
		}
	}
	return out
}

func whileOpenBlock(t *engine.Teardown) block {
	b := block{heading: "WHILE IT IS OPEN, ALSO WORTH A LOOK"}
	if len(t.WhileOpen) > 0 {
		b.paras = append(b.paras, "Nothing more is opened for these. They are not in the steps.")
	}
	for _, w := range t.Worn {
		b.list = append(b.list, box+wornText(w))
	}
	for _, e := range t.WhileOpen {
		b.list = append(b.list, box+Titled(e.Title, e.Place)+". "+ExtraText(e))
	}
	return b
}

// ExtraText says what a look while it is open costs now and later, and what it
// looks for.
func ExtraText(e engine.ExtraReport) string {
	text := fmt.Sprintf("%s now; coming back for it would take %s. Chance that it shows something: %s.", Minutes(e.Minutes), Minutes(e.ComeBack), Percent(e.Chance))
	if e.Pays {
		text += " By these figures it pays to do it now."
	}
	return text + " Look for: " + strings.Join(e.Looks, "; ") + "."
}

func askBlock(t *engine.Teardown) block {
	b := block{heading: "WHEN TO STOP, AND WHOM TO ASK"}
	for _, a := range t.AskInstead {
		b.list = append(b.list, a.If+": "+a.Ask)
	}
	return b
}
