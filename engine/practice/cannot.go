package practice

import (
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// The reasons why something cannot be done.
const (
	unknown    = "There is no such thing on this pump."
	done       = "That is done already."
	stands     = "The pump stands. This shows only while it runs."
	runs       = "The pump runs. This shows only when it stands."
	isolated   = "The pump is isolated. This needs power or pressure."
	closed     = "It cannot be seen: something must be opened first."
	notYet     = "It shows only on an isolated pump."
	notThis    = "This pump does not call for it now."
	heldBack   = "A stop condition holds every opening back."
	namedTwice = "That was named already."
	saidTwice  = "That was said already."
	spoiled    = "As this place stands now, that cannot be done there."
	tooOpen    = "It needs something closed that stands open."
	goesAlone  = "It makes no sense yet: what it goes with does not show."
	noStart    = "A stop condition keeps the pump out of service. A bump is a start."
	noTurning  = "Nothing may turn the pump now. Something must come out first."
)

// cannot says why an action is out of the question, "" if it is not. None of
// these is unsafe: the thing is not there, is over, or is done.
func (s *Session) cannot(a Action) string {
	switch a.Do {
	case Leave:
		return ""
	case Name:
		return s.cannotName(a)
	case Root:
		return s.cannotRoot(a)
	case Look:
		return s.cannotLook(a)
	case Safety:
		g := s.book.Safety.Get(a.ID)
		switch {
		case g == nil || a.Place != (evidence.Place{}):
			return unknown
		case s.safe[a.ID] || s.settled(g):
			return done
		case !g.When.Holds(&s.known, s.book) || g.For == rules.ForRunning && s.known.Pump.State != evidence.Running:
			return notThis
		case g.Turns && s.mustNotTurn():
			return noTurning
		case g.Turns && s.opensNothing():
			return heldBack // what must come out before it turns may not be reached now
		}
	case Open:
		opening := s.book.Openings.Get(a.ID)
		switch {
		case opening == nil || !s.placed(opening.Level, a.Place) || !s.book.Exists(a.ID, &s.known):
			return unknown
		case s.book.IsOpen(a.ID, a.Place, s.known.Pump.Open):
			return done
		case s.opensNothing():
			return heldBack
		case !s.book.ExistsAt(a.ID, a.Place, &s.known) || s.book.ToOpen(a.ID, a.Place, &s.known) != opening:
			return notThis
		case s.mustNotTurn() && s.book.Turns([]string{a.ID}, a.Place, &s.known):
			return noTurning
		}
	case Check:
		return s.cannotCheck(a)
	}
	return ""
}

func (s *Session) cannotName(a Action) string {
	c := s.book.Causes.Get(a.ID)
	switch {
	case c == nil || !s.placed(c.Level, a.Place) || !c.When.Holds(&s.known, s.book):
		return unknown
	case has(s.known.Confirmed, a.at()) || has(s.known.RuledOut, a.at()):
		return namedTwice
	}
	return ""
}

func (s *Session) cannotLook(a Action) string {
	sign := s.book.Signs.Get(a.ID)
	if sign == nil || sign.Reckoned || !s.placed(sign.Level, a.Place) || !sign.When.Holds(&s.known, s.book) {
		return unknown
	}
	if s.known.Known(a.ID, a.Place) {
		return done
	}
	if !sign.Fits(&s.known) {
		return goesAlone
	}
	state := s.known.Pump.State
	switch need := sign.Pump; {
	case need == rules.NeedsRunning && state != evidence.Running:
		return stands
	case (need == rules.NeedsStopped || need == rules.NeedsLive) && state == evidence.Running:
		return runs
	case need == rules.NeedsLive && !s.power() || need == rules.NeedsNotIsolated && state == evidence.Isolated:
		return isolated
	case need == rules.NeedsIsolated && state != evidence.Isolated:
		return notYet
	}
	for _, id := range sign.Openings {
		if !s.book.IsOpen(id, a.Place, s.known.Pump.Open) {
			return closed
		}
	}
	return ""
}

func (s *Session) cannotCheck(a Action) string {
	c := s.book.Checks.Get(a.ID)
	if c == nil || !s.placed(c.Level, a.Place) || !c.When.Holds(&s.known, s.book) {
		return unknown
	}
	for _, id := range c.Openings {
		if !s.book.Exists(id, &s.known) {
			return unknown
		}
		if !s.book.ExistsAt(id, a.Place, &s.known) {
			return notThis
		}
	}
	state := s.known.Pump.State
	switch {
	case has(s.known.Cleared, a.at()) || has(s.known.Unclear, a.at()):
		return done
	case (c.Pump == rules.NeedsIsolated || s.book.CheckTurns(c)) && s.opensNothing():
		return heldBack
	case s.anyStop(func(x *rules.Stop) bool { return s.book.HeldBy(c, x) }):
		return noStart
	case c.Pump == rules.NeedsRunning && state != evidence.Running:
		return stands
	case (c.Pump == rules.NeedsLive || c.Pump == rules.NeedsNotIsolated) && state == evidence.Isolated:
		return isolated
	case !c.FitsAt(a.Place, &s.known):
		return spoiled
	case s.book.WantsClosed(c, a.Place, s.known.Pump.Open):
		return tooOpen
	case !s.book.MayTurn(c, a.Place, &s.known):
		return noTurning
	}
	return ""
}

// mustNotTurn says whether nothing may turn the pump because it is not known
// where something must come out first.
func (s *Session) mustNotTurn() bool {
	_, known := s.book.BeforeTurning(&s.known)
	return !known
}

func (s *Session) placed(level evidence.Level, p evidence.Place) bool {
	return slices.Contains(s.known.Pump.Places(level), p)
}
