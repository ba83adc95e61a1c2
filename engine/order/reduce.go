package order

import "slices"

// What makes a job smaller without losing every best order. Each rule keeps at
// least one best order of the job as it is when the rule is used, so they can
// follow each other in any way.

func (j *job) reduce() {
	for j.joinSure() || j.chainTails() || j.linkSure() {
	}
}

// joinSure makes one unit of two that can be done one right behind the other
// in some best order.
func (j *job) joinSure() bool {
	own := j.owners()
	for a := range j.units {
		before := j.direct(a)
		if j.units[a].minutes == 0 && len(before) == 1 {
			// It costs nothing and makes everything behind it cheaper.
			j.join(before[0], a)
			return true
		}
		next := j.next(a)
		if len(next) != 1 {
			continue
		}
		if b := next[0]; j.waits(a, b, own) {
			j.join(a, b)
			return true
		}
	}
	return false
}

// waits says whether a, which only b waits for directly, can be put off until
// right before b in some best order.
//
// If a exposes nothing, that makes nothing else later. Otherwise a exposes
// causes that are its own, b waits for nothing besides, and b always exposes
// at least as much per minute as a: whatever stands between them exposes more
// per minute than b, and can go before a, or not, and can go behind b.
func (j *job) waits(a, b int, own []int) bool {
	gain := j.gain(a, j.weight)
	if gain == 0 {
		return true
	}
	return j.private(a, own) && len(j.direct(b)) == 1 &&
		gain*j.units[b].minutes <= j.leastGain(b)*j.units[a].minutes
}

// owners counts the units that expose each cause.
func (j *job) owners() []int {
	out := make([]int, len(j.weight))
	for _, it := range j.units {
		for _, f := range it.finds {
			out[f.Cause]++
		}
	}
	return out
}

// private says whether nothing else exposes what unit u exposes.
func (j *job) private(u int, own []int) bool {
	for _, f := range j.units[u].finds {
		if own[f.Cause] > 1 {
			return false
		}
	}
	return true
}

// leastGain is what u exposes when all is done but u and what is behind it;
// mostGain when only what must be is done. Whatever the order, u exposes
// something between, because no step makes another expose more.
func (j *job) leastGain(u int) float64 {
	left := append([]float64(nil), j.weight...)
	for v := range j.units {
		if v != u && !j.after[u].has(v) {
			j.expose(v, left)
		}
	}
	return j.gain(u, left)
}

func (j *job) mostGain(u int) float64 {
	return j.gain(u, j.leftAfter(j.before[u].members()))
}

// chainTails replaces trees of units that expose their own causes only, and
// that nothing else waits for, by a chain of blocks. For any order of the other
// units, what those expose is fixed, and the whole is a job that mergeForest
// orders best; and there the blocks of the trees keep their own order.
func (j *job) chainTails() bool {
	for _, roots := range j.tails() {
		var members, parent []int
		var collect func(u, p int)
		collect = func(u, p int) {
			at := len(members)
			members, parent = append(members, u), append(parent, p)
			for _, v := range j.next(u) {
				collect(v, at)
			}
		}
		for _, u := range roots {
			collect(u, -1)
		}
		minutes, gain := make([]float64, len(members)), make([]float64, len(members))
		for k, u := range members {
			minutes[k], gain[k] = j.units[u].minutes, j.gain(u, j.weight)
		}
		if j.chain(members, mergeForest(minutes, gain, parent)) {
			return true
		}
	}
	return false
}

// chain links blocks of members and makes one unit of each. It says whether
// anything changed.
func (j *job) chain(members []int, blocks []block) bool {
	changed := false
	var sequence []int
	for _, b := range blocks {
		for _, k := range b.units {
			sequence = append(sequence, members[k])
		}
	}
	for k := 1; k < len(sequence); k++ {
		if a, b := sequence[k-1], sequence[k]; !j.before[b].has(a) {
			j.link(a, b)
			changed = true
		}
	}
	// Joining renumbers the units, so they are named by their first steps.
	var pairs [][2]int
	for _, b := range blocks {
		head := j.units[members[b.units[0]]].steps[0]
		for _, k := range b.units[1:] {
			pairs = append(pairs, [2]int{head, j.units[members[k]].steps[0]})
		}
	}
	for _, pair := range pairs {
		j.join(j.unitOf(pair[0]), j.unitOf(pair[1]))
	}
	return changed || len(pairs) > 0
}

