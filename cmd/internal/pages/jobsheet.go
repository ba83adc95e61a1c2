package pages

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
)

// JobSheet is what has to be on paper for a case, on few pages, in the order of
// the work: the stop conditions, what is next and how long it can wait, what is to
// be at hand, the looks at the running pump, the isolation, the looks behind it as
// far as they are likely to go, the repairs, the closing up, and the hand-over.
// When the pump is to be left, it holds the stop conditions and the hand-over
// alone. The teardown plan has the rest.
func JobSheet(in Input) *doc.Document {
	j := jobSheet{Input: in}
	r := in.Plan.Report
	d := in.begin("JOB SHEET. ", r)
	d.Lines = []string{sentenced(d.Lines)}
	d.Add(j.stops(), j.doNext())
	if r.LeavePump {
		d.Add(j.handOver())
		return d
	}
	p := j.paper()
	d.Add(contradictions(r), j.failed(), j.atHand(p))
	d.Add(j.looks(p)...)
	d.Add(j.repair(p), j.closing(p), j.afterwards(p), j.handOver())
	sourcesOnce(d)
	return d
}

// sentenced joins lines to one paragraph.
func sentenced(lines []string) string {
	return strings.Join(doc.Each(lines, doc.Ended), " ")
}

type jobSheet struct{ Input }

// stops has the stop conditions, to be ticked.
func (j *jobSheet) stops() doc.Section {
	return doc.Section{Heading: "Stop first", Panel: true, Parts: stopParts(j.Plan.Stop, doc.ToTick, "")}
}

// mostReasons of the verdict stand on the sheet.
const mostWaitReasons = 2

// doNext is the next act, and how long it can wait.
func (j *jobSheet) doNext() doc.Section {
	r := j.Plan.Report
	s := doc.Section{Heading: "Do next", Parts: []doc.Part{{Text: doc.Said(j.nextAct()), Strong: true}}}
	if r.LeavePump {
		s.Parts = []doc.Part{{Text: []string{"The pump waits. Causes and steps are held back until this is over."}, Strong: true}}
	}
	if h := r.Haste; h != nil {
		line := h.Says
		for _, reason := range h.Because[:min(len(h.Because), mostWaitReasons)] {
			line = together(line, doc.If(reason.Stop == "", hasteReason(reason)))
		}
		s.Parts = append(s.Parts, doc.Part{Facts: facts("How long it can wait", together(line, UntilItStands(r)))})
	}
	if !r.LeavePump {
		s.Parts = append(s.Parts, headed(ratings(r))...)
	}
	return s
}

// nextAct is the next act in one line.
func (j *jobSheet) nextAct() string {
	r := j.Plan.Report
	switch check := firstCheck(r); {
	case len(r.Stop) > 0:
		return "Do all of the stop box, line by line."
	case correctLine(r) != "":
		return correctLine(r)
	case check != nil:
		return fmt.Sprintf("Look: %s, step %d.", words.Titled(check.Title, check.Place), check.Number) + doc.If(needsIsolation(check), " Isolate first.")
	case len(r.Steps) > 0:
		return nothingToLookFor(r)
	}
	return nothingSettles + " Call the maintenance engineer."
}

// headed has the parts of a section under a smaller heading; none, if it says
// nothing.
func headed(s doc.Section) []doc.Part {
	var d doc.Document
	if d.Add(s); len(d.Sections) == 0 {
		return nil
	}
	parts := d.Sections[0].Parts
	parts[0].Head = s.Heading
	return parts
}

// What the sheet shows of the troubles.
const (
	mostSheetTroubles = 3
	mostSheetRoots    = 3
)

// failed tells what failed and what brought it on in a few lines.
func (j *jobSheet) failed() doc.Section {
	r := j.Plan.Report
	part := doc.Part{Items: doc.Each(r.Confirmed, func(c chances.Confirmed) doc.Item {
		state := ""
		switch {
		case c.LookedAgain:
			state = " Corrected, and right when it was looked at again."
		case c.Corrected:
			state = " Corrected. Still to be looked at again."
		}
		return doc.Item{Strong: "PROVED:", Text: words.Titled(c.Title, c.Place) + "." + state}
	})}
	for _, text := range words.Unexplained(r) {
		part.Items = append(part.Items, doc.Item{Strong: "Not explained by what is proved:", Text: text})
	}
	for i := range r.Troubles[:min(len(r.Troubles), mostSheetTroubles)] {
		part.Items = append(part.Items, j.trouble(&r.Troubles[i], i == 0)...)
	}
	return doc.Section{Heading: failedHead, Parts: []doc.Part{part, doc.Text(doc.If(len(r.Troubles) > 0, noneLine(r)))}}
}

// trouble tells one trouble, the first at more length.
func (j *jobSheet) trouble(t *chances.Trouble, long bool) []doc.Item {
	first, alone := t.Failed[0], standsAlone(t)
	var out []doc.Item
	if !first.Proved {
		out = []doc.Item{toldCause(first)}
		out[0].Strong = failedLead(first, alone)
	}
	add := func(lead string, lines []doc.Item) {
		if len(lines) > 0 {
			line := oneLine(" ", lines...)
			line.Strong = lead
			out = append(out, line)
		}
	}
	if long {
		add(withLead(t.Failed[1:]), toldFew(t.Failed[1:]))
	}
	if !alone {
		shown := words.AlikeRoots(shownRoots(t))
		lines := doc.Each(shown[:min(len(shown), mostSheetRoots)], func(alike []chances.Root) doc.Item { return rootLine(j.Plan.Report, alike) })
		add(broughtLead(t, ""), append(lines, doc.Item{Text: nothingDeeper(t)}))
	}
	if long && !first.Proved {
		add("If it is not that:", toldFew(others(j.Plan.Report, t)))
	}
	return out
}

