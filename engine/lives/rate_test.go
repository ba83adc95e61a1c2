package lives

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The limits of a Poisson mean. The rows of 25 and 10 events and the upper limit of none
// are printed in a statistics FAQ citing Garwood 1936 and in the epitools documentation
// (read second hand); the others are the same chi-square quantiles computed elsewhere,
// and are held against gonum in TestLimitsAreChiSquareQuantiles.
func TestGarwoodLimits(t *testing.T) {
	for _, row := range []struct {
		events              int
		confidence          float64
		low, high, accuracy float64
	}{
		{25, 0.95, 16.18, 36.90, 0.005},
		{25, 0.90, 17.38, 34.92, 0.005},
		{0, 0.95, 0, 3.689, 0.0005},
		{10, 0.95, 4.80, 18.39, 0.005},
		{1, 0.95, .02532, 5.57164, 6e-6},
		{2, 0.95, .24221, 7.22469, 6e-6},
		{3, 0.95, .61867, 8.76727, 6e-6},
		{4, 0.95, 1.08987, 10.24159, 6e-6},
		{5, 0.95, 1.62349, 11.66833, 6e-6},
		{6, 0.95, 2.20189, 13.05947, 6e-6},
		{7, 0.95, 2.81436, 14.42268, 6e-6},
		{8, 0.95, 3.45383, 15.76319, 6e-6},
		{9, 0.95, 4.11537, 17.08480, 6e-6},
		{12, 0.95, 6.20058, 20.96159, 6e-6},
		{15, 0.95, 8.39539, 24.74022, 6e-6},
		{20, 0.95, 12.21652, 30.88838, 6e-6},
		{25, 0.95, 16.17868, 36.90493, 6e-6},
		{30, 0.95, 20.24087, 42.82687, 6e-6},
	} {
		r, err := RateOf(row.events, 1000, row.confidence)
		require.NoError(t, err)
		assert.InDelta(t, row.low, r.Low*1000, row.accuracy, "low of %d", row.events)
		assert.InDelta(t, row.high, r.High*1000, row.accuracy, "high of %d", row.events)
		assert.InDelta(t, float64(row.events), r.PerHour*1000, 1e-9)
	}
}

// Factors on hours/events of NIST/SEMATECH e-Handbook 8.4.5.1, for a test of fixed time
// (the formula was read there, the factors are from memory and computed).
func TestMeanHoursFactors(t *testing.T) {
	for _, row := range []struct {
		confidence float64
		events     int
		low, high  float64
	}{
		{0.90, 1, .2108, 19.4957}, {0.90, 2, .3177, 5.6281}, {0.90, 3, .3869, 3.6689}, {0.90, 5, .4756, 2.5379},
		{0.95, 1, .1795, 39.498}, {0.95, 2, .2768, 8.2573}, {0.95, 3, .3422, 4.8491}, {0.95, 5, .4285, 3.0798},
		{0.95, 10, .5438, 2.0853},
	} {
		r, err := RateOf(row.events, 800, row.confidence)
		require.NoError(t, err)
		mean, low, high, bounded := r.MeanHours()
		require.True(t, bounded)
		assert.InDelta(t, 800/float64(row.events), mean, 1e-9)
		assert.InDelta(t, row.low, low/mean, 6e-5)
		assert.InDelta(t, row.high, high/mean, 6e-4)
	}
}

// 800 hours, 2 failures, 90 %: NIST/SEMATECH e-Handbook 8.4.5.1, from memory.
func TestMeanHoursExample(t *testing.T) {
	r, err := RateOf(2, 800, 0.90)
	require.NoError(t, err)
	_, low, high, _ := r.MeanHours()
	assert.InDelta(t, 127, low, 0.5)
	assert.InDelta(t, 2251, high, 0.5)
}

// Without failures the one-sided limit is hours/-ln(alpha): NIST/SEMATECH e-Handbook 8.4.5.1.
func TestNoFailure(t *testing.T) {
	r, err := RateOf(0, 1000, 0.95)
	require.NoError(t, err)
	assert.InDelta(t, 1000/2.9957, 1/r.Most, 0.01)
	assert.InEpsilon(t, -math.Log(0.05)/1000, r.Most, 1e-12)
	mean, low, high, bounded := r.MeanHours()
	assert.False(t, bounded)
	assert.Zero(t, mean)
	assert.Zero(t, high)
	assert.InDelta(t, 1000/3.68888, low, 0.001)
}
