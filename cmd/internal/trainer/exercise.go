package trainer

import (
	"fmt"
	"slices"
	"strings"

	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine/practice"
	"telltale/evidence"
	"telltale/rules"
)

// Exercise is one exercise at the practice pump. Its prompts follow from the world
// and from what was answered, so that it can be played again from the answers.
type Exercise struct {
	book   *rules.Book
	s      *practice.Session
	said   []prompt.Answer // of the choice under way
	news   []prompt.Line
	told   map[string]bool  // stop conditions that were shown
	asked  *shimQuestion    // what a check left to be asked
	judged *practice.Review // when it is over
	// Answers that were right, of those asked.
	corrections, correctionsAsked int
	shims, shimsAsked             int
}

// turn is a prompt of an exercise; it ends in something to be done.
type turn = prompt.Turn[deed]

// deed does what was chosen, and says what came of it.
type deed func() ([]prompt.Line, error)

// NewExercise makes an exercise in a drawn world.
func NewExercise(book *rules.Book, w *practice.World) *Exercise {
	x := &Exercise{book: book, s: practice.Begin(w), told: map[string]bool{}}
	x.news = append(prompt.Lines(prompt.Text, x.about()...), prompt.Line{Kind: prompt.Head, Text: "The crew says"})
	if len(w.Told) == 0 {
		x.news = append(x.news, below("The pump does not work as it should. Nobody can say more."))
	}
	x.news = slices.Concat(x.news, x.findings(w.Told), x.stops())
	return x
}

// Prompt gives what is asked now; when the exercise is over, how it went.
func (x *Exercise) Prompt() (prompt.Prompt, error) {
	t := x.now()
	t.News = slices.Concat(x.news, t.News)
	if !t.Over() {
		return t.Prompt, nil
	}
	err := x.judge()
	if err == nil {
		t.Body = x.tell(x.judged)
	}
	return t.Prompt, err
}

// now is the turn that the exercise has reached.
func (x *Exercise) now() turn {
	switch {
	case x.s.End != practice.Running:
		return turn{Prompt: prompt.Prompt{ID: "over"}}
	case x.asked != nil:
		return x.askShim()
	}
	return x.menu().After(x.said)
}

// Answer takes an answer to the prompt. The error is a *prompt.Problem if it is
// none.
func (x *Exercise) Answer(a prompt.Answer) error {
	t, a := x.now(), a.Clean()
	if problem := t.Check(a); problem != nil {
		return problem
	}
	x.news = nil
	if a.One() == prompt.Back {
		x.said = x.said[:len(x.said)-1]
		return nil
	}
	next := t.Take(a)
	if n := len(x.said); next.Take != nil && a.Text != "" && n > 0 && x.said[n-1].Text != "" {
		x.said[n-1].Text = a.Text // a list that is narrowed again is narrowed anew
		return nil
	}
	if next.Take != nil {
		x.said = append(x.said, a)
		return nil
	}
	x.said = nil
	news, err := next.End()
	x.news = append(news, x.stops()...)
	return err
}

// GiveUp ends an exercise because nobody answers any more; false if it was over.
func (x *Exercise) GiveUp() bool {
	on := x.s.End == practice.Running
	x.s.Stop(practice.Broken)
	return on
}

// judge judges an exercise that is over.
func (x *Exercise) judge() (err error) {
	if x.judged == nil {
		x.judged, err = x.s.Review()
	}
	return err
}

// Over says whether the exercise is over. Its next prompt tells how it went.
func (x *Exercise) Over() bool { return x.s.End != practice.Running }

// Pumps are the kinds of pump by the words for them; "" draws the kind.
var Pumps = map[string]evidence.Action{"": "", "triplex": evidence.Triplex, "duplex": evidence.Duplex}

// OnlyHere says that a practice pump is no real one.
const OnlyHere = "It exists only here. On a real pump its manual, the site's isolation procedure and local rules govern."

// Levels say what is drawn at each level.
var Levels = map[int]string{
	practice.CommonFault: "one common trouble, clear signs",
	practice.AnyFault:    "one trouble of any kind",
	practice.TwoFaults:   "two troubles, a vague report",
}

