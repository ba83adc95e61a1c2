package chances

import (
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// What the case answers of a check already.

// Answered says whether the case answers what a check is for: its main
// questions, or all of its questions.
func (m *Model) Answered(c *rules.Check, at evidence.Place) bool {
	return m.answersAll(c.MainQuestions(), at) || m.answersAll(c.Answers, at)
}

// answersAll says whether the case answers those of some signs that make sense
// on this pump; false if none does.
func (m *Model) answersAll(signs []string, at evidence.Place) bool {
	asked := false
	for _, id := range signs {
		sign := m.Book.Signs.Get(id)
		if !sign.When.Holds(m.Case, m.Book) || !sign.Fits(m.Case) {
			continue
		}
		if !m.AnsweredAt(id, m.Case.Pump.Under(at, sign.Level)) {
			return false
		}
		asked = true
	}
	return asked
}

// AnsweredAt says whether the case answers a sign at some places: it is known at
// each of them, or was seen at one of them.
func (m *Model) AnsweredAt(sign string, places []evidence.Place) bool {
	n := 0
	for _, at := range places {
		if m.Used().Known(sign, at) {
			n++
		}
	}
	return len(places) > 0 && (n == len(places) || n > 0 && m.seenAt(sign, places))
}

// seenAt says whether the sign was seen at just one of these places.
func (m *Model) seenAt(sign string, places []evidence.Place) bool {
	return slices.ContainsFunc(m.Used().Findings, func(f evidence.Finding) bool {
		return f.Sign == sign && f.Answer == evidence.Present && len(f.Over) == 1 && slices.Contains(places, f.Over[0])
	})
}

// LookedAt says whether the looks at a cause are done: together they would more
// likely than not have exposed it, or the book has no further one on this pump.
func (m *Model) LookedAt(cause int) bool {
	in := m.Causes[cause]
	miss, left := 1.0, false
	for _, c := range m.Book.ChecksFor(in.Cause.ID) {
		if !c.When.Holds(m.Case, m.Book) {
			continue
		}
		for _, at := range m.Case.Pump.Places(c.Level) {
			switch {
			case !in.Place.Touches(at):
			case m.foundNothing(c, at, cause):
				for _, f := range c.Finds {
					if f.Cause == in.Cause.ID {
						miss *= 1 - f.Sure
					}
				}
			default:
				left = true
			}
		}
	}
	return miss <= 0.5 || miss < 1 && !left
}

// foundNothing says whether a check was done at a place without a sign of a cause:
// the case says that it found nothing, or answers it and saw no such sign. Where the
// check asks for signs that the cause shows, an answer to one of them at least is
// needed: mud in the wash says nothing of how strong the wash is. A result that points
// to the cause is no look that found nothing.
func (m *Model) foundNothing(c *rules.Check, at evidence.Place, cause int) bool {
	if Among(m.Used().Cleared, c.ID, at) {
		return true
	}
	if !m.Answered(c, at) || m.pointedAt(c, at, m.Causes[cause].Cause.ID) {
		return false
	}
	asked, answered := false, false
	for _, id := range c.Answers {
		if !slices.ContainsFunc(m.Shows(id), func(by Shower) bool { return slices.Contains(by.Sources, cause) }) {
			continue
		}
		places := m.Case.Pump.Under(at, m.Book.Signs.Get(id).Level)
		if m.seenAt(id, places) {
			return false
		}
		asked, answered = true, answered || m.AnsweredAt(id, places)
	}
	return answered || !asked
}

// pointedAt says whether a result that was seen at a place points to a cause.
func (m *Model) pointedAt(c *rules.Check, at evidence.Place, cause string) bool {
	return slices.ContainsFunc(c.Results, func(r rules.Result) bool {
		if r.Shows == "" || !slices.Contains(r.PointsTo, cause) {
			return false
		}
		places := m.Case.Pump.Under(at, m.Book.Signs.Get(r.Shows).Level)
		return slices.ContainsFunc(m.Used().Findings, func(f evidence.Finding) bool {
			seen := f.Sign == r.Shows && f.Answer == evidence.Present && (r.Kind == "" || f.Kind == r.Kind)
			return seen && len(f.Over) == 1 && slices.Contains(places, f.Over[0])
		})
	})
}
