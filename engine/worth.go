package engine

import (
	"maps"
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// What a check can still tell. What the case answers already is not looked for
// again, and nothing is found by looking again.

// answered says whether the case answers what a check is for: its main
// questions, or all of its questions.
func (p *planner) answered(c *rules.Check, at evidence.Place) bool {
	return p.m.answers(c.MainQuestions(), at) || p.m.answers(c.Answers, at)
}

// answers says whether the case answers those of some signs that make sense
// on this pump; false if none does.
func (m *model) answers(signs []string, at evidence.Place) bool {
	asked := false
	for _, id := range signs {
		sign := m.book.Signs.Get(id)
		if !sign.When.Holds(m.k, m.book) || !sign.Fits(m.k) {
			continue
		}
		if !m.told(id, m.k.Pump.Under(at, sign.Level)) {
			return false
		}
		asked = true
	}
	return asked
}

// told says whether the case answers a sign at some places: it is known at
// each of them, or was seen at one of them.
func (m *model) told(sign string, places []evidence.Place) bool {
	known := 0
	for _, p := range places {
		if m.weighedCase().Known(sign, p) {
			known++
		}
	}
	return len(places) > 0 && (known == len(places) || known > 0 && m.seenAt(sign, places))
}

// seenAt says whether the sign was seen at just one of these places.
func (m *model) seenAt(sign string, places []evidence.Place) bool {
	return slices.ContainsFunc(m.weighedCase().Findings, func(f evidence.Finding) bool {
		return f.Sign == sign && f.Answer == evidence.Present && len(f.Over) == 1 && slices.Contains(places, f.Over[0])
	})
}

// signs is how surely a cause shows none of the signs of a check: of those that
// the case answers, and of those that are open. 1 where it shows none anyway.
type signs struct{ answered, open float64 }

// signsOf gives the signs of a check at a place by cause, for the causes that
// show one that is answered; for the others the check is as good as ever.
func (m *model) signsOf(c *rules.Check, at evidence.Place) map[int]signs {
	if !slices.ContainsFunc(m.weighedCase().Findings, func(f evidence.Finding) bool { return slices.Contains(c.Answers, f.Sign) }) {
		return nil
	}
	out, told := map[int]signs{}, map[int]bool{}
	for _, id := range c.Answers {
		places := m.k.Pump.Under(at, m.book.Signs.Get(id).Level)
		for _, sh := range m.shows(id) {
			here := slices.DeleteFunc(slices.Clone(places), func(p evidence.Place) bool { return !p.Touches(m.causes[sh.cause].place) })
			s, before := out[sh.cause]
			if !before {
				s = signs{1, 1}
			}
			if m.told(id, here) {
				s.answered *= 1 - sh.link.Total
				told[sh.cause] = true
			} else if len(here) > 0 {
				s.open *= 1 - sh.link.Total
			}
			out[sh.cause] = s
		}
	}
	maps.DeleteFunc(out, func(cause int, _ signs) bool { return !told[cause] })
	return out
}

// stillSure is how surely a check exposes a cause by what is not answered yet.
// The signs of the cause are there or not, each by itself. A check that is
// surer than that one of them shows sees something of its own besides, which is
// left; one that is less sure misses some of what is there, alike for each sign.
func stillSure(sure float64, s signs) float64 {
	shown := 1 - s.answered*s.open // that one at least of the signs shows
	if sure < shown {
		return sure * (1 - s.open) / shown
	}
	if s.answered == 0 {
		return 0
	}
	return 1 - (1-sure)/s.answered
}
