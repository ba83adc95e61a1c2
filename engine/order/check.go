package order

import (
	"errors"
	"fmt"
	"math"
)

// errCircle is the mistake of steps that wait for each other.
var errCircle = errors.New("order: steps wait for each other in a circle")

// Check says what is wrong with a problem: numbers that are negative, infinite
// or no numbers, a Sure above 1, an index out of range, a circle in Before.
func (p *Problem) Check() error {
	for c, w := range p.Weight {
		if !(w >= 0) || math.IsInf(w, 1) {
			return fmt.Errorf("order: cause %d has the weight %g", c, w)
		}
	}
	for i, s := range p.Steps {
		if !(s.Minutes >= 0) || math.IsInf(s.Minutes, 1) {
			return fmt.Errorf("order: step %d takes %g minutes", i, s.Minutes)
		}
		for _, j := range s.Before {
			if j < 0 || j >= len(p.Steps) {
				return fmt.Errorf("order: step %d comes after step %d, which is not there", i, j)
			}
		}
		for _, f := range s.Finds {
			if f.Cause < 0 || f.Cause >= len(p.Weight) {
				return fmt.Errorf("order: step %d finds cause %d, which is not there", i, f.Cause)
			}
			if !(f.Sure >= 0 && f.Sure <= 1) {
				return fmt.Errorf("order: step %d finds cause %d with the chance %g", i, f.Cause, f.Sure)
			}
		}
	}
	minutes := 0.0
	for _, s := range p.Steps {
		minutes += s.Minutes
	}
	if math.IsInf(minutes*sum(p.Weight), 1) {
		return errors.New("order: the minutes and weights are too large to add up")
	}
	if p.circle() {
		return errCircle
	}
	return nil
}

// circle follows Before from every step, marking what is on the way.
func (p *Problem) circle() bool {
	const onTheWay, finished = 1, 2
	state := make([]uint8, len(p.Steps))
	var visit func(int) bool
	visit = func(i int) bool {
		if state[i] != 0 {
			return state[i] == onTheWay
		}
		state[i] = onTheWay
		for _, j := range p.Steps[i].Before {
			if visit(j) {
				return true
			}
		}
		state[i] = finished
		return false
	}
	for i := range p.Steps {
		if visit(i) {
			return true
		}
	}
	return false
}

// fits says what is wrong with the steps done and allowed.
func (p *Problem) fits(first []int, allowed []bool, options Options) error {
	if len(allowed) != len(p.Steps) {
		return fmt.Errorf("order: %d steps, but %d are told to be allowed or not", len(p.Steps), len(allowed))
	}
	for _, i := range first {
		if i < 0 || i >= len(p.Steps) {
			return fmt.Errorf("order: step %d is done, but it is not there", i)
		}
	}
	if math.IsNaN(options.Least) {
		return errors.New("order: the least gain is not a number")
	}
	return nil
}
