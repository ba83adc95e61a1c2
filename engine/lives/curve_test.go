package lives

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The curve of the 21 patients on 6-mercaptopurine, in every textbook of survival, with
// the limits that Stata's sts list prints (from memory).
func TestCurveOfGehan(t *testing.T) {
	drug, err := Curve(gehan()[:21], 0.95)
	require.NoError(t, err)
	want := []Step{
		{6, 21, 3, 0.857, 0.620, 0.952},
		{7, 17, 1, 0.807, 0.563, 0.923},
		{10, 15, 1, 0.753, 0.503, 0.889},
		{13, 12, 1, 0.690, 0.432, 0.849},
		{16, 11, 1, 0.627, 0.368, 0.805},
		{22, 7, 1, 0.538, 0.268, 0.747},
		{23, 6, 1, 0.448, 0.188, 0.680},
	}
	require.Len(t, drug, len(want))
	for i, s := range drug {
		assert.Equal(t, [3]float64{want[i].Hours, float64(want[i].AtRisk), float64(want[i].Failed)}, [3]float64{s.Hours, float64(s.AtRisk), float64(s.Failed)})
		assert.InDelta(t, want[i].Share, s.Share, 6e-4)
		assert.InDelta(t, want[i].Low, s.Low, 1e-3)
		assert.InDelta(t, want[i].High, s.High, 1e-3)
	}
	placebo, err := Curve(gehan()[21:], 0.95)
	require.NoError(t, err)
	half := func(steps []Step) float64 {
		for _, s := range steps {
			if s.Share <= 0.5 {
				return s.Hours
			}
		}
		return 0
	}
	assert.Equal(t, 23.0, half(drug))
	assert.Equal(t, 8.0, half(placebo))
	last := placebo[len(placebo)-1]
	assert.Equal(t, Step{Hours: 23, AtRisk: 1, Failed: 1, High: placebo[len(placebo)-2].High}, last)
}

// The log-rank test of the same data: chi-square 16.79 (from memory), with the variance
// of the hypergeometric distribution summed here by itself.
func TestLogRankChiSquareOfGehan(t *testing.T) {
	all := gehan()
	less, variance := 0.0, 0.0
	for i, s := range Scores(all) {
		if all[i].Place == 1 {
			less += s
		}
	}
	for week := 1.0; week <= 35; week++ {
		n, placebo, d := 0.0, 0.0, 0.0
		for _, l := range all {
			if l.Hours >= week {
				n++
				placebo += float64(l.Place)
			}
			if l.Hours == week && l.End == Failed {
				d++
			}
		}
		if d > 0 && n > 1 {
			variance += d * placebo / n * (n - placebo) / n * (n - d) / (n - 1)
		}
	}
	assert.InDelta(t, 16.79, less*less/variance, 0.005)
}

// It falls from step to step inside its limits. Without a life that was cut short it is
// the share of the lives that last longer.
func TestCurveProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var all []Life
		cut := rapid.Bool().Draw(t, "cut")
		for range rapid.IntRange(0, 15).Draw(t, "lives") {
			l := Life{Hours: float64(rapid.IntRange(1, 12).Draw(t, "hours")), End: Failed}
			if cut {
				l.End = End(rapid.IntRange(0, int(Failed)).Draw(t, "end"))
			}
			all = append(all, l)
		}
		steps, err := Curve(all, 0.9)
		require.NoError(t, err)
		before := Step{Share: 1}
		failed := 0
		for _, s := range steps {
			require.True(t, s.Hours > before.Hours && s.Share < before.Share, "%+v after %+v", s, before)
			require.True(t, 0 <= s.Low && s.Low <= s.Share && s.Share <= s.High && s.High <= 1 && !math.IsNaN(s.High), "%+v", s)
			failed += s.Failed
			if !cut {
				require.InDelta(t, 1-float64(failed)/float64(len(all)), s.Share, 1e-9)
			}
			before = s
		}
		require.Equal(t, CountOf(all).Failed, failed)
	})
	_, err := Curve(nil, math.NaN())
	assert.Error(t, err)
}
