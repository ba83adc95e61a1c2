package noisyor

import "math"

// Solver computes posteriors. The zero value is ready; one Solver serves one
// goroutine at a time and keeps its memory for the next problem.
type Solver struct {
	// MaxWidth is the greatest width computed; 0 means DefaultMaxWidth.
	MaxWidth int

	net       network
	state     []float64
	scratch   []float64
	pull      []float64
	saved     [][]float64 // states before the steps of one stretch
	kept      [][]float64 // states before each stretch
	positions []int       // of each positive, -1 when not alive
	alive     []int       // positives by position
	bitLinks  []bitLink
}

// stretch is some steps of the pass, from..to-1, redone together.
type stretch struct{ from, to int }

// Evidence is P(everything observed). It gives ErrImpossible when that is 0.
func (s *Solver) Evidence(p *Problem) (float64, error) {
	if err := s.prepare(p); err != nil {
		return 0, err
	}
	s.begin()
	for k := range s.net.multis {
		s.forward(k)
	}
	z := s.net.factor * s.state[0]
	if z == 0 {
		return 0, ErrImpossible
	}
	return z, nil
}

// Solve gives the posterior of every cause.
func (s *Solver) Solve(p *Problem) (Answer, error) {
	if err := s.prepare(p); err != nil {
		return Answer{}, err
	}
	n := len(s.net.multis)
	size := max(1, int(math.Ceil(math.Sqrt(float64(n)))))
	s.begin()
	for k := range n {
		if k%size == 0 {
			s.kept = keep(s.kept, k/size, s.state)
		}
		s.forward(k)
	}
	a := Answer{Evidence: s.net.factor * s.state[0], Posterior: make([]float64, len(p.Prior)), Odds: make([]float64, len(p.Prior))}
	if a.Evidence == 0 {
		return Answer{}, ErrImpossible
	}
	s.looseOnes(&a)
	s.pull = append(s.pull[:0], 1)
	for from := (n - 1) / size * size; from >= 0 && n > 0; from -= size {
		s.backward(stretch{from, min(from+size, n)}, size, &a)
	}
	s.unlinked(&a)
	return a, nil
}

func (s *Solver) prepare(p *Problem) error {
	if err := p.check(); err != nil {
		return err
	}
	maxWidth := s.MaxWidth
	if maxWidth == 0 {
		maxWidth = DefaultMaxWidth
	}
	if err := s.net.build(p, maxWidth); err != nil {
		return err
	}
	need := 1 << s.net.width
	for _, v := range []*[]float64{&s.state, &s.scratch, &s.pull} {
		*v = resize(*v, need)
	}
	s.positions = resize(s.positions, len(p.Present))
	return nil
}

// begin sets the state before the first cause: nothing is explained. Positives
// that only single causes touch are settled at once.
func (s *Solver) begin() {
	s.state = s.state[:1]
	s.state[0] = 1
	for _, i := range s.net.loose {
		s.state[0] *= s.net.background[i].Yes
	}
	for i := range s.positions {
		s.positions[i] = -1
	}
	s.alive = s.alive[:0]
}

// open brings in the bits that the cause at step k is the first to touch.
func (s *Solver) open(k int) {
	for _, i := range s.net.enters[k] {
		s.positions[i] = len(s.alive)
		s.alive = append(s.alive, i)
		s.state = enter(s.state)
	}
}

// drop forgets the position of a positive whose bit goes.
func (s *Solver) drop(i int) {
	p := s.positions[i]
	s.positions[i] = -1
	s.alive = append(s.alive[:p], s.alive[p+1:]...)
	for q := p; q < len(s.alive); q++ {
		s.positions[s.alive[q]] = q
	}
}

// undrop puts a positive back at position p.
func (s *Solver) undrop(i, p int) {
	s.alive = append(s.alive, 0)
	copy(s.alive[p+1:], s.alive[p:])
	s.alive[p] = i
	for q := p; q < len(s.alive); q++ {
		s.positions[s.alive[q]] = q
	}
}

func (s *Solver) linksOf(c int) []bitLink {
	s.bitLinks = s.bitLinks[:0]
	for _, l := range s.net.sources[c].links {
		s.bitLinks = append(s.bitLinks, bitLink{position: s.positions[l.positive], yes: l.yes, no: l.no})
	}
	return s.bitLinks
}

// mixIn lets the cause at step k act on the state.
func (s *Solver) mixIn(k int) {
	c := s.net.multis[k]
	s.scratch = append(s.scratch[:0], s.state...)
	for _, l := range s.linksOf(c) {
		spread(s.scratch, l)
	}
	mix(s.state, s.scratch, s.net.sources[c].off, s.net.sources[c].on)
}

// forward does step k: bits in, the cause, bits out.
func (s *Solver) forward(k int) {
	s.open(k)
	s.mixIn(k)
	for _, i := range s.net.leaves[k] {
		s.state = leave(s.state, s.positions[i], s.net.background[i])
		s.drop(i)
	}
}

func keep(list [][]float64, k int, v []float64) [][]float64 {
	for len(list) <= k {
		list = append(list, nil)
	}
	list[k] = append(list[k][:0], v...)
	return list
}

