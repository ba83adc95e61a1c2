package order

import (
	"math"
	"sort"
)

// bound is a J that no order of the units can beat: the better of two.
func (j *job) bound() float64 {
	return math.Max(j.boundByGain(), j.boundByTime()) * (1 - 1e-9) // room for rounding
}

// boundByGain lets every unit expose what it exposes at the start, as if the
// others left it all. No order hides less than that leaves, and the best order
// with it is known when each unit waits for one other at most.
func (j *job) boundByGain() float64 {
	gain := make([]float64, len(j.units))
	for u := range gain {
		gain[u] = j.gain(u, j.weight)
	}
	hidden := sum(j.weight) + j.rest
	total := 0.0
	for _, b := range mergeForest(j.durations(), gain, j.oneParent()) {
		for _, u := range b.units {
			total += j.units[u].minutes*hidden - j.units[u].saved
			hidden -= gain[u]
		}
	}
	return total
}

// pieces is how many stretches of time boundByTime looks at.
const pieces = 32

// boundByTime adds up, stretch by stretch of the time, the least weight that
// can be hidden then.
//
// What a set S of units exposes of a cause c of weight w is at most w*reach,
// reach = 1 - prod(1-s) over all units, and at most w * sum over S of s. So for
// any share a between 0 and 1 it is at most
//
//	w*((1-a)*reach + a * sum over S of s)
//
// and the sum over S is at most what the densest blocks of a forest give in the
// minutes that S takes, the last block in part. (A unit that waits for several
// is taken to wait for one of them: that only gives more freedom.) Each stretch
// uses the shares that a few rounds of improvement find; any shares are right.
//
// Between the ends of two units J counts the weight hidden at the first end,
// the bound a straight line from the one to the other. The triangle between is
// half of minutes times gain, and over a whole order at least what it is if
// each cause were exposed by the shortest units that do.
func (j *job) boundByTime() float64 {
	r := newRelaxed(j)
	total := sum(j.weight) + j.rest
	reach := 0.0
	for c, w := range j.weight {
		reach += w * r.reach[c]
	}
	whole := j.minutes()
	area := 0.0
	for k := range pieces {
		// Short stretches first, where most is exposed.
		from := whole * float64(k*k) / (pieces * pieces)
		to := whole * float64((k+1)*(k+1)) / (pieces * pieces)
		area += r.least(from, to, total, reach)
	}
	for _, it := range j.units {
		area -= it.saved
	}
	return area + j.triangles(r.reach)/2
}

// triangles is the least that minutes times gain can add up to.
func (j *job) triangles(reach []float64) float64 {
	type use struct{ minutes, sure float64 }
	uses := make([][]use, len(j.weight))
	for _, it := range j.units {
		for _, f := range it.finds {
			uses[f.Cause] = append(uses[f.Cause], use{it.minutes, f.Sure})
		}
	}
	total := 0.0
	for c, w := range j.weight {
		sort.Slice(uses[c], func(a, b int) bool { return uses[c][a].minutes < uses[c][b].minutes })
		open := reach[c]
		for _, u := range uses[c] {
			part := math.Min(open, u.sure)
			total += w * part * u.minutes
			open -= part
		}
	}
	return total
}

// relaxed is a job in which each unit waits for one other at most and exposes
// a share of what it exposes at the start.
type relaxed struct {
	job     *job
	parent  []int
	minutes []float64
	reach   []float64 // by cause: the part of it that all units expose
	share   []float64 // by cause
	gain    []float64 // by unit, with the shares
	done    []float64 // by unit: how much of it is done at a time
}

func newRelaxed(j *job) *relaxed {
	r := &relaxed{
		job: j, parent: j.oneParent(), minutes: j.durations(),
		reach: make([]float64, len(j.weight)), share: make([]float64, len(j.weight)),
		gain: make([]float64, len(j.units)), done: make([]float64, len(j.units)),
	}
	for c := range r.reach {
		r.reach[c], r.share[c] = 1, 1
	}
	for u := range j.units {
		j.expose(u, r.reach)
	}
	for c := range r.reach {
		r.reach[c] = 1 - r.reach[c]
	}
	return r
}

// least is the least area of hidden weight between two times.
func (r *relaxed) least(from, to, total, reach float64) float64 {
	best := (total - reach) * (to - from)
	for round := range 10 {
		blocks := r.blocks()
		if area := r.area(blocks, from, to, total); area > best {
			best = area
		}
		r.shift(blocks, (from+to)/2, 0.5/float64(1+round))
	}
	return best
}

func (r *relaxed) blocks() []block {
	for u, it := range r.job.units {
		r.gain[u] = 0
		for _, f := range it.finds {
			r.gain[u] += r.job.weight[f.Cause] * f.Sure * r.share[f.Cause]
		}
	}
	return mergeForest(r.minutes, r.gain, r.parent)
}

// area integrates what the shares leave hidden between two times.
func (r *relaxed) area(blocks []block, from, to, total float64) float64 {
	flat := total
	for c, w := range r.job.weight {
		flat -= w * (1 - r.share[c]) * r.reach[c]
	}
	clock, gained, area := 0.0, 0.0, flat*(to-from)
	for _, b := range blocks {
		lo, hi := math.Max(clock, from), math.Min(clock+b.minutes, to)
		if hi > lo {
			rate := b.gain / b.minutes
			area -= (gained + rate*((lo+hi)/2-clock)) * (hi - lo)
		}
		clock, gained = clock+b.minutes, gained+b.gain
	}
	return area
}

// shift moves the shares of each cause towards what binds at a time: down
// if the units done then would expose more than all of it, up if less.
func (r *relaxed) shift(blocks []block, at, size float64) {
	clock := 0.0
	for _, b := range blocks {
		part := 1.0
		if b.minutes > 0 {
			part = math.Max(0, math.Min(1, (at-clock)/b.minutes))
		}
		for _, u := range b.units {
			r.done[u] = part
		}
		clock += b.minutes
	}
	found := make([]float64, len(r.job.weight))
	for u, it := range r.job.units {
		for _, f := range it.finds {
			found[f.Cause] += f.Sure * r.done[u]
		}
	}
	for c := range r.share {
		if r.reach[c] > 0 {
			r.share[c] += size * (r.reach[c] - found[c]) / r.reach[c]
			r.share[c] = math.Max(0, math.Min(1, r.share[c]))
		}
	}
}
