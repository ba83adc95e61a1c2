package lives

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Weibull is the Weibull distribution that fits lives best: the share that lasts
// longer than t hours is exp(-(t/Scale)^Shape).
type Weibull struct {
	Shape Estimate // below 1 parts fail early, at 1 by chance at any age, above 1 they wear out
	Scale float64  // hours at which 63 % have failed
	// Median is the age by which half have failed, Tenth that by which one in ten has.
	Median, Tenth Estimate
}

// Estimate is a figure with its limits. Without an upper limit Open is true and High 0.
type Estimate struct {
	Value, Low, High float64
	Open             bool
}

// Ending is how parts end, by the limits of the Weibull shape.
type Ending int

// How parts end.
const (
	NotTold Ending = iota // the limits of the shape leave 1 in: not told from chance at any age
	Early                 // both limits are below 1
	WearOut               // both limits are above 1
)

// Ending says how the parts end.
func (w *Weibull) Ending() Ending {
	switch {
	case w.Shape.Low > 1:
		return WearOut
	case w.Shape.High < 1 && !w.Shape.Open:
		return Early
	}
	return NotTold
}

// Bounds of a Weibull shape in every search.
const (
	leastShape = 0.01
	mostShape  = 500
)

// FewestForEnding is how many ended lives a word on how parts end needs: below, the
// limits of the shape are too narrow to be leant on.
const FewestForEnding = 5

// Fit finds the Weibull distribution of greatest likelihood, those that lasted at
// least so long included:
//
//	L = product over the ended of f(t) times product over the others of S(t)
//
// The limits are those of the likelihood ratio (Meeker and Escobar 1998, from memory):
// all values whose greatest likelihood is not below the best by more than half the
// chi-square of one degree of freedom. They are about right from some ten ended lives
// on, and a little narrow below. It gives nil if no single best exists: fewer than two
// lives ended, or none lasted longer than the shortest that ended. The error is for a
// confidence not between 0.5 and 0.999999.
func Fit(all []Life, confidence float64) (*Weibull, error) {
	if err := checkConfidence(confidence); err != nil {
		return nil, err
	}
	f := likelihood{lives: all, ended: float64(ended(all)), longest: longest(all)}
	if f.ended < 2 || f.score(mostShape) >= 0 {
		return nil, nil
	}
	shape := root(f.score, leastShape, mostShape)
	best := f.ofShape(shape)
	drop := distuv.ChiSquared{K: 1}.Quantile(confidence) / 2
	out := &Weibull{Shape: Estimate{Value: shape}, Scale: f.scale(shape)}
	out.Shape.limit(func(x float64) float64 { return best - drop - f.ofShape(x) }, leastShape, mostShape)
	out.Median = f.quantile(0.5, out, best-drop)
	out.Tenth = f.quantile(0.1, out, best-drop)
	return out, nil
}

// likelihood is the log likelihood of lives. Hours are counted in the longest of them,
// so that no power of them overflows.
type likelihood struct {
	lives          []Life
	ended, longest float64
}

// sums are the sum of t^shape over all lives, that with ln t, and the sum of ln t over
// the ended ones.
func (f *likelihood) sums(shape float64) (power, powerLog, logs float64) {
	for _, l := range f.lives {
		log := math.Log(l.Hours / f.longest)
		u := math.Exp(shape * log)
		power += u
		powerLog += u * log
		if l.Ended {
			logs += log
		}
	}
	return power, powerLog, logs
}

// score is the slope of the log likelihood of the shape, turned to rise, at its best scale.
func (f *likelihood) score(shape float64) float64 {
	power, powerLog, logs := f.sums(shape)
	return 1/shape + logs/f.ended - powerLog/power
}

// ofShape is the log likelihood of a shape at its best scale, less a constant.
func (f *likelihood) ofShape(shape float64) float64 {
	power, _, logs := f.sums(shape)
	return f.ended*math.Log(shape) + shape*logs - f.ended*math.Log(power/f.ended) - f.ended
}

func (f *likelihood) scale(shape float64) float64 {
	power, _, _ := f.sums(shape)
	return f.longest * math.Exp(math.Log(power/f.ended)/shape)
}

// ofQuantile is the log likelihood of a shape if the share failed by the age: scale =
// age / (-ln(1-share))^(1/shape). The constant is that of ofShape.
func (f *likelihood) ofQuantile(shape, age, share float64) float64 {
	c := -math.Log1p(-share)
	log := math.Log(age / f.longest)
	power, logs := 0.0, 0.0
	for _, l := range f.lives {
		t := math.Log(l.Hours/f.longest) - log
		power += math.Exp(shape * t)
		if l.Ended {
			logs += t
		}
	}
	return f.ended*math.Log(shape*c) + shape*logs - c*power
}

// quantile is the age by which a share has failed, with its limits.
func (f *likelihood) quantile(share float64, w *Weibull, least float64) Estimate {
	age := w.Scale * math.Pow(-math.Log1p(-share), 1/w.Shape.Value)
	out := Estimate{Value: age}
	// Near the best the likelihood of a quantile is greatest near the best shape.
	out.limit(func(x float64) float64 {
		return least - greatest(func(logShape float64) float64 { return f.ofQuantile(math.Exp(logShape), x, share) }, math.Log(leastShape), math.Log(mostShape))
	}, age*1e-9, age*1e9)
	return out
}

// limit finds where a function that is below 0 at the value rises through 0 on either
// side. Without such a place below, the limit is 0.
func (e *Estimate) limit(rises func(float64) float64, least, most float64) {
	e.Low = crossing(rises, e.Value, least, 0.5)
	e.High = crossing(rises, e.Value, most, 2)
	e.Open = e.High == 0
}

// crossing goes from inside by a factor until the function is above 0, then closes in
// to a ten-thousandth; 0 if it meets the end first.
func crossing(rises func(float64) float64, inside, end, factor float64) float64 {
	for {
		outside := inside * factor
		if (outside-end)*(factor-1) > 0 {
			return 0
		}
		if rises(outside) > 0 {
			for math.Abs(outside/inside-1) > 1e-4 {
				middle := math.Sqrt(inside * outside)
				if rises(middle) > 0 {
					outside = middle
				} else {
					inside = middle
				}
			}
			return math.Sqrt(inside * outside)
		}
		inside = outside
	}
}

// root is where a function that falls through 0 between low and high does so, by halving.
func root(falls func(float64) float64, low, high float64) float64 {
	for range 200 {
		middle := low + (high-low)/2
		if middle <= low || middle >= high {
			break
		}
		if falls(middle) > 0 {
			low = middle
		} else {
			high = middle
		}
	}
	return low
}

// greatest is the greatest value of a function with one hump between low and high, by
// the golden section.
func greatest(f func(float64) float64, low, high float64) float64 {
	const golden = 0.6180339887498949
	a, b := high-golden*(high-low), low+golden*(high-low)
	fa, fb := f(a), f(b)
	for high-low > 1e-4 {
		if fa < fb {
			low, a, fa = a, b, fb
			b = low + golden*(high-low)
			fb = f(b)
		} else {
			high, b, fb = b, a, fa
			a = high - golden*(high-low)
			fa = f(a)
		}
	}
	return math.Max(fa, fb)
}
