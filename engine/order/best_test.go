package order

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// shape says what kind of problems are drawn.
type shape struct {
	steps, causes int
	parents       int     // most steps that a step waits for
	overlap       int     // most checks that expose the same cause
	sure          bool    // checks never miss
	doors         float64 // part of the steps that find nothing
	most          int     // minutes, from 0
}

// drawShape makes a random problem. Minutes and weights are small whole
// numbers, so that equal and empty ones are common.
func drawShape(r *rand.Rand, s shape) *Problem {
	p := &Problem{}
	var checks []int
	for i := range s.steps {
		step := Step{Minutes: float64(r.IntN(s.most + 1))}
		for range r.IntN(s.parents + 1) {
			if i > 0 && r.IntN(4) > 0 {
				step.Before = append(step.Before, r.IntN(i))
			}
		}
		if r.Float64() >= s.doors {
			checks = append(checks, i)
		}
		p.Steps = append(p.Steps, step)
	}
	for c := range s.causes {
		p.Weight = append(p.Weight, float64(r.IntN(10)))
		for range 1 + r.IntN(s.overlap) {
			if len(checks) == 0 {
				break
			}
			k := checks[r.IntN(len(checks))]
			sure := 1.0
			if !s.sure {
				sure = []float64{.5, .8, .9, 1}[r.IntN(4)]
			}
			if s.overlap == 1 || !findsCause(p.Steps[k], c) {
				p.Steps[k].Finds = append(p.Steps[k].Finds, Find{c, sure})
			}
		}
	}
	return p
}

func findsCause(s Step, cause int) bool {
	for _, f := range s.Finds {
		if f.Cause == cause {
			return true
		}
	}
	return false
}

// bestOf tries every order of the steps that respects what comes before what.
func bestOf(p *Problem, steps []int, left []float64) float64 {
	if len(steps) == 0 {
		return 0
	}
	low := math.Inf(1)
	hidden := sum(left)
	for k, i := range steps {
		if waitsForOne(p.Steps[i], steps) {
			continue
		}
		rest := append(append([]int(nil), steps[:k]...), steps[k+1:]...)
		after := append([]float64(nil), left...)
		p.expose(after, i)
		low = math.Min(low, p.Steps[i].Minutes*hidden+bestOf(p, rest, after))
	}
	return low
}

// bestBySets weighs every set of steps that can be done at some time, doors and
// all, for problems too large to try every order.
func bestBySets(p *Problem, steps []int) float64 {
	least := map[int]float64{} // J of what remains, by the steps done
	var remaining func(done int) float64
	remaining = func(done int) float64 {
		if known, ok := least[done]; ok {
			return known
		}
		left := slices.Clone(p.Weight)
		var open []int
		for n, i := range steps {
			if done>>n&1 == 0 {
				open = append(open, i)
			} else {
				p.expose(left, i)
			}
		}
		low := math.Inf(1)
		for n, i := range steps {
			if done>>n&1 == 0 && !waitsForOne(p.Steps[i], open) {
				low = math.Min(low, p.Steps[i].Minutes*sum(left)+remaining(done|1<<n))
			}
		}
		if len(open) == 0 {
			low = 0
		}
		least[done] = low
		return low
	}
	return remaining(0)
}

func upTo(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

func waitsForOne(s Step, steps []int) bool {
	for _, j := range s.Before {
		for _, k := range steps {
			if j == k {
				return true
			}
		}
	}
	return false
}

func requireInOrder(t *testing.T, p *Problem, first, sequence []int) {
	t.Helper()
	done := make([]bool, len(p.Steps))
	for _, i := range first {
		done[i] = true
	}
	for _, i := range sequence {
		require.True(t, ready(p.Steps[i], done), "step %d of %v", i, sequence)
		require.False(t, done[i])
		done[i] = true
	}
}

func near(want float64) float64 { return 1e-9 * (1 + want) }

// Every way on small problems against every possible order of their steps.
func TestBestAgainstEveryOrder(t *testing.T) {
	for name, s := range map[string]shape{
		"forest, own causes":       {steps: 7, causes: 6, parents: 1, overlap: 1, doors: .3, most: 8},
		"forest, sure checks":      {steps: 7, causes: 8, parents: 1, overlap: 3, sure: true, doors: .3, most: 8},
		"forest, shared causes":    {steps: 7, causes: 6, parents: 1, overlap: 3, doors: .3, most: 8},
		"several before":           {steps: 7, causes: 6, parents: 3, overlap: 3, doors: .4, most: 8},
		"several before, own":      {steps: 7, causes: 6, parents: 2, overlap: 1, doors: .4, most: 8},
		"nothing before":           {steps: 6, causes: 5, overlap: 4, most: 6},
		"few minutes, many zeroes": {steps: 7, causes: 7, parents: 2, overlap: 2, doors: .2, most: 2},
	} {
		t.Run(name, func(t *testing.T) {
			r := rand.New(rand.NewPCG(3, 9))
			for range 200 {
				p := drawShape(r, s)
				got, proof, err := Best(p, nil, all(len(p.Steps)), Options{})
				require.NoError(t, err)
				requireInOrder(t, p, nil, got)
				want := bestOf(p, got, p.Weight)
				require.True(t, proof.Exact)
				require.InDelta(t, want, proof.Cost, near(want), "%+v", p)
				require.InDelta(t, want, Cost(p, got), near(want))
				require.Equal(t, proof.Cost, proof.Bound)

				require.InDelta(t, want, bestBySets(p, got), near(want), "the two oracles agree")
				found, proof, err := Best(p, nil, all(len(p.Steps)), Options{MaxSets: 1})
				require.NoError(t, err)
				requireInOrder(t, p, nil, found)
				want = bestOf(p, found, p.Weight) // its steps may be others
				require.LessOrEqual(t, proof.Bound, want+near(want), "%+v", p)
				require.GreaterOrEqual(t, proof.Cost, want-near(want))
				if proof.Exact {
					require.InDelta(t, want, proof.Cost, near(want))
				}
			}
		})
	}
}
