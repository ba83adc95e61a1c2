package practice

import (
	"cmp"
	"errors"
	"reflect"
	"slices"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/noisyor"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// moment is what is known at one time, weighed, with the tool's list for it.
type moment struct {
	*chances.Weighed
	known evidence.Case
	steps []work.Step
}

// weigh weighs a case; a pump that must be left is weighed without its stops, for
// looking back. Many steps change nothing of what is known, so the last one is kept.
func (s *Session) weigh(k *evidence.Case) (*moment, error) {
	if last := s.World.last; last != nil && reflect.DeepEqual(last.known, *k) {
		return last, nil
	}
	m, budget := &moment{known: *k}, s.World.back
	if budget == nil {
		budget = chances.NewBudget()
	}
	var err error
	if m.Weighed, err = engine.WeighWithin(s.book, &m.known, budget); err == nil && m.Leave {
		calm := *s.book
		calm.Stops = rules.Table[rules.Stop]{}
		m.Weighed, err = engine.WeighWithin(&calm, &m.known, budget)
	}
	if err != nil {
		return nil, err
	}
	s.World.last = m
	return m, nil
}

// mistake is an error of the program; nil where a case is only past what is computed.
func mistake(err error) error {
	var impossible *chances.ImpossibleError
	if chances.TooWide(err) || errors.As(err, &impossible) || errors.Is(err, chances.ErrTooUnlikely) || errors.Is(err, noisyor.ErrImpossible) {
		return nil
	}
	return err
}

// list is the tool's list.
func (m *moment) list() (steps []work.Step, err error) {
	if m.steps == nil {
		m.steps, err = work.Next(m.Weighed)
	}
	return m.steps, err
}

// odds gives the odds and the chance of a cause.
func (m *moment) odds(at evidence.At) (odds, chance float64) {
	if i, there := m.Find(at.ID, at.Place); there {
		return m.Odds[i], m.Posterior[i]
	}
	return 0, 0
}

// rootChance is how likely a cause brought a failure on, given that the failure is
// there; of Nothing, that it came by itself.
type rootChance struct {
	evidence.At
	chance float64
}

// roots gives what may have brought a cause on, likeliest first.
func (m *moment) roots(of evidence.At) []rootChance {
	i, there := m.Find(of.ID, of.Place)
	if !there || m.Posterior[i] == 0 {
		return nil
	}
	roots, byItself := m.CameBy(i)
	out := []rootChance{{evidence.At{ID: Nothing}, byItself}}
	for _, r := range roots {
		out = append(out, rootChance{evidence.At{ID: r.Cause, Place: r.Place}, r.Probability})
	}
	slices.SortStableFunc(out, func(a, b rootChance) int { return cmp.Compare(round(b.chance), round(a.chance)) })
	return out
}

// round takes away what rounding makes of equal chances.
func round(chance float64) int64 { return int64(chance*1e12 + 0.5) }

// share is how likely one of them did.
func (m *moment) share(of, by evidence.At) float64 {
	for _, r := range m.roots(of) {
		if r.At == by {
			return r.chance
		}
	}
	return 0
}
