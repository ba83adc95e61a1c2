package noisyor

import (
	"math"
	"slices"
)

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
	// Budget bounds all that is done, with the other solvers that have it; nil: no bound.
	Budget *Budget

	seen    []int
	network network
	orderer orderer
	chain   chain
	several several
	many    []int     // the causes with more than one source that may be on
	not     []float64 // by source: the probability that it is off
	ways    [][]int   // by cause, its sources
	allWays []int
	count   []int    // by cause, how many
	rootOf  []int    // by source: the root of its tree
	asked   [][]part // by root, see Chains
	held    held
}

// Solve returns the posterior of every cause that is asked about.
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
	if err := s.prepare(p, false); err != nil {
		return err
	}
	return s.answer(p, p.About, a, nil)
}

// bothWays is what a way forwards and back takes, in ways forwards.
const bothWays = 3

// answer works out the planned problem; unless it is nil, came too.
func (s *Solver) answer(p *Problem, about []int, a *Answer, came *Chains) error {
	if err := s.spend(bothWays); err != nil {
		return err
	}
	s.group(p)
	var each func(tree []node, before, g []float64)
	if came != nil {
		s.begin(p)
		s.parts(p, about, came)
		each = func(tree []node, before, g []float64) { s.tell(tree, before, g, came) }
	}
	mass := s.chain.posteriors(each)
	mass.join(s.network.factor)
	var err error
	if a.Evidence, err = observed(mass); err != nil {
		return err
	}
	s.sources(p, a)
	if a.Posterior, a.Odds, s.many = zeros(a.Posterior, p.Causes), zeros(a.Odds, p.Causes), s.many[:0]; about == nil {
		for c := range p.Causes {
			s.cause(a, c, came)
		}
	}
	for _, c := range about {
		if !slices.Contains(s.many, c) {
			s.cause(a, c, came)
		}
	}
	if len(s.many) > 0 {
		if came == nil {
			s.begin(p)
		}
		s.several.solve(s.many, a, came)
	}
	if came != nil {
		s.finish(a, came)
	}
	return s.Budget.Err()
}

// begin has what works out the causes with several sources take on the problem.
func (s *Solver) begin(p *Problem) {
	s.several.budget = s.Budget
	s.several.begin(p, &s.chain, &s.orderer, s.ways, s.limit())
}

// sources works out how probable each source is from what it weighs.
func (s *Solver) sources(p *Problem, a *Answer) {
	n := &s.network
	a.Sources, s.not = resize(a.Sources, len(p.Sources)), resize(s.not, len(p.Sources))
	for i := range p.Sources {
		above, aboveNot := 1.0, 0.0
		if under := p.Sources[i].Under; under >= 0 {
			above, aboveNot = a.Sources[under], s.not[under]
		}
		m := s.chain.mass[i]
		total := m.on + m.off
		switch {
		case n.state[i] == dead || total == 0:
			a.Sources[i], s.not[i] = 0, 1
		default:
			a.Sources[i], s.not[i] = above*(m.on/total), aboveNot+above*(m.off/total)
		}
	}
}

// group lists the sources of each cause, and the root of each source.
func (s *Solver) group(p *Problem) {
	s.rootOf, s.count = resize(s.rootOf, len(p.Sources)), zeros(s.count, p.Causes)
	for _, from := range p.Sources {
		s.count[from.Cause]++
	}
	s.ways, s.allWays = cut(s.ways, s.allWays, s.count)
	for i, from := range p.Sources {
		s.ways[from.Cause] = append(s.ways[from.Cause], i)
		if s.rootOf[i] = i; from.Under >= 0 {
			s.rootOf[i] = s.rootOf[from.Under]
		}
	}
}

// cause works out how probable a cause is with one source that may be on, and puts the
// others among the many.
func (s *Solver) cause(a *Answer, c int, came *Chains) {
	only, more, certain := -1, false, false // its one source that may be on
	for _, i := range s.ways[c] {
		certain = certain || s.not[i] == 0
		if a.Sources[i] > 0 {
			only, more = i, only >= 0
		}
	}
	switch {
	case only < 0:
	case more && (!certain || came != nil):
		s.many = append(s.many, c)
	case certain:
		a.Posterior[c], a.Odds[c] = 1, math.Inf(1)
	default:
		on, not := a.Sources[only], s.not[only]
		a.Posterior[c], a.Odds[c] = on/(on+not), on/not
	}
	if came != nil && only >= 0 && s.network.under[only] < 0 {
		came.Alone[c] = a.Posterior[c]
	}
}

// share gives the probability and the odds of something that weighs there against what
// its absence weighs.
func share(there, none scaled) (probability, odds float64) {
	switch {
	case there.part == 0:
		return 0, 0
	case none.part == 0:
		return 1, math.Inf(1)
	}
	odds = math.Ldexp(there.part/none.part, there.exp-none.exp)
	if odds > 1 {
		return 1 / (1 + math.Ldexp(none.part/there.part, none.exp-there.exp)), odds
	}
	return odds / (1 + odds), odds
}

// Evidence returns the probability of everything observed.
func (s *Solver) Evidence(p *Problem) (float64, error) {
	if err := s.prepare(p, false); err != nil {
		return 0, err
	}
	if err := s.spend(1); err != nil {
		return 0, err
	}
	return observed(s.mass())
}

// mass runs the chain forwards.
func (s *Solver) mass() scaled {
	mass := s.chain.evidence()
	mass.join(s.network.factor)
	return mass
}

// prepare checks and reduces p and plans the chain. With apart the certain sources stay
// sources.
func (s *Solver) prepare(p *Problem, apart bool) error {
	s.held.problem = nil
	s.seen = resize(s.seen, len(p.Sources))
	if err := p.validate(s.seen); err != nil {
		return err
	}
	if s.network.reduce(p, apart); s.network.factor.part == 0 {
		return ErrImpossible
	}
	s.chain.plan(&s.network, &s.orderer)
	if limit := s.limit(); s.chain.width > limit {
		return &TooWideError{Width: s.chain.width, Max: limit}
	}
	return nil
}

// spend takes so many ways through the chain out of the budget.
func (s *Solver) spend(ways int) error {
	if !s.Budget.Spend(ways * s.chain.work) {
		return s.Budget.Err()
	}
	return nil
}

// limit returns the width in force.
func (s *Solver) limit() int {
	if s.MaxWidth <= 0 {
		return DefaultMaxWidth
	}
	return min(s.MaxWidth, hardMaxWidth)
}

// resize returns s with length n, reallocated only when its capacity is too small.
// The contents are unspecified.
func resize[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}
