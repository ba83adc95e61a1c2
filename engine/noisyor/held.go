package noisyor

import (
	"fmt"
	"slices"
)

// Asked is a question about the problem that a Solver holds: what is observed besides, or
// what its sources are taken for.
type Asked struct {
	// Absent is observed besides; its Doubt does not count.
	Absent []Observation
	// Mute tells, by source, which ones answer No to every observation of the problem. What
	// lies under a mute source must be mute. nil: none.
	Mute []bool
	// Miss is, by cause, the chance that checks miss it, and the evidence is that they have
	// exposed no cause that is there and shows something. A source that is on and not
	// silent (see Chains.Shown) is missed with that of its cause; one that is on and silent
	// is missed with that, and weighs like one that is off when it is not missed. Without a
	// present observation a source that is exposed counts whether it is silent or not. Each
	// is between 0 and 1. nil: no check was made.
	Miss []float64
}

// held is the problem that is held, and what a question changes.
type held struct {
	problem *Problem
	below   []int    // by source: the last one right under it, or -1
	beside  []int    // by source: the one before it under the same, or -1
	silent  []scaled // of each source that is on: all No, its own
	quiet   []float64
	factor  scaled
	own     []scaled // those of the network before the question, like factor
	total   []scaled
	share   []pair
	touched []bool // by source: what it weighs is another than before
}

// Hold checks and reduces a problem for many questions, to Ask. It must stay as it is. The
// problem is held until the solver is given another one. A source that is certain stays a
// source here, so that Hold may refuse with a TooWideError what Solve can do.
func (s *Solver) Hold(p *Problem) error {
	if err := s.prepare(p, true); err != nil {
		return err
	}
	h, n := &s.held, &s.network
	h.factor = n.factor
	h.own, h.total, h.share = append(h.own[:0], n.own...), append(h.total[:0], n.total...), append(h.share[:0], n.share...)
	h.touched = zeros(h.touched, len(p.Sources))
	s.chain.touched = h.touched
	h.tie(p)
	h.silence(p)
	h.problem = p
	return nil
}

// Holds says whether the solver holds that problem.
func (s *Solver) Holds(p *Problem) bool { return p != nil && s.held.problem == p }

// tie notes what lies under what.
func (h *held) tie(p *Problem) {
	h.below, h.beside = resize(h.below, len(p.Sources)), resize(h.beside, len(p.Sources))
	for i, from := range p.Sources {
		h.below[i], h.beside[i] = -1, -1
		if from.Under >= 0 {
			h.beside[i], h.below[from.Under] = h.below[from.Under], i
		}
	}
}

// silence works out how probable it is that each source, when it is on, is silent.
func (h *held) silence(p *Problem) {
	h.silent, h.quiet = resize(h.silent, len(p.Sources)), resize(h.quiet, len(p.Sources))
	for i := range h.silent {
		h.silent[i] = one()
	}
	for _, list := range [][]Observation{p.Present, p.Absent} {
		for i := range list {
			for _, l := range list[i].Links {
				h.silent[l.Source].mul(l.No)
			}
		}
	}
	for i := range h.quiet {
		h.quiet[i] = h.silent[i].value()
	}
	for i := len(p.Sources) - 1; i >= 0; i-- {
		if under := p.Sources[i].Under; under >= 0 {
			m := p.Sources[i].masses()
			h.quiet[under] *= m.off + m.on*h.quiet[i]
		}
	}
}

// Ask returns the probability of everything observed, also what is asked besides.
func (s *Solver) Ask(q Asked) (float64, error) {
	if err := s.put(&q); err != nil {
		return 0, err
	}
	defer s.takeBack()
	if err := s.spend(1); err != nil {
		return 0, err
	}
	return observed(s.mass())
}

// AskRoots is Ask. It also puts into roots the probability of each of the first sources,
// as many as there is room for; none of them may lie under another.
func (s *Solver) AskRoots(q Asked, roots []float64) (float64, error) {
	if err := s.put(&q); err != nil {
		return 0, err
	}
	defer s.takeBack()
	if err := s.spend(bothWays); err != nil {
		return 0, err
	}
	mass := s.chain.posteriors(nil)
	mass.join(s.network.factor)
	for i := range roots {
		roots[i] = 0
		if m := s.chain.mass[i]; m.on > 0 {
			roots[i] = m.on / (m.on + m.off)
		}
	}
	return observed(mass)
}

// SolveHeld is SolveInto for the problem that is held, about some causes; nil: all. Unless
// it is nil, came takes how they came; the others get 0 there and no shares.
func (s *Solver) SolveHeld(about []int, a *Answer, came *Chains) error {
	p := s.held.problem
	if p == nil {
		return errNotHeld
	}
	if err := p.known(about); err != nil {
		return err
	}
	return s.answer(p, about, a, came)
}

