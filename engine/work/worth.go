package work

import (
	"maps"
	"slices"

	"telltale/engine/chances"
	"telltale/engine/order"
	"telltale/evidence"
	"telltale/rules"
)

// What a check can still tell. What the case answers already is not looked for
// again, and nothing is found by looking again.

// Exposes gives every cause that a check still exposes at a place, with what the
// case answers already taken off.
func Exposes(m *chances.Model, c *rules.Check, place evidence.Place) []order.Find {
	if m.Answered(c, place) {
		return nil
	}
	var out []order.Find
	signs := signsOf(m, c, place)
	for _, f := range c.Finds {
		for i, in := range m.Causes {
			if in.Cause.ID != f.Cause || !in.Place.Touches(place) {
				continue
			}
			sure := f.Sure
			if of, told := signs[i]; told {
				sure = stillSure(sure, of)
			}
			if sure > 0 {
				out = append(out, order.Find{Cause: i, Sure: sure})
			}
		}
	}
	return out
}

// signs is how surely a cause shows none of the signs of a check: of those that
// the case answers, and of those that are open. 1 where it shows none anyway.
type signs struct{ answered, open float64 }

// signsOf gives the signs of a check at a place by cause, for the causes that
// show one that is answered; for the others the check is as good as ever.
func signsOf(m *chances.Model, c *rules.Check, at evidence.Place) map[int]signs {
	if !slices.ContainsFunc(m.Used().Findings, func(f evidence.Finding) bool { return slices.Contains(c.Answers, f.Sign) }) {
		return nil
	}
	out, told := map[int]signs{}, map[int]bool{}
	for _, id := range c.Answers {
		places := m.Case.Pump.Under(at, m.Book.Signs.Get(id).Level)
		for _, shower := range m.Shows(id) {
			for _, source := range shower.Sources {
				cause := m.CauseOf(source)
				here := slices.DeleteFunc(slices.Clone(places), func(at evidence.Place) bool { return !at.Touches(m.Causes[cause].Place) })
				s, before := out[cause]
				if !before {
					s = signs{1, 1}
				}
				if m.AnsweredAt(id, here) {
					s.answered *= 1 - shower.Link.Total
					told[cause] = true
				} else if len(here) > 0 {
					s.open *= 1 - shower.Link.Total
				}
				out[cause] = s
			}
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
