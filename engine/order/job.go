package order

import "slices"

// job is what is left to order. Only checks are put in order. A step that
// exposes nothing, a door, stands right before the first check that needs it:
// to put it off until then makes nothing later. So the checks that are done say
// which doors are open, and doors that the same checks need count as one.
type job struct {
	of     *Problem
	work   int // moves that a bound takes
	checks []check
	doors  []door
	weight []float64 // of each cause that the checks can expose
	rest   float64   // weight of all other causes
	final  float64   // weight hidden when all is done
}

// check is a step that exposes something, or that no such step needs.
type check struct {
	step    int
	minutes float64
	finds   []Find  // each cause once
	gain    float64 // weight that it exposes if it is done first
	needs   []int   // steps that come before it, in an order in which they can be done
	before  set     // checks among them
	doors   []int   // doors among them
}

type door struct {
	steps   []int
	minutes float64
	serves  set     // checks that need it
	gain    float64 // the sum of what they expose, each done first
}

// set is a set of checks, one bit each.
type set uint64

// mostChecks is how many a set can hold. A job of more has no doors, and what
// comes before what is not noted: it can be bounded, not ordered.
const mostChecks = 64

func (s set) has(k int) bool   { return s>>k&1 != 0 }
func (s set) with(k int) set   { return s | 1<<k }
func (s set) meets(t set) bool { return s&t != 0 }
func (s set) holds(t set) bool { return t&^s == 0 }

// newJob makes a job of some steps of a problem.
func newJob(p *Problem, steps []int) *job {
	j := &job{of: p}
	steps = slices.Sorted(slices.Values(steps)) // of equal steps the lower index comes first
	finds := j.findsOf(p, steps)
	in, serving := make([]bool, len(p.Steps)), make([]bool, len(p.Steps))
	for _, i := range steps {
		in[i] = true
	}
	needs := make([][]int, len(steps))
	for n, i := range steps {
		needs[n] = p.needs(i, in)
		for _, k := range needs[n] {
			serving[k] = serving[k] || len(finds[n]) > 0
		}
	}
	number := make([]int, len(p.Steps)) // of each check, plus one; 0 for a door
	for n, i := range steps {
		if len(finds[n]) > 0 || !serving[i] {
			gain := gain(finds[n], j.weight)
			j.checks = append(j.checks, check{step: i, minutes: p.Steps[i].Minutes, finds: finds[n], gain: gain, needs: needs[n]})
			number[i] = len(j.checks)
		}
	}
	if len(j.checks) <= mostChecks {
		j.link(p, steps, number)
	}
	left := slices.Clone(j.weight)
	for _, c := range j.checks {
		expose(c.finds, left)
		j.work += len(c.finds) + len(j.checks)/4 + 1 // sorted in by their gain
	}
	j.final = sum(left) + j.rest
	return j
}

// link notes which checks and doors each check needs.
func (j *job) link(p *Problem, steps []int, number []int) {
	serves := make([]set, len(p.Steps))
	for k := range j.checks {
		for _, i := range j.checks[k].needs {
			if n := number[i]; n > 0 {
				j.checks[k].before = j.checks[k].before.with(n - 1)
			} else {
				serves[i] = serves[i].with(k)
			}
		}
	}
	at := map[set]int{}
	for _, i := range steps {
		s := serves[i]
		if s == 0 {
			continue
		}
		if _, known := at[s]; !known {
			at[s] = len(j.doors)
			j.doors = append(j.doors, j.door(s))
		}
		d := &j.doors[at[s]]
		d.steps, d.minutes = append(d.steps, i), d.minutes+p.Steps[i].Minutes
	}
}

// door makes the next door, which serves the checks of s.
func (j *job) door(s set) door {
	d := door{serves: s}
	for k := range j.checks {
		if s.has(k) {
			j.checks[k].doors = append(j.checks[k].doors, len(j.doors))
			d.gain += j.checks[k].gain
		}
	}
	return d
}

// findsOf gives what each step can expose of the weight that is left, with the
// causes numbered anew, and sets the weights.
func (j *job) findsOf(p *Problem, steps []int) [][]Find {
	number := make([]int, len(p.Weight)) // plus one
	out := make([][]Find, len(steps))
	for n, i := range steps {
		for _, f := range once(p.Steps[i].Finds) {
			w := p.Weight[f.Cause]
			if f.Sure <= 0 || w <= 0 {
				continue
			}
			if number[f.Cause] == 0 {
				j.weight = append(j.weight, w)
				number[f.Cause] = len(j.weight)
			}
			out[n] = append(out[n], Find{number[f.Cause] - 1, f.Sure})
		}
	}
	for c, w := range p.Weight {
		if number[c] == 0 {
			j.rest += w
		}
	}
	return out
}

// once joins what a step finds of the same cause.
func once(finds []Find) []Find {
	out := make([]Find, 0, len(finds))
	for _, f := range finds {
		k := slices.IndexFunc(out, func(o Find) bool { return o.Cause == f.Cause })
		if k < 0 {
			out = append(out, f)
			continue
		}
		out[k].Sure = 1 - (1-out[k].Sure)*(1-f.Sure)
	}
	return out
}

// needs gives the steps in a list that come before step i, directly or not, in
// an order in which they can be done, each as late as it can be.
func (p *Problem) needs(i int, in []bool) []int {
	var out []int
	seen := make([]bool, len(p.Steps))
	var visit func(int)
	visit = func(i int) {
		for _, k := range p.Steps[i].Before {
			if in[k] && !seen[k] {
				seen[k] = true
				visit(k)
				out = append(out, k)
			}
		}
	}
	visit(i)
	return out
}

func gain(finds []Find, left []float64) float64 {
	total := 0.0
	for _, f := range finds {
		total += left[f.Cause] * f.Sure
	}
	return total
}

func expose(finds []Find, left []float64) {
	for _, f := range finds {
		left[f.Cause] *= 1 - f.Sure
	}
}

// minutes is what check k takes when others are done, with the doors that it
// still needs.
func (j *job) minutes(k int, done set) float64 {
	c := &j.checks[k]
	total := c.minutes
	for _, d := range c.doors {
		if door := &j.doors[d]; !door.serves.meets(done) {
			total += door.minutes
		}
	}
	return total
}

// steps gives the steps for checks in order, the doors where they are needed
// first.
func (j *job) steps(checks []int) []int {
	var out []int
	for _, k := range checks {
		c := &j.checks[k]
		for _, i := range append(c.needs, c.step) {
			if !slices.Contains(out, i) {
				out = append(out, i)
			}
		}
	}
	return out
}
