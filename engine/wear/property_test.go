package wear

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"telltale/engine/measure"
)

func drawn(t *rapid.T) Question {
	random := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
	n := rapid.IntRange(3, 15).Draw(t, "readings")
	q, _ := world{readings: n, corrections: rapid.IntRange(0, min(3, n-2)).Draw(t, "corrections"), noise: 1, mistakes: 0.1}.draw(random)
	return q
}

func fit(t require.TestingT, q Question) Trend {
	trend, err := Fit(q)
	require.NoError(t, err)
	return trend
}

// figures are all hours, and all lengths, that a trend tells.
func figures(t Trend) (hours, lengths, chances []float64) {
	for _, h := range []*float64{t.Due.From, t.Due.Middle, t.Due.To, t.Next} {
		if h == nil {
			hours = append(hours, -1)
			continue
		}
		hours = append(hours, *h)
	}
	lengths = []float64{t.Level.Low, t.Level.Middle, t.Level.High}
	return hours, lengths, append([]float64{t.Wears, t.Past, t.Newest, t.Scatter}, t.Misread...)
}

func near(t *rapid.T, what string, want, got []float64, by float64) {
	require.Len(t, got, len(want))
	for i := range want {
		if math.Abs(want[i]-got[i]) > by {
			t.Fatalf("%s %d: %g, not %g", what, i, got[i], want[i])
		}
	}
}

// Another zero of the meter or of the length, other units, or the length counted the other
// way round, change nothing but the figures.
func TestUnitsDoNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawn(t)
		stretch, shift := math.Exp2(float64(rapid.IntRange(-6, 6).Draw(t, "stretch"))), 1024*float64(rapid.IntRange(0, 50).Draw(t, "shift"))
		unit, zero := math.Exp2(float64(rapid.IntRange(-9, 9).Draw(t, "unit"))), 32*float64(rapid.IntRange(-99, 99).Draw(t, "zero"))
		if rapid.Bool().Draw(t, "turned") {
			unit = -unit
		}
		p := q
		p.Grows = q.Grows == (unit > 0)
		p.Limit, p.Now, p.Readings = q.Limit*unit+zero, q.Now*stretch+shift, nil
		for _, r := range q.Readings {
			r.Hours, r.Mean, r.U = r.Hours*stretch+shift, r.Mean*unit+zero, r.U*math.Abs(unit)
			p.Readings = append(p.Readings, r)
		}
		a, b := fit(t, q), fit(t, p)
		hours, lengths, chances := figures(a)
		newHours, newLengths, newChances := figures(b)
		span := q.Now - q.Readings[0].Hours
		for i := range hours {
			require.Equal(t, hours[i] < 0, newHours[i] < 0)
			if hours[i] >= 0 {
				by := 1e-2 * (span + math.Abs(hours[i]-q.Now))
				near(t, "hours", hours[i:i+1], []float64{(newHours[i] - shift) / stretch}, by)
			}
		}
		for i := range newLengths {
			newLengths[i] = (newLengths[i] - zero) / unit
		}
		if unit < 0 {
			newLengths[0], newLengths[2] = newLengths[2], newLengths[0]
		}
		near(t, "length", lengths, newLengths, 1e-2*(lengths[2]-lengths[0]))
		near(t, "chance", chances, newChances, 1e-3)
		assert.InEpsilon(t, 1+a.Rate.High, 1+b.Rate.High*stretch/math.Abs(unit), 5e-3) // it is told with two digits
	})
}

func TestTheOrderOfReadingsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawn(t)
		p := q
		order := rapid.Permutation(indices(len(q.Readings))).Draw(t, "order")
		p.Readings = make([]Reading, len(order))
		for to, from := range order {
			p.Readings[to] = q.Readings[from]
		}
		a, b := fit(t, q), fit(t, p)
		for to, from := range order {
			require.Equal(t, a.Misread[from], b.Misread[to])
		}
		require.Equal(t, a.Due, b.Due)
		require.Equal(t, a.Level, b.Level)
		require.Equal(t, a.Rate, b.Rate)
		require.Equal(t, a.Next, b.Next)
	})
}

