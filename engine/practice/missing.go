package practice

import (
	"fmt"
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// What must come before an action, from the rulebook: nothing is done while any
// of it is missing.

// blocked gives what is missing before an action, or why it cannot be done at
// all.
func (s *Session) blocked(a Action) (missing []Need, cannot string) {
	if a.Do == Name || a.Do == Root || a.Do == Leave {
		return nil, s.cannot(a)
	}
	if s.mustLeave() {
		return []Need{s.wellFirst()}, ""
	}
	if why := s.cannot(a); why != "" {
		return nil, why
	}
	l := lacks{s: s, seen: map[evidence.At]bool{}, gone: map[evidence.At]bool{}}
	switch a.Do {
	case Safety:
		l.before(s.book.Safety.Get(a.ID))
	case Look:
		l.look(s.book.Signs.Get(a.ID), a.Place)
	case Open:
		l.first(a)
		l.opening(s.book.Openings.Get(a.ID), a.Place, false)
	case Check:
		l.first(a)
		l.check(s.book.Checks.Get(a.ID), a.Place)
	}
	return l.out, ""
}

// danger says whether something that is missing before an action guards
// somebody: a safety step, what must come out before anything turns, or the
// look at the well. Otherwise only the order is wrong.
func (s *Session) danger(missing []Need) bool {
	return slices.ContainsFunc(missing, func(n Need) bool {
		switch n.Do {
		case Open:
			return s.book.Openings.Get(n.ID).BeforeTurning
		case Check:
			return s.looksAtWell(s.book.Checks.Get(n.ID))
		}
		return true
	})
}

// looksAtWell says whether a check tells of signs for which the pump is left.
func (s *Session) looksAtWell(c *rules.Check) bool {
	return slices.ContainsFunc(s.book.Stops.List, func(stop *rules.Stop) bool {
		return stop.LeavePump && slices.ContainsFunc(c.Answers, stop.When.AsksAbout)
	})
}

// holdStops keeps the stop conditions that hold by what is known; it follows
// every change of that.
func (s *Session) holdStops() {
	s.stops = nil
	for _, stop := range s.book.Stops.List {
		if stop.When.Holds(&s.known, s.book) {
			s.stops = append(s.stops, stop)
		}
	}
}

// Stops are the stop conditions that hold by what is known. The caller does not
// change them.
func (s *Session) Stops() []*rules.Stop { return s.stops }

func (s *Session) anyStop(is func(*rules.Stop) bool) bool { return slices.ContainsFunc(s.stops, is) }

func (s *Session) mustLeave() bool {
	return s.anyStop(func(x *rules.Stop) bool { return x.LeavePump })
}

// mustStop says whether the pump runs and may not run on.
func (s *Session) mustStop() bool {
	return s.known.Pump.State == evidence.Running && s.anyStop(func(x *rules.Stop) bool { return x.StopPump || x.LeavePump })
}

// stopsAtOnce says whether the pump runs and a stop condition stops it at once.
func (s *Session) stopsAtOnce() bool {
	return s.known.Pump.State == evidence.Running && s.anyStop(func(x *rules.Stop) bool { return x.StopPump && x.By == rules.AtOnce })
}

// power says whether anything may still be done with power on.
func (s *Session) power() bool {
	return s.known.Pump.State != evidence.Isolated && !s.anyStop(func(x *rules.Stop) bool { return x.PowerOff || x.LeavePump })
}

// mustLock says whether the pump is to be locked off before anything else.
func (s *Session) mustLock() bool { return !s.power() && s.known.Pump.State != evidence.Isolated }

// opensNothing says whether a stop condition holds every opening back.
func (s *Session) opensNothing() bool {
	return s.anyStop(func(x *rules.Stop) bool { return x.OpenNothing })
}

func (s *Session) wellFirst() Need {
	for _, stop := range s.stops {
		if stop.LeavePump {
			why := ""
			if len(stop.Do) > 0 {
				why = stop.Do[0]
			}
			return Need{Do: Leave, ID: stop.ID, Title: stop.Title, Why: why}
		}
	}
	return Need{}
}

// settled says whether a safety step need not be done: the pump stands so
// already, or a stop condition leaves it out.
func (s *Session) settled(g *rules.Safety) bool {
	if g.SkipOnStop && s.stopsAtOnce() {
		return true
	}
	if g.InFull {
		return false
	}
	switch g.For {
	case rules.ForStopping:
		return s.known.Pump.State != evidence.Running
	case rules.ForIsolation:
		return s.known.Pump.State == evidence.Isolated
	}
	return false
}

// lackFor gives what is missing of the safety steps of one purpose; the
// isolation includes the stop.
func (s *Session) lackFor(purpose rules.SafetyFor) []Need {
	l := lacks{s: s, seen: map[evidence.At]bool{}, gone: map[evidence.At]bool{}}
	l.purpose(purpose)
	return l.out
}

// lacks gathers what is missing, each thing once, in an order in which it can
// be done.
type lacks struct {
	s    *Session
	out  []Need
	seen map[evidence.At]bool
	gone map[evidence.At]bool // the ways that were gone
}

func (l *lacks) add(n Need) {
	if fresh(l.seen, string(n.Do)+" "+n.ID, n.Place) {
		l.out = append(l.out, n)
	}
}

// fresh says whether something was not in a set yet, and puts it there.
func fresh(set map[evidence.At]bool, id string, place evidence.Place) bool {
	key := evidence.At{ID: id, Place: place}
	known := set[key]
	set[key] = true
	return !known
}

// safety adds a safety step that is not done, behind what comes before it.
func (l *lacks) safety(g *rules.Safety) {
	if l.s.safe[g.ID] || !fresh(l.gone, string(Safety)+" "+g.ID, evidence.Place{}) {
		return
	}
	l.before(g)
	if !g.When.Holds(&l.s.known, l.s.book) || l.s.settled(g) {
		return
	}
	l.add(Need{Do: Safety, ID: g.ID, Title: g.Title, Why: g.Do})
}

func (l *lacks) before(g *rules.Safety) {
	for _, id := range g.After {
		l.safety(l.s.book.Safety.Get(id))
	}
	if g.Turns {
		left, _ := l.s.book.BeforeTurning(&l.s.known)
		for _, at := range left {
			l.opening(l.s.book.Openings.Get(at.ID), at.Place, true)
		}
	}
}

func (l *lacks) purpose(purpose rules.SafetyFor) {
	for _, g := range l.s.book.Safety.List {
		if g.For == purpose || purpose == rules.ForIsolation && g.For == rules.ForStopping {
			l.safety(g)
		}
	}
}

func (l *lacks) opening(a *rules.Opening, place evidence.Place, itself bool) {
	if l.s.book.IsOpen(a.ID, place, l.s.known.Pump.Open) || !fresh(l.gone, fmt.Sprint(Open, a.ID, itself), place) {
		return
	}
	l.purpose(rules.ForIsolation)
	for _, id := range a.Needs {
		l.needed(id, place)
	}
	for _, id := range a.Safety {
		l.safety(l.s.book.Safety.Get(id))
	}
	if itself {
		l.add(Need{Do: Open, ID: a.ID, Place: place, Title: a.Title, Why: a.Do})
	}
}

// atOnce is what a stop condition demands before anything else.
func (l *lacks) atOnce() {
	if l.s.mustStop() {
		l.purpose(rules.ForStopping)
	}
	if l.s.mustLock() {
		l.purpose(rules.ForIsolation)
	}
}

// look: what shows only while the pump runs is looked at behind its safety steps.
// The rest is asked of the crew, or seen where it stands open already.
func (l *lacks) look(sign *rules.Sign, place evidence.Place) {
	if sign.Pump == rules.NeedsRunning {
		l.atOnce()
		l.purpose(rules.ForRunning)
	}
	if sign.Pump == rules.NeedsIsolated || len(sign.Openings) > 0 {
		l.purpose(rules.ForIsolation)
	}
}

func (l *lacks) check(c *rules.Check, place evidence.Place) {
	l.atOnce()
	if c.Desk {
		return // nobody is near the pump
	}
	running := l.s.known.Pump.State == evidence.Running
	switch c.Pump {
	case rules.NeedsIsolated:
		l.purpose(rules.ForIsolation)
	case rules.NeedsRunning:
		l.purpose(rules.ForRunning)
	case rules.NeedsNothing, rules.NeedsNotIsolated:
		if running && !l.s.mustStop() {
			l.purpose(rules.ForRunning)
		}
	default:
		l.purpose(rules.ForStopping)
	}
	for _, id := range c.Safety {
		l.safety(l.s.book.Safety.Get(id))
	}
	for _, id := range c.Openings {
		l.needed(id, place)
	}
}

// needed adds what must be opened at a place, or what stands for it there.
func (l *lacks) needed(id string, place evidence.Place) {
	if !l.s.book.IsOpen(id, place, l.s.known.Pump.Open) {
		a := l.s.book.ToOpen(id, place, &l.s.known)
		l.opening(a, a.At(place), true)
	}
}

// first adds the checks that a rule of the book puts before the other ones and
// that can still be done: the look at the well, the bump for the rotation.
func (l *lacks) first(a Action) {
	if l.s.known.Pump.State == evidence.Isolated {
		return
	}
	if a.Do == Check {
		if c := l.s.book.Checks.Get(a.ID); c.Desk || l.s.goesFirst(c) {
			return
		}
	}
	for _, c := range l.s.book.Checks.List {
		if !l.s.goesFirst(c) || c.Pump == rules.NeedsIsolated || len(c.Openings) > 0 || !l.s.possible(c) {
			continue
		}
		for _, p := range l.s.known.Pump.Places(c.Level) {
			if l.s.cannotCheck(Action{Do: Check, ID: c.ID, Place: p}) == "" {
				l.add(Need{Do: Check, ID: c.ID, Place: p, Title: c.Title, Why: c.Do})
			}
		}
	}
}

func (s *Session) goesFirst(c *rules.Check) bool {
	return c.FirstWhen != nil && c.FirstWhen.Holds(&s.known, s.book)
}

// possible says whether the stop conditions leave room for a check.
func (s *Session) possible(c *rules.Check) bool {
	switch c.Pump {
	case rules.NeedsRunning:
		return !s.mustStop()
	case rules.NeedsLive:
		return s.power()
	}
	return !s.mustLock()
}
