package wear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/measure"
)

// steady is a rod that sinks 1 mm in 1000 h from 5 mm, limit 1 mm, read to 0.05 mm every
// 400 h: past its limit at hour 4000.
func steady(readings int) Question {
	q := Question{Limit: 0.001, Confidence: 0.95, Misread: 0.05}
	for i := range readings {
		q.Now = float64(400 * i)
		q.Readings = append(q.Readings, Reading{Hours: q.Now, Value: measure.Value{Mean: 0.005 - q.Now*1e-6, U: 5e-5}})
	}
	return q
}

func TestASteadyTrend(t *testing.T) {
	trend := fit(t, steady(6))
	assert.Equal(t, Ahead, trend.Outcome)
	assert.InDelta(t, 0.001, trend.Rate.Middle, 1e-6, "metres in 1000 h")
	assert.InDelta(t, 0.003, trend.Level.Middle, 1e-6)
	assert.InDelta(t, 4000, *trend.Due.Middle, 5)
	assert.Less(t, *trend.Due.From, 3900.0)
	assert.Greater(t, *trend.Due.To, 4100.0)
	assert.Less(t, trend.Past, 1e-3)
	assert.Greater(t, trend.Wears, 0.999)
	assert.Empty(t, trend.Look)
	assert.Greater(t, *trend.Next, *trend.Due.From, "5 % is after 2.5 %")
	assert.Less(t, *trend.Next, *trend.Due.Middle)

	points, err := trend.Band(0, 4000, 5)
	require.NoError(t, err)
	assert.InDelta(t, 0.001, points[4].Middle, 1e-5)
	assert.Greater(t, points[4].High-points[4].Low, points[2].High-points[2].Low, "wider ahead")
	assert.InDelta(t, 0.001, *steadyLow(t, trend, *trend.Due.From), 1e-5, "the band meets the limit where it is due first")
}

func steadyLow(t *testing.T, trend Trend, hours float64) *float64 {
	points, err := trend.Band(hours, hours+1, 2)
	require.NoError(t, err)
	return &points[0].Low
}

func TestTheSpanIsDoubledBeforeTheLimitIsNear(t *testing.T) {
	q := steady(3)
	q.Limit = -0.02
	assert.InDelta(t, 1600, *fit(t, q).Next, 1e-9)
	q.Now = 2000
	assert.InDelta(t, 2000, *fit(t, q).Next, 1e-9, "at once")
}

// A correction lifts the level and leaves the rate: the limit is due later by what it gave.
func TestACorrection(t *testing.T) {
	q := steady(8)
	before := *fit(t, q).Due.Middle
	for i := 4; i < 8; i++ {
		q.Readings[i].Run, q.Readings[i].Mean = 1, q.Readings[i].Mean+0.001
	}
	q.Run = 1
	after := fit(t, q)
	assert.InDelta(t, before+1000, *after.Due.Middle, 5)
	assert.Empty(t, after.Look)
	q.Run = 2
	gone := fit(t, q)
	assert.Equal(t, NotMeasured, gone.Outcome)
	assert.Equal(t, q.Now, *gone.Next)
	assert.InDelta(t, 0.001, gone.Rate.Middle, 1e-6, "the rate is told all the same")
	_, err := gone.Band(0, 1, 2)
	assert.ErrorContains(t, err, "not measured")
}

func TestTooFewReadings(t *testing.T) {
	q := Question{Confidence: 0.95, Misread: 0.05, Limit: 0.001, Now: 10}
	assert.Equal(t, NotMeasured, fit(t, q).Outcome, "none at all")
	q.Readings = []Reading{{Hours: 5, Value: measure.Value{Mean: 0.005, U: 5e-5}}}
	one := fit(t, q)
	assert.Equal(t, TooFew, one.Outcome)
	assert.Nil(t, one.Next, "nothing tells")
	assert.Equal(t, 0.005, one.Level.Middle)
	q.Readings = append(q.Readings, q.Readings[0])
	assert.Equal(t, TooFew, fit(t, q).Outcome, "two of one hour tell no rate")

	// With a part before, that wore 1 mm in 1000 h: 5 mm to 1 mm takes about 4000 h.
	q = steady(6)
	q.Readings = append(q.Readings, Reading{Hours: 2500, Series: 1, Run: 1, Value: measure.Value{Mean: 0.005, U: 5e-5}})
	q.Series, q.Run, q.Now = 1, 1, 2600
	next := fit(t, q)
	assert.Equal(t, TooFew, next.Outcome)
	require.NotNil(t, next.Next)
	assert.Less(t, *next.Next, 6500.0)
	assert.Greater(t, *next.Next, 5500.0)
}

