package practice

import (
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
	Leave  Doing = "leave"  // leave the pump to the driller: the well first
)

// Action is one choice.
type Action struct {
	Do    Doing
	ID    string
	Place evidence.Place
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
	// Right: a named cause is there. Proved: something that was done showed it
	// before it was named.
	Right, Proved bool
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
	Solved   End = "solved"  // every hidden cause was named
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

// Exposed are the causes that checks have shown and that were not named yet.
func (s *Session) Exposed() []evidence.At { return s.exposed }

// Left is how many hidden causes were not named yet.
func (s *Session) Left() int { return len(s.World.Hidden) - len(s.known.Confirmed) }

// Do takes one choice. What must come first and is missing stops it.
func (s *Session) Do(a Action) Outcome {
	if s.End != Running {
		return Outcome{Cannot: "The exercise is over."}
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
	case Leave:
		s.End = LeftIdle
		if s.mustLeave() {
			s.End = Left
		}
	}
	return Outcome{}
}

// entry gives what an action is in the book: its entry and its minutes; naming
// a cause costs nothing. A pump that is left is nothing there.
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
	case Name:
		return s.book.Causes.Get(id).Entry, 0
	}
	return rules.Entry{Title: "Leave the pump to the driller"}, 0
}

// cost is the minutes of an action by the rulebook; naming a cause that is not
// there costs its correction.
func (s *Session) cost(a Action) float64 {
	if a.Do == Name && !s.hides(a.at()) {
		return s.book.Practice.WrongMinutes
	}
	_, minutes := s.entry(a.Do, a.ID)
	return minutes
}

func (s *Session) hides(at evidence.At) bool { return slices.Contains(s.World.Hidden, at) }

// reveal brings the truth about signs into the case and gives what is new.
func (s *Session) reveal(signs []evidence.At) []evidence.Finding {
	var seen []evidence.Finding
	for _, at := range signs {
		if s.known.Known(at.ID, at.Place) {
			continue
		}
		f := s.World.finding(at.ID, at.Place)
		seen = append(seen, f)
		s.known.Findings = append(narrowed(s.known.Findings, f), f)
	}
	return seen
}

// tellSigns reveals what a check tells. A sign that goes with another one, as
// the behaviour of a knock with the knock, is told together with that one, and
// not at all where that one does not show.
func (s *Session) tellSigns(signs []evidence.At) []evidence.Finding {
	var alone, behind []evidence.At
	for _, at := range signs {
		follows := s.book.Signs.Get(at.ID).Follows
		switch {
		case len(follows) == 0:
			alone = append(alone, at)
		case s.World.showsAny(follows):
			alone = append(alone, s.World.shownOf(follows)...)
			behind = append(behind, at)
		}
	}
	return s.reveal(append(alone, behind...))
}

// narrowed fits a report of "somewhere" to what is now known of one of its
// places.
func narrowed(findings []evidence.Finding, f evidence.Finding) []evidence.Finding {
	var out []evidence.Finding
	for _, old := range findings {
		vague := old.Sign == f.Sign && old.Answer == evidence.Present && len(old.Over) > 1 && slices.Contains(old.Over, f.At)
		if !vague {
			out = append(out, old)
			continue
		}
		if f.Answer == evidence.Present {
			continue // said more exactly now
		}
		old.Over = slices.DeleteFunc(slices.Clone(old.Over), func(p evidence.Place) bool { return p == f.At })
		out = append(out, old)
	}
	return out
}

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
	proved := s.proved(a.at())
	s.known.Confirmed = append(slices.Clip(s.known.Confirmed), a.at())
	s.exposed = slices.DeleteFunc(slices.Clone(s.exposed), func(at evidence.At) bool { return at == a.at() })
	if s.Left() == 0 {
		s.End = Solved
	}
	return Outcome{Right: true, Proved: proved}
}

func has(list []evidence.At, at evidence.At) bool { return slices.Contains(list, at) }
