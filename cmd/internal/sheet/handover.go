package sheet

import (
	"strings"

	"telltale/cmd/internal/page"
	"telltale/cmd/internal/words"
	"telltale/evidence"
)

// handOver is what the next crew needs: what was found, what is open, what is
// proved and put right, who is told, the log, and names.
func (j *job) handOver() Section {
	s := Section{Heading: "Hand-over", Keep: true}
	found := Part{Head: "Found so far"}
	for _, f := range j.Plan.Found {
		found.Items = append(found.Items, words.Finding(f))
	}
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
			found.Items = append(found.Items, list.word+": "+page.Titled(list.name(at.ID), whereOf(at)))
		}
	}
	if len(found.Items) == 0 {
		found.Items = []string{"Nothing is in the case yet."}
	}
	found.With = true
	found.Columns = len(found.Items) > 3
	more := Part{Blanks: []Blank{{Label: "Also found:"}, {}}, Whole: true}
	s.Parts = append(s.Parts, found, more)
	if !j.Plan.LeavePump || len(j.Case.Confirmed) > 0 {
		s.Parts = append(s.Parts, j.proved())
	}
	s.Parts = append(s.Parts, j.locks()...)
	s.Parts = append(s.Parts, j.open()...)
	s.Parts = append(s.Parts, j.told(), signatures())
	if len(j.Case.Log) > 0 {
		s.Parts = append(s.Parts, j.log())
	}
	return s
}

func whereOf(at evidence.At) evidence.Place {
	return at.Place
}

func has(list []evidence.At, at evidence.At) bool {
	for _, a := range list {
		if a.ID == at.ID && a.Place == at.Place {
			return true
		}
	}
	return false
}

// proved lists the causes that were proved, corrected and looked at again.
func (j *job) proved() Part {
	part := Part{Head: "Proved, corrected, looked at again"}
	for _, at := range j.Case.Confirmed {
		title := page.Titled(j.Book.Causes.Get(at.ID).Title, whereOf(at))
		part.Ticks = append(part.Ticks,
			Tick{Done: true, Strong: "Proved:", Text: title},
			Tick{Done: has(j.Case.Corrected, at), Strong: "Corrected:", Text: title, Initials: true},
			Tick{Done: has(j.Case.LookedAgain, at), Strong: "Looked at again and right:", Text: title, Initials: true})
	}
	part.Table = &Table{Head: []string{"Cause", "Proved", "Corrected", "Looked at again", "Initials"}, Room: true}
	for range 2 {
		part.Table.Rows = append(part.Table.Rows, []Cell{{Long: true}, {Boxes: []string{""}}, {Boxes: []string{""}}, {Boxes: []string{""}}, {}})
	}
	return part
}

// roomForLocks is how many empty lines the list of locks has besides.
const roomForLocks = 2

// locks hands the isolation over: whose lock hangs on what, what stays open, and
// what is off or shut again. Whoever takes over sees each for himself.
func (j *job) locks() []Part {
	t := &Table{Head: []string{"Lock on", "Whose lock", "Since", "Tag, key", "Seen by who takes over", "Taken off by its owner, time"}, Room: true, Flow: true}
	open := &Table{Head: []string{"Stays open", "Left open by", "Since", "Seen by who takes over", "Shut by, time"}, Room: true, Flow: true}
	over := Part{Head: "Off or shut again, by the case"}
	for _, l := range j.Plan.Locks {
		if !l.Hangs {
			over.Items = append(over.Items, l.Text)
			continue
		}
		key := l.Tag
		if l.Key != "" {
			key = strings.TrimPrefix(key+"; key: "+l.Key, "; ")
		}
		t.Rows = append(t.Rows, []Cell{{Text: l.On}, {Text: l.By}, {Text: l.At}, {Text: key}, {Boxes: []string{""}}, {}})
	}
	for _, o := range j.Plan.StaysOpen {
		if !o.Open {
			over.Items = append(over.Items, o.Text)
			continue
		}
		open.Rows = append(open.Rows, []Cell{{Text: o.What}, {Text: o.By}, {Text: o.At}, {Boxes: []string{""}}, {}})
	}
	t.Rows = append(t.Rows, emptyRows(roomForLocks, len(t.Head))...)
	open.Rows = append(open.Rows, emptyRows(roomForLocks, len(open.Head))...)
	out := []Part{
		{Head: "Locks that hang now", Text: []string{"Each takes off his own lock. Nobody takes off another's. Who takes over hangs his own first."}, Table: t},
		{Head: "Bleeds and valves that stay open", Table: open},
	}
	if len(over.Items) > 0 {
		out = append(out, over)
	}
	return out
}

// open lists what is open or will be.
func (j *job) open() []Part {
	now := Part{Head: "Open or left apart now", With: true}
	for _, at := range j.Case.Pump.Open {
		now.Blanks = append(now.Blanks, Blank{Label: page.Titled(j.Book.Openings.Get(at.ID).Title, whereOf(at)) + ":", Boxes: []string{"still so", "closed again"}})
	}
	more := Part{Columns: true, Whole: true, Blanks: []Blank{{Label: "Also open:"}, {Label: "Turned or left half done:"}, {Label: "Parts used, parts wanted:"}}}
	return []Part{now, more}
}

// told leaves room for who was told.
func (j *job) told() Part {
	t := &Table{Head: []string{"Must be told", "Name", "Time"}, Room: true}
	for _, who := range j.Plan.Told {
		t.Rows = append(t.Rows, []Cell{{Text: who.Who, Wide: true}, {}, {}})
	}
	if len(j.Plan.Told) == 0 && j.Plan.LeavePump {
		t.Rows = append(t.Rows, cells("Driller", "", ""))
	}
	t.Rows = append(t.Rows, emptyRows(1, 3)...)
	return Part{Head: "Who must be told", Table: t, Half: true}
}

// mostLogged keeps the log of a long job from filling the sheet; the last
// lines count.
const mostLogged = 20

func (j *job) log() Part {
	t := &Table{Head: []string{"Time", "Who", "Did"}, Room: true, Flow: true}
	lines := j.Case.Log
	if len(lines) > mostLogged {
		lines = lines[len(lines)-mostLogged:]
	}
	for _, l := range lines {
		t.Rows = append(t.Rows, []Cell{{Text: l.At}, {Text: l.By}, {Text: l.Did, Long: true}})
	}
	for range 3 {
		t.Rows = append(t.Rows, []Cell{{}, {}, {Long: true}})
	}
	return Part{Head: "Log", Table: t}
}

func signatures() Part {
	t := &Table{Head: []string{"", "Name, signature", "Date"}, Room: true}
	for _, who := range []string{"Handed over by", "Taken over by", "Second person", "In charge of the permit"} {
		t.Rows = append(t.Rows, []Cell{{Text: who, Tight: true}, {}, {}})
	}
	return Part{Head: "Names", Table: t, Half: true}
}
