package noisyor

import (
	"cmp"
	"math/bits"
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

// part is the sources of a cause in one tree, and what is to be known of them.
type part struct {
	sources []int
	shown   *float64 // the probability that one is on and not silent; nil: not asked
	share   int      // in Chains.Roots; -1: none
}

// parts lists by root what the trees are asked for. A share of one source alone is left.
func (s *Solver) parts(p *Problem, about []int, out *Chains) {
	out.Alone, out.Shown, out.Roots = zeros(out.Alone, p.Causes), zeros(out.Shown, p.Causes), out.Roots[:0]
	s.asked = resize(s.asked, len(p.Sources))
	for i := range s.asked {
		s.asked[i] = s.asked[i][:0]
	}
	wanted := zeros([]bool{}, p.Causes)
	for _, c := range about {
		wanted[c] = true
	}
	for c, ways := range s.ways {
		if about != nil && !wanted[c] {
			continue
		}
		on := 0
		for _, i := range ways {
			if s.network.state[i] == live {
				on++
			}
		}
		slices.SortStableFunc(ways, func(i, j int) int { return cmp.Compare(s.rootOf[i], s.rootOf[j]) })
		for len(ways) > 0 {
			root, n := s.rootOf[ways[0]], 1
			for n < len(ways) && s.rootOf[ways[n]] == root {
				n++
			}
			q := part{sources: ways[:n], share: -1}
			if on == 1 {
				q.shown = &out.Shown[c]
			}
			if n > 1 || ways[0] != root {
				q.share = len(out.Roots)
				out.Roots = append(out.Roots, Share{Cause: c, Root: root})
			}
			s.asked[root] = append(s.asked[root], q)
			ways = ways[n:]
		}
	}
}

// tell answers what a tree is asked, from the state before it and the likelihood g of what
// comes behind it.
func (s *Solver) tell(tree []node, before, g []float64, out *Chains) {
	x, root := &s.several, tree[0].source
	for _, n := range tree {
		for k, l := range x.links[n.source] {
			x.slot[l.obs] = bits.TrailingZeros(uint(n.pins[k].bit))
		}
	}
	for _, q := range s.asked[root] {
		if q.shown == nil && len(q.sources) == 1 {
			continue
		}
		x.mark(q.sources)
		marked := x.plantMarked(root)
		if !x.budget.Spend(2 * len(before) * moves(marked)) {
			return
		}
		ask := func(pass func(states [][]float64)) float64 {
			for i := range 2 {
				x.events[i] = zeros(x.events[i], len(before))
			}
			copy(x.events[0], before)
			pass(x.events[:2])
			not, is := 0.0, 0.0
			for k, y := range g {
				not += x.events[0][k] * y
				is += x.events[1][k] * y
			}
			if is == 0 {
				return 0
			}
			return is / (is + not)
		}
		if q.shown != nil && x.marks[root] > 0 {
			*q.shown = ask(func(v [][]float64) { x.passShown(marked, v[0], v[1], 0) })
		}
		if len(q.sources) > 1 {
			out.Roots[q.share].Probability = ask(func(v [][]float64) { x.passMarked(marked, v, 0) })
		}
	}
}

// finish works out what is told of the trees that touch nothing, and the shares of one
// source alone.
func (s *Solver) finish(a *Answer, out *Chains) {
	for root, parts := range s.asked {
		for _, q := range parts {
			if q.share >= 0 && len(q.sources) == 1 {
				out.Roots[q.share].Probability = a.Sources[q.sources[0]]
			}
		}
		if len(parts) > 0 && s.network.state[root] == live && !s.network.busy[root] {
			s.tell([]node{{source: root}}, []float64{1}, []float64{1}, out)
		}
	}
}
