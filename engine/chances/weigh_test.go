package chances

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"telltale/rules"
)

func TestShare(t *testing.T) {
	for _, p := range []float64{1e-6, 0.03, 0.5, 0.99} {
		for _, n := range []int{1, 2, 3, 4} {
			assert.InEpsilon(t, p, 1-math.Pow(1-share(p, n), float64(n)), 1e-9)
		}
	}
}

// Weights of evidence: with one finding the weight is the whole move of the
// odds, so for it 10 log10 of posterior over prior odds is exact. The fever
// table is Russell and Norvig, Artificial Intelligence: A Modern Approach,
// noisy-OR section (inhibitions cold .6, flu .2, malaria .1; table from
// memory); priors of .1 are ours. Exact fractions: cold 6221/24536, flu
// 2579/6134, malaria 2849/6134.
func TestReasonsAreWeightsOfEvidence(t *testing.T) {
	for _, c := range []struct {
		p    float64
		want float64
	}{{6221.0 / 24536, 4.852958}, {2579.0 / 6134, 8.148542}, {2849.0 / 6134, 8.923996}} {
		assert.InDelta(t, c.want, decibans(c.p/(1-c.p), 0.1/0.9), 1e-6)
	}
	// Jaynes, Probability Theory: The Logic of Science, chapter 4: a
	// defective widget from the bad machine (1/3 against 1/6) is worth
	// 3.0103 db (from memory).
	assert.InDelta(t, 3.0103, decibans(1.0/3, 1.0/6), 1e-4)
	assert.Equal(t, float64(mostReason), decibans(1, 0))
	assert.Equal(t, float64(-mostReason), decibans(0, 1))
}

// Poole and Mackworth, Artificial Intelligence: Foundations of Computational
// Agents, 2nd edition, exercise on a die of eight faces: entropy in bits.
func TestEntropy(t *testing.T) {
	assert.InDelta(t, 1, entropy(0.5), 1e-15)
	assert.InDelta(t, 0.811278, entropy(0.25), 1e-6)
	assert.Zero(t, entropy(0))
	assert.Zero(t, entropy(1))
}

func TestShiftMovesTheLogOdds(t *testing.T) {
	assert.InDelta(t, 0.5, shift(0.2, 1.3862943611198906), 1e-12) // odds 1:4 times 4
	assert.Equal(t, 0.3, shift(0.3, 0))
	assert.Zero(t, shift(0, 3))
	assert.Less(t, shift(0.999999, 50), 1.0)
}

// A reading is plainly wrong as often on either side.
func TestAMisreadReadingBoundsItsChance(t *testing.T) {
	s := reader{book: &rules.Book{Readings: rules.Readings{Misread: 0.02}}}
	assert.InDelta(t, 0.99, s.read(1), 1e-12)
	assert.InDelta(t, 0.01, s.read(0), 1e-12)
	assert.Equal(t, 0.5, s.read(0.5))
}
