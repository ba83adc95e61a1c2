package practice

import (
	"cmp"
	"reflect"
	"slices"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/noisyor"
	"telltale/evidence"
)

// moment is what is known at one time, weighed.
type moment struct {
	known  evidence.Case // what was weighed
	about  []evidence.At // the causes of which it was worked out how they came
	w      *chances.Weighed
	chains noisyor.Chains
}

// weigh weighs a case without its stops, and how some causes came. It is nil where
// the case cannot be weighed. Many steps change nothing that is weighed, so the
// last one is kept.
func (s *Session) weigh(k *evidence.Case, about []evidence.At) (*moment, error) {
	m := &moment{known: *k, about: about}
	m.known.Unclear, m.known.Pump.Open = nil, nil
	for _, at := range s.known.Confirmed {
		if !has(m.about, at) && s.World.asksRoot(at.ID) {
			m.about = append(slices.Clip(m.about), at)
		}
	}
	if last := s.World.last; last != nil && !slices.ContainsFunc(m.about, func(at evidence.At) bool { return !has(last.about, at) }) && reflect.DeepEqual(last.known, m.known) {
		return last, nil
	}
	w, err := engine.Weigh(calm(s.book), &m.known)
	if cannotWeigh(err) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	m.w = w
	var numbers []int
	for _, at := range m.about {
		if i, there := w.Find(at.ID, at.Place); there {
			numbers = append(numbers, i)
		}
	}
	if len(numbers) > 0 {
		var solver noisyor.Solver
		if m.chains, err = solver.Chains(w.Problem(), &w.Answer, numbers); err != nil {
			return nil, err
		}
	}
	s.World.last = m
	return m, nil
}

// odds gives the odds and the chance of a cause.
func (m *moment) odds(at evidence.At) (odds, chance float64) {
	if i, there := m.w.Find(at.ID, at.Place); there {
		return m.w.Odds[i], m.w.Posterior[i]
	}
	return 0, 0
}

// roots gives what may have brought a cause on, likeliest first.
func (m *moment) roots(of evidence.At) []rootChance {
	i, there := m.w.Find(of.ID, of.Place)
	if !there || m.w.Posterior[i] == 0 {
		return nil
	}
	out := []rootChance{{evidence.At{ID: Nothing}, min(1, m.chains.Alone[i]/m.w.Posterior[i])}}
	for _, share := range m.chains.Roots {
		if share.Cause == i {
			in := m.w.Causes[share.Root]
			out = append(out, rootChance{evidence.At{ID: in.Cause.ID, Place: in.Place}, min(1, share.Probability/m.w.Posterior[i])})
		}
	}
	slices.SortStableFunc(out, func(a, b rootChance) int { return cmp.Compare(round(b.chance), round(a.chance)) })
	return out
}

// share is how likely one of them did.
func (m *moment) share(of, by evidence.At) float64 {
	for _, r := range m.roots(of) {
		if r.At == by {
			return r.chance
		}
	}
	return 0
}
