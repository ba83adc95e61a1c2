package order

import (
	"fmt"
	"strings"
)

// unit is one or more steps that are done in one go.
type unit struct {
	steps   []int // of the problem, in order
	minutes float64
	saved   float64 // J that its own steps save each other, whatever came before
	finds   []Find  // after all its steps, each cause once
}

// job is what is left to order: units, what comes before what, and the weight
// of each cause that they can still expose. J of the steps is J of the units
// less what is saved inside them.
type job struct {
	units  []unit
	before []set // all units before each one, direct or not
	after  []set
	weight []float64
	rest   float64 // weight of the causes that no unit exposes
}

// newJob makes one unit of each of the wanted steps.
func newJob(p *Problem, wanted []int, left []float64) *job {
	at := map[int]int{}
	for u, i := range wanted {
		at[i] = u
	}
	j := &job{weight: append([]float64(nil), left...)}
	for _, i := range wanted {
		s := p.Steps[i]
		j.units = append(j.units, unit{steps: []int{i}, minutes: s.Minutes, finds: once(s.Finds)})
		before := newSet(len(wanted))
		for _, k := range s.Before {
			if u, ok := at[k]; ok {
				before.add(u)
			}
		}
		j.before = append(j.before, before)
	}
	j.close()
	j.compact()
	return j
}

// once joins what a step finds of the same cause.
func once(finds []Find) []Find {
	var out []Find
	at := map[int]int{}
	for _, f := range finds {
		if k, ok := at[f.Cause]; ok {
			out[k].Sure = 1 - (1-out[k].Sure)*(1-f.Sure)
			continue
		}
		at[f.Cause] = len(out)
		out = append(out, f)
	}
	return out
}

// close completes before with what comes before indirectly, and sets after.
func (j *job) close() {
	for k := range j.units {
		for u := range j.units {
			if j.before[u].has(k) {
				j.before[u].union(j.before[k])
			}
		}
	}
	j.after = make([]set, len(j.units))
	for u := range j.units {
		j.after[u] = newSet(len(j.units))
	}
	for u := range j.units {
		for _, k := range j.before[u].members() {
			j.after[k].add(u)
		}
	}
}

// compact drops causes that no unit exposes and joins those that are exposed
// by the same units with the same chances.
func (j *job) compact() {
	column := make([]strings.Builder, len(j.weight))
	for u, it := range j.units {
		for _, f := range it.finds {
			if f.Sure > 0 {
				fmt.Fprintf(&column[f.Cause], "%d:%x ", u, f.Sure)
			}
		}
	}
	index := map[string]int{}
	to := make([]int, len(j.weight))
	var weight []float64
	for c, w := range j.weight {
		key := column[c].String()
		to[c] = -1
		if key == "" || w <= 0 {
			j.rest += w
			continue
		}
		k, ok := index[key]
		if !ok {
			k = len(weight)
			index[key] = k
			weight = append(weight, 0)
		}
		to[c] = k
		weight[k] += w
	}
	for u := range j.units {
		var finds []Find
		seen := make(map[int]bool, len(j.units[u].finds))
		for _, f := range j.units[u].finds {
			if k := to[f.Cause]; k >= 0 && f.Sure > 0 && !seen[k] {
				seen[k] = true
				finds = append(finds, Find{k, f.Sure})
			}
		}
		j.units[u].finds = finds
	}
	j.weight = weight
}

// part is the job of some of the units, with the weight left when they start.
func (j *job) part(members []int, left []float64) *job {
	out := &job{weight: append([]float64(nil), left...), rest: j.rest}
	for _, u := range members {
		it := j.units[u]
		it.finds = append([]Find(nil), it.finds...)
		out.units = append(out.units, it)
		before := newSet(len(members))
		for k, v := range members {
			if j.before[u].has(v) {
				before.add(k)
			}
		}
		out.before = append(out.before, before)
	}
	out.close()
	out.compact()
	return out
}

// direct gives the units right before u, with no other unit between.
func (j *job) direct(u int) []int { return thin(j.before, u) }

// next gives the units right behind u.
func (j *job) next(u int) []int { return thin(j.after, u) }

func thin(of []set, u int) []int {
	near := of[u].clone()
	for _, k := range of[u].members() {
		near.without(of[k])
	}
	return near.members()
}

// link puts a before b, which must not be before a.
func (j *job) link(a, b int) {
	first, last := j.before[a].clone(), j.after[b].clone()
	first.add(a)
	last.add(b)
	for _, v := range last.members() {
		j.before[v].union(first)
	}
	for _, v := range first.members() {
		j.after[v].union(last)
	}
}

// join makes one unit of a and, right behind it, b. What had to come before or
// behind either of them comes before or behind both. Only b may expose less
// because of a, and only if it takes no time.
func (j *job) join(a, b int) {
	first, last := j.units[a], j.units[b]
	joint := unit{
		steps:   append(append([]int(nil), first.steps...), last.steps...),
		minutes: first.minutes + last.minutes,
		saved:   first.saved + last.saved + j.gain(a, j.weight)*last.minutes,
		finds:   once(append(append([]Find(nil), first.finds...), last.finds...)),
	}
	j.units[a] = joint
	j.before[a].union(j.before[b])
	for u := range j.units {
		if j.before[u].has(b) {
			j.before[u].add(a)
		}
	}
	j.before[a].remove(a)
	j.before[a].remove(b)
	j.drop(b)
}

// drop removes one unit.
func (j *job) drop(b int) {
	n := len(j.units) - 1
	before := make([]set, 0, n)
	for u := range j.units {
		if u == b {
			continue
		}
		s := newSet(n)
		for _, k := range j.before[u].members() {
			if k < b {
				s.add(k)
			} else if k > b {
				s.add(k - 1)
			}
		}
		before = append(before, s)
	}
	j.units = append(j.units[:b:b], j.units[b+1:]...)
	j.before = before
	j.close()
}

// gain is the weight that unit u exposes of what is left.
func (j *job) gain(u int, left []float64) float64 {
	g := 0.0
	for _, f := range j.units[u].finds {
		g += left[f.Cause] * f.Sure
	}
	return g
}

func (j *job) expose(u int, left []float64) {
	for _, f := range j.units[u].finds {
		left[f.Cause] *= 1 - f.Sure
	}
}

// leftAfter is the weight left when these units are done.
func (j *job) leftAfter(units []int) []float64 {
	left := append([]float64(nil), j.weight...)
	for _, u := range units {
		j.expose(u, left)
	}
	return left
}

func (j *job) minutes() float64 {
	total := 0.0
	for _, it := range j.units {
		total += it.minutes
	}
	return total
}

// cost is J of the units in this order.
func (j *job) cost(sequence []int) float64 {
	left := append([]float64(nil), j.weight...)
	hidden := sum(left) + j.rest
	total := 0.0
	for _, u := range sequence {
		total += j.units[u].minutes*hidden - j.units[u].saved
		hidden -= j.gain(u, left)
		j.expose(u, left)
	}
	return total
}

// steps gives the steps of the units in this order.
func (j *job) steps(sequence []int) []int {
	var out []int
	for _, u := range sequence {
		out = append(out, j.units[u].steps...)
	}
	return out
}
