package lives

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
)

// nistTimes is the reliability improvement test of NIST/SEMATECH e-Handbook 8.4.5.2, 1500 hours.
var nistTimes = []float64{5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478}

// Shape, mean hours and approximate 80 % limits as printed in NIST/SEMATECH e-Handbook
// 8.4.5.2. The limits there are of a normal approximation; ours are exact, and must come
// near them on either side of the mean. The formula below gives the printed ones.
func TestPowerLawOfNIST(t *testing.T) {
	trend, err := TrendOf(nistTimes, 1500, ByClock, 0.80)
	require.NoError(t, err)
	require.NotNil(t, trend.Fit)
	assert.InDelta(t, 0.483506, trend.Fit.Unbiased, 5e-7)
	assert.InDelta(t, 0.2913003, 10*math.Pow(1500, -trend.Fit.Unbiased), 5e-7, "the constant a")
	mean, low, high := trend.Fit.EndMeanHours()
	assert.InDelta(t, 310.234, mean, 5e-4)

	n, z := 10.0, distuv.UnitNormal.Quantile(0.9)
	up := n + z*z/4 + math.Sqrt(n*z*z/2+math.Pow(z, 4)/16)
	down := n - z*math.Sqrt(n/2)
	assert.InDelta(t, 157.7138, mean*n*(n-1)/(up*up), 5e-5)
	assert.InDelta(t, 548.5566, mean*n*(n-1)/(down*down), 5e-5)
	assert.InEpsilon(t, 157.7138, low, 0.03)
	assert.InEpsilon(t, 548.5566, high, 0.10)
}

// The trend tests on the same data: the critical values are those of any chi-square table;
// the statistics were computed elsewhere. (By a third test, 33 of the 45 pairs of gaps grow,
// one-sided p 0.0363: also towards improving.)
func TestTrendOfNIST(t *testing.T) {
	trend, err := TrendOf(nistTimes, 1500, ByClock, 0.95)
	require.NoError(t, err)
	assert.InDelta(t, -1.3269, trend.Laplace, 6e-5)
	assert.InDelta(t, .1845, trend.LaplaceP, 6e-5)
	assert.InDelta(t, 37.228, trend.ChiSquare, 5e-4)
	assert.Equal(t, 20, trend.Freedom)
	assert.InDelta(t, 2*.0110, trend.P, 1e-4)
	assert.Equal(t, Improving, trend.Verdict)
	for critical, alpha := range map[float64]float64{31.410: .05, 34.170: .025, 37.566: .01} {
		_, above := gammaShares(10, critical/2)
		assert.InDelta(t, alpha, above, 1e-5)
	}

	strict, err := TrendOf(nistTimes, 1500, ByClock, 0.99)
	require.NoError(t, err)
	assert.Equal(t, NoTrend, strict.Verdict)
}

// MIL-HDBK-189 (1981) appendix C, 27 times in 300 hours; read in a copy. The bias-corrected
// shape and the test statistics were computed elsewhere.
func TestPowerLawOfMILHDBK189(t *testing.T) {
	trend, err := TrendOf([]float64{
		2.6, 16.5, 16.5, 17.0, 21.4, 29.1, 33.3, 56.5, 63.1, 70.6, 73.0, 77.7, 93.9, 95.5, 98.1, 101.1, 132.0,
		142.2, 147.7, 149.0, 167.2, 190.7, 193.0, 198.7, 251.9, 282.5, 286.1,
	}, 300, ByClock, 0.95)
	require.NoError(t, err)
	assert.InDelta(t, 0.7163393, trend.Fit.Shape, 5e-8)
	assert.InDelta(t, 0.4538419, 27*math.Pow(300, -trend.Fit.Shape), 5e-8, "lambda")
	atEnd := 27 * trend.Fit.Shape / 300
	assert.InDelta(t, 0.0644705, atEnd, 5e-8)
	assert.InDelta(t, 15.51096, 1/atEnd, 5e-6)
	assert.InDelta(t, .6898082, trend.Fit.Unbiased, 5e-8)
	assert.InEpsilon(t, atEnd*26/27, trend.Fit.EndPerHour, 1e-12)
	assert.InDelta(t, -2.318, trend.Laplace, 5e-4)
	assert.InDelta(t, 75.383, trend.ChiSquare, 5e-4)
	assert.Equal(t, 54, trend.Freedom)
}

// Modarres, Kaminskiy and Krivtsov, Reliability Engineering and Risk Analysis, example 5.11:
// 30 gaps, closed by the last failure. Read second hand, in the documentation of the Python
// library reliability.
func TestTrendOfModarres(t *testing.T) {
	times, at := []float64{}, 0.0
	for _, gap := range []float64{
		104, 131, 1597, 59, 4, 503, 157, 6, 118, 173, 114, 62, 101, 216, 106, 140, 1, 102, 3, 393, 96, 232, 89,
		61, 37, 293, 7, 165, 87, 99,
	} {
		at += gap
		times = append(times, at)
	}
	trend, err := TrendOf(times, at, ByFailure, 0.95)
	require.NoError(t, err)
	assert.Equal(t, 5256.0, at)
	assert.Equal(t, 29, trend.Used)
	assert.InDelta(t, 2.409, trend.Laplace, 5e-4)
	assert.InDelta(t, 1.588, trend.Fit.Shape, 5e-4)
	assert.InDelta(t, 3.703e-5, 30*math.Pow(5256, -trend.Fit.Shape), 5e-9, "lambda")
	assert.InDelta(t, 1.4822, trend.Fit.Unbiased, 5e-5)
	assert.Equal(t, Worsening, trend.Verdict)
}

