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
	next := j.doNext()
	next.Parts = append(next.Parts, doc.Text(words.Capital(sentenced(d.Lines))))
	d.Lines = nil // the next act comes before what the pump is
	d.Add(j.stops(), next)
	if r.LeavePump {
		d.Add(j.handOver(false))
		return d
	}
	p := j.paper()
	d.Add(contradictions(r), j.failed(), j.atHand(p))
	d.Add(j.looks(p)...)
	d.Add(j.repair(p), j.closing(p), j.afterwards(p), j.handOver(len(p.returns()) > 0))
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
	s := doc.Section{Heading: "Do next", Parts: []doc.Part{{Text: doc.Said(j.nextAct()...), Large: true}}}
	if r.LeavePump {
		s.Parts = append(s.Parts, doc.Text("Causes and steps are held back until this is over."))
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

// nextAct is the next act, in a line or two.
func (j *jobSheet) nextAct() []string {
	r := j.Plan.Report
	switch check := firstCheck(r); {
	case len(r.Stop) > 0:
		return []string{"Do all of the stop box, line by line."}
	case correctLine(r) != "":
		return []string{correctLine(r)}
	case check != nil:
		first, look := &r.Steps[0], fmt.Sprintf("step %d: %s.", check.Number, words.Titled(check.Title, check.Place))
		switch {
		case first.Number == check.Number:
			return []string{"Look, " + look}
		case needsIsolation(check):
			return []string{fmt.Sprintf("Isolate first, from step %d.", first.Number), "First look, " + look}
		}
		return []string{fmt.Sprintf("Start with step %d: %s.", first.Number, words.Titled(first.Title, first.Place)), "First look, " + look}
	case len(r.Steps) > 0:
		return []string{nothingToLookFor(r)}
	}
	return []string{nothingSettles + " Call the maintenance engineer."}
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
	told := doc.Blank{Label: "Tell first:", Boxes: doc.Each(t.Told, func(w work.Told) string { return w.Who })}
	tools, repair := p.tools(), doc.Only(t.RepairTools, func(tool string) bool { return !slices.Contains(p.tools(), tool) })
	items := facts("Tools", together(commaList(tools), doc.If(len(repair) > 0, "For the repair also: "+commaList(repair))))
	s := doc.Section{Heading: "Have at hand", Parts: []doc.Part{boxed(told), {Facts: items}, boxed(carried("Parts used up by opening", j.usedUp(p))), boxed(carried("Likely parts", j.parts(p)))}}
	if t.Times.Whole > 0 {
		s.Parts = append(s.Parts, doc.Text(fmt.Sprintf("To the cause: %s on average. Whole job without the repair: %s if it goes well, up to %s. %s.",
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

// part is a part to have at hand, where it goes, and what is said of it.
type part struct {
	title string
	at    []evidence.Place
	note  string
}

// carried has a box for each part. Where all of them go to the same place, that is
// said once.
func carried(label string, parts []part) doc.Blank {
	same := len(parts) > 1
	for _, p := range parts {
		same = same && len(p.at) > 0 && slices.Equal(p.at, parts[0].at)
	}
	if same {
		label = words.AtAll(label, parts[0].at)
	}
	return doc.Blank{Label: label + ":", Boxes: doc.Each(parts, func(p part) string {
		if same {
			return bracketed(p.title, p.note)
		}
		return bracketed(words.AtAll(p.title, p.at), p.note)
	})}
}

// usedUp are the parts that opening uses up.
func (j *jobSheet) usedUp(p *paper) []part {
	var out []part
	for _, opened := range j.Book.Parts.List {
		var at []evidence.Place
		for _, o := range p.opened {
			if slices.Contains(j.Book.Openings.Get(o.ID).Uses, opened.ID) {
				at = append(at, o.Place)
			}
		}
		if len(at) > 0 {
			out = append(out, part{opened.Title, at, ""})
		}
	}
	return out
}

// parts are the parts that the repair may take, and those past their life.
func (j *jobSheet) parts(p *paper) []part {
	var out []part
	uses := func(part string) bool {
		return slices.ContainsFunc(p.opened, func(o evidence.At) bool { return slices.Contains(j.Book.Openings.Get(o.ID).Uses, part) })
	}
	for _, s := range j.Plan.Spares {
		if s.Chance >= leastCarried && !uses(s.Part) {
			out = append(out, part{s.Title, s.Places, words.Percent(s.Chance)})
		}
	}
	for _, w := range j.Plan.Worn {
		out = append(out, part{w.Title, []evidence.Place{w.Place}, "past its life"})
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
	return doc.Text(fmt.Sprintf("If nothing was found: %s not on this paper but in telltale teardown %s", more, filepath.Base(j.Case.File)))
}

func (j *jobSheet) planned() planned { return planned{j.Plan} }
