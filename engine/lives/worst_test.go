package lives

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
)

// eachSplit visits every way of putting the total into the cells.
func eachSplit(total, cells int, visit func(counts []int)) {
	counts := make([]int, cells)
	var fill func(cell, left int)
	fill = func(cell, left int) {
		if cell == cells-1 {
			counts[cell] = left
			visit(counts)
			return
		}
		for k := range left + 1 {
			counts[cell] = k
			fill(cell+1, left-k)
		}
	}
	fill(0, total)
}

func multinomial(counts []int, shares []float64) float64 {
	total, logP := 0, 0.0
	for i, k := range counts {
		total += k
		g, _ := math.Lgamma(float64(k) + 1)
		logP += float64(k)*math.Log(shares[i]) - g
	}
	g, _ := math.Lgamma(float64(total) + 1)
	return math.Exp(logP + g)
}

// smallestTail is the statistic by its definition, with gonum's binomial.
func smallestTail(counts []int, shares []float64) float64 {
	total, tail := 0, 1.0
	for _, k := range counts {
		total += k
	}
	for i, k := range counts {
		if k > 0 {
			tail = math.Min(tail, distuv.Binomial{N: float64(total), P: shares[i]}.Survival(float64(k-1)))
		}
	}
	return tail
}

func cellsOf(counts []int, hours []float64) ([]Count, []float64) {
	sum := 0.0
	for _, h := range hours {
		sum += h
	}
	cells, shares := make([]Count, len(counts)), make([]float64, len(counts))
	for i, k := range counts {
		cells[i], shares[i] = Count{k, hours[i]}, hours[i]/sum
	}
	return cells, shares
}

// Every split of small totals, with equal and unequal hours: P must be the sum over all
// splits whose smallest tail is no larger. And the test keeps its word: P at most alpha
// comes with a probability of at most alpha.
func TestWorstAgainstEnumeration(t *testing.T) {
	for _, hours := range [][]float64{
		{1000, 1000}, {1000, 1000, 1000}, {500, 1000, 1500}, {100, 2000, 300}, {900, 1000, 1000, 400},
	} {
		for _, total := range []int{1, 2, 5, 9} {
			type split struct{ tail, chance, p float64 }
			var splits []split
			eachSplit(total, len(hours), func(counts []int) {
				cells, shares := cellsOf(counts, hours)
				w, err := WorstOf(cells, 0.95)
				require.NoError(t, err)
				splits = append(splits, split{smallestTail(counts, shares), multinomial(counts, shares), w.P})
			})
			for _, alpha := range []float64{0.01, 0.05, 0.2} {
				size := 0.0
				for _, s := range splits {
					if s.p <= alpha {
						size += s.chance
					}
				}
				require.LessOrEqual(t, size, alpha+1e-12, "hours %v, total %d", hours, total)
			}
			for _, s := range splits {
				want := 0.0
				for _, other := range splits {
					if other.tail <= s.tail*(1+1e-7) {
						want += other.chance
					}
				}
				require.InDelta(t, want, s.p, 1e-10, "hours %v, total %d", hours, total)
			}
		}
	}
}

// greatest is P(max >= k) for equal hours, counted out.
func greatest(total, cells, k int) float64 {
	shares := make([]float64, cells)
	for i := range shares {
		shares[i] = 1 / float64(cells)
	}
	p := 0.0
	eachSplit(total, cells, func(counts []int) {
		for _, c := range counts {
			if c >= k {
				p += multinomial(counts, shares)
				return
			}
		}
	})
	return p
}

// 9, 3 and 2 pistons: 0.01743 if the cylinder had been named beforehand, three times that
// since it was picked (computed elsewhere, and counted out here).
func TestNineThreeTwo(t *testing.T) {
	w, err := WorstOf([]Count{{9, 1000}, {3, 1000}, {2, 1000}}, 0.95)
	require.NoError(t, err)
	assert.Equal(t, []int{0}, w.Cells)
	assert.InDelta(t, 0.0523, w.P, 5e-5)
	assert.InDelta(t, greatest(14, 3, 9), w.P, 1e-12)
	assert.False(t, w.Shown)
	assert.Equal(t, []int{10, 10, 10}, w.Needed)
	assert.Equal(t, 1, w.More, "10, 3 and 2")
	assert.InDelta(t, 0.01743, distuv.Binomial{N: 14, P: 1. / 3}.Survival(8), 5e-6)

	w, err = WorstOf([]Count{{10, 1000}, {3, 1000}, {2, 1000}}, 0.95)
	require.NoError(t, err)
	assert.True(t, w.Shown)
	assert.Zero(t, w.More)
}