// SolveLonger is SolveHeld where more sources stand behind those of the problem, which answer
// nothing. It gives posteriors and odds alone (0 where the evidence is impossible), and after
// it no problem is held.
func (s *Solver) SolveLonger(sources []Source, about []int, a *Answer) error {
	if s.held.problem == nil {
		return errNotHeld
	}
	longer := *s.held.problem
	if own := longer.Sources; len(sources) < len(own) || !slices.Equal(sources[:len(own)], own) {
		return &InputError{"sources", "those of the problem that is held do not stand first"}
	}
	longer.Sources, s.held.problem = sources, nil
	if err := longer.fault(about); err != nil {
		return err
	}
	s.network.lengthen(sources)
	a.Posterior, a.Odds = zeros(a.Posterior, longer.Causes), zeros(a.Odds, longer.Causes)
	s.group(&longer)
	s.begin(&longer)
	s.several.solve(about, a, nil)
	return s.Budget.Err()
}

var errNotHeld = &InputError{"asked", "no problem is held"}

// observed is the value of a mass that is not 0.
func observed(mass scaled) (float64, error) {
	if mass.part == 0 {
		return 0, ErrImpossible
	}
	return mass.value(), nil
}

// fault says what is wrong with a question to p, or nothing.
func (q *Asked) fault(p *Problem, seen []int) error {
	clear(seen)
	for i := range q.Absent {
		if where, fault := q.Absent[i].fault(seen, i+1); fault != "" {
			return &InputError{fmt.Sprintf("asked absent finding %d, %s", i, where), fault}
		}
	}
	if q.Mute != nil && len(q.Mute) != len(p.Sources) {
		return &InputError{"mute", fmt.Sprintf("%d for %d sources", len(q.Mute), len(p.Sources))}
	}
	if q.Miss != nil && len(q.Miss) != p.Causes {
		return &InputError{"miss", fmt.Sprintf("%d chances for %d causes", len(q.Miss), p.Causes)}
	}
	for c, x := range q.Miss {
		if !(x >= 0 && x <= 1) {
			return &InputError{fmt.Sprintf("miss %d", c), fmt.Sprintf("%v is not a probability", x)}
		}
	}
	return nil
}

// put works a question into the network. Only what changes is weighed again, and what
// that lies under.
func (s *Solver) put(q *Asked) error {
	h, n, p := &s.held, &s.network, s.held.problem
	if p == nil {
		return errNotHeld
	}
	if err := q.fault(p, s.seen); err != nil {
		return err
	}
	for i, mute := range q.Mute {
		if mute && (n.busy[i] || n.own[i] != h.silent[i]) {
			n.own[i], h.touched[i] = h.silent[i], true
		}
	}
	s.chain.shallow = true
	s.chain.asks++
	n.factor = n.ground
	for i := range q.Absent {
		n.factor.mul(q.Absent[i].Background.No)
		for _, l := range q.Absent[i].Links {
			n.own[l.Source].mul(l.No)
			h.touched[l.Source] = true
		}
	}
	for i := len(p.Sources) - 1; i >= 0; i-- {
		from := &p.Sources[i]
		if h.touched[i] || q.Miss != nil && !h.idle(i) {
			h.touched[i] = true
			s.putSource(q, i)
			if from.Under >= 0 {
				h.touched[from.Under] = true
			}
		}
		if from.Under < 0 {
			n.factor.join(n.total[i])
		}
	}
	if n.factor.part == 0 {
		s.takeBack()
		return ErrImpossible
	}
	return nil
}

// idle says whether it makes no difference if a source is missed: it is silent, with all
// below it, and that does not count.
func (h *held) idle(i int) bool { return h.quiet[i] == 1 && len(h.problem.Present) > 0 }

// putSource weighs one source again.
func (s *Solver) putSource(q *Asked, i int) {
	h, n := &s.held, &s.network
	on := n.own[i]
	for kid := h.below[i]; kid >= 0; kid = h.beside[kid] {
		on.join(n.total[kid])
	}
	from := &h.problem.Sources[i]
	m := from.masses()
	if q.Miss != nil {
		missed, exposed := m.on*q.Miss[from.Cause], m.on*(1-q.Miss[from.Cause])
		m.on = missed
		if len(h.problem.Present) > 0 {
			m.off += exposed * h.quiet[i]
		}
	}
	if n.weigh(i, on, m); q.Mute != nil && q.Mute[i] {
		n.share[i] = pair{off: 1} // on or off, it changes nothing
	}
}

// takeBack brings the network back to the problem.
func (s *Solver) takeBack() {
	h, n := &s.held, &s.network
	s.chain.shallow = false
	n.factor = h.factor
	for i, touched := range h.touched {
		if touched {
			n.own[i], n.total[i], n.share[i], h.touched[i] = h.own[i], h.total[i], h.share[i], false
		}
	}
}
