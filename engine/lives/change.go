package lives

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Advice says whether there is an age at which a part is best changed before it fails.
type Advice string

// Whether there is such an age.
const (
	ChangeAtAge  Advice = "change at this age"
	NoWearOut    Advice = "no such age: wear-out is not shown"
	BeyondRecord Advice = "no such age: beyond what the record can say"
	TooFewToSay  Advice = "too few failures"
)

// Change is the age at which a part is best changed before it fails.
type Change struct {
	Says Advice `json:"says"`
	// Age costs least by the best fit. Its limits are the ages that would by the other fits
	// that the lives allow. Nil unless there is such an age.
	Age *Estimate `json:"age_h,omitempty"`
	// Saves is the share of the cost of running to failure that changing at Age.Value
	// saves; its low limit is below 0 if by some of those fits it costs more. Most of its
	// doubt is how long parts last, not the age.
	Saves *Estimate `json:"saves,omitempty"`
}

// mostCostRatio is how many times a planned change a failure can cost.
const mostCostRatio = 1000

// ChangeAt is the age at which a part is best changed, if it has not failed before, where
// a failure costs costRatio times a planned change (age replacement; Barlow and
// Proschan 1965, from memory). It is where the cost of an hour is least:
//
//	cost of an hour = (R(T) + costRatio F(T)) / integral of R from 0 to T
//
// with R the share that lasts longer than T and F the rest. Parts that wear out have one
// such age, where h(T) integral of R - F(T) = 1/(costRatio-1) with h the rate of failing.
// There is none unless wear-out is shown, or if it lies beyond the longest life, where
// the fit has nothing under it. The cost is that of the part, its work and what stands
// still; nothing is taken of harm to people, which no saving pays. It is an error if
// costRatio is not above 1 and at most 1000.
func (w *Weibull) ChangeAt(costRatio float64) (Change, error) {
	if !(costRatio > 1 && costRatio <= mostCostRatio) {
		return Change{}, fmt.Errorf("a failure at %g times the cost of a planned change: must be above 1 and at most %d", costRatio, mostCostRatio)
	}
	switch w.Ending() {
	case TooFewFailed:
		return Change{Says: TooFewToSay}, nil
	case NotTold, Early:
		return Change{Says: NoWearOut}, nil
	}
	age := w.estimate(func(shape float64) func(scale float64) float64 {
		best := bestAge(shape, costRatio)
		return func(scale float64) float64 { return best * scale }
	})
	if age.Value > w.Longest {
		return Change{Says: BeyondRecord}, nil
	}
	saves := w.estimate(func(shape float64) func(scale float64) float64 {
		return func(scale float64) float64 { return saving(shape, age.Value/scale, costRatio) }
	})
	return Change{Says: ChangeAtAge, Age: &age, Saves: &saves}, nil
}

// mostAge is the age in scales beyond which none is looked for.
const mostAge = 1e6

// bestAge is the age of least cost, in scales, of a shape above 1; infinite if it is
// beyond mostAge.
func bestAge(shape, costRatio float64) float64 {
	rises := func(age float64) float64 {
		rate := shape * math.Pow(age, shape-1)
		return rate*lasted(shape, age) + math.Expm1(-math.Pow(age, shape)) - 1/(costRatio-1)
	}
	if rises(mostAge) <= 0 {
		return math.Inf(1)
	}
	return between(rises, 1e-9, mostAge, 1e-7)
}

// saving is the share of the cost of an hour that changing at an age saves, against
// running to failure. The age is in scales.
func saving(shape, age, costRatio float64) float64 {
	fails := -math.Expm1(-math.Pow(age, shape))
	return 1 - (1-fails+costRatio*fails)/costRatio*math.Gamma(1+1/shape)/lasted(shape, age)
}

// lasted is the mean hours, in scales, that a part runs to its failure or to an age,
// whichever comes first: the integral of exp(-x^shape) from 0 to the age.
func lasted(shape, age float64) float64 {
	power := math.Pow(age, shape)
	switch mean := math.Gamma(1 + 1/shape); {
	case power < 1e-12:
		return age
	case power > 700:
		return mean
	default:
		return mean * mathext.GammaIncReg(1/shape, power)
	}
}
