package noisyor

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Pearl 1988, Probabilistic Reasoning in Intelligent Systems, section 2.2.2, from memory:
// a neighbour who was not understood well, but whose words are four times as likely if
// the alarm sounds as if it does not, moves the odds on a burglary by the ratio of
// 0.95*4 + 0.05 to 0.01*4 + 0.99, with P(alarm | burglary) = 0.95 and P(alarm | none) =
// 0.01. From a prior of 1e-4 that gives 0.00037.
func TestVirtualEvidence(t *testing.T) {
	p := flat([]float64{1e-4}, Problem{
		Present: []Observation{{
			Background: Yield{Yes: 0.01, No: 0.99},
			Links:      []Link{{0, Yield{Yes: (0.95 - 0.01) / 0.99, No: 0.05 / 0.99}}},
			Doubt:      0.25,
		}},
	})
	var s Solver
	a, err := s.Solve(p)
	require.NoError(t, err)
	assert.InEpsilon(t, 1e-4*(0.95*4+0.05)/(1e-4*(0.95*4+0.05)+(1-1e-4)*(0.01*4+0.99)), a.Posterior[0], 1e-12)
	assert.InDelta(t, 0.00037, a.Posterior[0], 0.000005)
}

func TestDoubtBetweenPresentAndAbsent(t *testing.T) {
	o := Observation{Background: Yield{0.02, 0.98}, Links: []Link{{0, Yield{0.6, 0.4}}, {1, Yield{0.1, 0.9}}}}
	other := Observation{Background: Yield{0.01, 0.99}, Links: []Link{{0, Yield{0.3, 0.7}}}}
	solve := func(doubt float64) []float64 {
		p := flat([]float64{0.01, 0.03}, Problem{Present: []Observation{o, other}})
		p.Present[0].Doubt = doubt
		var s Solver
		a, err := s.Solve(p)
		require.NoError(t, err)
		return a.Posterior
	}
	without, err := new(Solver).Solve(flat([]float64{0.01, 0.03}, Problem{Present: []Observation{other}}))
	require.NoError(t, err)
	absent, err := new(Solver).Solve(flat([]float64{0.01, 0.03}, Problem{Present: []Observation{other}, Absent: []Observation{o}}))
	require.NoError(t, err)
	for c := range without.Posterior {
		assert.InEpsilon(t, without.Posterior[c], solve(1)[c], 1e-12, "a doubt of one says nothing")
		assert.InEpsilon(t, absent.Posterior[c], solve(MaxDoubt)[c], 1e-6, "a great doubt is an absence")
		last := 1.0
		for _, doubt := range []float64{0, 0.1, 1, 10, 1e3} {
			got := solve(doubt)[c]
			assert.Less(t, got, last, "more doubt, less likely")
			last = got
		}
	}
}

func TestDoubtOutOfBounds(t *testing.T) {
	for _, doubt := range []float64{-0.1, 2 * MaxDoubt, math.NaN()} {
		var bad *InputError
		_, err := new(Solver).Solve(&Problem{Present: []Observation{{Background: Yield{0.1, 0.9}, Doubt: doubt}}})
		require.ErrorAs(t, err, &bad)
		assert.Equal(t, "present finding 0, doubt", bad.Where)
	}
}