func indices(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// Readings right on one line: one more on it never makes an interval wider.
func TestOneMoreOnTheLineNeverWidens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 14).Draw(t, "readings")
		rate := rapid.Float64Range(0.002, 0.2).Draw(t, "rate")
		q := Question{Grows: true, Confidence: 0.95, Misread: 0.05, Now: 5000, Limit: rate * 9000}
		on := func(h float64, run int) Reading {
			return Reading{Hours: h, Run: run, Value: measure.Value{Mean: rate*h - 7*float64(run), U: 1}}
		}
		cut := rapid.SampledFrom([]float64{0, 2500}).Draw(t, "cut")
		add := func(h float64) {
			run := 0
			if h > cut && cut > 0 {
				run = 1
			}
			q.Readings = append(q.Readings, on(h, run))
			q.Run = max(q.Run, run)
		}
		add(100)
		add(2400)
		for range n {
			add(rapid.Float64Range(0, 5000).Draw(t, "hours"))
		}
		add(4900)
		before := fit(t, q)
		add(rapid.Float64Range(0, 5000).Draw(t, "one more"))
		after := fit(t, q)
		narrower := func(what string, a, b Estimate) {
			if b.High-b.Low > (a.High-a.Low)*(1+2e-3) {
				t.Fatalf("%s: %v became %v", what, a, b)
			}
		}
		narrower("rate", before.Rate, after.Rate)
		narrower("level", before.Level, after.Level)
		if before.Due.To != nil {
			require.NotNil(t, after.Due.To)
			narrower("due", Estimate{*before.Due.From, 0, *before.Due.To}, Estimate{*after.Due.From, 0, *after.Due.To})
		}
	})
}

// checkAnswer is what holds of every answer.
func checkAnswer(t require.TestingT, q Question, trend Trend) {
	hours, lengths, chances := figures(trend)
	for _, x := range append(append(hours, lengths...), trend.Rate.Low, trend.Rate.Middle, trend.Rate.High) {
		require.False(t, math.IsNaN(x) || math.IsInf(x, 0), "%+v", trend)
	}
	for i, c := range chances {
		require.True(t, c >= 0 && (c <= 1+1e-9 || i == 3), "%+v", trend)
	}
	require.True(t, trend.Level.Low <= trend.Level.Middle && trend.Level.Middle <= trend.Level.High, "%+v", trend.Level)
	require.True(t, trend.Rate.Low >= 0 && trend.Rate.Low <= trend.Rate.Middle && trend.Rate.Middle <= trend.Rate.High, "%+v", trend.Rate)
	require.True(t, trend.Next == nil || *trend.Next >= q.Now, "%+v", trend)
	last := math.Inf(-1)
	for _, h := range hours[:3] {
		if h >= 0 {
			require.LessOrEqual(t, last, h)
			last = h
		} else {
			last = math.Inf(1)
		}
	}
	if points, err := trend.Band(0, math.Min(mostHours, 2*q.Now+1), 5); err == nil {
		for _, p := range points {
			require.True(t, p.Low <= p.Middle && p.Middle <= p.High, "%+v", p)
		}
	}
}

var wild = rapid.OneOf(rapid.Float64Range(0, 10), rapid.Float64Range(-1e9, 1e9), rapid.SampledFrom([]float64{0, 1, 5, 1e-9, 1e8, 1e9, math.NaN(), math.Inf(1), math.Inf(-1)}))

func TestNoNonsenseOnAnyInput(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := Question{
			Series: rapid.IntRange(0, 1).Draw(t, "series"), Run: rapid.IntRange(0, 2).Draw(t, "run"), Grows: rapid.Bool().Draw(t, "grows"),
			Limit: wild.Draw(t, "limit"), Now: wild.Draw(t, "now"), Confidence: rapid.SampledFrom([]float64{0.95, 0.5, 0.999, 2, math.NaN()}).Draw(t, "confidence"),
			Misread: rapid.SampledFrom([]float64{0.05, 0, 0.5, 0.001, -1, math.NaN()}).Draw(t, "misread"),
		}
		run, series := 0, 0
		for range rapid.IntRange(0, 16).Draw(t, "readings") {
			series += rapid.IntRange(0, 9).Draw(t, "new series") / 9
			run += rapid.IntRange(0, 4).Draw(t, "new run") / 4
			q.Readings = append(q.Readings, Reading{Hours: wild.Draw(t, "hours"), Run: run, Series: series, Value: measure.Value{Mean: wild.Draw(t, "value"), U: wild.Draw(t, "doubt")}})
		}
		if rapid.Bool().Draw(t, "tame") { // else almost nothing passes the checks
			q.Now, q.Confidence, q.Misread, q.Run, q.Series = 1000, 0.95, 0.05, run, series
			for i := range q.Readings {
				r := &q.Readings[i]
				r.Hours = float64(i/2) * 10
				r.Mean = tame(r.Mean)
				r.U = math.Abs(tame(r.U)) + 1e-4
			}
			q.Limit = tame(q.Limit)
		}
		if trend, err := Fit(q); err == nil {
			checkAnswer(t, q, trend)
		}
	})
}

