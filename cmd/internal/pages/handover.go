package pages

import (
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/evidence"
)

// handOver is what the next crew needs: what was found, what is open, what is
// proved and put right, who is told, the log, and names.
func (j *jobSheet) handOver() doc.Section {
	s := doc.Section{Heading: "Hand-over", Keep: true}
	found := doc.Part{Head: "Found so far", Items: doc.Items(doc.Each(j.Plan.Found, words.Finding)...)}
	for _, list := range []struct {
		word string
		at   []evidence.At
		name func(string) string
	}{
		{"Nobody knows", j.Case.NotKnown, func(id string) string { return j.Book.Signs.Get(id).Title }},
		{"Checked, not clear", j.Case.Unclear, func(id string) string { return j.Book.Checks.Get(id).Title }},
		{"Proved not to be there", j.Case.RuledOut, func(id string) string { return j.Book.Causes.Get(id).Title }},
	} {
		for _, at := range list.at {
			found.Items = append(found.Items, doc.Item{Text: list.word + ": " + words.Titled(list.name(at.ID), at.Place)})
		}
	}
	if len(found.Items) == 0 {
		found.Items = doc.Items("Nothing is in the case yet.")
	}
	found.With = true
	found.Columns = len(found.Items) > 3
	more := doc.Part{Blanks: []doc.Blank{{Label: "Also found:"}, {Label: "And:"}}, Whole: true}
	s.Parts = append(s.Parts, found, more)
	if !j.Plan.LeavePump || len(j.Case.Confirmed) > 0 {
		s.Parts = append(s.Parts, j.proved())
	}
	s.Parts = append(s.Parts, doc.Part{Head: "Roots of what failed", Blanks: allRootBlanks(j.Plan.Report)})
	s.Parts = append(s.Parts, j.locks()...)
	s.Parts = append(s.Parts, j.open()...)
	s.Parts = append(s.Parts, j.told(), signatures())
	if len(j.Case.Log) > 0 {
		s.Parts = append(s.Parts, j.log())
	}
	return s
}

// tickedIf is a box that is ticked if the list has it.
func tickedIf(list []evidence.At, at evidence.At) doc.Box {
	if slices.ContainsFunc(list, func(a evidence.At) bool { return a.ID == at.ID && a.Place == at.Place }) {
		return doc.Ticked
	}
	return doc.ToTick
}

// proved lists the causes that were proved, corrected and looked at again.
func (j *jobSheet) proved() doc.Part {
	part := doc.Part{Head: "Proved, corrected, looked at again"}
	for _, at := range j.Case.Confirmed {
		title := words.Titled(j.Book.Causes.Get(at.ID).Title, at.Place)
		part.Items = append(part.Items,
			doc.Item{Box: doc.Ticked, Strong: "Proved:", Text: title},
			doc.Item{Box: tickedIf(j.Case.Corrected, at), Strong: "Corrected:", Text: title, Initials: true},
			doc.Item{Box: tickedIf(j.Case.LookedAgain, at), Strong: "Looked at again and right:", Text: title, Initials: true})
	}
	part.Table = &doc.Table{Head: []string{"Cause", "Proved", "Corrected", "Looked at again", "Initials"}, Room: true}
	for range 2 {
		part.Table.Rows = append(part.Table.Rows, []doc.Cell{{Long: true}, {Boxes: []string{""}}, {Boxes: []string{""}}, {Boxes: []string{""}}, {}})
	}
	return part
}

// roomForLocks is how many empty lines the list of locks has besides.
const roomForLocks = 2

