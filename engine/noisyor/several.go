package noisyor

import (
	"math"
	"slices"
)

// several works out the causes with more than one source that may be on. What such a cause
// weighs there, and not there, takes all trees but its own in any order, and then its own
// trees with its sources told apart. So the causes are halved again and again, and at each
// half the trees are worked in that hold no cause of it: most are worked in once for many
// causes.
type several struct {
	forest
	problem *Problem
	most    int     // observations that may be open at once
	roots   []int   // of the trees, in the order of the chain
	reach   [][]int // by tree: the observations it touches
	place   []int   // by source: the number of the tree of which it is the root

	causes []int
	held   [][]int // by cause: the trees that hold it
	apart  [][]int // by cause: the roots of those that touch nothing
	marks  []int   // by source: the last cause marked that it is a source of, or has one below it
	last   []int   // by observation: the last tree of a run that touches it
	need   []int   // by observation: the last run after which it was needed
	kept   []int   // by tree: the last half that holds it
	run    int
	levels []level
	failed []int // causes that take more open observations than that
}

// level is the state after the trees that hold no cause of a half.
type level struct {
	state   []float64
	live    []int
	pending []int // the other trees
	event   []float64
}

// solve works out the listed causes into a. It leaves in failed those that are too wide.
func (x *several) solve(p *Problem, c *chain, o *orderer, causes []int, ways [][]int, a *Answer) {
	x.clear(c.network)
	x.problem, x.roots, x.reach, x.most = p, o.sorted, o.reach, min(c.width+3, hardMaxWidth)
	x.last, x.need = zeros(x.last, len(x.back)), zeros(x.need, len(x.back))
	x.kept, x.run, x.failed = zeros(x.kept, len(x.roots)), 0, x.failed[:0]
	x.hold(causes, ways)
	if len(x.levels) == 0 {
		x.levels = append(x.levels, level{})
	}
	first := &x.levels[0]
	first.state, first.live = append(first.state[:0], 1), first.live[:0]
	first.pending = first.pending[:0]
	for k := range x.roots {
		first.pending = append(first.pending, k)
	}
	x.half(x.causes, 0, a)
}

// hold notes which trees hold each cause, and puts the causes in the order of their trees.
func (x *several) hold(causes []int, ways [][]int) {
	x.place = resize(x.place, len(x.share))
	for k, root := range x.roots {
		x.place[root] = k
	}
	x.marks = zeros(x.marks, len(x.share))
	x.held, x.apart = resize(x.held, x.problem.Causes), resize(x.apart, x.problem.Causes)
	x.causes = append(x.causes[:0], causes...)
	for _, c := range causes {
		held, apart := x.held[c][:0], x.apart[c][:0]
		for _, s := range ways[c] {
			if x.network.state[s] != live {
				continue
			}
			for x.under[s] >= 0 {
				s = x.under[s]
			}
			if x.busy[s] {
				held = append(held, x.place[s])
			} else {
				apart = append(apart, s)
			}
		}
		slices.Sort(held)
		slices.Sort(apart)
		x.held[c], x.apart[c] = slices.Compact(held), slices.Compact(apart)
	}
	slices.SortStableFunc(x.causes, func(a, b int) int { return slices.Compare(x.held[a], x.held[b]) })
}

// half works out some causes from the state at a level.
func (x *several) half(causes []int, depth int, a *Answer) {
	for len(x.levels) < depth+2 {
		x.levels = append(x.levels, level{})
	}
	at, next := &x.levels[depth], &x.levels[depth+1]
	x.run++
	for _, c := range causes {
		for _, k := range x.held[c] {
			x.kept[k] = x.run
		}
	}
	next.state, next.live = append(next.state[:0], at.state...), append(next.live[:0], at.live...)
	next.pending = next.pending[:0]
	var now []int
	for _, k := range at.pending {
		if x.kept[k] == x.run {
			next.pending = append(next.pending, k)
			for _, i := range x.reach[x.roots[k]] {
				x.need[i] = x.run
			}
		} else {
			now = append(now, k)
		}
	}
	if !x.work(next, now, x.run) {
		x.failed = append(x.failed, causes...)
		return
	}
	if len(causes) > 1 {
		next.live = append(next.live[:0], x.live...)
		middle := len(causes) / 2
		x.half(causes[:middle], depth+1, a)
		x.half(causes[middle:], depth+1, a)
		return
	}
	x.single(causes[0], &x.levels[depth+1], a)
}

// restore opens the observations of a level.
func (x *several) restore(live []int) {
	for _, i := range x.live {
		x.slot[i] = -1
	}
	x.forest.live = append(x.forest.live[:0], live...)
	for place, i := range live {
		x.slot[i] = place
	}
}

// work takes a level through some trees. It keeps open what the run needs later, and
// reports whether not too much was open.
func (x *several) work(l *level, trees []int, run int) bool {
	x.restore(l.live)
	for at, k := range trees {
		for _, i := range x.reach[x.roots[k]] {
			x.last[i] = at
		}
	}
	for at, k := range trees {
		reach := x.reach[x.roots[k]]
		if !x.openAll(reach, func() { l.state = widen(l.state) }) {
			return false
		}
		x.nodes, x.pins = x.nodes[:0], x.pins[:0]
		x.pass(x.plant(x.roots[k]), l.state, 0)
		for _, i := range reach {
			if x.last[i] == at && x.need[i] != run {
				l.state = x.settled(l.state, i)
				x.drop(i)
				lift(l.state, nil)
			}
		}
	}
	return true
}

