package noisyor

import "math"

// DefaultMaxWidth is the MaxWidth of a Solver that does not set one.
const DefaultMaxWidth = 20

// hardMaxWidth is the width beyond which not even the indexes are laid out.
const hardMaxWidth = 30

// Solver works out problems one after another and reuses its scratch memory. The zero
// value is ready. A Solver must not be used by two goroutines at once.
type Solver struct {
	// MaxWidth is the most observations that may have to be held open at once; 0 or
	// less means DefaultMaxWidth, more than 30 means 30. Each one more doubles time and
	// memory.
	MaxWidth int

	seen    []int
	network network
	orderer orderer
	plan    plan
	chain   chain
	back    []float64 // background yes mass with single-link causes and doubt folded in
	after   []float64 // yes mass of the single-link causes after one of them, doubt included
	causes  []pair
	ends    []pair
}

// Solve returns the posterior of every cause.
func (s *Solver) Solve(p *Problem) (Answer, error) {
	var a Answer
	if err := s.SolveInto(p, &a); err != nil {
		return Answer{}, err
	}
	return a, nil
}

// SolveInto is Solve into the slices of a, which it reuses when they are large enough.
// After an error a holds nothing of use.
func (s *Solver) SolveInto(p *Problem, a *Answer) error {
	if err := s.prepare(p); err != nil {
		return err
	}
	n := &s.network
	s.causes = resize(s.causes, len(p.Prior))
	s.ends = resize(s.ends, len(p.Present))
	for i := range s.ends {
		s.ends[i] = pair{present: 0, absent: 1} // no multi-link cause: nothing explained yet
	}
	mass := s.total(s.chain.posteriors(s.causes, s.ends))
	if mass.part == 0 {
		return ErrImpossible
	}
	s.recoverSingles()
	a.Evidence = mass.value()
	a.Posterior = resize(a.Posterior, len(p.Prior))
	a.Odds = resize(a.Odds, len(p.Prior))
	for c := range p.Prior {
		a.Posterior[c], a.Odds[c] = n.answer(c, s.causes[c])
	}
	return nil
}

// Evidence returns the probability of everything observed.
func (s *Solver) Evidence(p *Problem) (float64, error) {
	if err := s.prepare(p); err != nil {
		return 0, err
	}
	mass := s.total(s.chain.evidence())
	if mass.part == 0 {
		return 0, ErrImpossible
	}
	return mass.value(), nil
}

// prepare checks and reduces p and plans the chain.
func (s *Solver) prepare(p *Problem) error {
	s.seen = resize(s.seen, len(p.Prior))
	if err := p.validate(s.seen); err != nil {
		return err
	}
	if err := s.network.reduce(p); err != nil {
		return err
	}
	s.foldSingles()
	s.plan.build(&s.network, s.orderer.order(&s.network), s.back)
	if limit := s.limit(); s.plan.width > limit {
		return &TooWideError{Width: s.plan.width, Max: limit}
	}
	s.chain.plan, s.chain.on, s.chain.off = &s.plan, s.network.on, s.network.off
	return nil
}

// limit returns the width in force.
func (s *Solver) limit() int {
	if s.MaxWidth <= 0 {
		return DefaultMaxWidth
	}
	return min(s.MaxWidth, hardMaxWidth)
}

// foldSingles folds the single-link causes of each observation into its background.
func (s *Solver) foldSingles() {
	n := &s.network
	s.back = resize(s.back, len(n.backYes))
	for i := range n.backYes {
		yes, no := n.backYes[i], n.backNo[i]
		for _, c := range n.singlesOf(i) {
			cYes, cNo := n.masses(c)
			yes += no * cYes
			no *= cNo
		}
		s.back[i] = yes + no*n.doubt[i]
	}
}

// singlesOf returns the single-link causes of observation i.
func (n *network) singlesOf(i int) []int {
	return n.singles[n.singleFirst[i]:n.singleFirst[i+1]]
}

// masses returns the masses of single-link cause c as a source, present or not.
func (n *network) masses(c int) (yes, no float64) {
	l := n.first[c]
	return n.on[c] * n.yes[l], n.off[c] + n.on[c]*n.no[l]
}

// total multiplies the mass of the chain by everything outside of it.
func (s *Solver) total(mass scaled) scaled {
	n := &s.network
	mass.mul(n.factor.part)
	mass.exp += n.factor.exp
	for i, yes := range s.back {
		if s.plan.last[i] < 0 {
			mass.mul(yes) // no multi-link cause touches it
		}
	}
	return mass
}

// recoverSingles fills in the masses of the single-link causes from what the rest of
// the evidence says about their observation.
func (s *Solver) recoverSingles() {
	n := &s.network
	for i := range n.backYes {
		singles := n.singlesOf(i)
		s.after = resize(s.after, len(singles)+1)
		s.after[len(singles)] = n.doubt[i]
		for k := len(singles) - 1; k >= 0; k-- {
			yes, no := n.masses(singles[k])
			s.after[k] = yes + no*s.after[k+1]
		}
		yes, no := n.backYes[i], n.backNo[i]
		for k, c := range singles {
			s.causes[c] = s.single(c, s.ends[i], yes+no*s.after[k+1])
			cYes, cNo := n.masses(c)
			yes += no * cYes
			no *= cNo
		}
	}
}

// single returns the masses of single-link cause c, given those of its observation
// without it and the yes mass of all other sources outside the chain.
func (s *Solver) single(c int, end pair, others float64) pair {
	n := &s.network
	l := n.first[c]
	return pair{
		present: n.on[c] * (end.absent*(n.yes[l]+n.no[l]*others) + end.present),
		absent:  n.off[c] * (end.absent*others + end.present),
	}
}

// answer turns the masses of cause c into its posterior and odds.
func (n *network) answer(c int, mass pair) (posterior, odds float64) {
	switch n.state[c] {
	case ruledOut:
		return 0, 0
	case confirmed:
		return 1, math.Inf(1)
	case unlinked:
		mass = pair{n.on[c], n.off[c]}
	}
	return mass.present / (mass.present + mass.absent), mass.present / mass.absent
}
