package order

import "slices"

// choice is the question which steps to order, after some that are done.
type choice struct {
	*Problem
	allowed []bool
	options Options
	left    []float64 // weight of each cause when the list begins
	done    []bool
	steps   *Problem // with the weight left
}

func newChoice(p *Problem, first []int, allowed []bool, options Options) *choice {
	c := &choice{
		Problem: p, allowed: allowed, options: options,
		left: append([]float64(nil), p.Weight...), done: make([]bool, len(p.Steps)),
	}
	for _, i := range first {
		if !c.done[i] {
			p.expose(c.left, i)
		}
		c.done[i] = true
	}
	c.steps = &Problem{Steps: p.Steps, Weight: c.left}
	return c
}

// order gives the best order of these steps that can be found, starting from
// the one that they come in.
func (c *choice) order(steps []int) ([]int, Proof) {
	s := c.solver(steps)
	sequence, bound := s.solve(newJob(c.Problem, sorted(steps), c.left))
	cost := Cost(c.steps, sequence)
	if given := Cost(c.steps, steps); given < cost*(1-same) {
		sequence, cost = steps, given
	}
	proof := Proof{Exact: s.tier != Search, Tier: s.tier, Cost: cost, Bound: min(bound, cost)}
	if proof.Exact {
		proof.Bound = cost
	}
	return sequence, proof
}

func (c *choice) solver(steps []int) *solver {
	place := make([]int, len(c.Steps))
	for k, i := range steps {
		place[i] = k
	}
	return &solver{maxSets: c.options.MaxSets, place: place, tier: Merge}
}

// sorted is for newJob, so that of equal steps the lower index comes first.
func sorted(steps []int) []int {
	out := slices.Clone(steps)
	slices.Sort(out)
	return out
}

func sameSteps(a, b []int) bool { return slices.Equal(sorted(a), sorted(b)) }

// better says whether one list has a lower J than another and exposes no less.
func (c *choice) better(a []int, proof Proof, b []int, other Proof) bool {
	return proof.Cost < other.Cost*(1-same) && Exposed(c.steps, a) >= Exposed(c.steps, b)*(1-same)
}

// trimmed starts from all checks that are worth it by themselves and drops
// those that are not at their place. What is worth adding at the end after all
// is added.
func (c *choice) trimmed(first []int) []int {
	var checks []int
	for i, possible := range c.possible() {
		if possible && c.worth(i, c.left) {
			checks = append(checks, i)
		}
	}
	steps := c.withNeeds(checks)
	for {
		s := c.solver(steps)
		s.rough = true
		steps, _ = s.solve(newJob(c.Problem, sorted(steps), c.left))
		kept := c.withNeeds(c.worthwhile(steps))
		if len(kept) == len(steps) {
			break
		}
		steps = kept
	}
	done := append(slices.Clone(first), steps...)
	return append(steps, Greedy(c.Problem, done, c.allowed, c.options.Least)...)
}

// worth says whether step i exposes enough of what is left.
func (c *choice) worth(i int, left []float64) bool {
	gain := 0.0
	for _, f := range once(c.Steps[i].Finds) {
		gain += left[f.Cause] * f.Sure
	}
	return gain > 0 && gain >= c.options.Least
}

// possible says of each step whether it and all that it needs can still be
// done.
func (c *choice) possible() []bool {
	out := make([]bool, len(c.Steps))
	seen := slices.Clone(c.done)
	var visit func(int) bool
	visit = func(i int) bool {
		if seen[i] {
			return out[i] || c.done[i]
		}
		seen[i] = true
		out[i] = c.allowed[i]
		for _, k := range c.Steps[i].Before {
			out[i] = visit(k) && out[i]
		}
		return out[i]
	}
	for i := range c.Steps {
		visit(i)
	}
	return out
}

// withNeeds puts before each check what it needs, each step once.
func (c *choice) withNeeds(checks []int) []int {
	var out []int
	seen := slices.Clone(c.done)
	var visit func(int)
	visit = func(i int) {
		if seen[i] {
			return
		}
		seen[i] = true
		for _, k := range c.Steps[i].Before {
			visit(k)
		}
		out = append(out, i)
	}
	for _, i := range checks {
		visit(i)
	}
	return out
}

// worthwhile gives the checks of a list that are worth it at their place.
func (c *choice) worthwhile(sequence []int) []int {
	left := append([]float64(nil), c.left...)
	var out []int
	for _, i := range sequence {
		if c.worth(i, left) {
			out = append(out, i)
		}
		c.expose(left, i)
	}
	return out
}
