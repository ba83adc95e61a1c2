package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The rule for a product of powers: relative uncertainties add by squares, each
// times its power (GUM 5.1.6, from memory).
func TestThroughAProductAndAPower(t *testing.T) {
	a, b := Value{200, 2}, Value{50, 1}
	got := Through(func(x []float64) float64 { return x[0] * math.Pow(x[1], 2) }, a, b)
	assert.InDelta(t, 500_000, got.Mean, 1e-6)
	assert.InDelta(t, 500_000*math.Hypot(0.01, 2*0.02), got.U, 500_000*1e-6)
	sum := Through(func(x []float64) float64 { return x[0] - x[1] }, a, b)
	assert.InDelta(t, a.Minus(b).U, sum.U, 1e-9)
	assert.Equal(t, Value{Mean: 3}, Through(func(x []float64) float64 { return x[0] }, Value{Mean: 3}))
}

// The same by drawing the values many times.
func TestThroughBesideDrawnValues(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	of := []Value{{2400, 28}, {2800, 33}, {95, 0.3}, {80, 0.3}, {1.65, 0.375}}
	f := func(x []float64) float64 { return 1 - x[0]/x[1]*math.Pow(x[2]/x[3], x[4]) }
	got := Through(f, of...)
	n, sum, squares := 200_000, 0.0, 0.0
	for range n {
		x := make([]float64, len(of))
		for i, v := range of {
			x[i] = v.Mean + v.U*r.NormFloat64()
		}
		y := f(x)
		sum, squares = sum+y, squares+y*y
	}
	mean := sum / float64(n)
	assert.InDelta(t, mean, got.Mean, 0.01)
	assert.InDelta(t, 1, math.Sqrt(squares/float64(n)-mean*mean)/got.U, 0.02)
}
