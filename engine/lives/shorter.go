package lives

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mathext"
)

// Shapes is the range of Weibull shapes that a wear part can have, as far as the caller
// holds it possible.
type Shapes struct{ Least, Most float64 }

// shapeSteps is how many shapes stand for the range; the integrands are smooth.
const shapeSteps = 81

// ChanceShorter is the probability that the mean life at one place is below so many
// hours. Lives are Weibull with one shape for all places, of which nothing is known but
// its range (flat in its logarithm), and a scale for each place. Given the shape b, the
// failures are a Poisson process in t^b, whose rate gets Jeffreys' prior:
//
//	rate = scale^-b is gamma of shape failures+1/2 over the sum of t^b
//	P(mean < hours) = Q(failures+1/2, (Gamma(1+1/b)/hours)^b * sum of t^b)
//
// with Q the upper regularised incomplete gamma function. The shapes are weighed by the
// likelihood of all lives. It is an error if the range of the shape is not from 0.1 to
// 20 or hours are not between 0.01 and 1e8.
func ChanceShorter(all []Life, place int, hours float64, shapes Shapes) (float64, error) {
	if err := checkRange("expected life in hours", hours, 0.01, mostHours); err != nil {
		return 0, err
	}
	return overShapes(all, shapes, func(b float64, of []exposure, unit float64) float64 {
		limit := b * (lgamma(1+1/b) - math.Log(hours/unit))
		return mathext.GammaIncRegComp(of[place].failures+0.5, math.Exp(limit+of[place].logSum))
	})
}

// ChanceShorterThanSisters is the probability that the mean life at one place is below
// that at all others together, divided by times, under the same model. It is not
// corrected for picking the place after looking: let WorstOf say whether, and this how
// much. Errors are as in ChanceShorter, or if times is not between 0.001 and 1000.
func ChanceShorterThanSisters(all []Life, place int, times float64, shapes Shapes) (float64, error) {
	if err := checkRange("times the life of the sisters", times, 1e-3, 1e3); err != nil {
		return 0, err
	}
	two := make([]Life, len(all)) // the place is 0, the rest 1
	for i, l := range all {
		two[i] = l
		two[i].Place = 1
		if l.Place == place {
			two[i].Place = 0
		}
	}
	return overShapes(two, shapes, func(b float64, of []exposure, _ float64) float64 {
		if len(of) < 2 {
			return 0.5
		}
		// rate of the place over that of the rest above times^b; the share of the place's
		// rate times its sum in both is Beta(failures+1/2, failures of the rest+1/2).
		odds := b*math.Log(times) + of[0].logSum - of[1].logSum
		return 1 - mathext.RegIncBeta(of[0].failures+0.5, of[1].failures+0.5, 1/(1+math.Exp(-odds)))
	})
}

// exposure is what the lives at one place come to for one shape b.
type exposure struct {
	failures float64
	logSum   float64 // ln of the sum of t^b
}

// overShapes is the mean of a chance over the shapes, weighed by the likelihood of the
// lives with the rate of each place integrated out. Hours are counted in a unit near
// the lives, so that Jeffreys' prior does not lean on the unit of time.
func overShapes(all []Life, shapes Shapes, chance func(b float64, of []exposure, unit float64) float64) (float64, error) {
	for _, b := range []float64{shapes.Least, shapes.Most} {
		if err := checkRange("shape", b, 0.1, 20); err != nil {
			return 0, err
		}
	}
	unit := middle(all)
	logs, values := make([]float64, shapeSteps), make([]float64, shapeSteps) // logs of the weights
	for k := range shapeSteps {
		b := shapes.Least * math.Pow(shapes.Most/shapes.Least, float64(k)/(shapeSteps-1))
		of, logFailures := exposures(all, b, unit)
		logs[k] = b * logFailures
		for _, e := range of {
			if !math.IsInf(e.logSum, -1) {
				logs[k] += e.failures*math.Log(b) + lgamma(e.failures+0.5) - (e.failures+0.5)*e.logSum
			}
		}
		values[k] = chance(b, of, unit)
	}
	floats.AddConst(-floats.LogSumExp(logs), logs)
	sum := 0.0
	for k, v := range values {
		sum += math.Exp(logs[k]) * v
	}
	return math.Min(1, math.Max(0, sum)), nil
}

// exposures gives the exposure of each place and the sum of ln t over the failures.
func exposures(all []Life, b, unit float64) (out []exposure, logFailures float64) {
	for _, l := range all {
		for len(out) <= l.Place {
			out = append(out, exposure{logSum: math.Inf(-1)})
		}
		e := &out[l.Place]
		log := math.Log(l.Hours / unit)
		e.logSum = logAdd(e.logSum, b*log)
		if l.End == Failed {
			e.failures++
			logFailures += log
		}
	}
	return out, logFailures
}

// middle is the geometric mean of the lives that ended in failure, or of all if none did.
func middle(all []Life) float64 {
	any := CountOf(all).Failed == 0
	sum, n := 0.0, 0.0
	for _, l := range all {
		if l.End == Failed || any {
			sum += math.Log(l.Hours)
			n++
		}
	}
	return math.Exp(sum / n)
}

func logAdd(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	return a + math.Log1p(math.Exp(b-a))
}

func lgamma(x float64) float64 {
	v, _ := math.Lgamma(x)
	return v
}
