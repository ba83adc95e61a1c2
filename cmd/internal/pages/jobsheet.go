package pages

import (
	"fmt"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine/chances"
)

// JobSheet is what has to be on paper for a case: the stop conditions and the
// isolation first, then the causes and why, what to have at hand, the steps with
// room for readings, how it is closed, and the hand-over. When the pump is to be
// left, it holds the stop conditions and the hand-over alone.
func JobSheet(in Input) *doc.Document {
	j := jobSheet{in}
	d := in.begin("JOB SHEET. ", in.Plan.Report)
	if in.Plan.LeavePump {
		d.Add(j.panel(), j.handOver())
		return d
	}
	d.Add(
		j.panel(), confirmed(in.Plan.Report), contradictions(in.Plan.Report), troubles(in.Plan.Report, false), j.causes(), j.before(), j.where(), j.steps(), runAgain(in.Plan.Report, j.planned().each), j.corrections(), turn(in),
		whileOpen(in.Plan), whomToAsk(in.Plan), j.lookAgain(), j.closing(), j.afterwards(), j.handOver(),
	)
	return d
}

type jobSheet struct{ Input }

// panel has the stop conditions, how long it can wait, and then the steps of the
// isolation.
func (j *jobSheet) panel() doc.Section {
	r := j.Plan.Report
	s := doc.Section{Heading: "Before anything else", Panel: true, Parts: stopParts(r.Stop, doc.ToTick, "STOP FIRST, ")}
	s.Parts = append(s.Parts, headed(haste(r))...)
	if r.LeavePump {
		s.Parts = append(s.Parts, doc.Text("The pump waits. Causes and steps are held back until this is over."))
		return s
	}
	s.Parts = append(s.Parts, headed(ratings(r))...)
	s.Parts = append(s.Parts, doc.Text(strings.Join(signalMeanings(r), " ")), j.isolation())
	return s
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

// isolation has the steps of the site's isolation to tick and sign.
func (j *jobSheet) isolation() doc.Part {
	t := &doc.Table{Head: []string{"Step", "Isolation", "Done", "Initials"}, Room: true, Flow: true}
	var numbers []int
	for _, step := range j.Plan.Steps {
		if j.planned().ofSite(&step) {
			numbers = append(numbers, step.Number)
			t.Rows = append(t.Rows, []doc.Cell{
				{Text: fmt.Sprint(step.Number)}, {Text: strings.ToUpper(step.Signal) + ": " + step.Title + ". " + step.Do}, {Boxes: []string{""}}, {},
			})
		}
	}
	if len(numbers) == 0 {
		return doc.Text("No step of this list needs the pump isolated. Whoever opens anything all the same isolates it first, by the site's procedure.")
	}
	first := numbers[0]
	lead := words.Capital(words.Steps(numbers)) + " of the list. The site's isolation procedure and permit have the words and govern." +
		doc.If(first == 2, " Step 1 comes before, with the pump as it stands.") + doc.If(first > 2, fmt.Sprintf(" Steps 1 to %d come before, with the pump as it stands.", first-1))
	return doc.Part{Head: "ISOLATE BEFORE HANDS GO IN", Text: []string{lead}, Table: t}
}

func (j *jobSheet) planned() planned { return planned{j.Plan, true} }

// mostPictured keeps the causes readable: the first are shown as bars, the
// others in a table.
const mostPictured = 2

func (j *jobSheet) causes() doc.Section {
	shown := likely(j.Plan.Report, false)
	if len(shown) == 0 {
		return doc.Section{}
	}
	weighed := doc.Each(shown, func(c chances.Cause) words.Weighed { return words.WeighedCause(j.Plan.Report, c) })
	pictured := min(len(shown), mostPictured)
	t := &doc.Table{Head: []string{"Chance", "Cause", "Why"}, Flow: true}
	for i, c := range weighed[pictured:] {
		t.Rows = append(t.Rows, []doc.Cell{{Text: words.Capital(words.Likely(c.Chance)), Tight: true}, {Text: words.Titled(c.Title, c.Place), Wide: true}, {Text: strings.TrimSpace(roleNote(shown[pictured+i]) + " " + why(c))}})
	}
	line := strings.TrimSpace(j.Plan.Rulebook.Basis + " Several causes may be there at once. " + noRivals(shown))
	if f := j.Plan.Firmness; f != nil {
		line += fmt.Sprintf(" With every judged figure moved about, the first cause stayed first in %d of %d tries.", f.StaysFirst, f.Books)
	}
	return doc.Section{Heading: causesHead, Parts: []doc.Part{evidencePicture(weighed[:pictured], mostReasons), {Table: t}, doc.Text(line)}}
}

// why says what speaks for and against a cause.
func why(c words.Weighed) string {
	var out []string
	for _, side := range c.Sides(mostReasons) {
		said := doc.Each(side.Weights, func(w words.Weight) string { return bracketed(w.Text, words.Strength(w.Decibans)) })
		out = append(out, doc.If(len(said) > 0, words.Capital(side.Way)+": "+strings.Join(said, "; ")+"."))
	}
	return strings.Join(doc.Said(out...), " ")
}

// before is what has to be at hand and who is told before the first bolt.
func (j *jobSheet) before() doc.Section {
	t := j.Plan
	told := tell(t).Parts[0]
	told.Head, told.Columns = "Tell", true
	s := doc.Section{Heading: "Before you start", Parts: []doc.Part{
		told, {Head: "Tools", Boxes: t.Tools}, {Head: "For the repair also", Boxes: t.RepairTools},
		{Head: "Parts, and how likely each is needed", Items: spares(t), Columns: true},
	}}
	if t.Times.Whole > 0 {
		s.Parts = append(s.Parts, headed(timeAndHands(t))...)
	}
	return s
}

func (j *jobSheet) where() doc.Section {
	return doc.Section{Heading: "Where, and how soon", Parts: []doc.Part{j.planPicture(), foundPicture(j.Plan.Report)}}
}

// corrections is what the measurements call for, with its pictures.
func (j *jobSheet) corrections() doc.Section {
	s := doc.Section{Heading: "Corrections from what was measured"}
	if j.Measured == nil || j.Measured.Measured == nil {
		return s
	}
	for i := range j.Measured.Measured.Centring {
		c := &j.Measured.Measured.Centring[i]
		parts := centring(c, rodPictures(c, j.Case, false))
		parts[0].Head = words.Capital(words.Cylinder(c.Cylinder))
		s.Parts = append(s.Parts, parts...)
	}
	return s
}

// steps is the list in its order up to the last check. The steps of the site's
// isolation stand in the panel; here a line keeps their place.
func (j *jobSheet) steps() doc.Section {
	lead := whenFound
	switch {
	case firstCheck(j.Plan.Report) == nil && len(j.Plan.Steps) > 0:
		lead = noCheckLeft
	case len(j.Plan.Steps) == 0:
		lead = "No check of the rulebook would settle what is open. Call the maintenance engineer."
	}
	return doc.Section{Heading: "Steps, in this order", Parts: append([]doc.Part{doc.Text(lead)}, j.planned().list(looking)...)}
}

// mostLookedAgain keeps the list of what to look at again short.
const mostLookedAgain = 4

// lookAgain says what to look at again after the repair.
func (j *jobSheet) lookAgain() doc.Section {
	part := doc.Part{Text: []string{"Repeat the reading or the look that showed the fault, the same way, and write it down beside the first one."}}
	add := func(lead, title, text string) {
		part.Items = append(part.Items, doc.Item{Box: doc.ToTick, Strong: lead + title + ":", Text: text, Initials: true})
	}
	for _, c := range j.Plan.Confirmed {
		add("", words.Titled(c.Title, c.Place), c.LookAgain)
	}
	for i, c := range likely(j.Plan.Report, false) {
		if i == mostLookedAgain || len(j.Plan.Confirmed) > 0 {
			break
		}
		add("If it was: ", words.Titled(c.Title, c.Place), c.LookAgain)
	}
	if len(part.Items) == 0 {
		return doc.Section{}
	}
	part.Table = &doc.Table{Head: []string{"Reading", "Before", "After", "Limit (manual)", "Date, hours", "Initials"}, Room: true, Rows: doc.Rows(3, 6)}
	return doc.Section{Heading: "Look again after the repair", Parts: []doc.Part{part}}
}

func (j *jobSheet) closing() doc.Section {
	return doc.Section{Heading: "Close up, last opened first, and return to service", Parts: j.planned().list(returning)}
}

// afterwards has room for the first hour and the next planned stop.
func (j *jobSheet) afterwards() doc.Section {
	hour := &doc.Table{Head: []string{"After", "Strokes", "Pressure", "Leaks", "Heat", "Knock", "Wash, oil", "Initials"}, Room: true, Rows: doc.Rows(4, 8)}
	for i, when := range []string{"start", "10 min", "30 min", "60 min"} {
		hour.Rows[i][0].Text = when
	}
	stop := &doc.Table{Head: []string{"Joint or reading", "Manual says", "Found", "Date, hours", "Initials"}, Room: true, Rows: doc.Rows(3, 5)}
	return doc.Section{Heading: "First hour and next planned stop", Parts: []doc.Part{
		{Head: "First hour, from outside the guards", Table: hour},
		{Head: "Next planned stop, isolated again", Table: stop},
	}}
}
