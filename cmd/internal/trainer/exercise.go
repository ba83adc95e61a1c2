package trainer

import (
	"errors"
	"fmt"
	"strings"

	"telltale/cmd/internal/talk"
	"telltale/cmd/internal/words"
	"telltale/engine/practice"
	"telltale/evidence"
	"telltale/rules"
)

// Exercise is one exercise at the practice pump.
type Exercise struct {
	book    *rules.Book
	term    *talk.Terminal
	columns int
	s       *practice.Session
	told    map[string]bool  // stop conditions that were shown
	judged  *practice.Review // when it is over
	// Answers that were right, of those asked.
	corrections, correctionsAsked int
	shims, shimsAsked             int
}

// NewExercise makes an exercise in a drawn world, on a terminal of so many
// columns.
func NewExercise(book *rules.Book, w *practice.World, term *talk.Terminal, columns int) *Exercise {
	return &Exercise{book: book, term: term, columns: columns, s: practice.Begin(w), told: map[string]bool{}}
}

// Run plays the exercise until it is over or nobody answers any more, shows how
// it went, and gives the record of it, without its time.
func (x *Exercise) Run() (practice.Record, error) {
	err := x.greet()
	for err == nil && x.s.End == practice.Running {
		err = x.turn()
	}
	if errors.Is(err, talk.ErrEnd) {
		x.s.Stop(practice.Broken)
		err = x.say("")
	}
	if err != nil {
		return practice.Record{}, err
	}
	review, err := x.s.Review()
	if err != nil {
		return practice.Record{}, err
	}
	x.judged = review
	if err := x.review(review); err != nil && !errors.Is(err, talk.ErrEnd) {
		return practice.Record{}, err
	}
	r := x.s.RecordOf(review)
	r.Corrections, r.CorrectionsAsked, r.Shims, r.ShimsAsked = x.corrections, x.correctionsAsked, x.shims, x.shimsAsked
	return r, nil
}

var levelWords = map[int]string{
	practice.CommonFault: "one common fault, clear signs",
	practice.AnyFault:    "one fault of any kind",
	practice.TwoFaults:   "two faults, a vague report",
}

// about says which pump it is.
func (x *Exercise) about() []string {
	w := x.s.World
	out := []string{
		fmt.Sprintf("Practice pump, %s. Level %d: %s. Seed %d.", strings.ReplaceAll(string(w.Action), "-", " "), w.Level, levelWords[w.Level], w.Seed),
		"It exists only here. On a real pump its manual, the site's isolation procedure and local rules govern.",
	}
	if local := x.book.Local; local != nil {
		out = append(out, "The rulebook is changed by the "+local.String()+". What comes from it is marked.")
	}
	return out
}

func (x *Exercise) greet() error {
	w := x.s.World
	for _, line := range x.about() {
		if err := x.say("%s", line); err != nil {
			return err
		}
	}
	if err := x.term.Head("The crew says"); err != nil {
		return err
	}
	if len(w.Told) == 0 {
		return x.below("The pump does not work as it should. Nobody can say more.")
	}
	return x.findings(w.Told)
}

// findings writes findings, those of one sign and answer in one line.
func (x *Exercise) findings(list []evidence.Finding) error {
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
	for _, text := range texts {
		where := strings.Join(places[text], ", ")
		if where != "" {
			where = " (" + where + ")"
		}
		if err := x.item(2, "- ", text+where); err != nil {
			return err
		}
	}
	return nil
}

// stops shows the stop conditions that came up.
func (x *Exercise) stops() error {
	for _, stop := range x.s.Stops() {
		if x.told[stop.ID] {
			continue
		}
		x.told[stop.ID] = true
		if err := x.term.Head(string(stop.Signal) + ", " + stop.By.Words() + ": " + stop.Title); err != nil {
			return err
		}
		for _, do := range stop.Do {
			if err := x.item(2, "- ", x.s.Text(do)); err != nil {
				return err
			}
		}
	}
	return nil
}

var stateWords = map[evidence.PumpState]string{
	evidence.Running: "The pump runs", evidence.Stopped: "The pump stands, not isolated", evidence.Isolated: "The pump is isolated",
}

// doings are the entries of the main menu.
var doings = []struct {
	text     string
	question string
	do       practice.Doing // "" where it is none
	nothing  string
}{
	{"look at a sign or ask for it", "Which sign?", practice.Look, "Nothing is left to look at as the pump stands."},
	{"do a safety step", "Which safety step?", practice.Safety, "Every safety step that fits is done."},
	{"open something", "What is opened?", practice.Open, "Nothing is left to open."},
	{"do a check", "Which check?", practice.Check, "No check is left as the pump stands."},
	{"name the cause and the correction", "Which cause?", practice.Name, ""},
	{"what is known so far", "", "", ""},
	{"leave the pump to the driller: the well comes first", "", practice.Leave, ""},
	{"give up", "", "", ""},
}

