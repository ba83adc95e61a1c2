package practice

import (
	"fmt"
	"maps"
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// Doing is what a trainee can do.
type Doing string

// The doings.
const (
	Look   Doing = "look"   // look at or ask for a sign at a place
	Safety Doing = "safety" // a safety step
	Open   Doing = "open"   // open something
	Check  Doing = "check"  // a check
	Name   Doing = "name"   // name a cause
	Root   Doing = "root"   // say what brought a named cause on
	Leave  Doing = "leave"  // leave the pump to the driller: the well first
)

// Action is one choice.
type Action struct {
	Do    Doing
	ID    string
	Place evidence.Place
	Of    evidence.At // of Root: the named cause
}

func (a Action) at() evidence.At { return evidence.At{ID: a.ID, Place: a.Place} }

// Outcome is what came of an action. At most one of Refused and Cannot is set;
// then nothing was done and no minute was spent.
type Outcome struct {
	// Refused: a step that must come first was missing.
	Refused *Fault
	// Cannot: it is not possible, but nothing unsafe either.
	Cannot string
	// Seen are the signs that it brought, of a look or a check.
	Seen []evidence.Finding
	// Found are the causes that a check exposed.
	Found []evidence.At
	// Rod are readings that a check brought.
	Rod *RodReading
	// Right: a named cause is there, or did bring the other one on; there is
	// nothing deeper. Proved: something that was done showed it before it was named.
	Right, Proved bool
	// Of Root. There: the cause is there. Between: it brought the other one on, and
	// something brought it on in its turn. Back: it was said that there is nothing
	// deeper, and there is, so that the trouble comes back.
	There, Between, Back bool
}

// Fault is a choice that skipped what must come before it.
type Fault struct {
	Action
	Missing []Need // in the order in which they are done
	// Danger: some of it guards somebody. Otherwise only the order was wrong.
	Danger bool
}

// Need is something that must come first.
type Need struct {
	Do    Doing // safety, open or check; leave for "the well first"
	ID    string
	Place evidence.Place
	Title string
	Why   string // the rulebook's text
}

// End is how an exercise ended.
type End string

// The ends.
const (
	Running  End = ""
	Solved   End = "solved"  // of every trouble it was named what failed and what brought it on
	Left     End = "left"    // the pump was left, as a stop condition demands
	LeftIdle End = "idle"    // it was left although nothing demands it
	GaveUp   End = "gave-up" // by choice
	Broken   End = "ended"   // the input ended
)

// state is what is known and done so far.
type state struct {
	known   evidence.Case
	safe    map[string]bool
	exposed []evidence.At // shown by a check and not named yet
	proofs  []evidence.At // named and proved
	traced  []Traced
	stops   []*rules.Stop // that hold by what is known
	minutes float64
}

func (s *state) copy() state {
	out := *s
	out.safe = maps.Clone(s.safe)
	return out
}

// Choice is one entry of the journal.
type Choice struct {
	Action
	Minutes float64
	Outcome
	before state
}

// Session is one exercise under way.
type Session struct {
	World   *World
	book    *rules.Book
	Journal []Choice
	End     End
	// miscorrected are hidden causes that were named with a wrong correction.
	miscorrected []evidence.At
	state
}

// Begin starts an exercise: what the crew told is known.
func Begin(w *World) *Session {
	return begin(w.book, w, evidence.Case{Pump: w.Pump, Findings: slices.Clone(w.Told), Taken: atStops})
}

func begin(book *rules.Book, w *World, known evidence.Case) *Session {
	s := &Session{World: w, book: book, state: state{known: known, safe: map[string]bool{}}}
	s.holdStops()
	return s
}

// Case is all that is known so far. The caller does not change it.
func (s *Session) Case() *evidence.Case { return &s.known }

// Minutes is the time spent so far.
func (s *Session) Minutes() float64 { return s.minutes }

// Faults are the choices that were stopped because they would have put
// somebody in danger.
func (s *Session) Faults() []Fault {
	var out []Fault
	for _, c := range s.Journal {
		if c.Refused != nil && c.Refused.Danger {
			out = append(out, *c.Refused)
		}
	}
	return out
}

// Safe are the safety steps that are done, in the order of the book.
func (s *Session) Safe() []evidence.At {
	var out []evidence.At
	for _, g := range s.book.Safety.List {
		if s.safe[g.ID] {
			out = append(out, evidence.At{ID: g.ID})
		}
	}
	return out
}

// Exposed are the causes that checks have shown and that were not named yet.
func (s *Session) Exposed() []evidence.At { return s.exposed }

// Left is how many troubles are not done with.
func (s *Session) Left() int {
	n := 0
	for _, t := range s.World.Troubles() {
		if !s.over(t) {
			n++
		}
	}
	return n
}

// MostChoices bounds an exercise: to do everything once takes some 700.
const MostChoices = 1000

// Do takes one choice. What must come first and is missing stops it.
func (s *Session) Do(a Action) Outcome {
	switch {
	case s.End != Running:
		return Outcome{Cannot: "The exercise is over."}
	case len(s.Journal) == MostChoices:
		return Outcome{Cannot: fmt.Sprintf("You chose %d times. No exercise is longer. Give up, and see how it went.", MostChoices)}
	}
	c := Choice{Action: a, before: s.copy()}
	missing, cannot := s.blocked(a)
	switch {
	case cannot != "":
		return Outcome{Cannot: cannot}
	case len(missing) > 0:
		c.Refused = &Fault{Action: a, Missing: missing, Danger: s.danger(missing)}
	default:
		c.Outcome = s.carryOut(a)
		s.holdStops()
		c.Minutes = s.minutes - c.before.minutes
	}
	s.Journal = append(s.Journal, c)
	return c.Outcome
}

// Stop ends the exercise as it stands.
func (s *Session) Stop(how End) {
	if s.End == Running {
		s.End = how
	}
}

func (s *Session) carryOut(a Action) Outcome {
	s.minutes += s.cost(a)
	switch a.Do {
	case Look:
		return Outcome{Seen: s.reveal([]evidence.At{a.at()})}
	case Safety:
		s.safety(a.ID)
	case Open:
		s.known.Pump.Open = append(slices.Clip(s.known.Pump.Open), a.at())
	case Check:
		return s.check(a)
	case Name:
		return s.name(a)
	case Root:
		return s.trace(a)
	case Leave:
		s.End = LeftIdle
		if s.mustLeave() {
			s.End = Left
		}
	}
	return Outcome{}
}

// entry gives what an action is in the book: its entry and its minutes; naming
// a cause costs nothing. A pump that is left, and nothing deeper, are nothing there.
func (s *Session) entry(do Doing, id string) (e rules.Entry, minutes float64) {
	switch do {
	case Look:
		return s.book.Signs.Get(id).Entry, s.book.Practice.LookMinutes
	case Safety:
		x := s.book.Safety.Get(id)
		return x.Entry, x.Minutes
	case Open:
		x := s.book.Openings.Get(id)
		return x.Entry, x.Minutes
	case Check:
		x := s.book.Checks.Get(id)
		return x.Entry, x.Minutes
	case Name, Root:
		if id == Nothing {
			return rules.Entry{Title: "Nothing deeper: it came by itself"}, 0
		}
		return s.book.Causes.Get(id).Entry, 0
	}
	return rules.Entry{Title: "Leave the pump to the driller"}, 0
}

// cost is the minutes of an action by the rulebook; naming a cause that is not
// there costs its correction, and a failure whose root was left is put right again.
func (s *Session) cost(a Action) float64 {
	if (a.Do == Name || a.Do == Root) && !s.holdsTrue(a) {
		return s.book.Practice.WrongMinutes
	}
	_, minutes := s.entry(a.Do, a.ID)
	return minutes
}

// holdsTrue says whether a cause that is named is there, or the word that there is
// nothing deeper true.
func (s *Session) holdsTrue(a Action) bool {
	if a.ID == Nothing {
		_, _, alone := s.World.broughtBy(a.Of)
		return alone
	}
	return s.hides(a.at())
}

func (s *Session) hides(at evidence.At) bool { return slices.Contains(s.World.Hidden, at) }

// safety notes a safety step, and how the pump stands after it.
func (s *Session) safety(id string) {
	s.safe[id] = true
	if s.known.Pump.State == evidence.Running && len(s.lackFor(rules.ForStopping)) == 0 {
		s.known.Pump.State = evidence.Stopped
		s.holdStops()
	}
	if s.known.Pump.State == evidence.Stopped && len(s.lackFor(rules.ForIsolation)) == 0 {
		s.known.Pump.State = evidence.Isolated
	}
}

// check does a check: what it exposes, the signs that it tells of, and the
// readings of a rod.
func (s *Session) check(a Action) Outcome {
	c := s.book.Checks.Get(a.ID)
	var out Outcome
	var signs []evidence.At
	for _, id := range c.Answers {
		sign := s.book.Signs.Get(id)
		if !sign.When.HoldsForPump(&s.known.Pump) {
			continue
		}
		for _, p := range s.known.Pump.Under(a.Place, sign.Level) {
			signs = append(signs, evidence.At{ID: id, Place: p})
		}
	}
	out.Seen = s.tellSigns(signs)
	for _, at := range s.World.Exposes(a.ID, a.Place) {
		if !has(s.known.Confirmed, at) {
			out.Found = append(out.Found, at)
			if !has(s.exposed, at) {
				s.exposed = append(slices.Clip(s.exposed), at)
			}
		}
	}
	if len(out.Found) == 0 {
		s.known.Cleared = append(slices.Clip(s.known.Cleared), a.at())
	} else {
		s.known.Unclear = append(slices.Clip(s.known.Unclear), a.at()) // done; that it missed the rest weighs nothing
	}
	if r, measured := s.World.rods[a.Place]; measured && measuresRod(s.book, &s.known, c) {
		out.Rod = &r
	}
	return out
}

func (s *Session) name(a Action) Outcome {
	if !s.hides(a.at()) {
		s.known.RuledOut = append(slices.Clip(s.known.RuledOut), a.at())
		return Outcome{}
	}
	proved := s.confirm(a.at())
	s.endIfSolved()
	return Outcome{Right: true, Proved: proved}
}

// confirm notes a hidden cause that was named, and says whether it was proved.
func (s *Session) confirm(cause evidence.At) bool {
	proved := s.proved(cause)
	if proved {
		s.proofs = append(slices.Clip(s.proofs), cause)
	}
	s.known.Confirmed = append(slices.Clip(s.known.Confirmed), cause)
	s.exposed = slices.DeleteFunc(slices.Clone(s.exposed), func(at evidence.At) bool { return at == cause })
	return proved
}

func (s *Session) endIfSolved() {
	if s.Left() == 0 {
		s.End = Solved
	}
}

func has(list []evidence.At, at evidence.At) bool { return slices.Contains(list, at) }
