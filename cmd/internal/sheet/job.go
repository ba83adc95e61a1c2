package sheet

import (
	"fmt"
	"path/filepath"
	"strings"
	"time"
	"unicode/utf8"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/drawing"
	"telltale/cmd/internal/page"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/figures"
	"telltale/evidence"
	"telltale/rules"
)

// Input is what a sheet is made from.
type Input struct {
	Book     *rules.Book
	Case     *evidence.Case
	Plan     *engine.Teardown
	Measured *engine.Report // what the readings and the pump's size come to
	Turn     *figures.Turn  // load of the guides; nil if not known
	Written  time.Time
}

// Job is the job sheet of a case. When the pump is to be left, it holds the
// stop conditions and the hand-over alone.
func Job(in Input) *Page {
	j := job{Input: in}
	r := in.Plan.Report
	p := j.page("JOB SHEET. ", r)
	if r.LeavePump {
		p.add(j.panel())
		p.add(j.handOver())
		return p
	}
	for _, s := range []Section{
		j.panel(), j.confirmed(), j.causes(), j.before(), j.where(), j.steps(), j.runAgain(), j.corrections(), j.guides(),
		j.whileOpen(), j.askInstead(), j.again(), j.closing(), j.afterwards(), j.handOver(),
	} {
		p.add(s)
	}
	return p
}

type job struct{ Input }

// page starts a page for a case.
func (in *Input) page(kind string, r *engine.Report) *Page {
	lines := page.Heading(r)
	p := &Page{Title: kind + lines[0]}
	last := len(lines) - 1
	p.Lines = append(p.Lines, lines[1:last]...)
	p.Lines = append(p.Lines, "Case: "+caseName(in.Case.File)+". Written: "+written(in.Written)+". "+lines[last]+".", "Site rules and licensed practice govern. "+page.Govern)
	name := r.Pump.Name
	if name == "" {
		name = "Pump"
	}
	p.Foot = safeFoot(name, 40) + " - " + safeFoot(caseName(in.Case.File), 40) + " - " + safeFoot(written(in.Written), 30) + " - rulebook " + safeFoot(r.Rulebook.Digest, 12)
	if local := r.Rulebook.Local; local != nil {
		p.Foot += " + local " + safeFoot(local.Digest, 12)
	}
	return p
}

// caseName is the case file without its folder.
func caseName(file string) string { return filepath.Base(file) }

// panel has the stop conditions and then the steps of the isolation.
func (j *job) panel() Section {
	s := Section{Heading: "Before anything else", Panel: true}
	for _, stop := range j.Plan.Stop {
		part := Part{Signal: stop.Signal, Head: "STOP FIRST, " + strings.ToUpper(rules.StopBy(stop.By).Words()) + ": " + stop.Title}
		for _, do := range stop.Do {
			part.Ticks = append(part.Ticks, Tick{Text: do})
		}
		s.Parts = append(s.Parts, part)
	}
	if h := j.Plan.Haste; h != nil {
		s.Parts = append(s.Parts, Part{Head: strings.ToUpper(page.HasteHead), Text: []string{h.Says}, Items: page.HasteLines(j.Plan.Report)})
	}
	if j.Plan.LeavePump {
		s.Parts = append(s.Parts, text("The pump waits. Causes and steps are held back until this is over."))
		return s
	}
	if lines := page.RatingLines(j.Plan.Report, false); len(lines) > 0 {
		s.Parts = append(s.Parts, Part{Head: "RATINGS", Text: lines})
	}
	if legend := page.Signals(j.Plan.Report); len(legend) > 0 {
		s.Parts = append(s.Parts, text(strings.Join(legend, " ")))
	}
	t := &Table{Head: []string{"Step", "Isolation", "Done", "Initials"}, Flow: true}
	var numbers []int
	for _, step := range j.Plan.Steps {
		if j.ofSite(step) {
			numbers = append(numbers, step.Number)
			t.Rows = append(t.Rows, []Cell{
				{Text: fmt.Sprint(step.Number)}, {Text: strings.ToUpper(step.Signal) + ": " + step.Title + ". " + step.Do}, {Boxes: []string{""}}, {},
			})
		}
	}
	if len(numbers) == 0 {
		s.Parts = append(s.Parts, text("No step of this list needs the pump isolated. Whoever opens anything all the same isolates it first, by the site's procedure."))
	}
	if len(numbers) > 0 {
		lead := capital(stepsWord(numbers)) + " of the list. The site's isolation procedure and permit have the words and govern."
		if numbers[0] > 1 {
			lead += fmt.Sprintf(" %s come before, with the pump as it stands.", capital(stepsWord(upTo(numbers[0]-1))))
		}
		part := text(lead)
		part.Head = "ISOLATE BEFORE HANDS GO IN"
		part.Table = t
		s.Parts = append(s.Parts, part)
	}
	return s
}