// Factors on the maximum-likelihood mean hours at the end, 80 %: the tables of Crow in
// MIL-HDBK-189 (1981), appendix C, for records closed by the clock and by a failure. From memory.
func TestEndLimitsOfCrow(t *testing.T) {
	for _, row := range []struct {
		ending    Ending
		n         int
		low, high float64
	}{
		{ByClock, 2, .261, 18.66}, {ByClock, 3, .333, 6.326}, {ByClock, 4, .385, 4.243}, {ByClock, 5, .426, 3.386},
		{ByClock, 10, .549, 2.136},
		{ByFailure, 2, .8065, 33.76}, {ByFailure, 3, .6840, 8.927}, {ByFailure, 4, .6601, 5.328}, {ByFailure, 5, .6568, 4.000},
	} {
		p := fit(row.n, 1, 1, row.ending, 0.80)
		likeliest := float64(row.n) * p.Shape
		assert.InDelta(t, row.low, likeliest/p.High, 6e-4)
		assert.InEpsilon(t, row.high, likeliest/p.Low, 4e-4)
	}
}

// The true rate at the end lies between the limits as often as they say: it does when both
// shares at its value are above a tenth. Closed by the clock the number of events is whole,
// so the limits are rather too wide.
func TestEndLimitsCover(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	const runs, shape, mean = 4000, 1.7, 9.0
	inside := map[Ending]int{}
	for range runs {
		var times []float64 // over 1 hour, of expected number mean*t^shape
		for at := random.ExpFloat64(); at < mean; at += random.ExpFloat64() {
			times = append(times, math.Pow(at/mean, 1/shape))
		}
		fewer, more := besselShares(len(times), mean*shape*sumLogs(times, 1))
		if 1-fewer > 0.1 && 1-more > 0.1 {
			inside[ByClock]++
		}

		times = times[:0]
		for at := 0.0; len(times) < 8; {
			at += random.ExpFloat64()
			times = append(times, math.Pow(at/mean, 1/shape))
		}
		end := times[7]
		atEnd := mean * shape * math.Pow(end, shape-1)
		below, above := productShares(8, atEnd*end*sumLogs(times[:7], end))
		if below > 0.1 && above > 0.1 {
			inside[ByFailure]++
		}
	}
	assert.InDelta(t, 0.80, float64(inside[ByFailure])/runs, 0.02)
	assert.Greater(t, float64(inside[ByClock])/runs, 0.80)
	assert.Less(t, float64(inside[ByClock])/runs, 0.90)
}

// Under a steady rate the chi-square test speaks up as often as it says, however few the events.
func TestTrendIsSeldomFooled(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for _, n := range []int{4, 7, 20} {
		const runs = 4000
		fooled := 0
		for range runs {
			times := make([]float64, n)
			for i := range times {
				times[i] = 1000 * (1 - random.Float64())
			}
			trend, err := TrendOf(times, 1000, ByClock, 0.90)
			require.NoError(t, err)
			if trend.Verdict != NoTrend {
				fooled++
			}
		}
		assert.InDelta(t, 0.10, float64(fooled)/runs, 0.015)
	}
}

func TestTooFewForATrend(t *testing.T) {
	for _, times := range [][]float64{nil, {990}, {980, 990}, {980, 985, 990}} {
		trend, err := TrendOf(times, 1000, ByClock, 0.95)
		require.NoError(t, err)
		assert.Equal(t, TooFew, trend.Verdict, "%v", times)
		assert.Nil(t, trend.Fit)
	}
	trend, err := TrendOf([]float64{970, 980, 990, 1000}, 1000, ByFailure, 0.95)
	require.NoError(t, err)
	assert.Equal(t, TooFew, trend.Verdict, "the last one only closed the record")
	trend, err = TrendOf([]float64{970, 980, 990, 1000}, 1000, ByClock, 0.95)
	require.NoError(t, err)
	assert.Equal(t, Worsening, trend.Verdict)
}

// All at the very end: worsening beyond doubt, but no curve goes through it.
func TestAllAtTheEnd(t *testing.T) {
	trend, err := TrendOf([]float64{1000, 1000, 1000, 1000}, 1000, ByClock, 0.95)
	require.NoError(t, err)
	assert.Equal(t, Worsening, trend.Verdict)
	assert.Nil(t, trend.Fit)
	assert.Zero(t, trend.P)
}

func TestTrendRefuses(t *testing.T) {
	for name, try := range map[string]struct {
		times  []float64
		hours  float64
		ending Ending
	}{
		"before the start":   {[]float64{-1}, 100, ByClock},
		"at the start":       {[]float64{0}, 100, ByClock},
		"after the end":      {[]float64{101}, 100, ByClock},
		"not a number":       {[]float64{math.NaN()}, 100, ByClock},
		"endless":            {[]float64{math.Inf(1)}, math.Inf(1), ByClock},
		"negative hours":     {nil, -100, ByClock},
		"no failure at end":  {[]float64{50, 99}, 100, ByFailure},
		"no failure at all":  {nil, 100, ByFailure},
		"no such way to end": {[]float64{50}, 100, Ending(7)},
	} {
		_, err := TrendOf(try.times, try.hours, try.ending, 0.95)
		assert.Error(t, err, name)
	}
}
