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
	line, err := measure.FitLine(split(norris))
	require.NoError(t, err)
	origin := line.Predict(0)
	for _, c := range []struct {
		name      string
		want, got float64
	}{
		{"B0", -0.262323073774029, origin.Mean},
		{"B1", 1.00211681802045, line.Slope.Mean},
		{"sd of B0", 0.232818234301152, origin.U},
		{"sd of B1", 0.429796848199937e-03, line.Slope.U},
		{"residual sd", 0.884796396144373, line.SD},
	} {
		assert.InEpsilon(t, c.want, c.got, 5e-14, c.name)
	}
}

// The same data moved far from the origin: the slope must not care.
func TestNorrisFarAway(t *testing.T) {
	x, y := split(norris)
	for i := range x {
		x[i] += 1 << 20 // exact to 2^-32
	}
	line, err := measure.FitLine(x, y)
	require.NoError(t, err)
	assert.InEpsilon(t, 1.00211681802045, line.Slope.Mean, 1e-10)
	assert.InEpsilon(t, -0.262323073774029, line.Predict(1<<20).Mean, 1e-8)
}

// GUM (JCGM 100:2008) H.3, calibration of a thermometer: y1 at 20 C, y2, their
// uncertainties and correlation, s, and the correction at 30 C with and without the
// covariance. Data read second hand, answers from memory.
func TestThermometerOfTheGUM(t *testing.T) {
	temperature := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	correction := []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
	line, err := measure.FitLine(temperature, correction)
	require.NoError(t, err)
	y1 := line.Predict(20)
	assert.InDelta(t, -0.1712, y1.Mean, 5e-5)
	assert.InDelta(t, 0.0029, y1.U, 5e-5)
	assert.InDelta(t, 0.00218, line.Slope.Mean, 5e-6)
	assert.InDelta(t, 0.00067, line.Slope.U, 5e-6)
	assert.InDelta(t, -0.930, line.Correlation(20), 5e-4)
	assert.InDelta(t, 0.0035, line.SD, 5e-5)
	at30 := line.Predict(30)
	assert.InDelta(t, -0.1494, at30.Mean, 5e-5)
	assert.InDelta(t, 0.0041, at30.U, 5e-5)
	variance := y1.U*y1.U + 100*line.Slope.U*line.Slope.U
	assert.InDelta(t, 0.0073, math.Sqrt(variance), 5e-5, "without the covariance")
	assert.InDelta(t, at30.U, math.Sqrt(variance+2*10*line.Covariance(20)), 1e-12, "GUM equation 16")
}

func TestLineAgainstGonumAndLeastSquares(t *testing.T) {
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
		line, err := measure.FitLineKnown(x, values)
		if err != nil {
			t.Fatal(err)
		}
		near := func(what string, a, b float64) {
			if math.Abs(a-b) > 1e-9*(1+math.Abs(b)) {
				t.Fatalf("%s: %v against %v", what, a, b)
			}
		}
		alpha, beta := stat.LinearRegression(x, y, w, false)
		near("intercept", line.Predict(0).Mean, alpha)
		near("slope", line.Slope.Mean, beta)
		fit, err := measure.LeastSquares(rows, values)
		if err != nil {
			t.Fatal(err)
		}
		near("coef 0", fit.Coef[0], alpha)
		near("coef 1", fit.Coef[1], beta)
		near("u0", math.Sqrt(fit.Cov[0][0]), line.Predict(0).U)
		near("u1", math.Sqrt(fit.Cov[1][1]), line.Slope.U)
		near("cov", fit.Cov[0][1], line.Covariance(0))
		near("birge", fit.Birge, line.Birge)
		near("residual", fit.Residuals[1], line.Residuals[1])
	})
}

