package pages

import (
	"cmp"
	"fmt"
	"time"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/drawing"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/practice"
	"telltale/evidence"
	"telltale/rules"
)

// PracticeInput is an exercise at the practice pump that is over.
type PracticeInput struct {
	Title   string
	Lines   []string
	Told    []doc.Section   // how it went, in words
	Causes  []words.Weighed // the hidden causes with what spoke for and against them
	Plan    *engine.Report  // the tool's list at the start; nil if there was none
	Written time.Time
}

// mostLinks keeps the picture of a long exercise on one page.
const mostLinks = 10

// Practice is the page of an exercise, with the evidence and the planned order
// as pictures.
func Practice(in PracticeInput) *doc.Document {
	when := evidence.When(in.Written)
	d := &doc.Document{Title: in.Title, Lines: append(in.Lines[:len(in.Lines):len(in.Lines)], "Written: "+when+"."), Foot: "Practice pump, no real one - " + doc.SafeFoot(when, 40)}
	d.Add(in.Told...)
	if len(in.Causes) > 0 {
		d.Add(doc.Section{Heading: "The hidden causes: what was seen, for and against", Parts: []doc.Part{evidencePicture(in.Causes, mostLinks)}})
	}
	if in.Plan != nil {
		d.Add(doc.Section{Heading: "The tool's list at the start: how soon it finds the trouble", Parts: []doc.Part{foundPicture(in.Plan)}})
	}
	return d
}

// PracticeRod shows a rod of the practice pump as it was read. How low or high it
// stands, and its shim, are left to the trainee.
func PracticeRod(r *practice.RodReading) *doc.Document {
	rod := drawing.Rod{Name: "rod", Cylinder: words.Place(r.Place), Unit: "thou"}
	for i, at := range []string{"back", "middle", "front"} {
		rod.Positions = append(rod.Positions, drawing.RodPosition{Name: at, Top: thouMark(r.Top[i]), Bottom: thouMark(r.Bottom[i]), Height: &drawing.Mark{Metres: float64(r.Bottom[i]-r.Top[i]) / 2 * words.MetresPerThou}})
	}
	return &doc.Document{Sections: []doc.Section{{Heading: "The rod as it was read", Parts: []doc.Part{drawn(rod.Draw(), true)}}}}
}

func thouMark(n int) *drawing.Mark {
	return &drawing.Mark{Metres: float64(n) * words.MetresPerThou, Label: fmt.Sprint(n)}
}

// mostConfused is how many confused pairs the progress shows.
const mostConfused = 10

// Progress is how a trainee does over all exercises.
func Progress(b *rules.Book, p *practice.Progress) *doc.Document {
	if p.All.Exercises == 0 {
		return &doc.Document{Title: "No exercise is on record yet."}
	}
	d := &doc.Document{Title: fmt.Sprintf("Practice: %d exercise%s", p.All.Exercises, doc.If(p.All.Exercises != 1, "s"))}
	confused := &doc.Table{Head: []string{"Hidden", "Named instead", "Times"}}
	for _, c := range p.Confused[:min(len(p.Confused), mostConfused)] {
		confused.Rows = append(confused.Rows, doc.Cells(causeTitle(b, c.Hidden), causeTitle(b, c.Named), fmt.Sprint(c.Times)))
	}
	d.Add(doc.Section{Heading: "By level", Parts: []doc.Part{{Table: tallies(p), Text: []string{
		"Ratio: minutes over those of the tool's own order in the same worlds, added over the exercises that both solved without a guess.",
		"First: everything found and nothing wrong named before it.",
		"Pass: what failed and what brought it on proved, named and rightly corrected, nothing come back, and no safety fault.",
	}}}}, rooted(p), tabled("Confused", confused))
	return d
}

func tallies(p *practice.Progress) *doc.Table {
	out := &doc.Table{Head: []string{"Level", "Pass", "Solved", "First", "Ratio", "Faults", "Repair", "Shim"}}
	of := func(part, whole int) string { return fmt.Sprintf("%d/%d", part, whole) }
	for _, t := range append(p.Levels[:len(p.Levels):len(p.Levels)], p.All) {
		ratio := cmp.Or(doc.If(t.Compared > 0, fmt.Sprintf("%.2f", t.Ratio)), "-")
		out.Rows = append(out.Rows, doc.Cells(cmp.Or(doc.If(t.Level == 0, "all"), fmt.Sprint(t.Level)), of(t.Passed, t.Exercises), of(t.Solved, t.Exercises), fmt.Sprint(t.RightFirst), ratio, fmt.Sprint(t.Faults),
			of(t.Corrections, t.CorrectionsAsked), of(t.Shims, t.ShimsAsked)))
	}
	return out
}

// rooted counts what failed and what brought it on apart; it is empty before there
// is an exercise with roots.
func rooted(p *practice.Progress) doc.Section {
	if p.All.FailuresAsked == 0 {
		return doc.Section{}
	}
	t := &doc.Table{Head: []string{"Level", "Failed", "Root", "Came back"}}
	for _, of := range append(p.Levels[:len(p.Levels):len(p.Levels)], p.All) {
		t.Rows = append(t.Rows, doc.Cells(cmp.Or(doc.If(of.Level == 0, "all"), fmt.Sprint(of.Level)), fmt.Sprintf("%d/%d", of.Failures, of.FailuresAsked), fmt.Sprintf("%d/%d", of.Roots, of.RootsAsked), fmt.Sprint(of.Back)))
	}
	return doc.Section{Heading: "What failed, and what brought it on", Parts: []doc.Part{{Table: t, Text: []string{
		"Failed: troubles of which it was rightly named what failed. Root: of which it was rightly said what brought it on, or that there is nothing deeper.",
		"Came back: put right alone, before the root was looked for.",
	}}}}
}

// causeTitle names a cause; one that the book no longer has keeps its id.
func causeTitle(b *rules.Book, id string) string {
	if c := b.Causes.Get(id); c != nil {
		return c.Title
	}
	return id
}