// Where the two entries of the menu stand that are no doing.
const (
	knownSoFar = 5
	givesUp    = 7
)

// turn is one round of the main menu.
func (x *Exercise) turn() error {
	if err := x.stops(); err != nil {
		return err
	}
	if err := x.term.Gap(); err != nil {
		return err
	}
	var options []talk.Option
	for _, d := range doings {
		options = append(options, talk.Option{Text: d.text})
	}
	head := fmt.Sprintf("%s. %.0f min spent.", stateWords[x.s.Case().Pump.State], x.s.Minutes())
	if n := len(x.s.Faults()); n > 0 {
		head += fmt.Sprintf(" Safety faults: %d.", n)
	}
	i, err := x.term.Choose(head, options)
	switch {
	case err != nil:
		return err
	case i == knownSoFar:
		return x.known()
	case i == givesUp:
		x.s.Stop(practice.GaveUp)
		return nil
	case doings[i].do == practice.Leave:
		return x.did(practice.Action{Do: practice.Leave})
	}
	err = x.choose(i)
	if errors.Is(err, errBack) {
		return nil
	}
	return err
}

func (x *Exercise) choose(i int) error {
	d := doings[i]
	offers := x.s.Offers(d.do)
	if len(offers) == 0 {
		return x.say("%s", d.nothing)
	}
	offer, err := x.pick(d.question, offers)
	if err != nil {
		return err
	}
	places, err := x.place(offer, d.do == practice.Look)
	if err != nil {
		return err
	}
	if d.do == practice.Name {
		return x.name(practice.Action{Do: d.do, ID: offer.ID, Place: places[0]})
	}
	for _, p := range places {
		if err := x.did(practice.Action{Do: d.do, ID: offer.ID, Place: p}); err != nil {
			return err
		}
		if n := len(x.s.Journal); x.s.Journal[n-1].Refused != nil {
			return nil
		}
	}
	return nil
}

// name names a cause and asks for its correction.
func (x *Exercise) name(a practice.Action) error {
	texts, right := x.s.Corrections(a.ID)
	options := []talk.Option{}
	for _, text := range texts {
		options = append(options, talk.Option{Text: text})
	}
	options = append(options, talk.Option{Key: "b", Text: "back"})
	i, err := x.term.Choose(fmt.Sprintf("%s. What corrects it?", x.titledOrTitle(a)), options)
	if err != nil {
		return err
	}
	if options[i].Key == "b" {
		return errBack
	}
	out := x.s.Do(a)
	if out.Cannot != "" {
		return x.say("%s", out.Cannot)
	}
	x.correctionsAsked++
	if i == right {
		x.corrections++
	} else {
		x.s.Miscorrect(evidence.At{ID: a.ID, Place: a.Place})
		if err := x.say("That does not correct it. The book: %s", texts[right]); err != nil {
			return err
		}
	}
	if !out.Right {
		return x.say("It is not that. The correction was done for nothing: %s lost.", words.Minutes(x.book.Practice.WrongMinutes))
	}
	if err := x.say("Right: that is there. %s", x.s.Why(a.ID)); err != nil {
		return err
	}
	if !out.Proved {
		if err := x.say("But nothing that you did shows it. It was a guess, and a guess does not pass."); err != nil {
			return err
		}
	}
	if x.s.Left() > 0 {
		return x.say("It is not all. Something else is wrong besides.")
	}
	return nil
}

// known lists what is known so far.
func (x *Exercise) known() error {
	k := x.s.Case()
	if err := x.findings(k.Findings); err != nil {
		return err
	}
	for _, list := range []struct {
		lead string
		do   practice.Doing
		at   []evidence.At
	}{
		{"Open", practice.Open, k.Pump.Open}, {"Checked, nothing proved", practice.Check, k.Cleared},
		{"Shown by a check", practice.Name, x.s.Exposed()}, {"Named and right", practice.Name, k.Confirmed}, {"Not there", practice.Name, k.RuledOut},
	} {
		if len(list.at) == 0 {
			continue
		}
		var names []string
		for _, at := range list.at {
			names = append(names, x.titled(list.do, at.ID, at.Place))
		}
		if err := x.below("%s: %s", list.lead, strings.Join(names, "; ")); err != nil {
			return err
		}
	}
	return nil
}
