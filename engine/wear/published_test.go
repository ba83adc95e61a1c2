package wear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// classical are the figures of readings of equal and unknown doubt, none misread, with the
// scatter found and nothing taken beforehand: what handbooks work out.
func classical(x, y []float64, confidence float64) *fitted {
	var points []point
	for i := range x {
		points = append(points, point{at: x[i], past: y[i], u: 1})
	}
	l, free := lineOf(sumsOf(points, 0)), len(x)-2
	w := way{line: l, scatter: math.Sqrt(l.chi / float64(free)), chance: 1}
	return &fitted{
		ways: []way{w}, student: newStudent(free), first: x[0], last: x[len(x)-1], start: x[0],
		sign: 1, below: (1 - confidence) / 2, above: (1 + confidence) / 2,
	}
}

// NIST Statistical Reference Datasets, linear regression, Norris (public domain), y and x;
// certified values of slope, its standard deviation and the residual standard deviation.
func TestNorris(t *testing.T) {
	y := []float64{0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8,
		557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2}
	x := []float64{0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5, 11.6,
		556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5}
	w := classical(x, y, 0.95).ways[0]
	assert.InEpsilon(t, 1.00211681802045, w.rate, 1e-13)
	assert.InEpsilon(t, 0.429796848199937e-03, w.rateDoubt(), 1e-10)
	assert.InEpsilon(t, 0.884796396144373, w.scatter, 1e-10)
	at0, doubt := w.past(0)
	assert.InEpsilon(t, -0.262323073774029, at0, 1e-11)
	assert.InEpsilon(t, 0.232818234301152, doubt, 1e-10)
}

// Calibration of a fluorimeter, with the concentration at which a solution that was read
// once stands on the line: Miller and Miller, Statistics and Chemometrics for Analytical
// Chemistry, sections 5.4 to 5.6, data and answers from memory: slope 1.93 with 0.0409,
// intercept 1.52 with 0.295, scatter 0.433, and for readings of 2.9, 13.5 and 23.0 the 95 %
// limits 0.72 +- 0.68, 6.21 +- 0.62 and 11.13 +- 0.68. Theirs is the first-order interval;
// the one reading counts as doubt of the level.
func TestCalibrationOfAFluorimeter(t *testing.T) {
	x := []float64{0, 2, 4, 6, 8, 10, 12}
	y := []float64{2.1, 5.0, 9.0, 12.6, 17.3, 21.0, 24.7}
	w := classical(x, y, 0.95).ways[0]
	assert.InDelta(t, 1.93, w.rate, 5e-3)
	assert.InDelta(t, 0.0409, w.rateDoubt(), 5e-5)
	at0, doubt := w.past(0)
	assert.InDelta(t, 1.52, at0, 5e-3)
	assert.InDelta(t, 0.295, doubt, 5e-4)
	assert.InDelta(t, 0.433, w.scatter, 5e-4)
	for _, c := range []struct{ read, at, half float64 }{{2.9, 0.72, 0.68}, {13.5, 6.21, 0.62}, {23.0, 11.13, 0.68}} {
		past := make([]float64, len(y))
		for i := range y {
			past[i] = y[i] - c.read
		}
		f := classical(x, past, 0.95)
		f.start = -5
		f.ways[0].weight = 1 / (1/f.ways[0].weight + 1)
		due := f.reach(f.below, 0.5, f.above)
		assert.InDelta(t, c.at, *due[1], 5e-3)
		assert.InDelta(t, c.half, (*due[2]-*due[0])/2, 0.011)
		assert.InDelta(t, c.at-c.half, *due[0], 0.03)
	}
}

// The interval by the roots of the quadratic, as handbooks have it (Draper and Smith,
// Applied Regression Analysis, 3rd ed., section 3.2, from memory): with g = t^2 s^2 / (b^2
// S(xx)), the limits are
//
//	mean x + ((x - mean x) +- (t s / b) sqrt((x - mean x)^2 / S(xx) + (1 - g) / n)) / (1 - g)
//
// for x where the line meets the limit, slope and sums by gonum.
func TestTheQuadraticOfFieller(t *testing.T) {
	x := []float64{0, 110, 250, 430, 505, 700}
	y := []float64{-9.1, -7.6, -7.0, -5.2, -4.9, -3.0}
	a, b := stat.LinearRegression(x, y, nil, false)
	n, mean := float64(len(x)), stat.Mean(x, nil)
	sxx, rest := 0.0, 0.0
	for i := range x {
		sxx += (x[i] - mean) * (x[i] - mean)
		rest += math.Pow(y[i]-a-b*x[i], 2)
	}
	s := math.Sqrt(rest / (n - 2))
	for _, confidence := range []float64{0.5, 0.9, 0.95, 0.99} {
		q := distuv.StudentsT{Sigma: 1, Nu: n - 2}.Quantile((1 + confidence) / 2)
		d, g := -a/b-mean, q*q*s*s/(b*b*sxx)
		half := q * s / b * math.Sqrt(d*d/sxx+(1-g)/n)
		f := classical(x, y, confidence)
		due := f.reach(f.below, 0.5, f.above)
		require.Less(t, g, 1.0)
		assert.InEpsilon(t, mean+(d-half)/(1-g), *due[0], 1e-5)
		assert.InEpsilon(t, mean+d, *due[1], 1e-5)
		assert.InEpsilon(t, mean+(d+half)/(1-g), *due[2], 1e-5)
	}
}

// Where g is above 1 the slope is not told from 0, and Fieller's interval has no end.
func TestNoEndWhereTheRateIsNotTold(t *testing.T) {
	f := classical([]float64{0, 1, 2, 3}, []float64{-5, -4, -5.5, -4.4}, 0.95)
	due := f.reach(f.below, 0.5, f.above)
	assert.NotNil(t, due[0])
	assert.Nil(t, due[2])
}

func TestStudentAgainstGonum(t *testing.T) {
	for free := 1; free < 45; free++ {
		s, want := newStudent(free), distuv.StudentsT{Sigma: 1, Nu: float64(free)}
		for x := -40.0; x <= 40; x += 0.37 {
			assert.InDelta(t, want.CDF(x), s.below(x), 1e-12, "%d at %g", free, x)
		}
	}
}

func TestCrossing(t *testing.T) {
	between := func(f func(float64) float64, q, low, high float64) float64 {
		return crossing(f, q, end{low, f(low)}, end{high, f(high)})
	}
	for _, q := range []float64{0.001, 0.025, 0.5, 0.975} {
		assert.InDelta(t, distuv.UnitNormal.Quantile(q), between(distuv.UnitNormal.CDF, q, -30, 60), 2e-5)
		assert.InEpsilon(t, -math.Log1p(-q), between(distuv.Exponential{Rate: 1}.CDF, q, 0, 1e4), 1e-4)
	}
	step := func(x float64) float64 {
		if x < 3 {
			return 0
		}
		return 1
	}
	assert.InDelta(t, 3, between(step, 0.5, 0, 10), 1e-6)
	assert.Equal(t, 4.0, between(step, 0.5, 4, 10))
	assert.Equal(t, 2.0, between(step, 0.5, 0, 2))
}
