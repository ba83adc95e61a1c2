package lives

import "fmt"

// LifeTest is a count of replacements held against the life that is expected.
type LifeTest struct {
	Expected float64 // replacements that the expected life makes of the hours
	// P is one-sided: the probability of as many replacements or more, if parts last
	// as expected. Small means that they fail too often.
	P float64
	// Chance is the probability that parts last less than expected, if nothing was known
	// of the rate beforehand (Jeffreys prior).
	Chance float64
	// Needed is the smallest count in these hours whose P is at most 1-confidence.
	Needed int
	Shown  bool // P is at most 1-confidence
}

// AgainstLife tests whether parts fail more often than one in lifeHours, the mean hours
// that a part is expected to last (from the crew, the rulebook or an older record: it is
// taken as exact). P is the exact Poisson tail; Chance is
//
//	P(rate > 1/life) = Q(n+1/2, hours/life)
//
// with Q the upper regularised incomplete gamma function: after n events the Jeffreys
// prior rate^(-1/2) makes the rate gamma of shape n+1/2 over the hours. It is an error
// if the life is not between 0.01 and 1e8 hours or makes more than 100000 replacements
// of the hours; others as in RateOf.
func AgainstLife(c Count, lifeHours, confidence float64) (LifeTest, error) {
	err := firstError(c.check(), checkRange("expected life in hours", lifeHours, minHours, maxHours), checkConfidence(confidence))
	if err != nil {
		return LifeTest{}, err
	}
	mean, alpha := c.Hours/lifeHours, 1-confidence
	if mean > maxEvents {
		return LifeTest{}, fmt.Errorf("a life of %g hours makes %.0f replacements of %g hours: that is no life", lifeHours, mean, c.Hours)
	}
	_, chance := gammaShares(float64(c.Events)+0.5, mean)
	p := poissonAtLeast(c.Events, mean)
	needed := leastWhere(1, 2*maxEvents, func(n int) bool { return poissonAtLeast(n, mean) <= alpha })
	return LifeTest{Expected: mean, P: p, Chance: chance, Needed: needed, Shown: p <= alpha}, nil
}
