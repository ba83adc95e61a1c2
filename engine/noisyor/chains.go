package noisyor

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
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
// about are the causes wanted, nil for all. The others get 0 and no shares. It may refuse
// with a TooWideError what Solve can do.
func (s *Solver) Chains(p *Problem, a *Answer, about []int) (Chains, error) {
	s.held.problem = nil
	s.seen = resize(s.seen, len(p.Sources))
	if err := p.validate(s.seen); err != nil {
		return Chains{}, err
	}
	if err := p.known(about); err != nil {
		return Chains{}, err
	}
	if len(a.Sources) != len(p.Sources) {
		return Chains{}, &InputError{"answer", fmt.Sprintf("%d sources, but the problem has %d", len(a.Sources), len(p.Sources))}
	}
	s.network.reduce(p, true)
	if err := s.plan(s.limit()); err != nil {
		return Chains{}, err
	}
	if total := s.mass(); total.part == 0 {
		return Chains{}, ErrImpossible
	}
	s.group(p)
	wanted := make([]bool, p.Causes)
	for _, c := range about {
		wanted[c] = true
	}
	s.many = s.many[:0]
	for c, want := range wanted {
		if want || about == nil {
			s.many = append(s.many, c)
		}
	}
	out := Chains{Alone: make([]float64, p.Causes), Shown: make([]float64, p.Causes)}
	s.several.solve(p, &s.chain, &s.orderer, s.many, s.ways, s.limit(), func(c int, l *level) bool { return s.several.came(c, s.ways[c], l, a, &out) })
	if len(s.several.failed) > 0 {
		return Chains{}, &TooWideError{Width: s.limit() + 1, Max: s.limit()}
	}
	slices.SortFunc(out.Roots, func(a, b Share) int { return cmp.Or(cmp.Compare(a.Cause, b.Cause), cmp.Compare(a.Root, b.Root)) })
	return out, nil
}

// came works out how cause c came.
func (x *several) came(c int, ways []int, l *level, a *Answer, out *Chains) bool {
	x.mark(ways)
	without, with := &l.events[0], &l.events[1]
	event := func(turn func(tree []node)) bool {
		*without, *with = append((*without)[:0], l.state...), zeros(*with, len(l.state))
		return x.through(c, l, []*[]float64{without, with}, turn)
	}
	if !event(func(tree []node) { x.passShown(tree, *without, *with, 0) }) {
		return false
	}
	total := (*without)[0] + (*with)[0]
	if total == 0 { // it is too small
		return true
	}
	out.Shown[c] = (*with)[0] / total
	if !event(func(tree []node) { x.passAlone(tree, *without, *with, 0) }) {
		return false
	}
	out.Alone[c] = (*with)[0] / total
	for _, in := range x.problem.byRoot(ways) {
		root := x.problem.root(in[0])
		if len(in) == 1 {
			if in[0] != root {
				out.Roots = append(out.Roots, Share{c, root, a.Sources[in[0]]})
			}
			continue
		}
		if !event(func(tree []node) {
			if tree[0].source == root {
				x.passMarked(tree, *without, *with, 0)
				return
			}
			x.pass(tree, *without, 0)
			x.pass(tree, *with, 0)
		}) {
			return false
		}
		out.Roots = append(out.Roots, Share{c, root, (*with)[0] / total})
	}
	return true
}

// byRoot groups sources by the root of their tree.
func (p *Problem) byRoot(sources []int) [][]int {
	var out [][]int
	for _, s := range sources {
		k := slices.IndexFunc(out, func(in []int) bool { return p.root(in[0]) == p.root(s) })
		if k < 0 {
			k, out = len(out), append(out, nil)
		}
		out[k] = append(out[k], s)
	}
	return out
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
	s.held.problem = nil
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
	s.network.reduce(q, false)
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