// unitOf finds the unit that begins with a step.
func (j *job) unitOf(step int) int {
	for u, it := range j.units {
		if it.steps[0] == step {
			return u
		}
	}
	return -1
}

// tails gives the roots of such trees, those that hang at the same units
// together, in order of their first roots.
func (j *job) tails() [][]int {
	own := j.owners()
	state := make([]int8, len(j.units)) // 0 unknown, 1 tail, -1 not
	direct := make([][]int, len(j.units))
	for u := range j.units {
		direct[u] = j.direct(u)
	}
	var tail func(int) bool
	tail = func(u int) bool {
		if state[u] != 0 {
			return state[u] > 0
		}
		state[u] = -1
		if !j.private(u, own) {
			return false
		}
		for _, v := range j.next(u) {
			if len(direct[v]) != 1 || !tail(v) {
				return false
			}
		}
		state[u] = 1
		return true
	}
	var groups [][]int
	for u := range j.units {
		if !tail(u) || len(direct[u]) == 1 && tail(direct[u][0]) {
			continue
		}
		found := false
		for g, roots := range groups {
			if slices.Equal(direct[roots[0]], direct[u]) {
				groups[g], found = append(roots, u), true
				break
			}
		}
		if !found {
			groups = append(groups, []int{u})
		}
	}
	return groups
}

// linkSure puts a before b where some best order has it so anyway.
func (j *job) linkSure() bool {
	n := len(j.units)
	least, most := make([]float64, n), make([]float64, n)
	for u := range j.units {
		least[u], most[u] = j.leastGain(u), j.mostGain(u)
	}
	changed := false
	for a := range n {
		for b := a + 1; b < n; b++ {
			switch {
			case j.before[a].has(b) || j.before[b].has(a):
			case j.sooner(a, b, least, most):
				j.link(a, b)
				changed = true
			case j.sooner(b, a, least, most):
				j.link(b, a)
				changed = true
			}
		}
	}
	return changed
}

// sooner says whether a can go before b in some best order: a waits for
// nothing that b does not wait for, nothing waits for b that does not wait for
// a, and one of these holds.
//
// a always exposes at least as much per minute as b ever does. In an order b,
// X, a either X exposes more per minute than a, then b can go behind X, or not,
// then a can go before X; and side by side a goes first.
//
// a takes no longer than b and exposes each cause at least as surely. Then the
// two can change places: all between starts no later and finds no more left.
func (j *job) sooner(a, b int, least, most []float64) bool {
	if !j.before[a].within(j.before[b]) || !j.after[b].within(j.after[a]) {
		return false
	}
	if least[a]*j.units[b].minutes >= most[b]*j.units[a].minutes {
		return true
	}
	if j.units[a].minutes > j.units[b].minutes {
		return false
	}
	for _, f := range j.units[b].finds {
		if j.sure(a, f.Cause) < f.Sure {
			return false
		}
	}
	return true
}

func (j *job) sure(u, cause int) float64 {
	for _, f := range j.units[u].finds {
		if f.Cause == cause {
			return f.Sure
		}
	}
	return 0
}

// split cuts the job where all units of one side come before all of the
// other. The parts do not touch each other's best order.
//
// Sorted by the number of units before each, what is before a unit stands in
// front of it; so if that number is its place, all in front is before it, and
// before all that follow, which have no fewer.
func (j *job) split() [][]int {
	units := upTo(len(j.units))
	before := func(u int) int { return j.before[u].count() }
	slices.SortStableFunc(units, func(a, b int) int { return before(a) - before(b) })
	var parts [][]int
	start := 0
	for k := 1; k <= len(units); k++ {
		if k == len(units) || before(units[k]) == k {
			parts = append(parts, units[start:k])
			start = k
		}
	}
	return parts
}
