package lives

import (
	"math"
	"sort"
)

// gammaShares are the regularised incomplete gamma functions P(a, x) and Q(a, x) = 1-P,
// for a > 0 and x >= 0: the probabilities that a gamma variable of shape a is below and
// above x. The one that is small is computed itself, by the series below the mean and by
// the continued fraction above it (Abramowitz and Stegun 6.5.29 and 6.5.31).
func gammaShares(a, x float64) (lower, upper float64) {
	if x <= 0 {
		return 0, 1
	}
	logGamma, _ := math.Lgamma(a)
	front := math.Exp(a*math.Log(x) - x - logGamma)
	if x < a+1 {
		lower = within01(front * gammaSeries(a, x))
		return lower, 1 - lower
	}
	upper = within01(front * continued(x+1-a, func(i float64) (num, den float64) {
		return -i * (i - a), x + 2*i + 1 - a
	}))
	return 1 - upper, upper
}

// gammaSeries is sum over k of x^k / (a(a+1)...(a+k)).
func gammaSeries(a, x float64) float64 {
	term := 1 / a
	sum := term
	for k := 1.0; term > sum*1e-17; k++ {
		term *= x / (a + k)
		sum += term
	}
	return sum
}

// betaShares are the regularised incomplete beta functions I_x(a, b) and 1-I, for a, b > 0
// and x = odds/(1+odds). The one that is small is computed itself. Odds keep their digits
// where x is near 1.
func betaShares(a, b, odds float64) (below, above float64) {
	if odds*(b+1) < a+1 {
		below = betaLower(a, b, odds)
		return below, 1 - below
	}
	above = betaLower(b, a, 1/odds)
	return 1 - above, above
}

// betaLower is I_x(a, b) by the continued fraction of Abramowitz and Stegun 26.5.8, which
// is quick for x up to about the mean.
func betaLower(a, b, odds float64) float64 {
	x := odds / (1 + odds)
	ga, _ := math.Lgamma(a)
	gb, _ := math.Lgamma(b)
	gab, _ := math.Lgamma(a + b)
	front := math.Exp(gab-ga-gb-a*math.Log1p(1/odds)-b*math.Log1p(odds)) / a
	return within01(front * continued(1, func(i float64) (num, den float64) {
		m := math.Floor(i / 2)
		if i == 2*m {
			return m * (b - m) * x / ((a + i - 1) * (a + i)), 1
		}
		return -(a + m) * (a + b + m) * x / ((a + i - 1) * (a + i)), 1
	}))
}

// continued is 1/(first + n1/(d1 + n2/(d2 + ...))), by the method of Lentz.
func continued(first float64, part func(i float64) (num, den float64)) float64 {
	const tiny = 1e-300 // stands in for a zero on the way
	d := 1 / nonzero(first, tiny)
	c, value := 1/tiny, d
	for i := 1.0; i < 1e5; i++ {
		num, den := part(i)
		d = 1 / nonzero(den+num*d, tiny)
		c = nonzero(den+num/c, tiny)
		value *= c * d
		if math.Abs(c*d-1) < 1e-15 {
			break
		}
	}
	return value
}

func nonzero(x, tiny float64) float64 {
	if math.Abs(x) < tiny {
		return tiny
	}
	return x
}

// within01 takes off what rounding adds to a probability.
func within01(p float64) float64 { return math.Min(1, math.Max(0, p)) }

// solve is the positive root of a function that rises from below 0 at 0 to above 0, to the
// last digit.
func solve(rising func(float64) float64) float64 {
	low, high := 0.0, 1.0
	for rising(high) < 0 {
		low, high = high, 2*high
	}
	for {
		middle := low + (high-low)/2
		if middle <= low || middle >= high {
			return high
		}
		if rising(middle) < 0 {
			low = middle
		} else {
			high = middle
		}
	}
}

// leastWhere is the smallest whole number from low on where a condition holds that stays
// true once it is true, or end if it holds nowhere before.
func leastWhere(low, end int, holds func(int) bool) int {
	return low + sort.Search(end-low, func(i int) bool { return holds(low + i) })
}
