package lives

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
)

// 9 pistons in 3000 part hours, where a life of 600 hours makes 5: against gonum's Poisson and gamma.
func TestAgainstLife(t *testing.T) {
	for _, row := range []struct {
		events      int
		hours, life float64
	}{{9, 3000, 600}, {0, 3000, 600}, {1, 100, 5000}, {10, 3000, 600}, {11, 3000, 600}, {400, 1e5, 300}} {
		got, err := AgainstLife(Count{row.events, row.hours}, row.life, 0.95)
		require.NoError(t, err)
		mean := row.hours / row.life
		poisson := distuv.Poisson{Lambda: mean}
		want := 1.0
		if row.events > 0 {
			want = poisson.Survival(float64(row.events) - 1)
		}
		assert.InDelta(t, mean, got.Expected, 1e-9)
		assert.InDelta(t, want, got.P, 1e-10)
		assert.InDelta(t, distuv.Gamma{Alpha: float64(row.events) + 0.5, Beta: row.hours}.Survival(1/row.life), got.Chance, 1e-9)
		assert.LessOrEqual(t, poisson.Survival(float64(got.Needed)-1), 0.05)
		if got.Needed > 1 {
			assert.Greater(t, poisson.Survival(float64(got.Needed)-2), 0.05)
		}
		assert.Equal(t, row.events >= got.Needed, got.Shown)
	}
}

// Any table of the Poisson distribution, mean 5: P(X >= 9) = 0.0681, P(X >= 10) = 0.0318.
func TestPoissonTable(t *testing.T) {
	got, err := AgainstLife(Count{9, 3000}, 600, 0.95)
	require.NoError(t, err)
	assert.InDelta(t, 0.0681, got.P, 5e-5)
	assert.Equal(t, 10, got.Needed)
	assert.InDelta(t, 0.0318, poissonAtLeast(10, 5), 5e-5)
}

func TestLifeRefuses(t *testing.T) {
	for _, life := range []float64{0, -600, 1e-3, 0.02} { // the last makes 150000 replacements
		_, err := AgainstLife(Count{9, 3000}, life, 0.95)
		assert.Error(t, err, "%g", life)
	}
}
