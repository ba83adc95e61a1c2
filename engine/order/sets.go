package order

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
)

const (
	same     = 1e-12 // how near two J are that count as equal, so that the lower index decides and not the rounding
	rounding = 1e-9  // how far a sum of J and a bound may be off
)

// state is a set of checks that can be done at some time.
type state struct {
	done   set
	cost   float64 // least J of getting here
	hidden float64 // weight not exposed
	onward float64 // J of what remains is not below this
	last   int     // check done last
	from   int     // index of the state before it
}

// least is a J that no order through the state beats.
func (s *state) least() float64 { return s.cost + s.onward }

// path compares the orders in which two states came about.
func (s state) path(t state) int { return cmp.Or(s.from-t.from, s.last-t.last) }

// weigher holds the states, those with fewer checks first.
type weigher struct {
	*job
	states []state
	at     map[set]int // index of the states of the size being made
	left   []float64   // scratch, by cause
	share  []float64   // scratch, by door
	items  []item      // scratch, by check
}

// How many states of a size are kept at least, and while it is still tried which
// checks are worth it.
const (
	leastWidth = 32
	roughWidth = 8
)

// best finds an order of the checks and gives its steps, and a J that no order
// beats. It weighs the sets of finished checks by their size, one check more
// at a time (M. Held and R. M. Karp, A dynamic programming approach to
// sequencing problems, J. SIAM 10 (1962)). A set from which no order can be
// better than high is dropped. Where more than about most sets would be kept,
// only the most promising are, and the bound is the least that was let go.
//
// It gives no order if there are too many checks, or none with a J up to high.
func (j *job) best(most, width int, high float64) (steps []int, low float64) {
	w := weigher{job: j, at: map[set]int{}, left: make([]float64, len(j.weight)), share: make([]float64, len(j.doors))}
	w.add(state{last: -1})
	if len(j.checks) > mostChecks {
		return nil, min(high, w.states[0].onward)
	}
	begin, low := 0, high
	for range j.checks {
		end := len(w.states)
		clear(w.at)
		for i := begin; i < end; i++ {
			before := len(w.states)
			w.extend(i)
			if !j.of.spend(len(j.checks) + (len(w.states)-before)*j.work) {
				return nil, 0
			}
		}
		begin, most = end, most-(len(w.states)-end)
		low = min(low, w.cut(begin, max(width, most/8), high*(1+rounding)))
	}
	if begin == len(w.states) {
		return nil, low
	}
	return j.steps(w.trace()), min(low, w.states[begin].cost)
}

// extend goes from a state to all that have one check more.
func (w *weigher) extend(i int) {
	from := w.states[i]
	for k := range w.checks {
		if from.done.has(k) || !from.done.holds(w.checks[k].before) {
			continue
		}
		cost := from.cost + w.minutes(k, from.done)*from.hidden
		next := state{done: from.done.with(k), cost: cost, last: k, from: i}
		at, known := w.at[next.done]
		if !known {
			w.at[next.done] = len(w.states)
			w.add(next)
			continue
		}
		if s := &w.states[at]; cost < s.cost*(1-same) {
			s.cost, s.last, s.from = cost, k, i
		}
	}
}

// add weighs a state and keeps it.
func (w *weigher) add(s state) {
	copy(w.left, w.weight)
	for rest := s.done; rest != 0; rest &= rest - 1 {
		expose(w.checks[bits.TrailingZeros64(uint64(rest))].finds, w.left)
	}
	s.hidden = w.rest + sum(w.left)
	s.onward = w.bound(s.done, s.hidden)
	w.states = append(w.states, s)
}

// cut drops the states from begin on that are past high, and those past width
// that promise least. It gives the least J that the latter may still come to.
// Those kept stand by the checks done in their order, so that of equal orders
// the one that takes the lower check first is met first.
func (w *weigher) cut(begin, width int, high float64) float64 {
	made := w.states[begin:]
	made = slices.DeleteFunc(made, func(s state) bool { return s.least() > high })
	low := math.Inf(1)
	if len(made) > width {
		slices.SortFunc(made, func(a, b state) int { return cmp.Or(cmp.Compare(a.least(), b.least()), a.path(b)) })
		low = made[width].least()
		made = made[:width]
	}
	slices.SortFunc(made, state.path)
	w.states = w.states[:begin+len(made)]
	return low
}

// trace follows the states back from the last one.
func (w *weigher) trace() []int {
	var out []int
	for at := len(w.states) - 1; at > 0; at = w.states[at].from {
		out = append(out, w.states[at].last)
	}
	slices.Reverse(out)
	return out
}

// item is a check to do, with its part of the doors that it still needs.
type item struct{ minutes, gain float64 }

// bound is a J of what remains behind a state that no order of it beats, with
// what is hidden of each cause in left.
//
// Every check exposes what it would if it were next, no matter what the others
// expose, and a door's minutes are shared out over the checks that it serves.
// So whatever has been done at a time has taken no less and exposed no more,
// and the best order is by gain per minute (W. E. Smith, Various optimizers for
// single-stage production, Naval Research Logistics Quarterly 3 (1956)). And
// what is hidden is never less than in the end.
func (w *weigher) bound(done set, hidden float64) float64 {
	for d, door := range w.doors {
		w.share[d] = 0
		if !door.serves.meets(done) {
			w.share[d] = door.minutes / door.gain
		}
	}
	items, minutes := w.items[:0], 0.0
	for k := range w.checks {
		if done.has(k) {
			continue
		}
		c := &w.checks[k]
		it := item{c.minutes, gain(c.finds, w.left)}
		for _, d := range c.doors {
			it.minutes += w.share[d] * c.gain
		}
		minutes += it.minutes
		at := len(items)
		items = append(items, it)
		for ; at > 0 && it.gain*items[at-1].minutes > items[at-1].gain*it.minutes; at-- {
			items[at] = items[at-1]
		}
		items[at] = it
	}
	w.items = items
	total, final := 0.0, w.final*minutes
	for _, it := range items {
		total += it.minutes * hidden
		hidden -= it.gain
	}
	return max(total, final)
}
