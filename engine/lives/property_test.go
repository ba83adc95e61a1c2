package lives

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func drawCount(t *rapid.T, name string, most int) Count {
	return Count{
		Events: rapid.IntRange(0, most).Draw(t, name),
		Hours:  math.Exp(rapid.Float64Range(-4.6, 18.4).Draw(t, name+" ln hours")),
	}
}

func drawConfidence(t *rapid.T) float64 {
	return rapid.Float64Range(0.5, 0.999999).Draw(t, "confidence")
}

func finite(t require.TestingT, xs ...float64) {
	for _, x := range xs {
		require.False(t, math.IsNaN(x) || math.IsInf(x, 0))
	}
}

func TestRateProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, confidence := drawCount(t, "events", 2000), drawConfidence(t)
		r, err := RateOf(c.Events, c.Hours, confidence)
		require.NoError(t, err)
		mean, low, high, _ := r.MeanHours()
		finite(t, r.PerHour, r.Low, r.High, r.Most, mean, low, high)
		require.True(t, 0 <= r.Low && r.Low <= r.PerHour && r.PerHour < r.High && r.Most < r.High)

		more, err := RateOf(c.Events+1, c.Hours, confidence)
		require.NoError(t, err)
		require.True(t, more.Low > r.Low && more.High > r.High, "more events, more rate")
		surer, err := RateOf(c.Events, c.Hours, confidence+(0.999999-confidence)/2)
		require.NoError(t, err)
		require.True(t, surer.Low <= r.Low && surer.High >= r.High, "surer is wider")
	})
}

// The p value and the interval say the same, and swapping the groups turns the ratio round.
func TestCompareProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		one, rest, confidence := drawCount(t, "one", 60), drawCount(t, "rest", 60), drawConfidence(t)
		c, err := Compare(one, rest, confidence)
		require.NoError(t, err)
		finite(t, c.Ratio, c.Low, c.High, c.P)
		require.True(t, c.P >= 0 && c.P <= 1)
		require.True(t, c.Low >= 0 && (c.Unbounded || c.Low <= c.Ratio && c.Ratio < c.High))
		if alpha := 1 - confidence; math.Abs(c.P-alpha) > 1e-9 {
			require.Equal(t, c.P > alpha, c.Low < 1 && (c.Unbounded || c.High > 1))
		}
		back, err := Compare(rest, one, confidence)
		require.NoError(t, err)
		near(t, c.P, back.P, 1e-9)
		if !c.Unbounded && !back.Unbounded {
			near(t, c.Low, 1/back.High, 1e-9)
			near(t, c.High, 1/back.Low, 1e-9)
		}
	})
}

func TestChanceWorseProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		one, rest := drawCount(t, "one", 200), drawCount(t, "rest", 200)
		times := rapid.Float64Range(0.001, 500).Draw(t, "times")
		p, err := ChanceWorse(one, rest, times)
		require.NoError(t, err)
		more, err := ChanceWorse(one, rest, 2*times)
		require.NoError(t, err)
		back, err := ChanceWorse(rest, one, 1/math.Max(times, 0.001))
		require.NoError(t, err)
		require.True(t, p >= 0 && p <= 1 && more <= p+1e-12)
		require.InDelta(t, 1, p+back, 1e-9)
	})
}

func TestLifeProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, confidence := drawCount(t, "events", 500), drawConfidence(t)
		life := math.Min(maxHours, math.Max(minHours, c.Hours/rapid.Float64Range(0.001, 1000).Draw(t, "expected")))
		got, err := AgainstLife(c, life, confidence)
		require.NoError(t, err)
		require.True(t, got.P >= 0 && got.P <= 1 && got.Chance >= 0 && got.Chance <= 1)
		require.Equal(t, c.Events >= got.Needed, got.Shown)
		// The Jeffreys chance lies between the strict and the lenient p.
		require.True(t, 1-got.Chance <= got.P+1e-12 && 1-got.Chance >= poissonAtLeast(c.Events+1, got.Expected)-1e-12)
	})
}

func TestWorstProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cells := make([]Count, rapid.IntRange(2, 6).Draw(t, "cells"))
		for i := range cells {
			cells[i] = Count{rapid.IntRange(0, 12).Draw(t, "events"), rapid.Float64Range(100, 5000).Draw(t, "hours")}
		}
		w, err := WorstOf(cells, 0.95)
		require.NoError(t, err)
		require.True(t, w.P >= 0 && w.P <= 1)
		require.Equal(t, w.P <= 0.05, w.Shown)
		total := 0
		reached := false
		for i, c := range cells {
			total += c.Events
			reached = reached || w.Needed[i] > 0 && c.Events >= w.Needed[i]
		}
		require.Equal(t, w.Shown, reached, "shown is: some cell has what it needs")
		require.True(t, !w.Shown || total >= w.FewestTotal)

		slices.Reverse(cells)
		turned, err := WorstOf(cells, 0.95)
		require.NoError(t, err)
		near(t, w.P, turned.P, 1e-9)
	})
}

// Turning time round swaps early and late for Laplace; a clock in other units changes nothing.
func TestTrendProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		times := rapid.SliceOfN(rapid.Float64Range(0.01, 999.99), 1, 40).Draw(t, "times")
		trend, err := TrendOf(times, 1000, ByClock, 0.95)
		require.NoError(t, err)
		finite(t, trend.Laplace, trend.LaplaceP, trend.ChiSquare, trend.P)
		require.True(t, trend.P >= 0 && trend.P <= 1 && trend.LaplaceP >= 0 && trend.LaplaceP <= 1)
		require.Equal(t, trend.Fit == nil, len(times) < FewestForTrend)
		if f := trend.Fit; f != nil {
			mean, low, high := f.EndMeanHours()
			finite(t, mean, low, high)
			require.True(t, 0 < f.Low && f.Low < f.EndPerHour && f.EndPerHour < f.High)
		}
		turned, slower := make([]float64, len(times)), make([]float64, len(times))
		for i, at := range times {
			turned[i], slower[i] = 1000-at, 60*at
		}
		back, err := TrendOf(turned, 1000, ByClock, 0.95)
		require.NoError(t, err)
		assert.InDelta(t, -trend.Laplace, back.Laplace, 1e-9)
		minutes, err := TrendOf(slower, 60000, ByClock, 0.95)
		require.NoError(t, err)
		assert.InDelta(t, trend.P, minutes.P, 1e-9)
	})
}

// Nothing that a person could write makes it panic or answer with no number.
func TestOddNumbersGiveErrors(t *testing.T) {
	odd := rapid.SampledFrom([]float64{
		math.NaN(), math.Inf(1), math.Inf(-1), 0, -1, 5e-324, 1e-3, 0.01, 0.5, 0.95, 1, 1000, 1e8, 1e9, math.MaxFloat64,
	})
	count := rapid.SampledFrom([]int{math.MinInt, -1, 0, 1, 5, 300, maxEvents, maxEvents + 1, math.MaxInt})
	rapid.Check(t, func(t *rapid.T) {
		a, b := Count{count.Draw(t, "a"), odd.Draw(t, "ah")}, Count{count.Draw(t, "b"), odd.Draw(t, "bh")}
		x, confidence := odd.Draw(t, "x"), odd.Draw(t, "confidence")
		if r, err := RateOf(a.Events, a.Hours, confidence); err == nil {
			finite(t, r.PerHour, r.Low, r.High, r.Most)
		}
		if c, err := Compare(a, b, confidence); err == nil {
			finite(t, c.Ratio, c.Low, c.High, c.P)
		}
		if p, err := ChanceWorse(a, b, x); err == nil {
			finite(t, p)
		}
		if l, err := AgainstLife(a, x, confidence); err == nil {
			finite(t, l.P, l.Chance, l.Expected)
		}
		if w, err := WorstOf([]Count{a, b}, confidence); err == nil {
			finite(t, w.P)
		}
		times := rapid.SliceOfN(odd, 0, 6).Draw(t, "times")
		ending := Ending(rapid.IntRange(-1, 2).Draw(t, "ending"))
		if tr, err := TrendOf(times, x, ending, confidence); err == nil {
			finite(t, tr.P, tr.Laplace, tr.LaplaceP, tr.ChiSquare)
			if tr.Fit != nil {
				finite(t, tr.Fit.Shape, tr.Fit.EndPerHour, tr.Fit.Low, tr.Fit.High)
			}
		}
		_, _ = Summarise(Record{Cylinders: []Cylinder{{"1", x, a.Hours, times}, {"2", x, b.Hours, nil}}, Ending: ending}, confidence)
	})
}
