package order

import "slices"

// Step is one thing to do. Access and safety steps find nothing.
type Step struct {
	Minutes float64
	Before  []int // steps that must be done earlier
	Finds   []Find
}

// Find says how surely a step exposes a cause that is there.
type Find struct {
	Cause int
	Sure  float64
}

// Problem is the steps and the weight of each cause.
type Problem struct {
	Steps  []Step
	Weight []float64
	// Spend takes moves out of a budget, about as many as steps and finds are looked at, and
	// says whether they may be made: if not, the order is given up as far as it is. nil: they
	// always may.
	Spend func(moves int) bool
}

func (p *Problem) spend(moves int) bool { return p.Spend == nil || p.Spend(moves) }

// Cost is J of doing the steps in this order, in weight times minutes.
func Cost(p *Problem, sequence []int) float64 {
	left := slices.Clone(p.Weight)
	cost := 0.0
	for _, i := range sequence {
		cost += p.Steps[i].Minutes * sum(left)
		p.expose(left, i)
	}
	return cost
}

// Exposed is the weight that the sequence brings to light.
func Exposed(p *Problem, sequence []int) float64 {
	left := slices.Clone(p.Weight)
	for _, i := range sequence {
		p.expose(left, i)
	}
	return sum(p.Weight) - sum(left)
}

// MeanTime is the mean minutes until a check exposes a cause, over the causes
// by their weight, given that the sequence exposes it; 0 if it exposes none.
func MeanTime(p *Problem, sequence []int) float64 {
	left := slices.Clone(p.Weight)
	clock, timed, exposed := 0.0, 0.0, 0.0
	for _, i := range sequence {
		clock += p.Steps[i].Minutes
		before := sum(left)
		p.expose(left, i)
		timed += (before - sum(left)) * clock
		exposed += before - sum(left)
	}
	if exposed <= 0 {
		return 0
	}
	return timed / exposed
}

func sum(xs []float64) float64 {
	total := 0.0
	for _, x := range xs {
		total += x
	}
	return total
}

func (p *Problem) expose(left []float64, step int) {
	for _, f := range p.Steps[step].Finds {
		left[f.Cause] *= 1 - f.Sure
	}
}
