package lives

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
)

// minimumLikelihood is the other two-sided p: the sum over all outcomes that are no
// likelier than the one seen (with the tolerance that R uses).
func minimumLikelihood(one, rest Count) float64 {
	n := one.Events + rest.Events
	b := distuv.Binomial{N: float64(n), P: one.Hours / (one.Hours + rest.Hours)}
	p := 0.0
	for k := range n + 1 {
		if b.Prob(float64(k)) <= b.Prob(float64(one.Events))*(1+1e-7) {
			p += b.Prob(float64(k))
		}
	}
	return p
}

// The example of two rates in the help page of R's poisson.test: ratio and minimum-likelihood
// p were read there. The central p and the limits were computed elsewhere; poisson.test
// prints the same limits (from memory).
func TestTwoRatesOfR(t *testing.T) {
	one, rest := Count{11, 800}, Count{6 + 8 + 7, 1083 + 1050 + 878}
	c, err := Compare(one, rest, 0.95)
	require.NoError(t, err)
	assert.InDelta(t, 1.971488, c.Ratio, 5e-7)
	assert.InDelta(t, 0.8584264, c.Low, 5e-8)
	assert.InDelta(t, 4.2772659, c.High, 5e-8)
	assert.InDelta(t, 0.11202, c.P, 5e-6, "central")
	assert.InDelta(t, 0.07966863, minimumLikelihood(one, rest), 5e-9, "minimum likelihood")
}

// The vignette of Fay's rateratio.test calls this barely not significant: the central p
// agrees with the interval, which just holds 1, and the minimum-likelihood p does not.
func TestTwoRatesOfFay(t *testing.T) {
	one, rest := Count{2, 17877}, Count{9, 16660}
	c, err := Compare(one, rest, 0.95)
	require.NoError(t, err)
	assert.InDelta(t, 0.05011, c.P, 5e-6)
	assert.InDelta(t, 0.02177, c.Low, 5e-6)
	assert.InDelta(t, 1.00055, c.High, 5e-6)
	assert.InDelta(t, 0.03309, minimumLikelihood(one, rest), 5e-6)
}

// 9 pistons against 5 in the two sisters. Clopper and Pearson limits as F quantiles.
func TestOneAgainstSisters(t *testing.T) {
	c, err := Compare(Count{9, 1000}, Count{5, 2000}, 0.95)
	require.NoError(t, err)
	assert.InDelta(t, 3.6, c.Ratio, 1e-12)
	assert.InDelta(t, 2*0.01743, c.P, 1e-5)
	low := 9 * fQuantile(0.025, 18, 12) / 6
	high := 10 * fQuantile(0.975, 20, 10) / 5
	assert.InEpsilon(t, 2*low, c.Low, 1e-9)
	assert.InEpsilon(t, 2*high, c.High, 1e-9)
}

func fQuantile(p, d1, d2 float64) float64 {
	x := distuv.Beta{Alpha: d1 / 2, Beta: d2 / 2}.Quantile(p)
	return d2 * x / (d1 * (1 - x))
}

func TestNothingToCompare(t *testing.T) {
	c, err := Compare(Count{0, 100}, Count{0, 200}, 0.95)
	require.NoError(t, err)
	assert.Equal(t, Comparison{Confidence: 0.95, P: 1, Unbounded: true}, c)

	c, err = Compare(Count{4, 100}, Count{0, 200}, 0.95)
	require.NoError(t, err)
	assert.True(t, c.Unbounded)
	assert.InDelta(t, 2/math.Pow(3, 4), c.P, 1e-12)
	// P(4 of 4) = 0.025 at the share 0.025^(1/4).
	share := math.Pow(0.025, 0.25)
	assert.InEpsilon(t, 2*share/(1-share), c.Low, 1e-9)
}

// Against integrating the two gamma posteriors numerically.
func TestChanceWorseIntegrated(t *testing.T) {
	for _, row := range []struct {
		one, sisters Count
		times        float64
	}{
		{Count{9, 1000}, Count{5, 2000}, 1}, {Count{9, 1000}, Count{5, 2000}, 2},
		{Count{0, 500}, Count{3, 1500}, 1}, {Count{3, 700}, Count{0, 300}, 1.5},
	} {
		got, err := ChanceWorse(row.one, row.sisters, row.times)
		require.NoError(t, err)
		mine := distuv.Gamma{Alpha: float64(row.one.Events) + 0.5, Beta: row.one.Hours}
		theirs := distuv.Gamma{Alpha: float64(row.sisters.Events) + 0.5, Beta: row.sisters.Hours}
		want, step := 0.0, 0.002
		for v := -60.0; v < 0; v += step { // over the logarithm of the sisters' rate
			rate := math.Exp(v)
			want += step * rate * theirs.Prob(rate) * mine.Survival(row.times*rate)
		}
		assert.InDelta(t, want, got, 1e-7)
	}
}

// With the same counts over the same hours either is as likely to be the worse.
func TestChanceWorseIsEven(t *testing.T) {
	p, err := ChanceWorse(Count{7, 1000}, Count{7, 1000}, 1)
	require.NoError(t, err)
	assert.InDelta(t, 0.5, p, 1e-12)
}

// What the doc comment admits: how often the one picked as worst of three that are alike
// seems worse with 95 %.
func TestChanceWorseFlattersThePickedOne(t *testing.T) {
	fooled := 0.0
	eachSplit(14, 3, func(counts []int) {
		worst := max(counts[0], counts[1], counts[2])
		p, err := ChanceWorse(Count{worst, 1000}, Count{14 - worst, 2000}, 1)
		require.NoError(t, err)
		if p > 0.95 {
			fooled += multinomial(counts, []float64{1. / 3, 1. / 3, 1. / 3})
		}
	})
	assert.InDelta(t, 1./6, fooled, 0.01)
}
