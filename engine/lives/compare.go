package lives

import "math"

// Comparison is the rate of one group against the rest.
type Comparison struct {
	Confidence float64
	// Ratio is the rate of the one over the rate of the rest, Low and High its exact
	// limits. If the rest had no event, there is no upper bound: Unbounded is true and
	// Ratio and High are 0.
	Ratio, Low, High float64
	Unbounded        bool
	// P is central and two-sided: twice the smaller tail, at most 1, if both rates are
	// the same. It is meant for a group named before looking at the counts; for the
	// worst of several use WorstOf.
	P float64
}

// Compare tests whether one group and the rest have the same rate. Given the total n,
// the events of the one are binomial with the share h1/(h1+h2) of the hours (Przyborowski
// and Wilenski, Biometrika 31, 1940); the limits of the ratio are those of Clopper and
// Pearson (1934) for that share, turned into odds. Errors are as in RateOf.
func Compare(one, rest Count, confidence float64) (Comparison, error) {
	if err := firstError(one.check(), rest.check(), checkConfidence(confidence)); err != nil {
		return Comparison{}, err
	}
	n, odds := one.Events+rest.Events, one.Hours/rest.Hours
	c := Comparison{
		Confidence: confidence,
		P:          math.Min(1, 2*math.Min(atLeast(n, one.Events, odds), atLeast(n, rest.Events, 1/odds))),
	}
	tail := (1 - confidence) / 2
	if one.Events > 0 {
		c.Low = solve(func(o float64) float64 { return atLeast(n, one.Events, o) - tail }) / odds
	}
	if rest.Events == 0 {
		c.Unbounded = true
		return c, nil
	}
	c.Ratio = float64(one.Events) / float64(rest.Events) / odds
	c.High = solve(func(o float64) float64 { return tail - atLeast(n, rest.Events, 1/o) }) / odds
	return c, nil
}

// ChanceWorse is the probability that the rate of the one is more than so many times
// the mean rate of its sisters, if nothing was known of either rate beforehand (Jeffreys
// priors: gamma of n+1/2 over the hours). Exact, since the share of the one is then
// Beta(n1+1/2, n2+1/2):
//
//	P(rate1 > times*rate2) = P(share > times*h1/(times*h1+h2))
//
// It is not corrected for picking the worst after looking, and cannot be: a prior that
// says nothing of the rates also says that sisters are seldom alike. Of three cylinders
// that are alike, with 14 replacements, the one picked as worst passes 0.95 in about one
// record of six. So let WorstOf say whether, and this how much. Errors are as in RateOf, or if
// times is not between 0.001 and 1000.
func ChanceWorse(one, sisters Count, times float64) (float64, error) {
	err := firstError(one.check(), sisters.check(), checkRange("times the rate of the sisters", times, 1e-3, 1e3))
	if err != nil {
		return 0, err
	}
	odds := times * one.Hours / sisters.Hours
	_, above := betaShares(float64(one.Events)+0.5, float64(sisters.Events)+0.5, odds)
	return above, nil
}

// atLeast is P(X >= k) for X binomial of n with the share odds/(1+odds).
func atLeast(n, k int, odds float64) float64 {
	if k <= 0 {
		return 1
	}
	if k > n {
		return 0
	}
	below, _ := betaShares(float64(k), float64(n-k)+1, odds)
	return below
}
