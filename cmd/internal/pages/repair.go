package pages

import (
	"regexp"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine/chances"
	"telltale/engine/figures"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// What the sheet has of the repairs.
const (
	mostRepairs   = 3
	leastRepairs  = 2
	leastRepaired = 0.2 // the chance of a root from which its repair stands on paper
	leastOther    = 0.1 // the same of what it is if it is not that
)

// repair is the repair of one cause, at one or more places.
type repair struct {
	cause  *rules.Cause
	places []evidence.Place
	chance string
	opens  []work.Step // what is opened for it and is not open by the looks, with its safety
}

// likelyRepairs picks the causes whose repair stands on paper: what was proved
// and not corrected, else what the sheet names, the failures and their likeliest
// roots first.
func (p *paper) likelyRepairs() {
	for _, c := range p.Plan.Confirmed {
		if !c.Corrected {
			p.addRepair(c.Cause, c.Place, words.Proved)
		}
	}
	told := func(c chances.Told) { p.addRepair(c.Cause, c.Place, toldChance(c)) }
	troubles := p.Plan.Troubles
	for i := range troubles {
		if first := troubles[i].Failed[0]; !first.Proved {
			told(first)
		}
	}
	for i := range troubles {
		if roots := shownRoots(&troubles[i]); len(roots) > 0 && roots[0].Probability >= leastRepaired {
			p.addRepair(roots[0].Cause, roots[0].Place, words.Likely(roots[0].Probability))
		}
	}
	for i := range troubles {
		for _, c := range troubles[i].Failed[1:] {
			if words.MoreLikelyThanNot(c.Probability) && !c.Proved {
				told(c)
			}
		}
	}
	for i := range troubles {
		for _, c := range others(p.Plan.Report, &troubles[i]) {
			if c.Probability >= leastOther && !troubles[i].Failed[0].Proved && len(p.repairs) < leastRepairs {
				told(c)
			}
		}
	}
	for i := range p.repairs {
		p.openFor(&p.repairs[i])
	}
}

func (p *paper) addRepair(id string, at evidence.Place, chance string) {
	done := slices.ContainsFunc(p.Plan.Confirmed, func(c chances.Confirmed) bool { return c.Cause == id && c.Place == at && c.Corrected })
	cause := p.Book.Causes.Get(id)
	if done || cause == nil {
		return
	}
	if i := slices.IndexFunc(p.repairs, func(r repair) bool { return r.cause.ID == id }); i >= 0 {
		if !slices.Contains(p.repairs[i].places, at) {
			p.repairs[i].places = append(p.repairs[i].places, at)
		}
		return
	}
	if len(p.repairs) < mostRepairs {
		p.repairs = append(p.repairs, repair{cause: cause, places: []evidence.Place{at}, chance: chance})
	}
}

// openFor finds what must be opened for the likeliest part of a repair and is not
// open by the looks or an earlier repair.
func (p *paper) openFor(r *repair) {
	if r.cause.Behind != rules.BehindPump || len(r.cause.Parts) == 0 {
		return
	}
	part := p.Book.Parts.Get(r.cause.Parts[0].Part)
	var wanted []evidence.At
	for _, place := range r.places {
		for _, id := range part.ReachedBy {
			if a := p.Book.ToOpen(id, place, p.Case); place.Cylinder != "" && p.Book.ExistsAt(a.ID, a.At(place), p.Case) {
				wanted = append(wanted, evidence.At{ID: a.ID, Place: a.At(place)})
			}
		}
	}
	unlisted := false
	for _, s := range work.Openings(p.Book, p.open(), wanted) {
		again := func(o work.Step) bool { return o.Kind == s.Kind && o.ID == s.ID && o.Place == s.Place }
		if slices.ContainsFunc(p.steps, again) {
			continue
		}
		if i := slices.IndexFunc(p.Plan.Steps, again); i >= 0 {
			s.Number = p.Plan.Steps[i].Number
		} else {
			s.Number, unlisted = 0, true
		}
		r.opens = append(r.opens, s)
		if s.Kind == work.StepOpening {
			p.opened = append(p.opened, evidence.At{ID: s.ID, Place: s.Place})
		}
	}
	if !unlisted {
		slices.SortFunc(r.opens, func(a, b work.Step) int { return a.Number - b.Number })
		return
	}
	for i := range r.opens { // the list has no order for all of them, and its numbers would not be in order
		r.opens[i].Number = 0
	}
}

// repair has the repair of each likely cause as steps, and the readings before
// and after.
func (j *jobSheet) repair(p *paper) doc.Section {
	s := doc.Section{Heading: "Repair what was found, and only that"}
	for i := range p.repairs {
		s.Parts = append(s.Parts, p.repairParts(&p.repairs[i])...)
	}
	shims := p.shims()
	s.Parts = append(s.Parts, shims...)
	if len(s.Parts) == 0 || j.shimmed() {
		return s
	}
	t := &doc.Table{Head: []string{"Reading", "Before", "After", "Limit (manual)", "Hours", "By"}, Room: true, Rows: doc.Rows(2, 6)}
	for i := range t.Rows {
		t.Rows[i][0].Wide = true
	}
	s.Parts = append(s.Parts, doc.Part{Table: t, Whole: true})
	return s
}

// repairParts are the steps of one repair.
func (p *paper) repairParts(r *repair) []doc.Part {
	fill := func(text string) string { return ofKind(p.Book.Fill(p.Case, text), p.Case.Pump.Action) }
	var safety []string
	for _, id := range r.cause.Safety {
		safety = append(safety, fill(p.Book.Safety.Get(id).Title))
	}
	head := doc.Part{Head: words.AtEach(fill(r.cause.Title), r.places, r.chance), With: true}
	if r.cause.Behind != rules.BehindPump {
		head.Text = []string{r.cause.Behind.Words(safety)}
	}
	out := []doc.Part{head}
	for _, id := range r.cause.Safety {
		s := p.Book.Safety.Get(id)
		if slices.Contains(p.guarded, id) {
			continue
		}
		p.guarded = append(p.guarded, id)
		out = append(out, doc.Part{Step: &doc.Step{Tick: true, Short: true, Signal: string(s.Signal), Title: fill(s.Title), Do: fill(s.Do)}})
	}
	out = append(out, p.list(r.opens, true)...)
	steps := doc.Part{}
	reckoned := r.cause.Sum != "" && p.shimmed()
	if reckoned {
		steps.Items = []doc.Item{{Box: doc.ToTick, Text: "By the sums and steps of the shims below."}}
	}
	for _, text := range doc.Only(rules.Sentences(fill(r.cause.Repair)), func(text string) bool { return !reckoned && !strings.HasPrefix(text, "telltale ") }) {
		steps.Items = append(steps.Items, doc.Item{Box: doc.ToTick, Text: text})
	}
	for i, text := range rules.Sentences(fill(r.cause.LookAgain)) {
		steps.Items = append(steps.Items, doc.Item{Box: doc.ToTick, Strong: doc.If(i == 0, "Afterwards:"), Text: text})
	}
	steps.Columns = inColumns(steps.Items)
	if r.cause.Sum != "" && !reckoned {
		steps.Blanks = []doc.Blank{sumBlank(r.cause.Sum)}
	}
	return append(out, steps)
}

// How many letters a line of the sheet holds, about, and one of a column.
const lineLetters, columnLetters = 100, 46

// inColumns says whether a list takes clearly fewer lines in two columns.
func inColumns(items []doc.Item) bool {
	lines := func(letters int) (n int) {
		for _, i := range items {
			n += 1 + (len(i.Strong)+len(i.Text))/letters
		}
		return n
	}
	return 3*lines(columnLetters)/2 <= 2*lines(lineLetters)
}

// named is what stands for a reading in a sum.
var named = regexp.MustCompile(`[a-z][a-z ]*[a-z]`)

// sumBlank leaves room to reckon "Shim = (top - bottom) / 2".
func sumBlank(sum string) doc.Blank {
	_, right, ok := strings.Cut(sum, " = ")
	if !ok {
		return doc.Blank{Label: sum + ":"}
	}
	items := doc.Each(named.Split(right, -1), strings.TrimSpace)
	items[len(items)-1] = strings.TrimSpace(items[len(items)-1] + " =")
	return doc.Blank{Label: sum + " =", Items: items}
}

// shimmed says whether the measurements of the case call for shims.
func (j *jobSheet) shimmed() bool {
	return j.Measured != nil && j.Measured.Measured != nil && slices.ContainsFunc(j.Measured.Measured.Centring, func(c figures.Centring) bool { return len(c.Procedures) > 0 })
}

// shims are the sums and steps that the measurements of the case call for.
func (p *paper) shims() []doc.Part {
	j := p.jobSheet
	var out []doc.Part
	if j.Measured == nil || j.Measured.Measured == nil {
		return nil
	}
	for i := range j.Measured.Measured.Centring {
		c := &j.Measured.Measured.Centring[i]
		if len(c.Procedures) == 0 {
			out = append(out, doc.Text(centringLine(*c)))
			continue
		}
		out = append(out, doc.Text(doc.If(c.Outcome != "", rodStands(*c)))) // the steps say the packs
		for _, reckoned := range sums(c) {
			reckoned.Columns = true
			out = append(out, reckoned)
		}
		for _, part := range procedures(c) {
			if part.Step != nil {
				part.Step.Short, part.Step.Initials = true, false
				part.Step.Figure = nil
				part.Step.Blanks = doc.Only(part.Step.Blanks, func(b doc.Blank) bool { return b.Label != takenBy })
			}
			if part.Table != nil { // long: it may run over two pages
				part.Table, part.Whole, part.Text = onARow(part.Table, words.Ruler{Metric: c.Metric}.Head()), false, nil
			}
			if part.With {
				part.Text = doc.Said(sentenced(part.Text))
			}
			out = append(out, part)
		}
	}
	return out
}

// onARow puts what was read above and below a rod at one place on one row of a
// table of readings, and who took them in its head.
func onARow(t *doc.Table, unit string) *doc.Table {
	out := *t
	out.Rows, out.Flow = nil, true
	out.Head = []string{"Reading, " + unit, "Before. By: ________", "Foreseen", "After. By: ________"}
	for i := 0; i < len(t.Rows); i++ {
		row := t.Rows[i]
		where, top := strings.CutSuffix(row[0].Text, ", top")
		if top && i+1 < len(t.Rows) {
			below := t.Rows[i+1]
			row = doc.Cells(where+", top; bottom", row[1].Text+"; "+below[1].Text, row[2].Text+"; "+below[2].Text, "")
			i++
		}
		out.Rows = append(out.Rows, row)
	}
	return &out
}
