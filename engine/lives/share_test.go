package lives

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
)

func TestShareLimitsAgainstGonum(t *testing.T) {
	for _, c := range []struct{ a, b float64 }{{0.5, 0.5}, {1, 1}, {2, 9}, {0.015 * 50, 0.985 * 50}, {40.3, 1.2}, {300, 7000}} {
		t.Run(fmt.Sprint(c), func(t *testing.T) {
			for _, confidence := range []float64{0.8, 0.95, 0.99} {
				low, high, err := ShareLimits(c.a, c.b, confidence)
				require.NoError(t, err)
				beta := distuv.Beta{Alpha: c.a, Beta: c.b}
				assert.InDelta(t, (1-confidence)/2, beta.CDF(low), 1e-9, "%v", c)
				assert.InDelta(t, (1+confidence)/2, beta.CDF(high), 1e-9, "%v", c)
			}
		})
	}
}

// Clopper and Pearson 1934 limits of 3 of 20 at 95 %, from R's binom.test (from
// memory): 0.03207 to 0.37893. They are the limits of Beta(3, 18) and Beta(4, 17).
func TestShareLimitsGiveClopperAndPearson(t *testing.T) {
	low, _, err := ShareLimits(3, 18, 0.95)
	require.NoError(t, err)
	_, high, err := ShareLimits(4, 17, 0.95)
	require.NoError(t, err)
	assert.InDelta(t, 0.03207, low, 5e-6)
	assert.InDelta(t, 0.37893, high, 5e-6)
}

func TestShareLimitsRefuse(t *testing.T) {
	for _, c := range [][3]float64{{0, 1, 0.95}, {1, -1, 0.95}, {1, 1, 1}, {1, 1, 0.1}} {
		_, _, err := ShareLimits(c[0], c[1], c[2])
		assert.Error(t, err)
	}
}
