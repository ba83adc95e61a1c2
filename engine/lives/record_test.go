package lives

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestLivesOfARecord(t *testing.T) {
	for name, c := range map[string]struct {
		place Place
		want  []Life
	}{
		"the first part's age is not known": {Place{From: 4000, To: 5000, Changed: []float64{4300, 4900}},
			[]Life{{Hours: 300, End: InBefore}, {Hours: 600, End: Failed}, {Hours: 100}}},
		"a new part at the start": {Place{From: 4000, To: 5000, Changed: []float64{4000, 4300}},
			[]Life{{Hours: 300, End: Failed}, {Hours: 700}}},
		"changed while still good": {Place{From: 0, To: 1000, Changed: []float64{0, 300, 800}, Good: []float64{300}},
			[]Life{{Hours: 300, End: StillGood}, {Hours: 500, End: Failed}, {Hours: 200}}},
		"never changed":           {Place{From: 0, To: 1000}, []Life{{Hours: 1000, End: InBefore}}},
		"changed at the very end": {Place{From: 0, To: 1000, Changed: []float64{0, 1000}}, []Life{{Hours: 1000, End: Failed}}},
		"twice in one hour":       {Place{From: 0, To: 1000, Changed: []float64{400, 400}}, []Life{{Hours: 400, End: InBefore}, {Hours: 600}}},
		"in any order":            {Place{From: 0, To: 900, Changed: []float64{600, 300}}, []Life{{Hours: 300, End: InBefore}, {Hours: 300, End: Failed}, {Hours: 300}}},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := Record{Places: []Place{c.place}}.Lives()
			require.NoError(t, err)
			assert.Equal(t, c.want, got)
		})
	}
}

func TestRecordsThatCannotBe(t *testing.T) {
	nan := math.NaN()
	many := make([]float64, mostLives+1)
	for i := range many {
		many[i] = float64(i + 1)
	}
	for name, p := range map[string]Place{
		"ends before it starts":  {From: 10, To: 5},
		"starts before 0":        {From: -1, To: 5},
		"not a number":           {From: nan, To: 5},
		"without an end":         {From: 0, To: math.Inf(1)},
		"changed outside":        {From: 0, To: 5, Changed: []float64{6}},
		"changed at no number":   {From: 0, To: 5, Changed: []float64{nan}},
		"good without a change":  {From: 0, To: 5, Good: []float64{3}},
		"more lives than can be": {From: 0, To: 5000, Changed: many},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Record{Places: []Place{p}}.Lives()
			assert.Error(t, err)
		})
	}
	_, err := Record{}.Lives()
	assert.Error(t, err, "no place")
}

func TestTogetherNeedsTwoPlaces(t *testing.T) {
	assert.Equal(t, 0, Record{Places: []Place{{To: 9, Changed: []float64{5, 5}}}}.Together())
	assert.Equal(t, 2, Record{Places: []Place{{To: 9, Changed: []float64{5}}, {To: 9, Changed: []float64{5, 7}}}}.Together())
	assert.Equal(t, 0, Record{Places: []Place{{To: 9, Changed: []float64{0}}, {To: 9, Changed: []float64{0}}}}.Together(), "new parts at the start are no failures")
}

// All that is watched is lived: the lives at a place add up to its window. Whatever the
// record, the tests end with a probability, and the order of the file does not matter.
func TestRecordProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var r Record
		watched := 0.0
		for range rapid.IntRange(1, 4).Draw(t, "places") {
			p := Place{From: float64(rapid.IntRange(0, 100).Draw(t, "from"))}
			p.To = p.From + float64(rapid.IntRange(1, 3000).Draw(t, "hours"))
			for range rapid.IntRange(0, 6).Draw(t, "changes") {
				p.Changed = append(p.Changed, p.From+float64(rapid.IntRange(0, int(p.To-p.From)).Draw(t, "at")))
			}
			watched += p.To - p.From
			r.Places = append(r.Places, p)
		}
		all, err := r.Lives()
		require.NoError(t, err)
		sum := 0.0
		for _, l := range all {
			require.Positive(t, l.Hours)
			sum += l.Hours
		}
		require.InDelta(t, watched, sum, 1e-9)
		n := CountOf(all)
		require.Equal(t, n.Lives, n.Failed+n.StillIn+n.StillGood+n.InBefore)
		require.LessOrEqual(t, n.StillIn, len(r.Places))
		score := 0.0
		for _, s := range Scores(all) {
			score += s
		}
		require.InDelta(t, 0, score, 1e-9)
		w, err := WorstOf(r, 0.95)
		require.NoError(t, err)
		require.True(t, w.P > 0 && w.P <= 1 && w.Least <= w.P+0.02, "%+v", w)
		for i := range r.Places {
			for a, b := 0, len(r.Places[i].Changed)-1; a < b; a, b = a+1, b-1 {
				c := r.Places[i].Changed
				c[a], c[b] = c[b], c[a]
			}
		}
		again, err := r.Lives()
		require.NoError(t, err)
		require.Equal(t, all, again)
		fit, err := Fit(all, 0.95)
		require.NoError(t, err)
		if fit != nil {
			for _, e := range []Estimate{fit.Shape, fit.Median, fit.Tenth} {
				require.True(t, e.Low <= e.Value && (e.High == nil || e.Value <= *e.High) && !math.IsNaN(e.Value) && !math.IsInf(e.Value, 0), "%+v", e)
			}
		}
	})
}
