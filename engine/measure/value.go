package measure

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// largest is the greatest number accepted. It is far beyond any length on a rig and far
// from overflow when squared and summed.
const largest = 1e12

// Value is a best estimate with its standard uncertainty, both in the same unit (metres
// for a length, metres per metre for a slope). In JSON it is a length.
type Value struct {
	Mean float64 `json:"metres"`
	U    float64 `json:"u_metres"` // standard uncertainty, never below 0
}

// Length is a Value in metres.
type Length = Value

// Check returns an error if the value is not a number that can be worked with.
func (v Value) Check() error {
	if err := checkNumber("value", v.Mean); err != nil {
		return err
	}
	if err := checkNumber("uncertainty", v.U); err != nil {
		return err
	}
	if v.U < 0 {
		return fmt.Errorf("uncertainty %g is below 0", v.U)
	}
	return nil
}

func checkNumber(what string, x float64) error {
	if math.IsNaN(x) {
		return fmt.Errorf("%s is not a number", what)
	}
	if math.Abs(x) > largest {
		return fmt.Errorf("%s %g is too large", what, x)
	}
	return nil
}

// FromStep is a reading of an instrument that shows steps (a dial, a digital display):
// the true value lies evenly within half a step either side, so U = step/sqrt(12)
// (GUM F.2.2.1). A step below 0 gives a value that Check refuses, and so do the ones below.
func FromStep(reading, step float64) Value { return FromHalfWidth(reading, step/2) }

// FromLargestLeaf is a feeler reading where the leaf "reading" enters and the next one,
// thicker by step, does not: the gap lies evenly between the two, so its best estimate is
// half a step above the leaf that entered, and U = step/sqrt(12). The half step cancels
// in the difference of two gaps but not in a gap by itself.
func FromLargestLeaf(reading, step float64) Value { return FromHalfWidth(reading+step/2, step/2) }

// FromRange is a value known only to lie between lo and hi (GUM 4.3.7).
func FromRange(lo, hi float64) Value { return FromHalfWidth(lo+(hi-lo)/2, (hi-lo)/2) }

// FromHalfWidth is a value known to lie evenly within half of mean: U = half/sqrt(3)
// (GUM 4.3.7).
func FromHalfWidth(mean, half float64) Value { return Value{Mean: mean, U: half / math.Sqrt(3)} }

// HalfWidth is the half width of the even (rectangular) spread that has this U: the most
// by which a reading can be off if its resolution is all that is wrong with it.
func (v Value) HalfWidth() float64 { return v.U * math.Sqrt(3) }

// Plus is the sum of two independent values (GUM equation 10).
func (v Value) Plus(w Value) Value { return Value{v.Mean + w.Mean, math.Hypot(v.U, w.U)} }

// Minus is the difference of two independent values (GUM equation 10).
func (v Value) Minus(w Value) Value { return Value{v.Mean - w.Mean, math.Hypot(v.U, w.U)} }

// Times is the value multiplied by an exact factor.
func (v Value) Times(c float64) Value { return Value{c * v.Mean, math.Abs(c) * v.U} }

// Mean is the mean of one or more independent values.
func Mean(values ...Value) Value {
	var total Value
	for _, v := range values {
		total = total.Plus(v)
	}
	return total.Times(1 / float64(len(values)))
}

// Spread is the largest of independent values less the smallest; 0 for fewer than two. It
// comes out above 0 by chance alone: compare it with its U.
func Spread(values ...Value) Value {
	if len(values) < 2 {
		return Value{}
	}
	return slices.MaxFunc(values, Compare).Minus(slices.MinFunc(values, Compare))
}

// Compare puts the smaller best estimate first.
func Compare(a, b Value) int { return cmp.Compare(a.Mean, b.Mean) }

// Differs says whether the value lies further from 0 than k of its uncertainties. A value
// without uncertainty differs unless it is 0.
func (v Value) Differs(k float64) bool { return math.Abs(v.Mean) > k*v.U }

// Above is the probability that the true value is above the limit, the value being
// normally distributed. Without uncertainty it is 0 or 1; a value at the limit is not above it.
func (v Value) Above(limit float64) float64 { return tail(limit-v.Mean, v.U) }

// Below is the probability that the true value is below the limit, as Above.
func (v Value) Below(limit float64) float64 { return tail(v.Mean-limit, v.U) }

// BelowEven is the probability that the true value is below a limit that lies evenly from
// lo to hi: the mean of Below over them. With u the uncertainty and d the distance of a
// limit from the mean, the integral of the normal distribution function is
// d F(d/u) + u f(d/u). hi is taken for lo if it is not above it.
func (v Value) BelowEven(lo, hi float64) float64 {
	if hi <= lo {
		return v.Below(lo)
	}
	area := func(limit float64) float64 {
		d := limit - v.Mean
		if v.U == 0 {
			return math.Max(0, d)
		}
		z := d / v.U
		return d*math.Erfc(-z/math.Sqrt2)/2 + v.U*math.Exp(-z*z/2)/math.Sqrt(2*math.Pi)
	}
	return math.Min(1, math.Max(0, (area(hi)-area(lo))/(hi-lo)))
}

// Between is the probability that the true value lies from lo to hi. It is 0 if hi < lo.
func (v Value) Between(lo, hi float64) float64 {
	switch {
	case hi < lo:
		return 0
	case v.U == 0:
		return 1 - v.Below(lo) - v.Above(hi)
	case lo > v.Mean: // both on one side: the difference of two tails keeps its digits
		return v.Above(lo) - v.Above(hi)
	case hi < v.Mean:
		return v.Below(hi) - v.Below(lo)
	}
	return 1 - v.Below(lo) - v.Above(hi)
}

// tail is the probability that a normal value of standard deviation u exceeds its mean
// by more than distance. math.Erfc keeps the small tails right.
func tail(distance, u float64) float64 {
	if u > 0 {
		return math.Erfc(distance/u/math.Sqrt2) / 2
	}
	if distance < 0 {
		return 1
	}
	return 0
}
