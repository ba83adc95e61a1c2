package noisyor

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
	chain   chain
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
	mass := s.chain.posteriors()
	mass.join(s.network.factor)
	if mass.part == 0 {
		return ErrImpossible
	}
	a.Evidence = mass.value()
	a.Posterior = resize(a.Posterior, len(p.Prior))
	a.Odds = resize(a.Odds, len(p.Prior))
	for c, m := range s.network.mass {
		a.Posterior[c], a.Odds[c] = m.present/(m.present+m.absent), m.present/m.absent
	}
	return nil
}

// Evidence returns the probability of everything observed.
func (s *Solver) Evidence(p *Problem) (float64, error) {
	if err := s.prepare(p); err != nil {
		return 0, err
	}
	mass := s.chain.evidence()
	mass.join(s.network.factor)
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
	n := &s.network
	n.reduce(p)
	if n.factor.part == 0 {
		return ErrImpossible
	}
	s.chain.plan(n, s.orderer.order(n))
	if limit := s.limit(); s.chain.width > limit {
		return &TooWideError{Width: s.chain.width, Max: limit}
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