// openAll opens the observations that are not yet, and reports whether that is not too
// many.
func (x *several) openAll(reach []int, widen func()) bool {
	for _, i := range reach {
		if x.slot[i] < 0 {
			if len(x.live) == x.most {
				return false
			}
			widen()
			x.open(i)
		}
	}
	return true
}

// widen doubles a state for one more observation.
func widen(state []float64) []float64 {
	n := len(state)
	state = slices.Grow(state, n)[:2*n]
	clear(state[n:])
	return state
}

// settled closes an observation in place.
func (x *several) settled(state []float64, i int) []float64 {
	half := state[:len(state)/2]
	settle(half, state, 1<<x.slot[i], x.back[i].Yes+x.back[i].No*x.doubt[i])
	return half
}

// lift brings two states that have become very small near one.
func lift(a, b []float64) {
	top := 0.0
	for _, v := range [][]float64{a, b} {
		for _, x := range v {
			top = max(top, x)
		}
	}
	if top == 0 || top > 0x1p-300 {
		return
	}
	_, exp := math.Frexp(top)
	up := math.Ldexp(1, min(-exp, 1000))
	for _, v := range [][]float64{a, b} {
		for k := range v {
			v[k] *= up
		}
	}
}

// single takes the state of one cause through its own trees: without it in state, with it
// in event.
func (x *several) single(c int, l *level, a *Answer) {
	x.run++
	x.mark(c)
	trees := l.pending
	l.event = zeros(l.event, len(l.state))
	for at, k := range trees {
		for _, i := range x.reach[x.roots[k]] {
			x.last[i] = at
		}
	}
	for at, k := range trees {
		reach := x.reach[x.roots[k]]
		if !x.openAll(reach, func() { l.state, l.event = widen(l.state), widen(l.event) }) {
			x.failed = append(x.failed, c)
			return
		}
		x.passMarked(x.plantMarked(x.roots[k]), l.state, l.event, 0)
		for _, i := range reach {
			if x.last[i] == at {
				l.state, l.event = x.settled(l.state, i), x.settled(l.event, i)
				x.drop(i)
				lift(l.state, l.event)
			}
		}
	}
	for _, root := range x.apart[c] {
		x.passMarked(x.plantMarked(root), l.state, l.event, 0)
	}
	if l.event[0]+l.state[0] == 0 { // both are too small
		x.failed = append(x.failed, c)
		return
	}
	a.Posterior[c], a.Odds[c] = share(scaled{part: l.event[0]}, scaled{part: l.state[0]})
}

// mark notes what is a source of c or has one below it.
func (x *several) mark(c int) {
	for s := range x.marks {
		x.marks[s] = 0
	}
	for s := len(x.share) - 1; s >= 0; s-- {
		if x.network.state[s] != live {
			continue
		}
		if x.problem.Sources[s].Cause == c {
			x.marks[s] = 2
		}
		if x.marks[s] > 0 && x.under[s] >= 0 {
			x.marks[x.under[s]] = max(1, x.marks[x.under[s]])
		}
	}
}

// plantMarked lays out the tree of a source, with those that touch nothing but are marked.
func (x *several) plantMarked(s int) []node {
	x.nodes, x.pins = x.nodes[:0], x.pins[:0]
	x.plantEach(s)
	return x.nodes
}

func (x *several) plantEach(s int) {
	at, begin := len(x.nodes), len(x.pins)
	for _, l := range x.links[s] {
		x.pins = append(x.pins, pin{1 << x.slot[l.obs], 0, l.yes, l.no})
	}
	x.nodes = append(x.nodes, node{source: s, pins: x.pins[begin:]})
	for _, kid := range x.below[s] {
		if x.busy[kid] || x.marks[kid] > 0 {
			x.plantEach(kid)
		}
	}
	x.nodes[at].size = len(x.nodes) - at
}

// passMarked takes the states without and with the marked cause through a tree.
func (x *several) passMarked(tree []node, without, with []float64, layer int) {
	s := tree[0].source
	if x.marks[s] == 0 {
		x.pass(tree, without, layer)
		x.pass(tree, with, layer)
		return
	}
	u, w := x.room(layer, len(with)), x.room(layer+1, len(with))
	if x.marks[s] == 2 {
		for k := range u {
			u[k] = without[k] + with[k]
		}
		x.with(tree, w, u, layer+2)
		mix(with, w, with, x.share[s])
		off := x.share[s].off
		for k := range without {
			without[k] *= off
		}
		return
	}
	spread(u, without, tree[0].pins)
	spread(w, with, tree[0].pins)
	for at := 1; at < len(tree); at += tree[at].size {
		x.passMarked(tree[at:at+tree[at].size], u, w, layer+2)
	}
	mix(without, u, without, x.share[s])
	mix(with, w, with, x.share[s])
}