// about says which pump it is.
func (x *Exercise) about() []string {
	w := x.s.World
	out := []string{
		fmt.Sprintf("Practice pump, %s. Level %d: %s. Seed %d.", words.Pump(string(w.Action)), w.Level, Levels[w.Level], w.Seed),
		"Name what failed, and what brought it on. Where one thing made several parts fail, one of them is enough.",
		OnlyHere,
	}
	if local := x.book.Local; local != nil {
		out = append(out, "The rulebook is changed by the "+local.String()+". What comes from it is marked.")
	}
	return out
}

func text(format string, args ...any) prompt.Line {
	return prompt.Line{Kind: prompt.Text, Text: fmt.Sprintf(format, args...)}
}

func below(format string, args ...any) prompt.Line {
	return prompt.Line{Kind: prompt.Below, Text: fmt.Sprintf(format, args...)}
}

// findings tells findings, those of one sign and answer in one line.
func (x *Exercise) findings(list []evidence.Finding) []prompt.Line {
	var texts []string
	places := map[string][]string{}
	for _, f := range list {
		text := x.s.FindingText(f)
		if _, seen := places[text]; !seen {
			texts = append(texts, text)
			places[text] = nil
		}
		switch {
		case len(f.Over) > 1:
			places[text] = append(places[text], "where is not known")
		case f.At != evidence.Place{}:
			places[text] = append(places[text], f.At.String())
		}
	}
	for i, text := range texts {
		if where := strings.Join(places[text], ", "); where != "" {
			texts[i] += " (" + where + ")"
		}
	}
	return prompt.Lines(prompt.Item, texts...)
}

// stops tells the stop conditions that came up.
func (x *Exercise) stops() []prompt.Line {
	var out []prompt.Line
	for _, stop := range x.s.Stops() {
		if x.told[stop.ID] {
			continue
		}
		x.told[stop.ID] = true
		out = append(out, x.stop(stop)...)
	}
	return out
}

func (x *Exercise) stop(stop *rules.Stop) []prompt.Line {
	out := []prompt.Line{{Kind: prompt.Head, Text: string(stop.Signal) + ", " + stop.By.Words() + ": " + stop.Title}}
	for _, do := range stop.Do {
		out = append(out, prompt.Line{Kind: prompt.Item, Text: x.s.Text(do)})
	}
	return out
}

// Beside tells what can stand beside every prompt: the stop conditions that hold now,
// what is known so far, and which safety steps are done.
func (x *Exercise) Beside() (out []prompt.Line) {
	for _, stop := range x.s.Stops() {
		out = append(out, x.stop(stop)...)
	}
	out = append(append(out, prompt.Line{Kind: prompt.Head, Text: "Known so far"}), x.known()...)
	if steps := x.s.Safe(); len(steps) > 0 {
		out = append(out, below("Safety steps done: %s", x.list(practice.Safety, steps)))
	}
	return out
}

// known tells what is known so far.
func (x *Exercise) known() []prompt.Line {
	k := x.s.Case()
	out := x.findings(k.Findings)
	for _, list := range []struct {
		lead string
		do   practice.Doing
		at   []evidence.At
	}{
		{"Open", practice.Open, k.Pump.Open}, {"Checked, nothing proved", practice.Check, k.Cleared},
		{"Shown by a check", practice.Name, x.s.Exposed()}, {"Named and right", practice.Name, k.Confirmed}, {"Not there", practice.Name, k.RuledOut},
	} {
		if len(list.at) > 0 {
			out = append(out, below("%s: %s", list.lead, x.list(list.do, list.at)))
		}
	}
	for _, t := range x.s.Traced() {
		if t.Right {
			out = append(out, below("What brought it on: %s", x.titledOrTitle(practice.Action{Do: practice.Root, ID: t.To.ID, Place: t.To.Place, Of: t.Of})))
		}
	}
	if len(out) == 0 {
		out = append(out, below("Nothing."))
	}
	return out
}

// titled names a thing of the book at its place.
func (x *Exercise) titled(do practice.Doing, id string, p evidence.Place) string {
	return words.Titled(x.s.Title(do, id), p)
}