func tame(x float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 1
	}
	return math.Mod(x, 100)
}

func FuzzFit(f *testing.F) {
	f.Add([]byte{10, 20, 3, 0, 40, 25, 3, 0, 90, 33, 3, 1, 200, 20, 4, 1}, 40.0, 300.0, true)
	f.Add([]byte{0, 0, 0, 0, 0, 0, 0, 0}, 0.0, 0.0, false)
	f.Fuzz(func(t *testing.T, data []byte, limit, now float64, grows bool) {
		q := Question{Limit: limit, Now: now, Grows: grows, Confidence: 0.95, Misread: 0.05}
		for ; len(data) >= 4; data = data[4:] {
			q.Run, q.Series = int(data[3]%4), int(data[3]/4%2)
			q.Readings = append(q.Readings, Reading{
				Hours: float64(data[0]) * 3, Run: q.Run, Series: q.Series,
				Value: measure.Value{Mean: float64(int8(data[1])), U: math.Exp(float64(data[2]) - 20)},
			})
		}
		if trend, err := Fit(q); err == nil {
			checkAnswer(t, q, trend)
		}
	})
}

// Bad input is refused with words that name what was wrong.
func TestRefusals(t *testing.T) {
	good := func() Question {
		return Question{Confidence: 0.95, Misread: 0.05, Now: 500, Readings: []Reading{
			{Hours: 1, Value: measure.Value{Mean: 1, U: 1}}, {Hours: 200, Value: measure.Value{Mean: 2, U: 1}},
		}}
	}
	for want, spoil := range map[string]func(*Question){
		"confidence 2: give":                           func(q *Question) { q.Confidence = 2 },
		"share of misread readings -1: give":           func(q *Question) { q.Misread = -1 },
		"limit NaN: give":                              func(q *Question) { q.Limit = math.NaN() },
		"hours now -1: give":                           func(q *Question) { q.Now = -1 },
		"reading 2: hours 501 are after the hours now": func(q *Question) { q.Readings[1].Hours = 501 },
		"reading 1: hours NaN: give":                   func(q *Question) { q.Readings[0].Hours = math.NaN() },
		"reading 1: value +Inf: give":                  func(q *Question) { q.Readings[0].Mean = math.Inf(1) },
		"reading 2: uncertainty 0: give":               func(q *Question) { q.Readings[1].U = 0 },
		"uncertainties from 1e-06 to 1":                func(q *Question) { q.Readings[1].U = 1e-6 },
		"run 0 is the one now, but run 1 has later":    func(q *Question) { q.Readings[1].Run = 1 },
		"series 0 is the one now, but series 1 has":    func(q *Question) { q.Readings[1].Series = 1 },
		"run 1 of series 0 begins at hour 100, before run 0 of series 0 ends at hour 200": func(q *Question) {
			q.Readings = append(q.Readings, Reading{Hours: 100, Run: 1, Value: measure.Value{Mean: 1, U: 1}})
		},
		"series 0 goes on at hour 400": func(q *Question) {
			for i, h := range []float64{300, 400} {
				q.Readings = append(q.Readings, Reading{Hours: h, Series: 1 - i, Run: i + 1, Value: measure.Value{Mean: 1, U: 1}})
			}
		},
		"1001 readings": func(q *Question) { q.Readings = make([]Reading, 1001) },
	} {
		t.Run(want, func(t *testing.T) {
			q := good()
			spoil(&q)
			_, err := Fit(q)
			require.Error(t, err)
			assert.True(t, strings.Contains(err.Error(), want), err)
		})
	}
	_, err := Fit(good())
	require.NoError(t, err)
}
