package pages

import (
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/evidence"
)

// handOver is what the next crew needs, in short: what stands, what was found and
// done, room for what was done besides, and the names. What stands open is ticked here
// unless the sheet has its closing.
func (j *jobSheet) handOver(closed bool) doc.Section {
	now := doc.List("The pump is " + string(j.Case.Pump.State) + " by the case. See for yourself.")
	now.Items = append(now.Items, doc.Items(append(j.foundNow(), doc.Only(j.doneSoFar(), func(line string) bool { return line != nothingDone })...)...)...)
	if len(j.Case.Pump.ClosedAgain) > 0 {
		now.Items = append(now.Items, doc.Items(doc.Each(Owed(j.Book, j.Case), func(owed string) string { return words.Capital(owed) + "." })...)...)
	}
	boxes := doc.Part{}
	tick := func(label string, texts []string) {
		if len(texts) > 0 {
			boxes.Blanks = append(boxes.Blanks, doc.Blank{Label: label, Boxes: texts})
		}
	}
	if !closed {
		tick("Open by the case. Closed again:", doc.Each(j.Case.Pump.Open, func(at evidence.At) string { return words.Titled(j.Book.Openings.Get(at.ID).Title, at.Place) }))
	}
	var roots []string
	for _, b := range allRootBlanks(j.Plan.Report) {
		if root := strings.TrimSuffix(strings.TrimPrefix(b.Label, rootLooked), ":"); !slices.Contains(roots, root) {
			roots = append(roots, root)
		}
	}
	tick("Roots looked at:", roots)
	room := doc.Part{Columns: true, Blanks: []doc.Blank{
		{Label: "Found:"}, {Label: "Corrected:"}, {Label: "Looked at again:"}, {Label: "Parts used, wanted:"},
		{Label: "Locks that hang, whose:"}, {Label: "Bleeds, valves left open:"}, {Label: "Left open or half done:"}, {Label: "Turned by hand:"},
		{Label: "Handed over by, time:"}, {Label: "Taken over by, time:"}, {Label: "Second person:"}, {Label: "In charge of the permit:"},
	}}
	return doc.Section{Heading: "Hand-over", Keep: true, Parts: slices.Concat([]doc.Part{now}, j.locks(), []doc.Part{boxes, room})}
}

// locks hands the isolation over, as far as the case tells: whose lock hangs on what,
// what stays open, and what is off or shut again. Whoever takes over sees each for
// himself.
func (j *jobSheet) locks() (parts []doc.Part) {
	t := &doc.Table{Head: []string{"Lock on", "Whose lock", "Since", "Tag, key", "Seen", "Taken off by its owner, time"}, Room: true, Flow: true}
	open := &doc.Table{Head: []string{"Stays open", "Left open by", "Since", "Seen", "Shut by, time"}, Room: true, Flow: true}
	over := doc.Part{Head: "Off or shut again, by the case"}
	for _, l := range j.Plan.Locks {
		if !l.Hangs {
			over.Items = append(over.Items, doc.Item{Text: l.Text})
			continue
		}
		key := strings.Join(doc.Said(l.Tag, doc.If(l.Key != "", "key: "+l.Key)), "; ")
		t.Rows = append(t.Rows, []doc.Cell{{Text: l.On}, {Text: l.By}, {Text: evidence.Logged(l.At)}, {Text: key}, {Boxes: []string{""}}, {}})
	}
	for _, o := range j.Plan.StaysOpen {
		if !o.Open {
			over.Items = append(over.Items, doc.Item{Text: o.Text})
			continue
		}
		open.Rows = append(open.Rows, []doc.Cell{{Text: o.What}, {Text: o.By}, {Text: evidence.Logged(o.At)}, {Boxes: []string{""}}, {}})
	}
	if len(t.Rows) > 0 {
		parts = append(parts, doc.Part{Head: "Locks that hang now", Text: []string{"Each takes off his own lock. Nobody takes off another's. Who takes over hangs his own first. He sees each for himself and ticks it."}, Table: t})
	}
	if len(open.Rows) > 0 {
		parts = append(parts, doc.Part{Head: "Bleeds and valves that stay open", Text: []string{"Who takes over sees each for himself and ticks it."}, Table: open})
	}
	return append(parts, over)
}

// tickedIf is a box that is ticked if the list has it.
func tickedIf(list []evidence.At, at evidence.At) doc.Box {
	if slices.ContainsFunc(list, func(a evidence.At) bool { return a.ID == at.ID && a.Place == at.Place }) {
		return doc.Ticked
	}
	return doc.ToTick
}