func TestOtherSeriesDoNotCount(t *testing.T) {
	q := steady(6)
	want := fit(t, q)
	for i := range q.Readings {
		q.Readings[i].Hours += 10000
		q.Readings[i].Series = 1
	}
	q.Series, q.Now = 1, q.Now+10000
	q.Readings = append(q.Readings, Reading{Hours: 10, Value: measure.Value{Mean: 0.5, U: 5e-5}}, Reading{Hours: 20, Value: measure.Value{Mean: 0.1, U: 5e-5}})
	got := fit(t, q)
	assert.InDelta(t, *want.Due.To+10000, *got.Due.To, 1e-3)
	assert.Zero(t, got.Misread[6])
}

func TestPastItsLimit(t *testing.T) {
	q := steady(6)
	q.Limit = 0.0035
	trend := fit(t, q)
	assert.Equal(t, Past, trend.Outcome)
	assert.Greater(t, trend.Past, 0.99)
	assert.InDelta(t, 1500, *trend.Due.Middle, 5)
	assert.Equal(t, q.Now, *trend.Next)
	q.Limit = 0.006
	assert.Equal(t, 0.0, *fit(t, q).Due.From, "then or before")
}

// A rod that does not wear: no end, and never a rate below 0.
func TestWhatDoesNotWear(t *testing.T) {
	q := steady(6)
	for i := range q.Readings {
		q.Readings[i].Mean = 0.005 + []float64{0, 3e-5, -4e-5, 1e-5, 4e-5, -1e-5}[i]
	}
	trend := fit(t, q)
	assert.Nil(t, trend.Due.To)
	assert.Zero(t, trend.Rate.Low)
	for i := range q.Readings {
		q.Readings[i].Mean = 0.005 + q.Readings[i].Hours*1e-6
	}
	trend = fit(t, q)
	assert.Nil(t, trend.Due.From)
	assert.Zero(t, trend.Rate.High)
	assert.Contains(t, trend.Look, Look{-1, Against})
	require.NotNil(t, trend.Next)
	points, err := trend.Band(2000, 9000, 8)
	require.NoError(t, err)
	assert.LessOrEqual(t, points[7].High, points[0].High, "a length ahead never goes back")
}

func TestWhatIsToBeLookedAtAgain(t *testing.T) {
	for name, c := range map[string]struct {
		of   func(*Question)
		want []Look
	}{
		"nothing":               {func(*Question) {}, nil},
		"a wrong leaf":          {func(q *Question) { q.Readings[3].Mean += 8e-4 }, []Look{{3, Misread}}},
		"the newest":            {func(q *Question) { q.Readings[9].Mean -= 8e-4 }, []Look{{9, Sudden}}},
		"ten times another one": {func(q *Question) { q.Readings[3].Mean *= 10 }, []Look{{3, TooFar}}},
		"a correction that nobody wrote": {func(q *Question) {
			for i := 5; i < 10; i++ {
				q.Readings[i].Mean += 0.002
			}
		}, []Look{{-1, Scattered}}},
	} {
		t.Run(name, func(t *testing.T) {
			q := steady(10)
			c.of(&q)
			trend := fit(t, q)
			for _, l := range c.want {
				assert.Contains(t, trend.Look, l, "%v %v", trend.Misread, trend.Scatter)
			}
			if c.want == nil {
				assert.Empty(t, trend.Look)
			}
		})
	}
	q := steady(10)
	q.Readings[9].Mean = 0.0005
	sudden := fit(t, q)
	assert.Equal(t, q.Now, *sudden.Next, "at once")
	assert.Greater(t, sudden.Newest, 0.99, "past the limit by itself")
	assert.Equal(t, Ahead, sudden.Outcome)

	// Of two that differ at one hour it cannot be told which is wrong.
	q = steady(3)
	q.Readings[1].Hours, q.Readings[1].Mean = 0, q.Readings[0].Mean+0.001
	assert.Contains(t, fit(t, q).Look, Look{-1, OneOf})
}

// One wrong reading among ten hardly moves the hour; without the share it does.
func TestAMisreadReadingIsLeftAside(t *testing.T) {
	q := steady(10)
	q.Limit = -0.002
	right := fit(t, q)
	q.Readings[8].Mean += 0.001
	moved := fit(t, q)
	assert.InDelta(t, *right.Due.Middle, *moved.Due.Middle, 60)
	q.Misread = 0
	taken := fit(t, q)
	assert.Greater(t, math.Abs(*taken.Due.Middle-*right.Due.Middle), 300.0)
}

func TestBandsThatCannotBe(t *testing.T) {
	trend := fit(t, steady(4))
	for want, c := range map[string]struct {
		from, to float64
		n        int
	}{"1 points": {0, 1, 1}, "from hour 2 to 1": {2, 1, 5}, "from hour NaN": {math.NaN(), 1, 5}} {
		_, err := trend.Band(c.from, c.to, c.n)
		assert.ErrorContains(t, err, want)
	}
}