// frame is the bookkeeping before one step, to walk back over it.
type frame struct{ alive []int }

// backward walks back over one stretch: it does the stretch forwards again,
// saving the state before each step, then pulls g back step by step.
func (s *Solver) backward(t stretch, size int, a *Answer) {
	frames := s.replay(t, size)
	for k := t.to - 1; k >= t.from; k-- {
		s.state = append(s.state[:0], s.saved[k-t.from]...)
		s.restore(frames[k-t.from])
		s.open(k)
		s.backStep(k, a)
		s.restore(frames[k-t.from])
	}
}

// replay does a stretch forwards from its kept state.
func (s *Solver) replay(t stretch, size int) []frame {
	s.restore(s.frameAt(t.from))
	s.state = append(s.state[:0], s.kept[t.from/size]...)
	var frames []frame
	for k := t.from; k < t.to; k++ {
		s.saved = keep(s.saved, k-t.from, s.state)
		frames = append(frames, frame{alive: append([]int(nil), s.alive...)})
		s.forward(k)
	}
	return frames
}

// frameAt recomputes which bits are alive before step k.
func (s *Solver) frameAt(k int) frame {
	s.restore(frame{})
	for j := range k {
		for _, i := range s.net.enters[j] {
			s.positions[i] = len(s.alive)
			s.alive = append(s.alive, i)
		}
		for _, i := range s.net.leaves[j] {
			s.drop(i)
		}
	}
	return frame{alive: append([]int(nil), s.alive...)}
}

func (s *Solver) restore(f frame) {
	for i := range s.positions {
		s.positions[i] = -1
	}
	s.alive = append(s.alive[:0], f.alive...)
	for q, i := range s.alive {
		s.positions[i] = q
	}
}

// backStep takes the posterior of the cause at step k and pulls g back over
// it. The state is the one before the cause, its bits already in.
func (s *Solver) backStep(k int, a *Answer) {
	leaves := s.net.leaves[k]
	if len(leaves) > 0 {
		before := append([]float64(nil), s.state...)
		s.mixIn(k)
		s.unleaveAll(leaves, a)
		s.state = append(s.state[:0], before...)
	}
	c := s.net.multis[k]
	source := &s.net.sources[c]
	s.scratch = append(s.scratch[:0], s.pull...)
	for _, l := range s.linksOf(c) {
		gather(s.scratch, l)
	}
	a.set(c, source.on*dot(s.state, s.scratch), source.off*dot(s.state, s.pull))
	mix(s.pull, s.scratch, source.off, source.on)
	for range s.net.enters[k] {
		s.pull = s.pull[:len(s.pull)/2]
	}
}

// unleaveAll walks back over the bits that go after a step. The state is the
// one before they go. It settles the single causes of each.
func (s *Solver) unleaveAll(leaves []int, a *Answer) {
	var positions []int
	var states [][]float64
	for _, i := range leaves {
		p := s.positions[i]
		positions = append(positions, p)
		states = append(states, append([]float64(nil), s.state...))
		s.state = leave(s.state, p, s.net.background[i])
		s.drop(i)
	}
	for k := len(leaves) - 1; k >= 0; k-- {
		i, p := leaves[k], positions[k]
		all, had := contract(states[k], s.pull, p)
		s.singlesOf(i, all, had, a)
		s.pull = unleave(s.pull, p, s.net.background[i])
		s.undrop(i, p)
	}
}

// looseOnes settles the single causes of the positives that no multi touches:
// for each of them the total is its Yes times everything else, which cancels
// from the odds.
func (s *Solver) looseOnes(a *Answer) {
	for _, i := range s.net.loose {
		s.singlesOf(i, 1, 0, a)
	}
}

// singlesOf settles the causes that touch positive i alone; the total is
// Yes*all + No*had of all its sources together.
func (s *Solver) singlesOf(i int, all, had float64, a *Answer) {
	causes := s.net.singles[i]
	behind := make([]Yield, len(causes)+1)
	behind[len(causes)] = Yield{No: 1}
	for k := len(causes) - 1; k >= 0; k-- {
		behind[k] = either(behind[k+1], s.net.sources[causes[k]].single())
	}
	ahead := s.net.own[i]
	total := func(y Yield) float64 { return y.Yes*all + y.No*had }
	for k, c := range causes {
		source := &s.net.sources[c]
		others := either(ahead, behind[k+1])
		on := Yield{Yes: source.on * source.links[0].yes, No: source.on * source.links[0].no}
		a.set(c, total(either(on, others)), total(either(Yield{No: source.off}, others)))
		ahead = either(ahead, source.single())
	}
}

// unlinked settles the causes that touch no positive.
func (s *Solver) unlinked(a *Answer) {
	for c := range s.net.sources {
		if source := &s.net.sources[c]; source.mask == 0 {
			a.set(c, source.on, source.off)
		}
	}
}

// set notes the masses of a cause present and absent.
func (a *Answer) set(c int, on, off float64) {
	a.Posterior[c] = on / (on + off)
	a.Odds[c] = on / off
}