// locks hands the isolation over: whose lock hangs on what, what stays open, and
// what is off or shut again. Whoever takes over sees each for himself.
func (j *jobSheet) locks() []doc.Part {
	t := &doc.Table{Head: []string{"Lock on", "Whose lock", "Since", "Tag, key", "Seen by who takes over", "Taken off by its owner, time"}, Room: true, Flow: true}
	open := &doc.Table{Head: []string{"Stays open", "Left open by", "Since", "Seen by who takes over", "Shut by, time"}, Room: true, Flow: true}
	over := doc.Part{Head: "Off or shut again, by the case"}
	for _, l := range j.Plan.Locks {
		if !l.Hangs {
			over.Items = append(over.Items, doc.Item{Text: l.Text})
			continue
		}
		key := strings.Join(doc.Said(l.Tag, doc.If(l.Key != "", "key: "+l.Key)), "; ")
		t.Rows = append(t.Rows, []doc.Cell{{Text: l.On}, {Text: l.By}, {Text: l.At}, {Text: key}, {Boxes: []string{""}}, {}})
	}
	for _, o := range j.Plan.StaysOpen {
		if !o.Open {
			over.Items = append(over.Items, doc.Item{Text: o.Text})
			continue
		}
		open.Rows = append(open.Rows, []doc.Cell{{Text: o.What}, {Text: o.By}, {Text: o.At}, {Boxes: []string{""}}, {}})
	}
	t.Rows = append(t.Rows, doc.Rows(roomForLocks, len(t.Head))...)
	open.Rows = append(open.Rows, doc.Rows(roomForLocks, len(open.Head))...)
	return []doc.Part{
		{Head: "Locks that hang now", Text: []string{"Each takes off his own lock. Nobody takes off another's. Who takes over hangs his own first."}, Table: t},
		{Head: "Bleeds and valves that stay open", Table: open},
		over,
	}
}

// open lists what is open or will be.
func (j *jobSheet) open() []doc.Part {
	now := doc.Part{Head: "Open or left apart now", With: true, Blanks: doc.Each(j.Case.Pump.Open, func(at evidence.At) doc.Blank {
		return doc.Blank{Label: words.Titled(j.Book.Openings.Get(at.ID).Title, at.Place) + ":", Boxes: []string{"still so", "closed again"}}
	})}
	more := doc.Part{Columns: true, Whole: true, Blanks: []doc.Blank{{Label: "Also open:"}, {Label: "Turned or left half done:"}, {Label: "Parts used, parts wanted:"}}}
	return []doc.Part{now, more}
}

// told leaves room for who was told.
func (j *jobSheet) told() doc.Part {
	t := &doc.Table{Head: []string{"Must be told", "Name", "Time"}, Room: true}
	for _, who := range j.Plan.Told {
		t.Rows = append(t.Rows, []doc.Cell{{Text: who.Who, Wide: true}, {}, {}})
	}
	if len(j.Plan.Told) == 0 && j.Plan.LeavePump {
		t.Rows = append(t.Rows, doc.Cells("Driller", "", ""))
	}
	t.Rows = append(t.Rows, doc.Rows(1, 3)...)
	return doc.Part{Head: "Who must be told", Table: t, Half: true}
}

// mostLogged keeps the log of a long job from filling the sheet; the last
// lines count.
const mostLogged = 20

func (j *jobSheet) log() doc.Part {
	t := &doc.Table{Head: []string{"Time", "Who", "Did"}, Room: true, Flow: true}
	lines := j.Case.Log
	if len(lines) > mostLogged {
		lines = lines[len(lines)-mostLogged:]
	}
	for _, l := range lines {
		t.Rows = append(t.Rows, []doc.Cell{{Text: l.At}, {Text: l.By}, {Text: l.Did, Long: true}})
	}
	for range 3 {
		t.Rows = append(t.Rows, []doc.Cell{{}, {}, {Long: true}})
	}
	return doc.Part{Head: "Log", Table: t}
}

func signatures() doc.Part {
	who := []string{"Handed over by", "Taken over by", "Second person", "In charge of the permit"}
	rows := doc.Each(who, func(who string) []doc.Cell { return []doc.Cell{{Text: who, Tight: true}, {}, {}} })
	return doc.Part{Head: "Names", Table: &doc.Table{Head: []string{"", "Name, signature", "Date"}, Room: true, Rows: rows}, Half: true}
}
