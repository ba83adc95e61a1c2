package measure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"telltale/engine/measure"
)

const inch = 0.0254

func ptr(x float64) *float64 { return &x }

// GUM (JCGM 100:2008) F.2.2.1: resolution r gives u = 0.29 r; 4.3.7: u = a/sqrt(3).
func TestReadingsOfAScale(t *testing.T) {
	step := measure.FromStep(0.134, 0.001)
	assert.Equal(t, 0.134, step.Mean)
	assert.InDelta(t, 0.29*0.001, step.U, 0.005*0.001)
	assert.InDelta(t, 0.0005, step.HalfWidth(), 1e-15)

	leaf := measure.FromLargestLeaf(0.015, 0.001)
	assert.InDelta(t, 0.0155, leaf.Mean, 1e-15)
	assert.Equal(t, step.U, leaf.U)

	between := measure.FromRange(0.015, 0.016)
	assert.InDelta(t, leaf.Mean, between.Mean, 1e-15)
	assert.InDelta(t, leaf.U, between.U, 1e-15)
}

// GUM equation 10: independent uncertainties add in squares.
func TestSumsAndDifferences(t *testing.T) {
	a, b := measure.Value{Mean: 5, U: 3}, measure.Value{Mean: 2, U: 4}
	assert.Equal(t, measure.Value{Mean: 7, U: 5}, a.Plus(b))
	assert.Equal(t, measure.Value{Mean: 3, U: 5}, a.Minus(b))
	assert.Equal(t, measure.Value{Mean: -10, U: 6}, a.Times(-2))
	assert.True(t, a.Differs(1.6))
	assert.False(t, a.Differs(1.7))
	assert.False(t, measure.Value{}.Differs(2))
}

// JCGM 106:2012, 7.3.3, examples 1 (breakdown voltage, upper limit) and 2 (burst
// strength, lower limit); data and answers from memory.
func TestConformanceProbabilityOfJCGM106(t *testing.T) {
	zener := measure.Value{Mean: -5.47, U: 0.05}
	assert.InDelta(t, 0.92, zener.Below(-5.40), 0.005)
	vessel := measure.Value{Mean: 509.7, U: 8.6}
	assert.InDelta(t, 0.99, vessel.Above(490), 0.005)
}

// The normal distribution function at z = 0, 1, 1.6, 2 is tabulated in any handbook
// (Abramowitz and Stegun, table 26.1; from memory). The band is common practice, no source.
func TestGapNearItsLimits(t *testing.T) {
	for _, c := range []struct{ gap, inside float64 }{
		{0.0150, 0.5000}, {0.0155, 0.8413}, {0.0158, 0.9452}, {0.0160, 0.9772}, {0.0200, 1},
		{0.0240, 0.9772}, {0.0242, 0.9452}, {0.0245, 0.8413}, {0.0250, 0.5000},
	} {
		t.Run(fmt.Sprintf("%g in", c.gap), func(t *testing.T) {
			v := measure.Value{Mean: c.gap * inch, U: 0.0005 * inch}
			verdict, err := measure.Judge(v, measure.Limits{Least: ptr(0.015 * inch), Most: ptr(0.025 * inch)}, 1.645)
			require.NoError(t, err)
			assert.InDelta(t, c.inside, verdict.Inside, 5e-5)
		})
	}
}

