package rules

import (
	"slices"

	"telltale/evidence"
)

// What is opened at one place: an opening that exists only where a sign shows,
// one that is opened in place of another there, and what must be open before
// anything turns the pump.

// At lifts a place to the level of an opening; it lies at or above the place.
func (a *Opening) At(p evidence.Place) evidence.Place { return a.Level.Of(p) }

// isAt says whether an opening is there by the signs: one that names none is
// everywhere, else one of them must be known to show at just this place.
func (a *Opening) isAt(place evidence.Place, k *evidence.Case) bool {
	if len(a.Where) == 0 {
		return true
	}
	return slices.ContainsFunc(a.shown(k), func(over []evidence.Place) bool { return len(over) == 1 && over[0] == a.At(place) })
}

// shown gives, for each finding of the signs of an opening, the places of the
// opening where it may be: one if it is known where.
func (a *Opening) shown(k *evidence.Case) [][]evidence.Place {
	var out [][]evidence.Place
	for _, f := range k.Findings {
		if f.Answer != evidence.Present || !slices.Contains(a.Where, f.Sign) {
			continue
		}
		var over []evidence.Place
		for _, p := range f.Over {
			if at := a.At(p); !slices.Contains(over, at) {
				over = append(over, at)
			}
		}
		out = append(out, over)
	}
	return out
}

// ToOpen gives what is opened at a place when this opening is wanted: another
// one where that stands for it.
func (b *Book) ToOpen(id string, place evidence.Place, k *evidence.Case) *Opening {
	for _, a := range b.Openings.List {
		if slices.Contains(a.StandsFor, id) && a.When.Holds(k, b) && a.isAt(place, k) {
			return a
		}
	}
	return b.Openings.Get(id)
}

// Opens says whether an opening is open when this one is.
func (a *Opening) Opens(id string) bool { return a.ID == id || slices.Contains(a.StandsFor, id) }

// IsOpen says whether an opening is open at a place, by itself or by what
// stands for it.
func (b *Book) IsOpen(id string, place evidence.Place, open []evidence.At) bool {
	at := b.Openings.Get(id).At(place)
	return slices.ContainsFunc(open, func(o evidence.At) bool { return o.Place == at && b.Openings.Get(o.ID).Opens(id) })
}

// way gives what these openings need opened at a place, with themselves.
func (b *Book) way(ids []string, place evidence.Place, k *evidence.Case) []*Opening {
	var out []*Opening
	for queue := slices.Clone(ids); len(queue) > 0; queue = queue[1:] {
		if a := b.ToOpen(queue[0], place, k); !slices.Contains(out, a) {
			out = append(out, a)
			queue = append(queue, a.Needs...)
		}
	}
	return out
}

// ExistsAt says whether an opening, with all that it needs, is there at a
// place.
func (b *Book) ExistsAt(id string, place evidence.Place, k *evidence.Case) bool {
	return !slices.ContainsFunc(b.way([]string{id}, place, k), func(a *Opening) bool { return !a.When.Holds(k, b) || !a.isAt(place, k) })
}

// BeforeTurning gives what must still be opened before anything turns the
// pump. known is false while a sign shows of which it is not known where: then
// nothing turns it at all.
func (b *Book) BeforeTurning(k *evidence.Case) (left []evidence.At, known bool) {
	known = true
	for _, a := range b.Openings.List {
		if !a.BeforeTurning || !a.When.Holds(k, b) {
			continue
		}
		var at []evidence.Place
		var vague [][]evidence.Place
		for _, over := range a.shown(k) {
			switch {
			case len(over) > 1:
				vague = append(vague, over)
			case !slices.Contains(at, over[0]):
				at = append(at, over[0])
			}
		}
		for _, over := range vague { // a place that is known may be the one
			known = known && slices.ContainsFunc(over, func(p evidence.Place) bool { return slices.Contains(at, p) })
		}
		for _, p := range at {
			if !b.IsOpen(a.ID, p, k.Pump.Open) {
				left = append(left, evidence.At{ID: a.ID, Place: p})
			}
		}
	}
	return left, known
}

