package work

import (
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

// signs is how surely a cause that is there shows none of the signs of a check: of those
// that the case answers, and then of those that are open. 1 where it shows none anyway.
type signs struct{ answered, open float64 }

// signsOf gives the signs of a check at a place by cause, for the causes that
// show one that is answered; for the others the check is as good as ever.
func signsOf(m *chances.Model, c *rules.Check, at evidence.Place) map[int]signs {
	if !slices.ContainsFunc(m.Used().Findings, func(f evidence.Finding) bool { return slices.Contains(c.Answers, f.Sign) }) {
		return nil
	}
	ways, told := map[int]signs{}, map[int]bool{}
	for _, id := range c.Answers {
		places := m.Case.Pump.Under(at, m.Book.Signs.Get(id).Level)
		for _, shower := range m.Shows(id) {
			for _, source := range shower.Sources {
				cause := m.CauseOf(source)
				here := slices.DeleteFunc(slices.Clone(places), func(at evidence.Place) bool { return !at.Touches(m.Causes[cause].Place) })
				s, before := ways[source]
				if !before {
					s = signs{1, 1}
				}
				if m.AnsweredAt(id, here) {
					s.answered *= 1 - shower.Link.Total
					told[cause] = true
				} else if len(here) > 0 {
					s.open *= 1 - shower.Link.Total
				}
				ways[source] = s
			}
		}
	}
	out := map[int]signs{}
	for cause := range told {
		out[cause] = inAnyWay(m, cause, ways)
	}
	return out
}

// inAnyWay is how surely a cause that is there shows none of the signs, from how surely each
// of its ways does. Each way is there by its chance before any finding, and those that are
// show their signs by themselves; two ways with the same head count as if they had two.
func inAnyWay(m *chances.Model, cause int, ways map[int]signs) signs {
	gone, quiet, silent := 1.0, 1.0, 1.0 // not there; not there or showing nothing answered; nothing at all
	for _, source := range m.WaysOf(cause) {
		p := m.ChanceOf(source)
		s, shows := ways[source]
		if !shows {
			s = signs{1, 1}
		}
		gone, quiet, silent = gone*(1-p), quiet*(1-p+p*s.answered), silent*(1-p+p*s.answered*s.open)
	}
	if quiet <= gone {
		return signs{0, 1}
	}
	return signs{(quiet - gone) / (1 - gone), (silent - gone) / (quiet - gone)}
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