// One-sided 95 % guard factor 1.645: a standard normal quantile.
func TestStands(t *testing.T) {
	band := measure.Limits{Least: ptr(15), Most: ptr(25)}
	for _, c := range []struct {
		mean   float64
		limits measure.Limits
		want   measure.Stand
	}{
		{12, band, measure.Under}, {14.2, band, measure.DoubtUnder}, {15, band, measure.DoubtInside},
		{15.8, band, measure.DoubtInside}, {15.83, band, measure.Inside}, {24.17, band, measure.Inside},
		{24.5, band, measure.DoubtInside}, {25.1, band, measure.DoubtOver}, {26, band, measure.Over},
		{26, measure.Limits{Least: ptr(15)}, measure.Inside}, {-1e6, measure.Limits{Most: ptr(15)}, measure.Inside},
		{14.2, measure.Limits{Least: ptr(15)}, measure.DoubtUnder}, {3, measure.Limits{}, measure.Inside},
	} {
		t.Run(fmt.Sprintf("%g, %s", c.mean, c.want), func(t *testing.T) {
			v, err := measure.Judge(measure.Value{Mean: c.mean, U: 0.5}, c.limits, 1.645)
			require.NoError(t, err)
			assert.Equal(t, c.want, v.Stand)
		})
	}
	edge, err := measure.Judge(measure.Value{Mean: 15 + 1.645*0.5, U: 0.5}, measure.Limits{Least: ptr(15)}, 1.645)
	require.NoError(t, err)
	assert.InDelta(t, 0.95, edge.Inside, 1e-4)
	exact, err := measure.Judge(measure.Value{Mean: 15}, band, 1.645)
	require.NoError(t, err)
	assert.Equal(t, measure.Verdict{Stand: measure.Inside, Inside: 1}, exact, "at the limit, no doubt: kept")
}

func TestTailsAgainstGonum(t *testing.T) {
	for _, z := range []float64{-30, -8, -3, -1, 0, 0.5, 2, 5, 9, 20, 35} {
		t.Run(fmt.Sprintf("z %g", z), func(t *testing.T) {
			v := measure.Value{Mean: 1, U: 0.25}
			limit := 1 + z*0.25
			n := distuv.Normal{Mu: 1, Sigma: 0.25}
			// By symmetry: gonum's Survival is 1 less CDF, which loses small tails.
			assert.InEpsilon(t, n.CDF(2-limit), v.Above(limit), 1e-12)
			assert.InEpsilon(t, n.CDF(limit), v.Below(limit), 1e-12)
		})
	}
	far := measure.Value{Mean: 0, U: 1}
	// Abramowitz and Stegun, table 26.2: Q(10) = 7.61985e-24 (from memory).
	assert.InEpsilon(t, 7.61985e-24, far.Between(10, 14), 1e-5, "difference of small tails keeps its digits")
	assert.InEpsilon(t, 7.61985e-24, far.Between(-14, -10), 1e-5)
}

func TestSidesAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.Float64Range(-100, 100)
		v := measure.Value{Mean: number.Draw(t, "mean"), U: rapid.SampledFrom([]float64{0, 1e-9, 0.3, 40}).Draw(t, "u")}
		lo, hi := number.Draw(t, "lo"), number.Draw(t, "hi")
		if lo > hi {
			lo, hi = hi, lo
		}
		limits := measure.Limits{Least: &lo, Most: &hi}
		verdict, err := measure.Judge(v, limits, 1.645)
		if err != nil {
			t.Fatal(err)
		}
		if s := verdict.Below + verdict.Inside + verdict.Above; math.Abs(s-1) > 1e-12 {
			t.Fatalf("sides add to %v", s)
		}
		up := measure.Value{Mean: v.Mean + 1, U: v.U}
		if up.Above(hi) < v.Above(hi) || up.Below(lo) > v.Below(lo) {
			t.Fatal("raising the value lowered the chance of being above")
		}
		wider := lo - 1
		if v.Between(wider, hi) < v.Between(lo, hi)-1e-15 {
			t.Fatal("a wider band holds less")
		}
	})
}