// Turns says whether opening these at a place turns the pump: one of the
// guards that are still to come does.
func (b *Book) Turns(opening []string, place evidence.Place, k *evidence.Case) bool {
	return slices.ContainsFunc(b.way(opening, place, k), func(a *Opening) bool {
		return !b.IsOpen(a.ID, place, k.Pump.Open) && b.anyTurns(a.Safety)
	})
}

// CheckTurns says whether a guard of a check turns the pump.
func (b *Book) CheckTurns(c *Check) bool { return b.anyTurns(c.Safety) }

// CheckStarts says whether the drive turns the pump for a check, if only for a bump:
// behind the isolation it is turned by hand.
func (b *Book) CheckStarts(c *Check) bool { return c.Pump != NeedsIsolated && b.anyTurns(c.Safety) }

// HeldBy says whether a stop condition that holds holds a check back because the check
// starts the pump: each one does that the check does not answer for, and each one that
// keeps the pump out of service.
func (b *Book) HeldBy(c *Check, stop *Stop) bool {
	return b.CheckStarts(c) && (stop.OutOfService || !slices.ContainsFunc(c.Answers, stop.When.AsksAbout))
}

// anyTurns says whether one of these guards, or one that comes before it,
// turns the pump.
func (b *Book) anyTurns(guards []string) bool {
	return slices.ContainsFunc(guards, func(id string) bool { return b.Safety.Get(id).turnsFirst })
}

// followGuards notes at each safety step what it, or one that comes before it,
// does: each is gone to once.
func (b *Book) followGuards() {
	followed := map[string]bool{}
	var follow func(s *Safety)
	follow = func(s *Safety) {
		if followed[s.ID] {
			return
		}
		followed[s.ID] = true
		s.turnsFirst, s.stopsFirst = s.Turns, s.For == ForStopping || s.For == ForIsolation
		for _, id := range s.After {
			before := b.Safety.Get(id)
			follow(before)
			s.turnsFirst = s.turnsFirst || before.turnsFirst
			s.stopsFirst = s.stopsFirst || before.stopsFirst
		}
	}
	for _, s := range b.Safety.List {
		follow(s)
	}
}

// stepsBefore gives the safety steps that come right before one.
func (b *Book) stepsBefore(id string) []string { return b.Safety.Get(id).After }

// MayTurn says whether a check may be done at a place as far as turning goes:
// one that turns the pump waits until what must be opened before is open, so
// it can only be done under isolation, and not at all while it is not known
// where. A pump that runs turns.
func (b *Book) MayTurn(c *Check, place evidence.Place, k *evidence.Case) bool {
	left, known := b.BeforeTurning(k)
	switch {
	case known && len(left) == 0:
		return true
	case c.Pump == NeedsRunning:
		return false
	case b.anyTurns(c.Safety) || b.Turns(c.Openings, place, k):
		return known && c.Pump.UnderIsolation()
	}
	return true
}

// FitsAt says whether a check makes sense at a place: none of the signs that
// spoil it shows there, or may.
func (c *Check) FitsAt(place evidence.Place, k *evidence.Case) bool {
	return !slices.ContainsFunc(k.Findings, func(f evidence.Finding) bool {
		return f.Answer == evidence.Present && slices.Contains(c.NotWhere, f.Sign) && slices.ContainsFunc(f.Over, place.Touches)
	})
}

// WantsClosed says whether something stands open that a check wants closed at
// a place.
func (b *Book) WantsClosed(c *Check, place evidence.Place, open []evidence.At) bool {
	return slices.ContainsFunc(open, func(o evidence.At) bool { return c.Closes(place, b.Openings.Get(o.ID), o.Place) })
}

// Closes says whether a check at one place wants what is opened at another
// closed.
func (c *Check) Closes(place evidence.Place, a *Opening, at evidence.Place) bool {
	return at.Touches(place) && slices.ContainsFunc(c.Closed, a.Opens)
}