func upTo(n int) []int {
	var out []int
	for i := 1; i <= n; i++ {
		out = append(out, i)
	}
	return out
}

func capital(s string) string {
	_, size := utf8.DecodeRuneInString(s)
	return strings.ToUpper(s[:size]) + s[size:]
}

// ofSite says whether a step is one of the site's isolation.
func (j *job) ofSite(s engine.StepReport) bool {
	if s.Kind != engine.StepSafety {
		return false
	}
	for _, id := range j.Plan.SiteSteps {
		if id == s.ID {
			return true
		}
	}
	return false
}

func (j *job) confirmed() Section {
	s := Section{Heading: "Proved"}
	for _, c := range j.Plan.Confirmed {
		part := Part{Head: page.Titled(c.Title, c.Place)}
		for _, f := range page.ProvedFacts(c) {
			part.Text = append(part.Text, f.Label+": "+f.Text)
		}
		s.Parts = append(s.Parts, part)
	}
	if line := page.ExplainsAll(j.Plan.Report); line != "" {
		s.Parts = append(s.Parts, text(line))
	}
	if len(j.Plan.Unexplained) > 0 && len(s.Parts) > 0 {
		part := Part{Head: "Still unexplained"}
		for _, u := range j.Plan.Unexplained {
			part.Items = append(part.Items, words.Unexplained(j.Plan.Report, u))
		}
		s.Parts = append(s.Parts, part)
	}
	return s
}

// mostReasons and mostPictured keep the causes readable.
const (
	mostReasons  = 4
	mostPictured = 2
)

// causes has the first causes as bars, the others as a table.
func (j *job) causes() Section {
	s := Section{Heading: "Likely causes"}
	likely := page.Likely(j.Plan.Report)
	if len(likely) == 0 {
		return s
	}
	pictured := min(len(likely), mostPictured)
	s.Parts = append(s.Parts, Part{Picture: evidencePicture(j.weighed(likely[:pictured]), mostReasons)})
	if len(likely) > pictured {
		t := &Table{Head: []string{"Chance", "Cause", "Why"}, Flow: true}
		for _, c := range likely[pictured:] {
			row := cells(capital(chance(c.Probability)), page.Titled(c.Title, c.Place), why(words.WeighedCause(j.Plan.Report, c)))
			row[0].Tight, row[1].Wide = true, true
			t.Rows = append(t.Rows, row)
		}
		s.Parts = append(s.Parts, Part{Table: t})
	}
	line := j.Plan.Rulebook.Basis + " Several causes may be there at once."
	if f := j.Plan.Firmness; f != nil {
		line += fmt.Sprintf(" With every judged figure moved about, the first cause stays first in %d of %d tries.", f.StaysFirst, f.Books)
	}
	s.Parts = append(s.Parts, text(line))
	return s
}

// weighed says what speaks for and against causes.
func (j *job) weighed(causes []engine.CauseReport) []words.Weighed {
	var out []words.Weighed
	for _, c := range causes {
		out = append(out, words.WeighedCause(j.Plan.Report, c))
	}
	return out
}

// why says what speaks for and against a cause.
func why(c words.Weighed) string {
	var out []string
	if len(c.For) > 0 {
		out = append(out, "For: "+reasons(c.For)+".")
	}
	if len(c.Against) > 0 {
		out = append(out, "Against: "+reasons(c.Against)+".")
	}
	return strings.Join(out, " ")
}

func reasons(list []words.Weight) string {
	var out []string
	for _, r := range list[:min(len(list), mostReasons)] {
		out = append(out, fmt.Sprintf("%s (%s)", r.Text, strength(r.Decibans)))
	}
	return strings.Join(out, "; ")
}

// before is what has to be at hand and who is told before the first bolt.
func (j *job) before() Section {
	s := Section{Heading: "Before you start"}
	t := j.Plan
	if len(t.Told) > 0 {
		part := Part{Head: "Tell", Columns: true}
		for _, who := range t.Told {
			part.Ticks = append(part.Ticks, Tick{Strong: who.Who + ":", Text: who.Of})
		}
		s.Parts = append(s.Parts, part)
	}
	if len(t.Tools) > 0 {
		part := Part{Head: "Tools", Boxes: t.Tools}
		s.Parts = append(s.Parts, part)
	}
	if len(t.RepairTools) > 0 {
		s.Parts = append(s.Parts, Part{Head: "For the repair also", Boxes: t.RepairTools})
	}
	s.Parts = append(s.Parts, j.spares()...)
	if line := j.times(); line != "" {
		s.Parts = append(s.Parts, Part{Head: "Time and hands", Text: []string{line}})
	}
	return s
}

