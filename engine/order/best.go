package order

import "slices"

// Options says how Best goes about it. The zero value is usable.
type Options struct {
	// Least is the weight that a check has to add to be in the list; see Best.
	Least float64
	// MaxSets is about how many sets of finished checks are weighed for a list
	// before only the most promising are kept; 0 means DefaultMaxSets.
	MaxSets int
}

// DefaultMaxSets proves nearly every list of up to fifteen checks, and takes a
// few milliseconds.
const DefaultMaxSets = 1 << 12

// Proof says how good an order is known to be. Cost and Bound are in weight
// times minutes, the minutes counted from the end of the steps done before.
type Proof struct {
	Exact bool    // no order of the same steps has a lower J
	Cost  float64 // J of the order
	Bound float64 // no order of the same steps has a J below this; Cost if Exact
}

// Best orders steps like Greedy, after those in first, but as well as can be
// proven: no order of the same steps has a lower J when the proof is exact.
//
// Which steps these are depends on Least, and not on the order alone, so there
// are two lists. One has the steps that Greedy chooses. The other starts from
// every check that exposes at least Least by itself, orders them, drops those
// that add less than Least at their place, and orders the rest again, until
// none is dropped. Best takes the one with the lower J if it exposes no less.
// So it is never behind Greedy in either, and whatever is left out would add
// less than Least, or nothing, at the end of the list. The proof is about the
// order of the steps, not about their choice.
//
// An order is found by weighing sets of finished checks. Where all of them are
// too many only the most promising are, and the proof is a bound, 0 if none is
// known. A list of more than 64 checks stays as Greedy has it. Equal choices go
// the same way every time.
//
// It is an error if the problem does not pass Check, or first or allowed do not
// fit it.
func Best(p *Problem, first []int, allowed []bool, options Options) ([]int, Proof, error) {
	if err := p.Check(); err != nil {
		return nil, Proof{}, err
	}
	if err := p.fits(first, allowed, options); err != nil {
		return nil, Proof{}, err
	}
	if options.MaxSets <= 0 {
		options.MaxSets = DefaultMaxSets
	}
	c := newChoice(p, first, allowed, options)
	greedy := Greedy(p, first, allowed, options.Least)
	sequence, proof := c.order(greedy, options.MaxSets, leastWidth)
	if other := c.trimmed(); !sameSteps(other, greedy) {
		if o, oProof := c.order(other, options.MaxSets, leastWidth); c.better(o, oProof, sequence, proof) {
			sequence, proof = o, oProof
		}
	}
	return sequence, proof, nil
}

// choice is the question which steps to order, after some that are done.
type choice struct {
	*Problem
	first   []int
	allowed []bool
	options Options
	left    *Problem // with the weight left when the list begins
}

func newChoice(p *Problem, first []int, allowed []bool, options Options) *choice {
	c := &choice{Problem: p, first: first, allowed: allowed, options: options}
	c.left = &Problem{Steps: p.Steps, Weight: c.run().left, Spend: p.Spend}
	return c
}

func (c *choice) run() *run { return newRun(c.Problem, c.first, c.allowed, c.options.Least) }

// order gives the best order of these steps that can be found, never behind
// the one that they come in.
func (c *choice) order(steps []int, maxSets, width int) ([]int, Proof) {
	given := Cost(c.left, steps)
	sequence, low := newJob(c.left, steps).best(maxSets, width, given)
	cost := Cost(c.left, sequence)
	if sequence == nil || given < cost*(1-same) {
		sequence, cost = steps, given
	}
	if low >= cost*(1-rounding) {
		return sequence, Proof{Exact: true, Cost: cost, Bound: cost}
	}
	return sequence, Proof{Cost: cost, Bound: low}
}

func sameSteps(a, b []int) bool {
	return slices.Equal(slices.Sorted(slices.Values(a)), slices.Sorted(slices.Values(b)))
}

// better says whether one list has a lower J than another and exposes no less.
func (c *choice) better(a []int, proof Proof, b []int, other Proof) bool {
	return proof.Cost < other.Cost*(1-same) && Exposed(c.left, a) >= Exposed(c.left, b)*(1-same)
}

// trimmed starts from all checks that are worth it by themselves and drops
// those that are not at their place. What is worth adding at the end after all
// is added.
func (c *choice) trimmed() []int {
	var checks []int
	for i := range c.Steps {
		if c.worth(i, c.left.Weight) {
			checks = append(checks, i)
		}
	}
	steps := c.withNeeds(checks)
	for c.spend(len(steps) * len(c.Steps)) {
		steps, _ = c.order(steps, 0, roughWidth)
		kept := c.withNeeds(c.worthwhile(steps))
		if len(kept) == len(steps) {
			break
		}
		steps = kept
	}
	return append(steps, Greedy(c.Problem, slices.Concat(c.first, steps), c.allowed, c.options.Least)...)
}

// worth says whether step i exposes enough of what is left.
func (c *choice) worth(i int, left []float64) bool {
	gain := 0.0
	for _, f := range once(c.Steps[i].Finds) {
		gain += left[f.Cause] * f.Sure
	}
	return gain > 0 && gain >= c.options.Least
}

// worthwhile gives the checks of a list that are worth it at their place.
func (c *choice) worthwhile(sequence []int) []int {
	left := slices.Clone(c.left.Weight)
	var out []int
	for _, i := range sequence {
		if c.worth(i, left) {
			out = append(out, i)
		}
		c.expose(left, i)
	}
	return out
}

// withNeeds puts before each check what it needs, each step once. What cannot
// be done any more is left out.
func (c *choice) withNeeds(checks []int) []int {
	r := c.run()
	for _, i := range checks {
		r.takeBundle(bundle{steps: r.need(i)})
	}
	return r.out
}
