package order

import "math/bits"

// allSets finds a best order by weighing every set of units that can be done
// at some time, largest sets first: the least J of what remains behind a set
// is the least over its next unit (M. Held and R. M. Karp, A dynamic
// programming approach to sequencing problems, J. SIAM 10 (1962)).
//
// Only sets of nodes count, see bare. It gives up when there are more than
// limit sets, or more than 64 nodes.
func (j *job) allSets(limit int) ([]int, bool) {
	b, ok := j.bare()
	if !ok {
		return nil, false
	}
	everything := ^uint64(0) >> (64 - len(b.nodes))
	c := counter{before: b.before, after: b.after, limit: float64(limit), budget: 20_000}
	count := c.count(everything)
	if count > c.limit {
		return nil, false
	}
	t := newTable(int(count), b, j.newHidden(b.nodes), everything)
	for start := 0; t.sets[start] != 0; {
		end := len(t.sets)
		t.nextLayer(end - start)
		for i := start; i < end; i++ {
			for done := t.sets[i]; done != 0; done &= done - 1 {
				k := bits.TrailingZeros64(done)
				if b.after[k]&t.sets[i] == 0 {
					t.offer(k, int32(i))
				}
			}
		}
		start = end
	}
	return b.units(t.trace()), true
}

// tie is how near two J of the same set are that count as equal.
const tie = same / 10

// table holds the sets layer by layer, each with the weight that it leaves
// hidden, the least J of what remains, and the set to go on to. Only the sets
// of the layer being filled can be looked up.
type table struct {
	job    *bare
	weigh  *hidden
	sets   []uint64
	hidden []float64
	cost   []float64
	to     []int32
	slot   []int32 // index into sets, plus one
	base   int     // where the layer begins
}

// newTable holds the whole set and has room for more.
func newTable(room int, job *bare, weigh *hidden, everything uint64) *table {
	return &table{
		job: job, weigh: weigh,
		sets:   append(make([]uint64, 0, room), everything),
		hidden: append(make([]float64, 0, room), 0),
		cost:   append(make([]float64, 0, room), 0),
		to:     append(make([]int32, 0, room), 0),
	}
}

// trace follows the sets from the empty one, which is the last.
func (t *table) trace() []int {
	var out []int
	for at := len(t.sets) - 1; at > 0; at = int(t.to[at]) {
		out = append(out, t.next(at))
	}
	return out
}

// next is the node to do after a set.
func (t *table) next(i int) int { return bits.TrailingZeros64(t.sets[t.to[i]] &^ t.sets[i]) }

func (t *table) nextLayer(previous int) {
	t.base = len(t.sets)
	size := 64
	for size < 4*previous {
		size *= 2
	}
	if size > len(t.slot) {
		t.slot = make([]int32, size)
		return
	}
	clear(t.slot)
}

// offer goes from a set without node k to the one with it. Of equal ways on it
// keeps the one that does the lowest unit next.
func (t *table) offer(k int, to int32) {
	s := t.sets[to] &^ (1 << k)
	mask := uint64(len(t.slot) - 1)
	at := scatter(s) & mask
	for t.slot[at] != 0 {
		if i := int(t.slot[at] - 1); t.sets[i] == s {
			cost := t.cost[to] + t.job.minutes(k, s)*t.hidden[i]
			switch {
			case cost < t.cost[i]*(1-tie):
				t.cost[i], t.to[i] = cost, to
			case cost <= t.cost[i]*(1+tie) && t.job.nodes[k] < t.job.nodes[t.next(i)]:
				t.cost[i], t.to[i] = min(cost, t.cost[i]), to
			}
			return
		}
		at = (at + 1) & mask
	}
	hidden := t.weigh.at(s)
	t.sets = append(t.sets, s)
	t.hidden = append(t.hidden, hidden)
	t.cost = append(t.cost, t.cost[to]+t.job.minutes(k, s)*hidden)
	t.to = append(t.to, to)
	t.slot[at] = int32(len(t.sets))
	if 2*(len(t.sets)-t.base) > len(t.slot) {
		t.grow()
	}
}

