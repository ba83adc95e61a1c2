package measure_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"telltale/engine/measure"
)

// line fits y = coef[0] + coef[1] (x - from) to readings of equal but unknown uncertainty:
// each has 1, and the scatter found, the Birge ratio, is then the uncertainty of one.
func line(t *testing.T, x, y []float64, from float64) measure.Fit {
	t.Helper()
	var rows [][]float64
	var values []measure.Value
	for i := range x {
		rows = append(rows, []float64{1, x[i] - from})
		values = append(values, measure.Value{Mean: y[i], U: 1})
	}
	fit, err := measure.LeastSquares(rows, values)
	require.NoError(t, err)
	return fit
}

// u is the uncertainty of a coefficient by the scatter found.
func u(f measure.Fit, i int) float64 { return f.Birge * math.Sqrt(f.Cov[i][i]) }

// NIST Statistical Reference Datasets, linear regression, Norris (public domain):
// calibration of ozone monitors, y and x.
var norris = [][2]float64{
	{0.1, 0.2}, {338.8, 337.4}, {118.1, 118.2}, {888.0, 884.6}, {9.2, 10.1}, {228.1, 226.5},
	{668.5, 666.3}, {998.5, 996.3}, {449.1, 448.6}, {778.9, 777.0}, {559.2, 558.2}, {0.3, 0.4},
	{0.1, 0.6}, {778.1, 775.5}, {668.8, 666.9}, {339.3, 338.0}, {448.9, 447.5}, {10.8, 11.6},
	{557.7, 556.0}, {228.3, 228.1}, {998.0, 995.8}, {888.8, 887.6}, {119.6, 120.2}, {0.3, 0.3},
	{0.6, 0.3}, {557.6, 556.8}, {339.3, 339.1}, {888.0, 887.2}, {998.5, 999.0}, {778.9, 779.0},
	{10.2, 11.1}, {117.6, 118.3}, {228.9, 229.2}, {668.4, 669.1}, {449.2, 448.9}, {0.2, 0.5},
}

func split(pairs [][2]float64) (x, y []float64) {
	for _, p := range pairs {
		x, y = append(x, p[1]), append(y, p[0])
	}
	return x, y
}

// Certified values of NIST StRD Norris, to 13 significant digits.
func TestNorris(t *testing.T) {
	x, y := split(norris)
	fit := line(t, x, y, 0)
	for name, c := range map[string]struct{ want, got float64 }{
		"B0":          {-0.262323073774029, fit.Coef[0]},
		"B1":          {1.00211681802045, fit.Coef[1]},
		"sd of B0":    {0.232818234301152, u(fit, 0)},
		"sd of B1":    {0.429796848199937e-03, u(fit, 1)},
		"residual sd": {0.884796396144373, fit.Birge},
	} {
		t.Run(name, func(t *testing.T) { assert.InEpsilon(t, c.want, c.got, 5e-14) })
	}
}

// The same data moved far from the origin: the slope must not care.
func TestNorrisFarAway(t *testing.T) {
	x, y := split(norris)
	for i := range x {
		x[i] += 1 << 20 // exact to 2^-32
	}
	fit := line(t, x, y, 0)
	assert.InEpsilon(t, 1.00211681802045, fit.Coef[1], 1e-10)
	assert.InEpsilon(t, -0.262323073774029, fit.Coef[0]+fit.Coef[1]*(1<<20), 1e-8)
}

// GUM (JCGM 100:2008) H.3, calibration of a thermometer: y1 at 20 C, y2, their
// uncertainties and correlation, s, and the correction at 30 C with and without the
// covariance. Data read second hand, answers from memory.
func TestThermometerOfTheGUM(t *testing.T) {
	temperature := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	correction := []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
	fit := line(t, temperature, correction, 20)
	assert.InDelta(t, -0.1712, fit.Coef[0], 5e-5)
	assert.InDelta(t, 0.0029, u(fit, 0), 5e-5)
	assert.InDelta(t, 0.00218, fit.Coef[1], 5e-6)
	assert.InDelta(t, 0.00067, u(fit, 1), 5e-6)
	assert.InDelta(t, -0.930, fit.Cov[0][1]/math.Sqrt(fit.Cov[0][0]*fit.Cov[1][1]), 5e-4)
	assert.InDelta(t, 0.0035, fit.Birge, 5e-5)
	at30 := line(t, temperature, correction, 30)
	assert.InDelta(t, -0.1494, at30.Coef[0], 5e-5)
	assert.InDelta(t, 0.0041, u(at30, 0), 5e-5)
	variance := u(fit, 0)*u(fit, 0) + 100*u(fit, 1)*u(fit, 1)
	assert.InDelta(t, 0.0073, math.Sqrt(variance), 5e-5, "without the covariance")
	assert.InDelta(t, u(at30, 0), math.Sqrt(variance+2*10*fit.Birge*fit.Birge*fit.Cov[0][1]), 1e-12, "GUM equation 16")
}

func TestLineAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 12).Draw(t, "n")
		number := rapid.Float64Range(-10, 10)
		var x, y, w []float64
		var values []measure.Value
		var rows [][]float64
		for i := range n {
			u := rapid.Float64Range(0.1, 2).Draw(t, "u")
			x, y, w = append(x, float64(i)+number.Draw(t, "x")/30), append(y, number.Draw(t, "y")), append(w, 1/u/u)
			values = append(values, measure.Value{Mean: y[i], U: u})
			rows = append(rows, []float64{1, x[i]})
		}
		near := func(what string, a, b float64) {
			if math.Abs(a-b) > 1e-9*(1+math.Abs(b)) {
				t.Fatalf("%s: %v against %v", what, a, b)
			}
		}
		alpha, beta := stat.LinearRegression(x, y, w, false)
		fit, err := measure.LeastSquares(rows, values)
		if err != nil {
			t.Fatal(err)
		}
		near("coef 0", fit.Coef[0], alpha)
		near("coef 1", fit.Coef[1], beta)
		near("residual", fit.Residuals[1], y[1]-alpha-beta*x[1])
		mean, variance := stat.PopMeanVariance(x, w)
		total := 0.0
		for _, x := range w {
			total += x
		}
		near("u1", math.Sqrt(fit.Cov[1][1]), 1/math.Sqrt(total*variance))
		near("u0", math.Sqrt(fit.Cov[0][0]), math.Sqrt(1/total+mean*mean/(total*variance)))
		near("cov", fit.Cov[0][1], -mean/(total*variance))
		square := 0.0
		for i, r := range fit.Residuals {
			square += r * r * w[i]
		}
		near("birge", fit.Birge, math.Sqrt(square/float64(n-2)))
	})
}

// Normal equations by Cramer's rule as oracle for three unknowns.
func TestThreeUnknownsAgainstNormalEquations(t *testing.T) {
	rows := [][]float64{{1, 28, 34}, {1, 28, 28}, {1, 28, 22}, {1, 40, 46}, {1, 40, 40}, {1, 40, 34}}
	y := []measure.Value{{Mean: -5.5, U: 1}, {Mean: -6.5, U: 1}, {Mean: -8, U: 1}, {Mean: -5, U: 1}, {Mean: -6, U: 1}, {Mean: -7, U: 1}}
	fit, err := measure.LeastSquares(rows, y)
	require.NoError(t, err)
	var n [3][3]float64
	var r [3]float64
	for i, row := range rows {
		for j := range 3 {
			r[j] += row[j] * y[i].Mean
			for k := range 3 {
				n[j][k] += row[j] * row[k]
			}
		}
	}
	det := func(m [3][3]float64) float64 {
		return m[0][0]*(m[1][1]*m[2][2]-m[1][2]*m[2][1]) - m[0][1]*(m[1][0]*m[2][2]-m[1][2]*m[2][0]) + m[0][2]*(m[1][0]*m[2][1]-m[1][1]*m[2][0])
	}
	for j := range 3 {
		m, minor := n, n
		for i := range 3 {
			m[i][j] = r[i]
			minor[i][j], minor[j][i] = 0, 0
		}
		minor[j][j] = 1
		assert.InEpsilon(t, det(m)/det(n), fit.Coef[j], 1e-9)
		assert.InEpsilon(t, det(minor)/det(n), fit.Cov[j][j], 1e-9)
	}
}

func TestFitsThatCannotBe(t *testing.T) {
	v := []measure.Value{{Mean: 1, U: 1}, {Mean: 2, U: 1}, {Mean: 3, U: 1}}
	for name, rows := range map[string][][]float64{
		"one column twice the other": {{1, 2}, {2, 4}, {3, 6}},
		"more unknowns":              {{1, 2, 3, 4}, {2, 4, 1, 1}, {3, 6, 0, 1}},
		"a column of nothing":        {{1, 0}, {2, 0}, {3, 0}},
		"all at one place":           {{1, 5}, {1, 5}, {1, 5}},
		"all at one place, inexact":  {{1, 0.1}, {1, 0.1}, {1, 0.1}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := measure.LeastSquares(rows, v)
			assert.ErrorIs(t, err, measure.ErrDependent)
		})
	}
	for name, rows := range map[string][][]float64{
		"no rows": nil, "a row less": {{1}, {1}}, "empty rows": {{}, {}, {}}, "ragged": {{1}, {1, 2}, {1}},
		"not a number": {{1}, {1}, {math.NaN()}}, "infinite": {{1}, {1}, {math.Inf(1)}}, "one long row": {{1, 1, 1}, {}, {}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := measure.LeastSquares(rows, v)
			assert.Error(t, err)
		})
	}
	_, err := measure.LeastSquares([][]float64{{1}, {1}}, []measure.Value{{Mean: 1}, {Mean: 1, U: 1}})
	assert.Error(t, err, "one without uncertainty")
	_, err = measure.LeastSquares([][]float64{{1}}, []measure.Value{{Mean: 1, U: 1e-300}})
	assert.Error(t, err)
	_, err = measure.LeastSquares([][]float64{{1, 1}}, v[:1])
	assert.ErrorIs(t, err, measure.ErrDependent, "one reading gives no line")
}

// Wild numbers give an error or finite results.
func TestFitsNeverGiveNonsense(t *testing.T) {
	wild := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-1, 1), rapid.SampledFrom([]float64{0, 1, 1e12, -1e12, 1e-160, math.NaN(), math.Inf(1)}))
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 5).Draw(t, "n")
		var values []measure.Value
		var rows [][]float64
		for range n {
			values = append(values, measure.Value{Mean: wild.Draw(t, "y"), U: wild.Draw(t, "u")})
			rows = append(rows, []float64{1, wild.Draw(t, "x"), wild.Draw(t, "z")}[:rapid.IntRange(1, 3).Draw(t, "unknowns")])
		}
		finite := func(values ...float64) {
			for _, v := range values {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%v", values)
				}
			}
		}
		if fit, err := measure.LeastSquares(rows, values); err == nil {
			finite(fit.Coef...)
			finite(fit.Birge)
			for i := range fit.Cov {
				finite(fit.Cov[i]...)
				finite(fit.Response[i]...)
			}
		}
		for _, v := range values {
			if verdict, err := measure.Judge(v, measure.Limits{Least: ptr(-1), Most: ptr(1)}, 1.645); err == nil {
				finite(verdict.Below, verdict.Inside, verdict.Above)
			}
		}
	})
}
