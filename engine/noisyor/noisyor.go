package noisyor

import (
	"errors"
	"fmt"
	"math"
)

// Yield is how one source answers one observation: the mass with which it
// yields what was observed and the mass with which it yields nothing. What is
// missing to 1 contradicts the observation.
type Yield struct{ Yes, No float64 }

// either is the yield of two independent sources together.
func either(a, b Yield) Yield {
	return Yield{Yes: a.Yes*(b.Yes+b.No) + a.No*b.Yes, No: a.No * b.No}
}

// Link is the yield of one cause, if present, for one observation.
type Link struct {
	Cause int
	Yield
}

// Observation is one symptom as observed: the background's yield and one link
// for each cause that can show it, at most one for a cause.
type Observation struct {
	Background Yield
	Links      []Link
}

// Problem is a set of independent causes with what was observed.
type Problem struct {
	Prior   []float64 // P(present) of each cause; 0 and 1 are allowed
	Present []Observation
	Absent  []Observation // of these only No counts
}

// Answer is the exact posterior.
type Answer struct {
	// Evidence is the probability of everything that was observed.
	Evidence float64
	// Posterior is P(cause | observed).
	Posterior []float64
	// Odds is P(cause | observed) / P(not cause | observed); +Inf for a
	// certain cause.
	Odds []float64
}

// DefaultMaxWidth is the greatest width that a Solver computes unless told
// otherwise: about 200 MB and a second or two.
const DefaultMaxWidth = 20

// ErrImpossible says that what was observed has probability 0.
var ErrImpossible = errors.New("the evidence is impossible")

// TooWideError says that the evidence is past what is computed exactly.
type TooWideError struct{ Width, Max int }

// Error gives both numbers.
func (e *TooWideError) Error() string {
	return fmt.Sprintf("%d findings must be weighed together; at most %d can be", e.Width, e.Max)
}

const slack = 1e-12 // rounding allowed in Yes + No <= 1

func (p *Problem) check() error {
	for i, prior := range p.Prior {
		if !(prior >= 0 && prior <= 1) {
			return fmt.Errorf("noisyor: prior of cause %d is %g, want 0 to 1", i, prior)
		}
	}
	seen := make([]int, len(p.Prior))
	number := 0
	for _, side := range [2][]Observation{p.Present, p.Absent} {
		for _, o := range side {
			number++
			if err := o.Background.check(); err != nil {
				return fmt.Errorf("noisyor: background of observation %d: %w", number, err)
			}
			for _, l := range o.Links {
				if l.Cause < 0 || l.Cause >= len(p.Prior) {
					return fmt.Errorf("noisyor: observation %d links to cause %d of %d", number, l.Cause, len(p.Prior))
				}
				if seen[l.Cause] == number {
					return fmt.Errorf("noisyor: observation %d links to cause %d twice", number, l.Cause)
				}
				seen[l.Cause] = number
				if err := l.Yield.check(); err != nil {
					return fmt.Errorf("noisyor: link of observation %d to cause %d: %w", number, l.Cause, err)
				}
			}
		}
	}
	return nil
}

func (y Yield) check() error {
	if !(y.Yes >= 0 && y.No >= 0 && y.Yes+y.No <= 1+slack) || math.IsInf(y.Yes+y.No, 0) {
		return fmt.Errorf("yes %g and no %g, want both from 0 and a sum of at most 1", y.Yes, y.No)
	}
	return nil
}
