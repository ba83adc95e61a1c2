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
	ways    [][]int // by cause, its sources
	roots   []int   // of the trees, in the order of the chain
	reach   [][]int // by the root of a tree: the observations it touches
	place   []int   // by source: the number of the tree of which it is the root

	causes []int
	held   [][]int // by cause: the trees that hold it
	apart  [][]int // by cause: the roots of those that touch nothing
	marks  []uint8 // by source: 2 if it is one of the marked cause, 1 if such a one is below it
	lone   []link  // by source, see fold
	last   []int   // by observation: the last tree of a run that touches it
	need   []int   // by observation: the last run after which it was needed
	kept   []int   // by tree: the last half that holds it
	run    int
	levels []level
	whole  level        // before all trees
	afresh int          // causes that were worked out from there
	events [5][]float64 // the states of a cause, see weigh
	came   *Chains      // wanted too; nil: not
	budget *Budget
	answer *Answer
}

// level is the state after the trees that hold no cause of a half.
type level struct {
	state   []float64
	live    []int
	pending []int // the other trees
}

// begin takes on a problem that is planned.
func (x *several) begin(p *Problem, c *chain, o *orderer, ways [][]int, limit int) {
	x.clear(c.network)
	x.problem, x.roots, x.reach, x.ways = p, o.sorted, o.reach, ways
	x.most, x.limit = min(c.width+3, limit), limit
	x.marks = zeros(x.marks, len(x.share))
	x.fold()
}

// fold finds the sources that touch one observation, with all below them. Where what it
// lies under is on, such a source answers like one more link of that one.
func (x *several) fold() {
	x.lone = resize(x.lone, len(x.share))
	for s := len(x.lone) - 1; s >= 0; s-- {
		all := link{obs: -1, no: 1}
		single := x.busy[s]
		for _, l := range x.links[s] {
			single = single && all.join(l)
		}
		for _, kid := range x.kids[s] {
			single = single && all.join(x.lone[kid])
		}
		if !single {
			x.lone[s] = link{obs: -1}
			continue
		}
		m := x.share[s]
		x.lone[s] = link{all.obs, m.on * all.yes, m.off + m.on*all.no}
	}
}

// join adds what another link does to the same observation, and says whether it is the
// same; a link to none takes that of the other.
func (l *link) join(other link) bool {
	if other.obs < 0 || l.obs >= 0 && l.obs != other.obs {
		return false
	}
	l.obs, l.yes, l.no = other.obs, l.yes+l.no*other.yes, l.no*other.no
	return true
}

// solve works out the listed causes, into a and, unless it is nil, came.
func (x *several) solve(causes []int, a *Answer, came *Chains) {
	x.answer, x.came = a, came
	x.last, x.need = zeros(x.last, len(x.back)), zeros(x.need, len(x.back))
	x.clear(x.network)
	x.kept, x.run, x.afresh = zeros(x.kept, len(x.roots)), 0, 0
	x.hold(causes)
	w := &x.whole
	w.state, w.pending = append(w.state[:0], 1), w.pending[:0]
	for k := range x.roots {
		w.pending = append(w.pending, k)
	}
	if len(x.causes) > 0 {
		x.half(x.causes, w, 0)
	}
}

// hold notes which trees hold each cause, and puts the causes in the order of their trees.
func (x *several) hold(causes []int) {
	x.place = resize(x.place, len(x.share))
	for k, root := range x.roots {
		x.place[root] = k
	}
	x.held, x.apart = resize(x.held, x.problem.Causes), resize(x.apart, x.problem.Causes)
	x.causes = append(x.causes[:0], causes...)
	for _, c := range causes {
		held, apart := x.held[c][:0], x.apart[c][:0]
		for _, s := range x.ways[c] {
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

// half works out some causes from the state at a level. From depth on the levels are free.
// Once the budget is spent it leaves them.
func (x *several) half(causes []int, at *level, depth int) {
	if x.budget.Err() != nil {
		return
	}
	for len(x.levels) <= depth {
		x.levels = append(x.levels, level{})
	}
	next := &x.levels[depth]
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
	if x.work(next, now, x.run, most) {
		next.live = append(next.live[:0], x.live...)
		at, depth = next, depth+1
	}
	if middle > 0 {
		x.half(causes[:middle], at, depth)
		x.half(causes[middle:], at, depth)
		return
	}
	if x.budget.Err() != nil {
		return
	}
	if c := causes[0]; at != next || !x.weigh(c, at) {
		x.afresh++
		x.weigh(c, &x.whole) // it is no wider than the chain
	}
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
	x.mark(nil)
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
		tree := x.plantMarked(x.roots[k])
		if !x.budget.Spend(len(l.state) * moves(tree)) {
			return false
		}
		x.pass(tree, l.state, 0)
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
		tree := x.plantMarked(x.roots[k])
		if !x.budget.Spend(len(*states[0]) * len(states) * moves(tree)) {
			return false
		}
		turn(tree)
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

// weigh works out how probable cause c is, from the state at a level, and how it came if
// that is wanted.
func (x *several) weigh(c int, l *level) bool {
	x.mark(x.ways[c])
	e := &x.events // with nothing and something shown; without the cause, by itself only (if asked), else there
	shown, marked := e[:0], e[:2]
	if x.came != nil {
		shown, marked = e[:2], e[2:]
	}
	states := make([]*[]float64, len(shown)+len(marked))
	for i := range states {
		states[i], e[i] = &e[i], zeros(e[i], len(l.state))
	}
	copy(e[0], l.state)
	copy(marked[0], l.state)
	if !x.through(c, l, states, func(tree []node) {
		if x.passMarked(tree, marked, 0); x.came != nil {
			x.passShown(tree, shown[0], shown[1], 0)
		}
	}) {
		return false
	}
	none, there := marked[0][0], marked[1][0]
	if x.came != nil {
		alone := there
		if there += marked[2][0]; there > 0 {
			x.came.Alone[c], x.came.Shown[c] = alone/(none+there), shown[1][0]/(none+there)
		}
	}
	x.answer.Posterior[c], x.answer.Odds[c] = share(scaled{part: there}, scaled{part: none})
	return none+there > 0
}