func (j *job) spares() []Part {
	var out []Part
	ticks := []Tick{}
	for _, c := range j.Plan.Consumed {
		ticks = append(ticks, Tick{Strong: "In any case:", Text: page.SpareText(c)})
	}
	for _, c := range j.Plan.Spares {
		text := page.SpareText(c)
		if more := page.BesidesText(c); more != "" {
			text += ". " + more
		}
		ticks = append(ticks, Tick{Strong: capital(chance(c.Chance)) + ":", Text: text})
	}
	for _, w := range j.Plan.Worn {
		ticks = append(ticks, Tick{Strong: "Past its life:", Text: page.Titled(w.Title, w.Place)})
	}
	if len(ticks) > 0 {
		out = append(out, Part{Head: "Parts, and how likely each is needed", Ticks: ticks, Columns: true})
	}
	return out
}

func (j *job) times() string {
	t := j.Plan.Times
	if t.Whole == 0 {
		return ""
	}
	return fmt.Sprintf("About %s to the cause on average, %s for the whole list, %s to close up and return. The whole job without the repair: %s to %s. Hands: %s.",
		page.Minutes(t.ToCause), page.Minutes(t.Whole), page.Minutes(t.Closing), page.Minutes(t.Low), page.Minutes(t.High), page.People(j.Plan.Hands))
}

func (j *job) where() Section {
	s := Section{Heading: "Where, and how soon"}
	for _, p := range []*doc.Figure{j.planPicture(), foundPicture(j.Plan.Report)} {
		if p != nil {
			s.Parts = append(s.Parts, Part{Picture: p})
		}
	}
	return s
}

// corrections is what the measurements call for, with its pictures.
func (j *job) corrections() Section {
	s := Section{Heading: "Corrections from what was measured"}
	if j.Measured == nil || j.Measured.Measured == nil {
		return s
	}
	for i := range j.Measured.Measured.Centring {
		c := &j.Measured.Measured.Centring[i]
		s.Parts = append(s.Parts, centringParts(c, j.Case)...)
	}
	return s
}

// guides shows which guide carries the crosshead.
func (j *job) guides() Section {
	if p := turnPicture(j.Measured, j.Turn); p != nil {
		return Section{Heading: "Which guide carries the crosshead", Parts: []Part{{Picture: p}}}
	}
	return Section{}
}

func (j *job) whileOpen() Section {
	s := Section{Heading: "While it is open, also worth a look"}
	part := Part{}
	if len(j.Plan.WhileOpen) > 0 {
		part.Text = append(part.Text, "Nothing more is opened for these. They are not in the steps.")
	}
	for _, w := range j.Plan.Worn {
		part.Ticks = append(part.Ticks, Tick{Text: page.WornText(w)})
	}
	for _, e := range j.Plan.WhileOpen {
		part.Ticks = append(part.Ticks, Tick{Strong: page.Titled(e.Title, e.Place) + ".", Text: page.ExtraText(e)})
	}
	if len(part.Ticks) > 0 {
		s.Parts = append(s.Parts, part)
	}
	return s
}

func (j *job) askInstead() Section {
	s := Section{Heading: "When to stop, and whom to ask", Keep: true}
	part := Part{Columns: len(j.Plan.AskInstead) > 1}
	for _, a := range j.Plan.AskInstead {
		part.Items = append(part.Items, a.If+": "+a.Ask)
	}
	if len(part.Items) > 0 {
		s.Parts = append(s.Parts, part)
	}
	return s
}

// evidencePicture shows what speaks for and against causes.
func evidencePicture(causes []words.Weighed, most int) *doc.Figure {
	e := drawing.Evidence{Name: "evidence"}
	for _, c := range causes {
		cause := drawing.Cause{Title: capital(chance(c.Chance)) + ": " + page.Titled(c.Title, c.Place)}
		for _, list := range [][]words.Weight{c.For, c.Against} {
			for _, why := range list[:min(len(list), most)] {
				cause.Reasons = append(cause.Reasons, drawing.Reason{Text: why.Text, Decibans: why.Decibans, Words: strength(why.Decibans)})
			}
		}
		e.Causes = append(e.Causes, cause)
	}
	p := e.Draw()
	return &p
}