func (t *table) grow() {
	t.slot = make([]int32, 4*len(t.slot))
	mask := uint64(len(t.slot) - 1)
	for i := t.base; i < len(t.sets); i++ {
		at := scatter(t.sets[i]) & mask
		for t.slot[at] != 0 {
			at = (at + 1) & mask
		}
		t.slot[at] = int32(i + 1)
	}
}

// scatter spreads sets over the slots (the multiplier is 2^64 over the golden
// ratio: D. E. Knuth, The Art of Computer Programming 3, section 6.4).
func scatter(s uint64) uint64 {
	s *= 0x9E3779B97F4A7C15
	return s ^ s>>29
}

// bitOrder lists the units so that those that expose the same causes stand
// near each other.
func (j *job) bitOrder() []int {
	users := make([][]int, len(j.weight))
	for u, it := range j.units {
		for _, f := range it.finds {
			users[f.Cause] = append(users[f.Cause], u)
		}
	}
	seen := make([]bool, len(j.units))
	var out []int
	for u := range j.units {
		if seen[u] {
			continue
		}
		seen[u] = true
		out = append(out, u)
		for head := len(out) - 1; head < len(out); head++ {
			for _, f := range j.units[out[head]].finds {
				for _, v := range users[f.Cause] {
					if !seen[v] {
						seen[v] = true
						out = append(out, v)
					}
				}
			}
		}
	}
	return out
}

// hidden gives the weight not yet exposed by a set of units, from tables over
// groups of units: one of sums for the causes that a single group exposes, and
// one of products for each cause that several groups expose.
type hidden struct {
	rest   float64
	sums   [][]float64
	wide   int         // causes that several groups expose
	parts  [][]float64 // by group: wide numbers for each of its sets
	weight []float64
}

const groupBits = 10

func (j *job) newHidden(order []int) *hidden {
	n := len(order)
	groups := (n + groupBits - 1) / groupBits
	low, high := make([]int, len(j.weight)), make([]int, len(j.weight))
	for c := range low {
		low[c] = groups
	}
	for k, u := range order {
		for _, f := range j.units[u].finds {
			low[f.Cause] = min(low[f.Cause], k/groupBits)
			high[f.Cause] = max(high[f.Cause], k/groupBits)
		}
	}
	h := &hidden{rest: j.rest}
	column := make([]int, len(j.weight))
	for c, w := range j.weight {
		column[c] = -1
		if low[c] < high[c] {
			column[c] = h.wide
			h.weight = append(h.weight, w)
			h.wide++
		}
	}
	for g := range groups {
		members := order[g*groupBits : min(n, (g+1)*groupBits)]
		sums := make([]float64, 1<<len(members))
		parts := make([]float64, h.wide<<len(members))
		lefts := make([]float64, len(j.weight)<<len(members))
		for s := range sums {
			left := lefts[s*len(j.weight):][:len(j.weight)]
			if s == 0 {
				for c := range left {
					left[c] = 1
				}
			} else {
				copy(left, lefts[(s&(s-1))*len(j.weight):])
				j.expose(members[bits.TrailingZeros(uint(s))], left)
			}
			for c, w := range j.weight {
				switch {
				case column[c] >= 0:
					parts[s*h.wide+column[c]] = left[c]
				case low[c] == g:
					sums[s] += w * left[c]
				}
			}
		}
		h.sums, h.parts = append(h.sums, sums), append(h.parts, parts)
	}
	return h
}

func (h *hidden) at(s uint64) float64 {
	const mask = 1<<groupBits - 1
	total := h.rest
	for g := range h.sums {
		total += h.sums[g][s>>(g*groupBits)&mask]
	}
	if h.wide == 0 {
		return total
	}
	for c, w := range h.weight {
		for g := range h.parts {
			w *= h.parts[g][int(s>>(g*groupBits)&mask)*h.wide+c]
		}
		total += w
	}
	return total
}
