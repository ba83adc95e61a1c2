package lives

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

// Against the incomplete gamma function of gonum (from Cephes), and its own identities.
func TestGammaAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := math.Exp(rapid.Float64Range(-0.7, 10).Draw(t, "ln a"))
		x := a * math.Exp(rapid.Float64Range(-3, 3).Draw(t, "ln x/a"))
		lower, upper := gammaShares(a, x)
		near(t, mathext.GammaIncReg(a, x), lower, 1e-8)
		near(t, mathext.GammaIncRegComp(a, x), upper, 1e-8)
		assert.InDelta(t, 1, lower+upper, 1e-15)
	})
}

// Against the incomplete beta function of gonum (from Cephes).
func TestBetaAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := math.Exp(rapid.Float64Range(-0.7, 9).Draw(t, "ln a"))
		b := math.Exp(rapid.Float64Range(-0.7, 9).Draw(t, "ln b"))
		odds := a / b * math.Exp(rapid.Float64Range(-3, 3).Draw(t, "ln odds"))
		below, above := betaShares(a, b, odds)
		near(t, mathext.RegIncBeta(a, b, odds/(1+odds)), below, 1e-8)
		near(t, mathext.RegIncBeta(b, a, 1/(1+odds)), above, 1e-8)
	})
}

// near allows a relative error, but none is asked for below 1e-200.
func near(t assert.TestingT, want, got, relative float64) {
	assert.InDelta(t, want, got, relative*math.Abs(want)+1e-200)
}

// Sums term by term: the plain meaning of the tails.
func TestTailsAreSums(t *testing.T) {
	for _, n := range []int{1, 6, 40} {
		for _, odds := range []float64{0.01, 0.5, 1, 30} {
			binomial := distuv.Binomial{N: float64(n), P: odds / (1 + odds)}
			poisson := distuv.Poisson{Lambda: odds * 5}
			tail, below := 0.0, 0.0
			for k := n; k >= 0; k-- {
				tail += binomial.Prob(float64(k))
				near(t, tail, atLeast(n, k, odds), 1e-9)
			}
			for k := range n + 1 {
				assert.InDelta(t, 1-below, poissonAtLeast(k, odds*5), 1e-12)
				below += poisson.Prob(float64(k))
				near(t, below, poissonAtMost(k, odds*5), 1e-9)
			}
		}
	}
}

func TestLimitsAreChiSquareQuantiles(t *testing.T) {
	for _, n := range []int{1, 2, 7, 40, 300, 5000} {
		for _, tail := range []float64{0.005, 0.025, 0.1} {
			assert.InEpsilon(t, distuv.ChiSquared{K: 2 * float64(n)}.Quantile(tail)/2, poissonLow(n, tail), 1e-8)
			assert.InEpsilon(t, distuv.ChiSquared{K: 2*float64(n) + 2}.Quantile(1-tail)/2, poissonHigh(n, tail), 1e-8)
		}
	}
}