// The smallest count that shows anything at 5 % (computed elsewhere, and counted out here).
func TestNeededCount(t *testing.T) {
	for cells, needed := range map[int]map[int]int{
		3: {3: 0, 4: 4, 5: 5, 6: 6, 7: 6, 8: 7, 9: 7, 10: 8, 11: 8, 12: 9, 13: 9, 14: 10, 15: 10, 16: 10, 17: 11, 18: 11, 19: 12, 20: 12},
		2: {5: 0, 6: 6, 7: 7, 8: 8, 9: 8, 10: 9, 11: 10, 12: 10, 15: 12, 20: 15},
	} {
		for total, k := range needed {
			counts := make([]Count, cells)
			for i := range counts {
				counts[i].Hours = 1200
			}
			counts[cells-1].Events = total
			w, err := WorstOf(counts, 0.95)
			require.NoError(t, err)
			for i := range counts {
				assert.Equal(t, k, w.Needed[i], "%d of %d cells", total, cells)
			}
			if k > 0 {
				assert.LessOrEqual(t, greatest(total, cells, k), 0.05)
				assert.Greater(t, greatest(total, cells, k-1), 0.05)
			}
			assert.Equal(t, map[int]int{3: 4, 2: 6}[cells], w.FewestTotal)
		}
	}
}

// A cylinder watched for less time needs fewer; one that merely ran longer is not worse.
func TestHoursCount(t *testing.T) {
	w, err := WorstOf([]Count{{8, 4000}, {4, 1000}, {1, 1000}}, 0.95)
	require.NoError(t, err)
	assert.Equal(t, []int{1}, w.Cells)
	assert.Less(t, w.Needed[1], w.Needed[0])

	// Nothing to be seen where nearly all hours are: all 13 would come there by luck in one of 18.
	w, err = WorstOf([]Count{{8, 8000}, {4, 1000}, {1, 1000}}, 0.95)
	require.NoError(t, err)
	assert.Zero(t, w.Needed[0])
	assert.InDelta(t, 1./18, math.Pow(0.8, 13), 1e-3)
}

func TestNoneOrSeveralStandOut(t *testing.T) {
	w, err := WorstOf([]Count{{0, 10}, {0, 10}, {0, 10}}, 0.95)
	require.NoError(t, err)
	assert.Equal(t, Worst{P: 1, Needed: []int{0, 0, 0}, FewestTotal: 4, More: 4}, w)

	w, err = WorstOf([]Count{{0, 0.01}, {1, 1e8}}, 0.95)
	require.NoError(t, err)
	assert.Equal(t, []int{1}, w.Cells, "a cell without events never stands out")

	w, err = WorstOf([]Count{{5, 10}, {1, 10}, {5, 10}}, 0.95)
	require.NoError(t, err)
	assert.Equal(t, []int{0, 2}, w.Cells)

	w, err = WorstOf([]Count{{5, 10}, {5, 10}, {5, 10}}, 0.95)
	require.NoError(t, err)
	assert.InDelta(t, 1, w.P, 1e-12)
}

// A probability far below one rounding of 1 keeps its digits: all 60 on one of two.
func TestSmallProbabilityKeepsItsDigits(t *testing.T) {
	w, err := WorstOf([]Count{{60, 10}, {0, 10}}, 0.95)
	require.NoError(t, err)
	assert.InEpsilon(t, math.Pow(2, -59), w.P, 1e-10)
}

// More by its definition: one fewer further event is not enough, so many are.
func TestMoreIsTheFirstThatShows(t *testing.T) {
	for _, counts := range [][]int{{1, 0, 0}, {2, 2, 1}, {6, 5, 2}, {20, 17, 18}, {3, 4, 1}} {
		cells, _ := cellsOf(counts, []float64{1000, 1000, 700})
		w, err := WorstOf(cells, 0.95)
		require.NoError(t, err)
		require.Positive(t, w.More)
		for extra := range w.More + 1 {
			with := append([]Count(nil), cells...)
			with[w.Cells[0]].Events += extra
			v, err := WorstOf(with, 0.95)
			require.NoError(t, err)
			assert.Equal(t, extra == w.More, v.Shown, "%v and %d more", counts, extra)
		}
	}
}

func TestWorstRefuses(t *testing.T) {
	ok := Count{1, 100}
	for name, cells := range map[string][]Count{
		"one": {ok}, "none": nil, "many": make([]Count, 65),
		"negative hours": {ok, {1, -100}}, "no hours": {ok, {0, 0}}, "negative count": {ok, {-1, 100}},
		"not a number": {ok, {1, math.NaN()}}, "endless": {ok, {1, math.Inf(1)}}, "too much": {ok, {maxSpread, 100}},
	} {
		_, err := WorstOf(cells, 0.95)
		assert.Error(t, err, name)
	}
	_, err := WorstOf([]Count{ok, ok}, 95)
	assert.Error(t, err)
}