func TestBadReadingsAreErrors(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, v := range map[string]measure.Value{
		"no reading":        measure.FromStep(nan, 1),
		"no step":           measure.FromStep(1, nan),
		"a step below 0":    measure.FromStep(1, -1),
		"an endless step":   measure.FromStep(1, inf),
		"an endless leaf":   measure.FromLargestLeaf(inf, 1),
		"backwards":         measure.FromRange(2, 1),
		"from end to end":   measure.FromRange(-inf, inf),
		"nearly so":         measure.FromRange(-math.MaxFloat64, math.MaxFloat64),
		"a width below 0":   measure.FromHalfWidth(1, -1),
		"beyond all bounds": measure.FromStep(1e13, 1),
	} {
		t.Run(name, func(t *testing.T) { assert.Error(t, v.Check()) })
	}
	good := measure.Value{Mean: 1, U: 1}
	for _, c := range []struct {
		v     measure.Value
		l     measure.Limits
		guard float64
	}{
		{measure.Value{Mean: nan}, measure.Limits{}, 1}, {measure.Value{U: -1}, measure.Limits{}, 1},
		{good, measure.Limits{Least: ptr(nan)}, 1}, {good, measure.Limits{Least: ptr(2), Most: ptr(1)}, 1},
		{good, measure.Limits{}, nan}, {good, measure.Limits{}, -1}, {good, measure.Limits{}, inf},
	} {
		_, err := measure.Judge(c.v, c.l, c.guard)
		assert.Error(t, err)
	}
}

// By hand for a value without doubt: of the limits from 6 to 15, a third lies
// above 12. With doubt it is the mean of Below over the limits.
func TestBelowEven(t *testing.T) {
	for _, c := range []struct{ mean, want float64 }{{3, 1}, {6, 1}, {12, 1.0 / 3}, {14, 1.0 / 9}, {15, 0}, {20, 0}} {
		t.Run(fmt.Sprintf("mean %g", c.mean), func(t *testing.T) {
			assert.InDelta(t, c.want, measure.Value{Mean: c.mean}.BelowEven(6, 15), 1e-12)
		})
	}
	const parts = 20000
	for _, v := range []measure.Value{{Mean: 12, U: .3}, {Mean: 5.8, U: .3}, {Mean: 15.2, U: 2}, {Mean: 10, U: 40}} {
		sum := 0.0
		for i := range parts {
			sum += v.Below(6 + 9*(float64(i)+.5)/parts)
		}
		assert.InDelta(t, sum/parts, v.BelowEven(6, 15), 1e-8, "%v", v)
	}
	v := measure.Value{Mean: 12, U: .3}
	assert.Equal(t, v.Below(12.1), v.BelowEven(12.1, 12.1))
}

// Worked by hand: u^2 of a mean of two is 2 (0.1/2)^2, of a difference of two 2 (0.1)^2.
func TestMeanAndSpread(t *testing.T) {
	a, b, c := measure.Value{Mean: 63, U: 0.1}, measure.Value{Mean: 66, U: 0.1}, measure.Value{Mean: 62, U: 0.1}
	assert.InDelta(t, 64.5, measure.Mean(a, b).Mean, 1e-12)
	assert.InDelta(t, 0.1/math.Sqrt2, measure.Mean(a, b).U, 1e-12)
	assert.InDelta(t, 4.0, measure.Spread(a, b, c).Mean, 1e-12)
	assert.InDelta(t, 0.1*math.Sqrt2, measure.Spread(a, b, c).U, 1e-12)
	assert.Zero(t, measure.Spread(a))
	assert.Zero(t, measure.Spread(a, a).Mean)
	assert.InDelta(t, 0.1*math.Sqrt2, measure.Spread(a, a).U, 1e-12, "alike as far as the gauge shows")
}

// A perfect bore read with error shows taper by chance: the mean range of n normal values
// is d2 times their sd, d2 = 1.693 for 3 (Shewhart control chart constants, from memory).
func TestSpreadOfAPerfectBoreIsBiased(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	total, draws := 0.0, 20000
	for range draws {
		var across [3]measure.Value
		for i := range across {
			across[i] = measure.Value{Mean: 60 + 0.1*r.NormFloat64(), U: 0.1}
		}
		total += measure.Spread(across[:]...).Mean
	}
	assert.InDelta(t, 1.693*0.1, total/float64(draws), 0.003)
}
