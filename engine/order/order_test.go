package order

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func all(n int) []bool {
	out := make([]bool, n)
	for i := range out {
		out[i] = true
	}
	return out
}

// The opening trap: a door of 5 minutes hides two checks of 1 minute with .45
// each; a check outside takes 10 minutes and has .10. Judging each step by
// itself takes the outside check first (15.85); the best order opens the door
// (7.55 = 151/20). Our own calculation.
func TestADoorThatTwoGoodChecksShare(t *testing.T) {
	p := &Problem{
		Steps: []Step{
			{Minutes: 5},
			{Minutes: 1, Before: []int{0}, Finds: []Find{{0, 1}}},
			{Minutes: 1, Before: []int{0}, Finds: []Find{{1, 1}}},
			{Minutes: 10, Finds: []Find{{2, 1}}},
		},
		Weight: []float64{.45, .45, .10},
	}
	got := Greedy(p, nil, all(4), 0)
	assert.Equal(t, []int{0, 1, 2, 3}, got)
	assert.InDelta(t, 7.55, Cost(p, got), 1e-12)
	assert.InDelta(t, 15.85, Cost(p, []int{3, 0, 1, 2}), 1e-12)
}

// M. Pinedo, Scheduling: Theory, Algorithms, and Systems, chains example of
// chapter 3 (weights and times from memory): order 1 2 5 6 3 7 4, total 1967.
func TestPinedosChains(t *testing.T) {
	w := []float64{6, 18, 12, 8, 8, 17, 18}
	d := []float64{3, 6, 6, 5, 4, 8, 10}
	before := [][]int{nil, {0}, {1}, {2}, nil, {4}, {5}}
	p := &Problem{Weight: w}
	for i := range w {
		p.Steps = append(p.Steps, Step{Minutes: d[i], Before: before[i], Finds: []Find{{i, 1}}})
	}
	got := Greedy(p, nil, all(7), 0)
	assert.Equal(t, []int{0, 1, 4, 5, 2, 6, 3}, got)
	assert.InDelta(t, 1967, Cost(p, got), 1e-9)
}

// Cost of imperfect, overlapping checks, all six orders (own calculation,
// d = 10, 2, 6; weights .6, .3).
func TestCostOfOverlappingChecks(t *testing.T) {
	p := &Problem{
		Steps: []Step{
			{Minutes: 10, Finds: []Find{{0, .9}}},
			{Minutes: 2, Finds: []Find{{0, .5}, {1, .8}}},
			{Minutes: 6, Finds: []Find{{1, .95}}},
		},
		Weight: []float64{.6, .3},
	}
	for _, c := range []struct {
		order []int
		want  float64
	}{
		{[]int{0, 1, 2}, 10.26}, {[]int{0, 2, 1}, 11.31}, {[]int{1, 0, 2}, 5.94},
		{[]int{1, 2, 0}, 6.99}, {[]int{2, 0, 1}, 11.70}, {[]int{2, 1, 0}, 9.66},
	} {
		assert.InDelta(t, c.want, Cost(p, c.order), 1e-12, "%v", c.order)
	}
	assert.Equal(t, []int{1, 0, 2}, Greedy(p, nil, all(3), 0))
}

func TestMeanTimeCountsWhatTheSequenceExposes(t *testing.T) {
	p := &Problem{
		Steps:  []Step{{Minutes: 4, Finds: []Find{{0, 1}}}, {Minutes: 6, Finds: []Find{{1, .5}}}},
		Weight: []float64{.5, .2, .3},
	}
	assert.InDelta(t, (.5*4+.1*10)/.6, MeanTime(p, []int{0, 1}), 1e-12)
	assert.Zero(t, MeanTime(p, nil))
}

// draw makes a random problem on a forest of doors and checks.
func draw(r *rand.Rand, n, causes int, overlap bool) *Problem {
	p := &Problem{}
	for range causes {
		p.Weight = append(p.Weight, r.Float64())
	}
	for i := range n {
		s := Step{Minutes: float64(1 + r.IntN(20))}
		if i > 0 && r.IntN(3) > 0 {
			s.Before = []int{r.IntN(i)}
		}
		if overlap {
			for c := range causes {
				if r.IntN(3) == 0 {
					s.Finds = append(s.Finds, Find{c, []float64{.5, .8, 1}[r.IntN(3)]})
				}
			}
		} else if i < causes {
			s.Finds = []Find{{i, 1}}
		}
		p.Steps = append(p.Steps, s)
	}
	return p
}

// best tries every order that respects what comes before what.
func best(p *Problem, used []bool, sequence []int, low float64) float64 {
	if len(sequence) == len(p.Steps) {
		return math.Min(low, Cost(p, sequence))
	}
	for i, s := range p.Steps {
		if used[i] || !ready(s, used) {
			continue
		}
		used[i] = true
		low = best(p, used, append(sequence, i), low)
		used[i] = false
	}
	return low
}

func ready(s Step, used []bool) bool {
	for _, j := range s.Before {
		if !used[j] {
			return false
		}
	}
	return true
}

// Against every possible order of small problems: never out of order, always
// the same, and near the best. The bounds are what was measured on this
// seeded set with room to spare; they are no theorem.
func TestGreedyAgainstEveryOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	worst, total, count := 1.0, 0.0, 0
	for i := range 300 {
		p := draw(r, 6, 6, i%2 == 0)
		got := Greedy(p, nil, all(6), 0)
		assert.Equal(t, got, Greedy(p, nil, all(6), 0))
		used := make([]bool, 6)
		for _, k := range got {
			require.True(t, ready(p.Steps[k], used))
			used[k] = true
		}
		full := append([]int{}, got...) // doors that lead nowhere go last
		for k := range p.Steps {
			if !used[k] && ready(p.Steps[k], used) {
				used[k] = true
				full = append(full, k)
			}
		}
		if len(full) != 6 {
			continue
		}
		ratio := Cost(p, full) / best(p, make([]bool, 6), nil, math.Inf(1))
		require.GreaterOrEqual(t, ratio, 1-1e-12)
		worst, total, count = math.Max(worst, ratio), total+ratio, count+1
	}
	t.Logf("%d problems: mean %.4f, worst %.4f of the best order", count, total/float64(count), worst)
	assert.Less(t, total/float64(count), 1.005)
	assert.Less(t, worst, 1.10)
}

func TestGreedyLeavesOutWhatIsNotWorthIt(t *testing.T) {
	p := &Problem{
		Steps:  []Step{{Minutes: 5}, {Minutes: 1, Before: []int{0}, Finds: []Find{{0, 1}}}, {Minutes: 1, Finds: []Find{{1, 1}}}},
		Weight: []float64{.01, .5},
	}
	assert.Equal(t, []int{2}, Greedy(p, nil, all(3), 0.02))
	assert.Equal(t, []int{2, 0, 1}, Greedy(p, nil, all(3), 0))
	assert.Empty(t, Greedy(p, []int{2}, []bool{false, true, true}, 0)) // its door may not be opened
}
