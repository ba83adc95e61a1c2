package measure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/measure"
)

func across(values ...float64) []measure.Value {
	var out []measure.Value
	for _, x := range values {
		out = append(out, measure.Value{Mean: x, U: 0.1})
	}
	return out
}

// Worked by hand.
func TestSurveyOfABoreAndARod(t *testing.T) {
	stations := []measure.Station{
		{Depth: 0, Across: across(60, 61)},
		{Depth: 1, Across: across(63, 66)},
		{Depth: 2, Across: across(62)},
	}
	nominal := measure.Value{Mean: 60}
	bore, err := measure.SurveyBore(stations, &nominal)
	require.NoError(t, err)
	assert.InDelta(t, 4.0, bore.Taper.Mean, 1e-12)
	assert.InDelta(t, 0.1, bore.Taper.U, 1e-12, "two means of two: u^2 = 2 * 0.1^2/2")
	assert.Equal(t, [2]int{1, 0}, bore.TaperAt)
	assert.InDelta(t, 3.0, bore.OutOfRound.Mean, 1e-12)
	assert.InDelta(t, 0.1*math.Sqrt2, bore.OutOfRound.U, 1e-12)
	assert.Equal(t, 1, bore.RoundAt)
	assert.InDelta(t, 6.0, bore.Wear.Mean, 1e-12)
	assert.Equal(t, 1, bore.WearAt)

	rod, err := measure.SurveyRod(stations, &measure.Value{Mean: 66, U: 0.05})
	require.NoError(t, err)
	assert.InDelta(t, 6.0, rod.Wear.Mean, 1e-12)
	assert.InDelta(t, math.Hypot(0.1, 0.05), rod.Wear.U, 1e-12)
	assert.Equal(t, 0, rod.WearAt)

	one, err := measure.SurveyBore(stations[2:], nil)
	require.NoError(t, err)
	assert.Zero(t, one.Taper)
	assert.Equal(t, -1, one.RoundAt)
	assert.Nil(t, one.Wear)
}

// Radial wear worked by hand: 5 at the bottom, 1 at the top: the bore sits 2 low.
func TestOneSidedWear(t *testing.T) {
	down, err := measure.Offset(measure.Value{Mean: 5, U: 0.3}, measure.Value{Mean: 1, U: 0.4})
	require.NoError(t, err)
	assert.InDelta(t, 2.0, down.Mean, 1e-12)
	assert.InDelta(t, 0.25, down.U, 1e-12)
}

// A perfect bore read with error shows taper by chance: the mean range of n normal values
// is d2 times their sd, d2 = 1.693 for 3 (Shewhart control chart constants, from memory).
func TestTaperOfAPerfectBoreIsBiased(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	total, draws := 0.0, 20000
	for range draws {
		var stations []measure.Station
		for range 3 {
			stations = append(stations, measure.Station{Across: across(60 + 0.1*r.NormFloat64())})
		}
		s, err := measure.SurveyBore(stations, nil)
		require.NoError(t, err)
		total += s.Taper.Mean
	}
	assert.InDelta(t, 1.693*0.1, total/float64(draws), 0.003)
}

func TestSurveyRefusesNonsense(t *testing.T) {
	good := measure.Station{Across: across(60)}
	for _, stations := range [][]measure.Station{
		nil, {{}}, {good, {Depth: math.NaN(), Across: across(60)}}, {{Across: across(0)}}, {{Across: across(math.Inf(1))}},
	} {
		_, err := measure.SurveyBore(stations, nil)
		assert.Error(t, err)
	}
	_, err := measure.SurveyRod([]measure.Station{good}, &measure.Value{Mean: -1})
	assert.Error(t, err)
}