// atHand is who is told, and what is at hand, before the first bolt: what the
// looks and repairs of the sheet take.
func (j *jobSheet) atHand(p *paper) doc.Section {
	t := j.Plan
	told := doc.Blank{Label: "Tell before you start:", Boxes: doc.Each(t.Told, func(w work.Told) string { return w.Who })}
	tools, repair := p.tools(), doc.Only(t.RepairTools, func(tool string) bool { return !slices.Contains(p.tools(), tool) })
	items := facts("Tools", commaList(tools), "For the repair also", commaList(repair))
	s := doc.Section{Heading: "Have at hand", Parts: []doc.Part{boxed(told), {Facts: items}, boxed(doc.Blank{Label: "Parts, and how likely each is needed:", Boxes: j.parts(p)})}}
	if t.Times.Whole > 0 {
		s.Parts = append(s.Parts, doc.Text(fmt.Sprintf("To the cause: %s on average. The whole job without the repair: %s if it goes well, up to %s. Hands: %s.",
			words.Minutes(t.Times.ToCause), words.Minutes(t.Times.Low), words.Minutes(t.Times.High), words.People(t.Hands))))
	}
	return s
}

// boxed is a part of a label with its boxes, if it has any.
func boxed(b doc.Blank) doc.Part {
	if len(b.Boxes) == 0 {
		return doc.Part{}
	}
	return doc.Part{Blanks: []doc.Blank{b}}
}

func commaList(texts []string) string { return doc.If(len(texts) > 0, strings.Join(texts, ", ")+".") }

// leastCarried is the chance from which a part stands on the sheet; the plan has
// the others.
const leastCarried = 0.25

// parts are the parts to have at hand: what opening uses up, what the repair may
// take, and what is past its life.
func (j *jobSheet) parts(p *paper) []string {
	var out []string
	for _, part := range j.Book.Parts.List {
		var at []evidence.Place
		for _, o := range p.opened {
			if slices.Contains(j.Book.Openings.Get(o.ID).Uses, part.ID) {
				at = append(at, o.Place)
			}
		}
		if len(at) > 0 {
			out = append(out, strings.TrimSuffix(part.Title+", "+words.Places(at, " and "), ", ")+" (if opened)")
		}
	}
	uses := func(part string) bool {
		return slices.ContainsFunc(p.opened, func(o evidence.At) bool { return slices.Contains(j.Book.Openings.Get(o.ID).Uses, part) })
	}
	for _, s := range j.Plan.Spares {
		if s.Chance >= leastCarried && !uses(s.Part) {
			out = append(out, bracketed(spareText(s), words.Percent(s.Chance)))
		}
	}
	for _, w := range j.Plan.Worn {
		out = append(out, words.Titled(w.Title, w.Place)+" (past its life)")
	}
	return out
}

// mostExtras keeps the looks besides few.
const mostExtras = 3

// whileOpen has the looks that pay while the pump is open as far as the sheet
// goes, and whom to ask.
func (j *jobSheet) whileOpen(p *paper) []doc.Part {
	var lines []doc.Item
	for _, e := range j.Plan.WhileOpen {
		reached := !slices.ContainsFunc(j.Book.Checks.Get(e.Check).Openings, func(id string) bool { return !j.Book.IsOpen(id, e.Place, p.opened) })
		if e.Pays && reached && len(lines) < mostExtras {
			lines = append(lines, doc.Item{Box: doc.ToTick, Strong: words.Titled(e.Title, e.Place) + ".", Text: fmt.Sprintf("%s now, %s if you come back for it.", words.Minutes(e.Minutes), words.Minutes(e.ComeBack))})
		}
	}
	also := doc.Part{Head: "While it is open, also worth a look", Items: lines}
	ask := whomToAsk(j.Plan)
	asked := ask.Parts[0]
	asked.Head = ask.Heading
	return []doc.Part{also, asked}
}

// closing is the way back of what the sheet opens.
func (j *jobSheet) closing(p *paper) doc.Section {
	return doc.Section{Heading: closeUp(j.Plan.Report), Aside: " (strike out what was not opened)", Parts: p.list(p.returns(), false)}
}

// afterwards has room for the first hour and the next planned stop.
func (j *jobSheet) afterwards(p *paper) doc.Section {
	if len(p.returns()) == 0 || j.Plan.OutOfService {
		return doc.Section{}
	}
	hour := &doc.Table{Head: []string{"After", "Strokes", "Pressure", "Leaks", "Heat", "Knock", "Wash, oil", "By"}, Room: true, Rows: doc.Rows(4, 8)}
	for i, when := range []string{"start", "10 min", "30 min", "60 min"} {
		hour.Rows[i][0].Text = when
	}
	return doc.Section{Heading: "First hour, from outside the guards", Keep: true, Parts: []doc.Part{{Table: hour}}}
}

// leftOff says how much of the list is not on the sheet, and where it is.
func (j *jobSheet) leftOff(p *paper) doc.Part {
	checks := doc.Only(p.left, func(s work.Step) bool { return s.Kind == work.StepCheck })
	if len(checks) == 0 {
		return doc.Part{}
	}
	more := fmt.Sprintf("%d more looks, from step %d on, are", len(checks), p.left[0].Number)
	if len(checks) == 1 {
		more = fmt.Sprintf("one more look, step %d, is", checks[0].Number)
	}
	return doc.Text(fmt.Sprintf("If nothing was found: %s not on this paper. Print it with telltale teardown %s", more, filepath.Base(j.Case.File)))
}

func (j *jobSheet) planned() planned { return planned{j.Plan} }
