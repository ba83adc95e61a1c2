package lives

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func triplex() Record {
	return Record{Part: "piston", Cylinders: []Cylinder{
		{Name: "1", To: 3000, Replaced: []float64{150, 480, 900, 1300, 1700, 1950, 2300, 2600, 2950}},
		{Name: "2", To: 3000, Replaced: []float64{700, 1500, 2400}},
		{Name: "3", To: 3000, Replaced: []float64{1300, 2000}},
	}}
}

func TestSummaryOfATriplex(t *testing.T) {
	s, err := Summarise(triplex(), 0.95)
	require.NoError(t, err)
	assert.Equal(t, "piston", s.Part)
	assert.Equal(t, []int{9, 3, 2}, []int{s.Cylinders[0].Rate.Events, s.Cylinders[1].Rate.Events, s.Cylinders[2].Rate.Events})
	assert.InDelta(t, 3, s.Cylinders[0].Rate.PerHour*1000, 1e-9)
	assert.Equal(t, Count{14, 9000}, s.PartRate.Count)
	assert.Equal(t, Count{14, 3000}, s.PumpRate.Count)
	require.NotNil(t, s.Worst)
	assert.InDelta(t, 0.0523, s.Worst.P, 5e-5)
	assert.Equal(t, 14, s.Trend.Used)
	assert.Equal(t, NoTrend, s.Trend.Verdict)
	assert.Equal(t, 2, s.Together, "cylinders 1 and 3 at hour 1300")
}

// A cylinder watched from hour 1000 on: the trend and the pump rate start there, the rates do not.
func TestSummaryOfUnequalWindows(t *testing.T) {
	r := triplex()
	r.Cylinders[2].From = 1000
	s, err := Summarise(r, 0.95)
	require.NoError(t, err)
	assert.Equal(t, Count{14, 8000}, s.PartRate.Count)
	assert.Equal(t, Count{10, 2000}, s.PumpRate.Count)
	assert.Equal(t, 1000.0, s.From)
	assert.Equal(t, 3000.0, s.To)
	want, err := TrendOf([]float64{300, 700, 950, 1300, 1600, 1950, 500, 1400, 300, 1000}, 2000, ByClock, 0.95)
	require.NoError(t, err)
	assert.InDelta(t, want.ChiSquare, s.Trend.ChiSquare, 1e-12)
}

func TestSummaryOfOneCylinderAndNoReplacement(t *testing.T) {
	s, err := Summarise(Record{Cylinders: []Cylinder{{Name: "1", To: 500}}}, 0.95)
	require.NoError(t, err)
	assert.Nil(t, s.Worst)
	assert.Equal(t, TooFew, s.Trend.Verdict)
	assert.InDelta(t, 2.99573/500, s.PartRate.Most, 1e-7)
}

// A record closed by a failure must have it at its end.
func TestSummaryClosedByAFailure(t *testing.T) {
	r := triplex()
	r.Ending = ByFailure
	_, err := Summarise(r, 0.95)
	require.Error(t, err)
	for i := range r.Cylinders {
		r.Cylinders[i].To = 2950
	}
	s, err := Summarise(r, 0.95)
	require.NoError(t, err)
	assert.Equal(t, 13, s.Trend.Used)
}

func TestNeverAllWatched(t *testing.T) {
	_, err := Summarise(Record{Cylinders: []Cylinder{{To: 1000}, {From: 1500, To: 3000}}}, 0.95)
	assert.ErrorContains(t, err, "all cylinders were watched")
}

// Twice in the same hour on the same cylinder is odd, but no set.
func TestTogetherNeedsTwoCylinders(t *testing.T) {
	s, err := Summarise(Record{Cylinders: []Cylinder{{To: 900, Replaced: []float64{5, 5}}, {To: 900}}}, 0.95)
	require.NoError(t, err)
	assert.Zero(t, s.Together)
}

func TestSummaryRefuses(t *testing.T) {
	for name, spoil := range map[string]func(r *Record){
		"no cylinder":       func(r *Record) { r.Cylinders = nil },
		"before the record": func(r *Record) { r.Cylinders[1].From = 800 },
		"at its start":      func(r *Record) { r.Cylinders[1].From = 700 },
		"after the record":  func(r *Record) { r.Cylinders[1].Replaced[2] = 3000.5 },
		"not a number":      func(r *Record) { r.Cylinders[1].Replaced[2] = math.NaN() },
		"negative start":    func(r *Record) { r.Cylinders[0].From = -1 },
		"no start":          func(r *Record) { r.Cylinders[0].From = math.NaN() },
		"endless":           func(r *Record) { r.Cylinders[0].To = math.Inf(1) },
		"turned round":      func(r *Record) { r.Cylinders[0] = Cylinder{From: 3000, To: 1} },
	} {
		r := triplex()
		spoil(&r)
		_, err := Summarise(r, 0.95)
		assert.Error(t, err, name)
	}
	_, err := Summarise(triplex(), 1)
	assert.Error(t, err)
}
