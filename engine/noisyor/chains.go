package noisyor

import (
	"errors"
	"fmt"
)

// Chains is what the evidence says about how each cause came.
type Chains struct {
	// Alone is, by cause, the probability that it is there and nothing brought it on: a
	// source of it that lies under none is on, and none that lies under another is.
	Alone []float64
	// Shown is, by cause, the probability that one of its sources is on and not silent.
	// A silent source answers No to every observation, present and absent, and so does
	// all that is on below it.
	Shown []float64
	// Roots lists, for each cause with a source under another, each root of a tree with
	// such a source: by cause, then by root.
	Roots []Share
}

// Share is the probability that some source of a cause is on in the tree of a root.
type Share struct {
	Cause       int
	Root        int // the root's source
	Probability float64
}

// Chains returns what the evidence says about how causes came; a is the answer of p, and
// about are the causes wanted, nil for all. The others get 0 and no shares.
func (s *Solver) Chains(p *Problem, a *Answer, about []int) (Chains, error) {
	if err := s.prepare(p, nil); err != nil {
		return Chains{}, err
	}
	if err := p.known(about); err != nil {
		return Chains{}, err
	}
	if len(a.Sources) != len(p.Sources) {
		return Chains{}, &InputError{"answer", fmt.Sprintf("%d sources, but the problem has %d", len(a.Sources), len(p.Sources))}
	}
	total := s.mass()
	if total.part == 0 {
		return Chains{}, ErrImpossible
	}
	out := Chains{Alone: make([]float64, p.Causes), Shown: make([]float64, p.Causes)}
	s.group(p)
	wanted := make([]bool, p.Causes)
	for c := range wanted {
		wanted[c] = about == nil
	}
	for _, c := range about {
		wanted[c] = true
	}
	for c, want := range wanted {
		if !want {
			continue
		}
		if err := s.came(p, a, c, total, &out); err != nil {
			return Chains{}, err
		}
	}
	return out, nil
}

// came works out how one cause came.
func (s *Solver) came(p *Problem, a *Answer, c int, total scaled, out *Chains) error {
	var own, brought []int
	for _, i := range s.ways[c] {
		if p.Sources[i].Under < 0 {
			own = append(own, i)
		} else {
			brought = append(brought, i)
		}
	}
	if len(own) > 0 {
		mass, err := s.weigh(p, own, brought)
		if err != nil {
			return err
		}
		out.Alone[c] = mass.over(total)
	}
	mass, err := s.shown(p, c)
	if err != nil {
		return err
	}
	out.Shown[c] = mass.over(total)
	for root := range p.Sources {
		var in []int
		below := false
		for _, i := range s.ways[c] {
			if p.root(i) == root {
				in = append(in, i)
				below = below || i != root
			}
		}
		if !below {
			continue
		}
		mass, err := s.weigh(p, in, nil)
		if err != nil {
			return err
		}
		out.Roots = append(out.Roots, Share{c, root, mass.over(total)})
	}
	return nil
}

// root is the source at the root of the tree of source i.
func (p *Problem) root(i int) int {
	for p.Sources[i].Under >= 0 {
		i = p.Sources[i].Under
	}
	return i
}

// weigh is the mass of the evidence, of one of the sources some, if any, being on, and of
// all of none being off.
func (s *Solver) weigh(p *Problem, some, none []int) (scaled, error) {
	q := &s.marked
	q.Causes, q.Sources = p.Causes, p.Sources
	q.Present, q.Absent = append(q.Present[:0], p.Present...), append(q.Absent[:0], p.Absent...)
	s.links = s.links[:0]
	for _, i := range some {
		s.links = append(s.links, Link{i, Yield{Yes: 1}})
	}
	if len(some) > 0 {
		q.Present = append(q.Present, Observation{Background: Yield{No: 1}, Links: s.links[:len(some):len(some)]})
	}
	for _, i := range none {
		s.links = append(s.links, Link{i, Yield{Yes: 1}})
	}
	q.Absent = append(q.Absent, Observation{Background: Yield{No: 1}, Links: s.links[len(some):]})
	s.network.reduce(q, nil)
	return s.marking()
}

// marking runs the chain, which may be a little wider than the problem's.
func (s *Solver) marking() (scaled, error) {
	err := s.plan(hardMaxWidth)
	if errors.Is(err, ErrImpossible) {
		return scaled{}, nil
	}
	if err != nil {
		return scaled{}, err
	}
	return s.mass(), nil
}

// shown is the mass of the evidence and of a source of cause c being on and not silent.
func (s *Solver) shown(p *Problem, c int) (scaled, error) {
	q := &s.marked
	q.Causes, q.Sources = p.Causes, p.Sources
	q.Present, q.Absent = append(q.Present[:0], p.Present...), p.Absent
	q.Present = append(q.Present, Observation{Background: Yield{No: 1}})
	s.network.reduceMarked(q, c)
	return s.marking()
}

// Missed is the evidence of p when checks have exposed no cause that is there and shows
// something. A source that is on and not silent (see Chains.Shown) is missed with
// miss[cause], of its own cause; one that is on and silent is missed with that, and
// weighs like one that is off when it is not missed. Without a present observation a
// source that is exposed counts whether it is silent or not. miss is between 0 and 1.
func (s *Solver) Missed(p *Problem, miss []float64) (float64, error) {
	if len(miss) != p.Causes {
		return 0, &InputError{"miss", fmt.Sprintf("%d chances for %d causes", len(miss), p.Causes)}
	}
	for c, x := range miss {
		if !(x >= 0 && x <= 1) {
			return 0, &InputError{fmt.Sprintf("miss %d", c), fmt.Sprintf("%v is not a probability", x)}
		}
	}
	s.seen = resize(s.seen, len(p.Sources))
	if err := p.validate(s.seen); err != nil {
		return 0, err
	}
	s.silence(p)
	s.masses = resize(s.masses, len(p.Sources))
	for i, from := range p.Sources {
		t, x := min(from.Chance, 1), miss[from.Cause]
		s.masses[i] = pair{t * x, 1 - t}
		if len(p.Present) > 0 {
			s.masses[i].off += t * (1 - x) * s.silent[i]
		}
	}
	s.network.reduce(p, s.masses)
	if err := s.plan(s.limit()); err != nil {
		return 0, err
	}
	mass := s.mass()
	if mass.part == 0 {
		return 0, ErrImpossible
	}
	return mass.value(), nil
}

// silence works out how probable it is that each source, when it is on, is silent.
func (s *Solver) silence(p *Problem) {
	s.silent = resize(s.silent, len(p.Sources))
	for i := range s.silent {
		s.silent[i] = 1
	}
	for _, list := range [][]Observation{p.Present, p.Absent} {
		for i := range list {
			for _, l := range list[i].Links {
				s.silent[l.Source] *= l.No
			}
		}
	}
	for i := len(p.Sources) - 1; i >= 0; i-- {
		if from := &p.Sources[i]; from.Under >= 0 {
			t := min(from.Chance, 1)
			s.silent[from.Under] *= 1 - t + t*s.silent[i]
		}
	}
}
