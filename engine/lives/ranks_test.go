package lives

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Gehan 1965: weeks of remission of 21 patients on 6-mercaptopurine and 21 on placebo, in every
// textbook of survival (Cox and Oakes 1984, table 1.1; data from memory).
func gehan() []Life {
	drug := of([]float64{6, 6, 6, 7, 10, 13, 16, 22, 23}, 6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35)
	placebo := of([]float64{1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23})
	for i := range placebo {
		placebo[i].Place = 1
	}
	return append(drug, placebo...)
}

// R survival, survdiff on these data (printed in many courses; from memory): observed 9
// and 21, expected 19.25 and 10.75.
func TestLogRankOfGehan(t *testing.T) {
	all := gehan()
	sum := [2]float64{}
	for i, s := range Scores(all) {
		sum[all[i].Place] += s
	}
	assert.InDelta(t, 9-19.25, sum[0], 0.005)
	assert.InDelta(t, 21-10.75, sum[1], 0.005)
	// chi-square 16.8 on one degree of freedom, p = 4e-5 two-sided; the deals tell no less
	// than 5e-4.
	d := newDeal(all, 2)
	assert.InDelta(t, math.Sqrt(16.8), d.standings()[1], 0.25, "the variance among deals is near that of the log-rank test")
	assert.LessOrEqual(t, d.dealt(d.standings()[1]), 1e-3)
}

// Every way of dealing a few lives out to three places, counted out.
func TestWorstAgainstEveryDeal(t *testing.T) {
	all := of([]float64{210, 250, 260, 540, 580, 610}, 300, 500)
	places := []int{1, 1, 1, 0, 0, 2, 2, 0}
	for i := range all {
		all[i].Place = places[i]
	}
	d := newDeal(all, 3)
	most := d.standings()[1]
	require.Greater(t, most, max(d.standings()[0], d.standings()[2]))

	scores := Scores(all)
	standing := func(places []int) float64 {
		most, square := 0.0, 0.0
		for _, s := range scores {
			square += s * s
		}
		for g := range 3 {
			n, sum := 0.0, 0.0
			for i, p := range places {
				if p == g {
					n++
					sum += scores[i]
				}
			}
			all := float64(len(scores))
			most = math.Max(most, sum/math.Sqrt(n*(all-n)/all/(all-1)*square))
		}
		return most
	}
	seen, reached, all8 := standing(places), 0.0, 0.0
	var deal func(left [3]int, so []int)
	deal = func(left [3]int, so []int) {
		if len(so) == len(places) {
			all8++
			if standing(so) >= seen-1e-9 {
				reached++
			}
			return
		}
		for g := range 3 {
			if left[g] > 0 {
				next := left
				next[g]--
				deal(next, append(so[:len(so):len(so)], g))
			}
		}
	}
	deal([3]int{3, 3, 2}, nil)
	assert.EqualValues(t, 560, all8, "8!/(3! 3! 2!)")
	assert.InDelta(t, most, seen, 1e-12)
	assert.InDelta(t, reached/all8, d.dealt(most), 0.008)
}

// common practice, no source: a piston that lasts half as long at one cylinder, every
// time, is no luck, though the counts of changes alone leave it open.
func TestHalfTheLifeAtOneCylinder(t *testing.T) {
	r := Record{Places: []Place{
		{From: 0, To: 2200, Changed: []float64{0, 520, 1150, 1700}},
		{From: 0, To: 2200, Changed: []float64{0, 260, 540, 800, 1090, 1350, 1640, 1900}},
		{From: 0, To: 2200, Changed: []float64{0, 610, 1140, 1790}},
	}}
	w, err := WorstOf(r, 0.95)
	require.NoError(t, err)
	assert.Equal(t, []int{1}, w.Places)
	assert.True(t, w.Shown)
	assert.Less(t, w.P, 0.005)
}

// drawRecord is a record of equal places whose parts last alike.
func drawRecord(random *rand.Rand, shape float64, at func(place int) float64) Record {
	r := Record{}
	for i := range 3 {
		p := Place{From: 1000, To: 3000}
		for t := 1000 - 400*random.Float64() + drawWeibull(random, shape, at(i)); t < 3000; t += drawWeibull(random, shape, at(i)) {
			if t > 1000 {
				p.Changed = append(p.Changed, t)
			}
		}
		r.Places = append(r.Places, p)
	}
	return r
}

// Places that are alike are not called worse, and lives that do not change not worsening, more often than
// they may be, whatever the shape: parts that wear out, fail early, or by chance.
func TestAlikeIsSeldomCalledWorse(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 8))
	for _, shape := range []float64{0.8, 1, 4} {
		const n = 100
		worse, trends := 0, 0
		for range n {
			r := drawRecord(random, shape, func(int) float64 { return 350 })
			all, err := r.Lives()
			require.NoError(t, err)
			w, err := WorstOf(r, 0.95)
			require.NoError(t, err)
			if w.Shown {
				worse++
			}
			tr, err := TrendOf(all, 0.95)
			require.NoError(t, err)
			if tr.Says == Worsening || tr.Says == Improving {
				trends++
			}
		}
		// 5 expected; 14 or more of 100 come in 1 of 2000 tries.
		assert.Less(t, worse, 14, "shape %g", shape)
		assert.Less(t, trends, 14, "shape %g", shape)
	}
}

