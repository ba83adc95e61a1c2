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
	most    int     // observations that may be open at once while there are several causes
	limit   int     // and for one
	roots   []int   // of the trees, in the order of the chain
	reach   [][]int // by the root of a tree: the observations it touches
	place   []int   // by source: the number of the tree of which it is the root

	causes []int
	held   [][]int // by cause: the trees that hold it
	apart  [][]int // by cause: the roots of those that touch nothing
	marks  []int   // by source: 2 if it is one of the marked cause, 1 if such a one is below it
	last   []int   // by observation: the last tree of a run that touches it
	need   []int   // by observation: the last run after which it was needed
	kept   []int   // by tree: the last half that holds it
	run    int
	levels []level
	failed []int                      // causes that take more open observations than that
	single func(c int, l *level) bool // works out one cause from the state without its trees; false: it could not
}

// level is the state after the trees that hold no cause of a half.
type level struct {
	state   []float64
	live    []int
	pending []int        // the other trees
	events  [2][]float64 // the states without and with an event
}

// solve works out the listed causes by single. It leaves in failed those that are too wide.
func (x *several) solve(p *Problem, c *chain, o *orderer, causes []int, ways [][]int, limit int, single func(c int, l *level) bool) {
	x.clear(c.network)
	x.problem, x.roots, x.reach = p, o.sorted, o.reach
	x.most, x.limit = min(c.width+3, limit), limit
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
	if x.single = single; len(x.causes) > 0 {
		x.half(x.causes, 0)
	}
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
func (x *several) half(causes []int, depth int) {
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
	middle, most := len(causes)/2, x.most
	if middle == 0 {
		most = x.limit
	}
	switch {
	case x.work(next, now, x.run, most):
		next.live = append(next.live[:0], x.live...)
		if depth++; middle == 0 {
			if c := causes[0]; !x.single(c, &x.levels[depth]) {
				x.failed = append(x.failed, c)
			}
			return
		}
	case middle == 0:
		x.failed = append(x.failed, causes...)
		return
	}
	x.half(causes[:middle], depth)
	x.half(causes[middle:], depth)
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
func (x *several) work(l *level, trees []int, run, most int) bool {
	x.restore(l.live)
	for at, k := range trees {
		for _, i := range x.reach[x.roots[k]] {
			x.last[i] = at
		}
	}
	for at, k := range trees {
		reach := x.reach[x.roots[k]]
		for _, i := range reach {
			if x.slot[i] >= 0 {
				continue
			}
			if len(x.live) == most {
				return false
			}
			l.state = widen(l.state)
			x.open(i)
		}
		x.nodes, x.pins = x.nodes[:0], x.pins[:0]
		x.pass(x.plant(x.roots[k]), l.state, 0)
		for _, i := range reach {
			if x.last[i] == at && x.need[i] != run {
				l.state = x.settled(l.state, i)
				x.drop(i)
				lift([]*[]float64{&l.state})
			}
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

// lift brings states that have become very small near one, all by the same factor.
func lift(states []*[]float64) {
	top := 0.0
	for _, v := range states {
		for _, x := range *v {
			top = max(top, x)
		}
	}
	if top == 0 || top > 0x1p-300 {
		return
	}
	_, exp := math.Frexp(top)
	up := math.Ldexp(1, min(-exp, 1000))
	for _, v := range states {
		for k := range *v {
			(*v)[k] *= up
		}
	}
}

// through takes states of a level through the trees of cause c, which turn works into
// them. It reports whether not too much was open.
func (x *several) through(c int, l *level, states []*[]float64, turn func(tree []node)) bool {
	x.restore(l.live)
	for at, k := range l.pending {
		for _, i := range x.reach[x.roots[k]] {
			x.last[i] = at
		}
	}
	for at, k := range l.pending {
		reach := x.reach[x.roots[k]]
		for _, i := range reach {
			if x.slot[i] >= 0 {
				continue
			}
			if len(x.live) == x.limit {
				return false
			}
			for _, v := range states {
				*v = widen(*v)
			}
			x.open(i)
		}
		turn(x.plantMarked(x.roots[k]))
		for _, i := range reach {
			if x.last[i] == at {
				for _, v := range states {
					*v = x.settled(*v, i)
				}
				x.drop(i)
				lift(states)
			}
		}
	}
	for _, root := range x.apart[c] {
		turn(x.plantMarked(root))
	}
	return true
}

// weigh works out how probable cause c is in any way.
func (x *several) weigh(c int, ways []int, l *level, a *Answer) bool {
	x.mark(ways)
	none, there := &l.state, &l.events[0]
	*there = zeros(*there, len(*none))
	if !x.through(c, l, []*[]float64{none, there}, func(tree []node) { x.passMarked(tree, *none, *there, 0) }) {
		return false
	}
	n, t := (*none)[0], (*there)[0]
	a.Posterior[c], a.Odds[c] = share(scaled{part: t}, scaled{part: n})
	return n+t > 0
}
