package figures_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Computed: 9, 3 and 2 of 14 changes on three alike places: P(the most has 9
// or more) = 3 P(Binomial(14, 1/3) >= 9) = .0523 exactly (two cannot both
// have 9 of 14).
func TestRecordOfParts(t *testing.T) {
	const record = `parts:
  piston: {from: 4000 h, to: 6000 h, changed-at: {1: [4150 h, 4420 h, 4800 h, 4990 h, 5260 h, 5400 h, 5610 h, 5790 h, 5950 h], 2: [4600 h, 5200 h, 5800 h], 3: [4900 h, 5700 h]}}
`
	tail := 0.0
	for k := 9; k <= 14; k++ {
		tail += math.Exp(lchoose(14, k)) * math.Pow(2, float64(14-k)) / math.Pow(3, 14)
	}
	p := work(t, triplex+record).Parts[0]
	assert.InDelta(t, 0.0523, 3*tail, 5e-5)
	assert.InDelta(t, 3*tail, p.Worst.P, 1e-12)
	assert.False(t, p.Worst.Shown, "5.2 % is over 5 %")
	assert.Equal(t, []string{"1"}, p.Worst.Places)
	assert.Equal(t, 14, p.Changes)
	assert.Equal(t, 2000.0, p.Hours)
	assert.InDelta(t, 4.5, p.PerPlace[0].Per1000, 1e-12)
	assert.Nil(t, p.PerPlace[0].Often, "what is not shown is no sign")
	// Exact limits of 9 events: 4.115 and 17.085 (tables of the Poisson
	// distribution, from memory), over 2000 h.
	assert.InDelta(t, 4.115/2, p.PerPlace[0].Low, 1e-3)
	assert.InDelta(t, 17.085/2, p.PerPlace[0].High, 1e-3)

	ten := work(t, triplex+strings.Replace(record, "5950 h]", "5950 h, 5990 h]", 1)).Parts[0]
	assert.True(t, ten.Worst.Shown)
	require.NotNil(t, ten.PerPlace[0].Often)
	assert.Greater(t, *ten.PerPlace[0].Often, 0.9)
	require.NotNil(t, ten.PerPlace[1].Often, "where one is shown, the others are held against their sisters too")
	assert.Less(t, *ten.PerPlace[1].Often, 0.05)

	expected := work(t, triplex+strings.Replace(record, "changed-at", "expected-life: 700 h, changed-at", 1)).Parts[0]
	for _, r := range expected.PerPlace {
		require.NotNil(t, r.Often)
	}
	assert.Greater(t, *expected.PerPlace[0].Often, 0.9, "222 h a piece against 700")
	assert.Less(t, *expected.PerPlace[2].Often, 0.5, "1000 h a piece against 700")

	none := work(t, triplex+"parts: {piston: {from: 0 h, to: 500 h, changed-at: {}}}\n").Parts[0]
	assert.Zero(t, none.Changes)
	assert.Len(t, none.PerPlace, 3, "a place without a change counts too")
}

func lchoose(n, k int) float64 {
	a, _ := math.Lgamma(float64(n + 1))
	b, _ := math.Lgamma(float64(k + 1))
	c, _ := math.Lgamma(float64(n - k + 1))
	return a - b - c
}