// A place where parts last a third as long is found.
func TestAWorsePlaceIsFound(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 10))
	found := 0
	for range 40 {
		w, err := WorstOf(drawRecord(random, 4, func(place int) float64 {
			if place == 2 {
				return 170
			}
			return 500
		}), 0.95)
		require.NoError(t, err)
		if w.Shown && len(w.Places) == 1 && w.Places[0] == 2 {
			found++
		}
	}
	assert.Greater(t, found, 36)
}

// One place lasts a third as long as the next worse, that one a third as long as the rest:
// both stand apart. Places that are alike stay together.
func TestGroups(t *testing.T) {
	every := func(hours float64) Place {
		p := Place{To: 8000}
		for t, i := 0.0, 0; t <= p.To; i++ {
			p.Changed = append(p.Changed, t)
			t += hours * (1 + 0.1*float64(i%3-1))
		}
		return p
	}
	groups, worst, err := Groups(Record{Places: []Place{every(900), every(100), every(300), every(910)}}, 0.95)
	require.NoError(t, err)
	assert.Equal(t, []int{1}, worst.Places)
	require.Len(t, groups, 3)
	assert.Equal(t, [][]int{{1}, {2}, {0, 3}}, [][]int{groups[0].Places, groups[1].Places, groups[2].Places})
	for _, g := range groups {
		for _, l := range g.Lives {
			assert.Contains(t, g.Places, l.Place)
		}
	}

	alike := drawRecord(rand.New(rand.NewPCG(17, 18)), 3, func(int) float64 { return 350 })
	groups, worst, err = Groups(alike, 0.95)
	require.NoError(t, err)
	assert.False(t, worst.Shown)
	all, err := alike.Lives()
	require.NoError(t, err)
	assert.Equal(t, []Group{{Places: []int{0, 1, 2}, Lives: all}}, groups)

	_, _, err = Groups(Record{}, 0.95)
	assert.Error(t, err)
	_, _, err = Groups(alike, 2)
	assert.Error(t, err)
}

// Each life is in one group, and each place.
func TestGroupsPartAll(t *testing.T) {
	random := rand.New(rand.NewPCG(15, 16))
	for range 12 {
		r := drawRecord(random, 3, func(place int) float64 { return 100 * math.Pow(2, float64(place)) })
		all, err := r.Lives()
		require.NoError(t, err)
		groups, _, err := Groups(r, 0.95)
		require.NoError(t, err)
		var places []int
		var lives []Life
		for _, g := range groups {
			places, lives = append(places, g.Places...), append(lives, g.Lives...)
		}
		assert.ElementsMatch(t, []int{0, 1, 2}, places)
		assert.ElementsMatch(t, all, lives)
	}
}

func TestOrderOfTheLives(t *testing.T) {
	record := func(gaps ...float64) []Life {
		p := Place{Changed: []float64{0}}
		for _, g := range gaps {
			p.To += g
			p.Changed = append(p.Changed, p.To)
		}
		all, err := Record{Places: []Place{p}}.Lives()
		require.NoError(t, err)
		return all
	}
	for name, c := range map[string]struct {
		gaps []float64
		want Verdict
		p    float64 // counted out: 2 of n! orders, each side one
	}{
		"less and less":     {[]float64{700, 640, 600, 520, 450, 400}, Worsening, 2.0 / 720},
		"longer and longer": {[]float64{400, 450, 520, 600, 640, 700}, Improving, 2.0 / 720},
		"this way and that": {[]float64{500, 640, 420, 700, 450, 600}, NoTrend, 0},
		"too few":           {[]float64{700, 500, 300, 100}, TooFew, 1},
	} {
		t.Run(name, func(t *testing.T) {
			tr, err := TrendOf(record(c.gaps...), 0.95)
			require.NoError(t, err)
			assert.Equal(t, c.want, tr.Says)
			if c.p > 0 {
				assert.InDelta(t, c.p, tr.P, 0.003)
			}
		})
	}
}

func TestNothingToCompare(t *testing.T) {
	for name, r := range map[string]Record{
		"no change":    {Places: []Place{{To: 100}, {To: 100}}},
		"nothing over": {Places: []Place{{To: 100, Changed: []float64{0}}, {To: 100, Changed: []float64{50}}}},
		"one place":    {Places: []Place{{To: 100, Changed: []float64{10, 50}}}},
	} {
		t.Run(name, func(t *testing.T) {
			w, err := WorstOf(r, 0.95)
			require.NoError(t, err)
			assert.Empty(t, w.Places)
			assert.Equal(t, 1.0, w.P)
			assert.False(t, w.Shown)
		})
	}
	_, err := WorstOf(Record{Places: []Place{{To: 1}}}, 2)
	assert.Error(t, err)
	_, err = WorstOf(Record{}, 0.95)
	assert.Error(t, err)
	_, err = TrendOf(nil, 2)
	assert.Error(t, err)
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