func TestLineWithoutUncertainty(t *testing.T) {
	line, err := measure.FitLineKnown([]float64{0, 1, 2}, []measure.Value{{Mean: 1}, {Mean: 3}, {Mean: 5}})
	require.NoError(t, err)
	assert.Equal(t, measure.Value{Mean: 2}, line.Slope)
	assert.Equal(t, measure.Value{Mean: 1}, line.Predict(0))
	assert.Zero(t, line.Correlation(0))
	assert.Zero(t, line.Birge)
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
	_, err := measure.LeastSquares([][]float64{{1, 2}, {2, 4}, {3, 6}}, v)
	assert.ErrorIs(t, err, measure.ErrDependent)
	_, err = measure.LeastSquares([][]float64{{1, 2, 3, 4}, {2, 4, 1, 1}, {3, 6, 0, 1}}, v)
	assert.ErrorIs(t, err, measure.ErrDependent)
	_, err = measure.LeastSquares([][]float64{{1, 0}, {2, 0}, {3, 0}}, v)
	assert.ErrorIs(t, err, measure.ErrDependent)
	_, err = measure.FitLineKnown([]float64{5, 5, 5}, v)
	assert.ErrorIs(t, err, measure.ErrDependent)
	_, err = measure.FitLine([]float64{0.1, 0.1, 0.1}, []float64{1, 2, 3})
	assert.ErrorIs(t, err, measure.ErrDependent)

	for _, rows := range [][][]float64{nil, {{1}, {1}}, {{}, {}, {}}, {{1}, {1, 2}, {1}}, {{1}, {1}, {math.NaN()}}, {{1, 1, 1, 1, 1}, {}, {}}} {
		_, err = measure.LeastSquares(rows, v)
		assert.Error(t, err)
	}
	_, err = measure.LeastSquares([][]float64{{1}, {1}}, []measure.Value{{Mean: 1}, {Mean: 1, U: 1}})
	assert.Error(t, err, "some with and some without uncertainty")
	_, err = measure.LeastSquares([][]float64{{1}}, []measure.Value{{Mean: 1, U: 1e-300}})
	assert.Error(t, err)
	_, err = measure.FitLine([]float64{1, 2}, []float64{1, 2})
	assert.Error(t, err, "no scatter from two")
	_, err = measure.FitLine([]float64{1, 2, 3}, []float64{1, 2})
	assert.Error(t, err)
	_, err = measure.FitLine([]float64{1, 2, math.Inf(1)}, []float64{1, 2, 3})
	assert.Error(t, err)
	_, err = measure.FitLineKnown([]float64{1}, v[:1])
	assert.Error(t, err)
}

// Wild numbers give an error or finite results.
func TestFitsNeverGiveNonsense(t *testing.T) {
	wild := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-1, 1), rapid.SampledFrom([]float64{0, 1, 1e12, -1e12, 1e-160, math.NaN(), math.Inf(1)}))
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 5).Draw(t, "n")
		var x, y []float64
		var values []measure.Value
		var rows [][]float64
		for range n {
			x, y = append(x, wild.Draw(t, "x")), append(y, wild.Draw(t, "y"))
			values = append(values, measure.Value{Mean: y[len(y)-1], U: wild.Draw(t, "u")})
			rows = append(rows, []float64{1, x[len(x)-1], wild.Draw(t, "z")})
		}
		finite := func(values ...float64) {
			for _, v := range values {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%v", values)
				}
			}
		}
		if line, err := measure.FitLine(x, y); err == nil {
			p := line.Predict(1)
			finite(p.Mean, p.U, line.Slope.Mean, line.Slope.U, line.SD, line.Covariance(1), line.Correlation(1))
		}
		if line, err := measure.FitLineKnown(x, values); err == nil {
			p := line.Predict(1)
			finite(p.Mean, p.U, line.Slope.Mean, line.Slope.U, line.SD, line.Birge, line.Covariance(1), line.Correlation(1))
		}
		if fit, err := measure.LeastSquares(rows, values); err == nil {
			finite(fit.Coef...)
			finite(fit.Birge)
			for _, row := range fit.Cov {
				finite(row...)
			}
		}
		for _, v := range values {
			if verdict, err := measure.Judge(v, measure.Limits{Least: ptr(-1), Most: ptr(1)}, 1.645); err == nil {
				finite(verdict.Below, verdict.Inside, verdict.Above)
			}
		}
	})
}
