package lives

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// of makes lives that ended, and as many that lasted at least so long.
func of(ended []float64, running ...float64) []Life {
	var out []Life
	for _, h := range ended {
		out = append(out, Life{Hours: h, End: Failed})
	}
	for _, h := range running {
		out = append(out, Life{Hours: h})
	}
	return out
}

func failedIf(failed bool) End {
	if failed {
		return Failed
	}
	return StillIn
}

// NIST/SEMATECH e-Handbook 8.4.1.3: 20 units, 10 failures, 10 still running at 500 h.
// The maximum likelihood fit is printed there: shape 1.7208, scale 606.5280.
var nist = of([]float64{54, 187, 216, 240, 244, 335, 361, 373, 375, 386}, 500, 500, 500, 500, 500, 500, 500, 500, 500, 500)

func TestWeibullOfNIST(t *testing.T) {
	w, err := Fit(nist, 0.95)
	require.NoError(t, err)
	assert.InDelta(t, 1.7208, w.Shape.Value, 5e-5)
	assert.InDelta(t, 606.5280, w.Scale, 5e-4)
	// The mean of the fit is printed too: 540.737.
	assert.InDelta(t, 540.737, w.Scale*math.Gamma(1+1/w.Shape.Value), 5e-3)
	assert.InDelta(t, 606.5280*math.Pow(math.Ln2, 1/1.7208), w.Median.Value, 0.05)
	assert.InDelta(t, 606.5280*math.Pow(-math.Log(0.9), 1/1.7208), w.Tenth.Value, 0.05)
	assert.Equal(t, 500.0, w.Longest)
	// The likelihood printed there, -75.135, at its best.
	f := likelihood{lives: nist, failed: 10, longest: 500}
	assert.InDelta(t, -75.135, f.ofShape(w.Shape.Value)-f.sumLogHours(), 5e-4)
}

// sumLogHours is what the log likelihood leaves out: the sum of ln t over the ended.
func (f *likelihood) sumLogHours() float64 {
	sum := 0.0
	for _, l := range f.lives {
		if l.End == Failed {
			sum += math.Log(l.Hours)
		}
	}
	return sum
}

// Lieblein and Zelen 1956, fatigue of 23 ball bearings (million turns), in Lawless, Statistical
// Models and Methods for Lifetime Data; the values and the fit, shape 2.10 and scale 81.9, are from memory.
func TestWeibullOfLieblein(t *testing.T) {
	w, err := Fit(of([]float64{17.88, 28.92, 33.00, 41.52, 42.12, 45.60, 48.40, 51.84, 51.96, 54.12, 55.56, 67.80,
		68.64, 68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.40}), 0.95)
	require.NoError(t, err)
	assert.InDelta(t, 2.10, w.Shape.Value, 0.005)
	assert.InDelta(t, 81.9, w.Scale, 0.05)
	assert.Equal(t, WearOut, w.Ending())
}

// Every limit is where the greatest likelihood has fallen by half the chi-square of
// one degree of freedom (3.841 at 95 %), times 1 + 2/10 for ten failures, looked for over
// a plain grid of shapes and scales that shares nothing with the search.
func TestLimitsOfTheLikelihoodRatio(t *testing.T) {
	logL := func(shape, scale float64) float64 {
		sum := 0.0
		for _, l := range nist {
			z := math.Pow(l.Hours/scale, shape)
			sum -= z
			if l.End == Failed {
				sum += math.Log(shape/l.Hours) + math.Log(z)
			}
		}
		return sum
	}
	w, err := Fit(nist, 0.95)
	require.NoError(t, err)
	failing, err := w.Failing(400, 100)
	require.NoError(t, err)
	figures := map[string]struct {
		of  func(shape, scale float64) float64
		got Estimate
	}{
		"shape":   {func(shape, _ float64) float64 { return shape }, w.Shape},
		"median":  {func(shape, scale float64) float64 { return scale * math.Pow(math.Ln2, 1/shape) }, w.Median},
		"tenth":   {func(shape, scale float64) float64 { return scale * math.Pow(-math.Log(0.9), 1/shape) }, w.Tenth},
		"failing": {func(b, s float64) float64 { return 1 - math.Exp(math.Pow(400/s, b)-math.Pow(500/s, b)) }, failing},
	}
	limits := map[string][2]float64{}
	best := logL(1.7208, 606.528)
	for shape := 0.4; shape < 5; shape += 0.01 {
		for scale := 300.0; scale < 6000; scale *= 1.003 {
			if logL(shape, scale) < best-3.8415/2*1.2 {
				continue
			}
			for name, f := range figures {
				x := f.of(shape, scale)
				at, ok := limits[name]
				if !ok {
					at = [2]float64{x, x}
				}
				limits[name] = [2]float64{min(at[0], x), max(at[1], x)}
			}
		}
	}
	for name, f := range figures {
		t.Run(name, func(t *testing.T) {
			require.NotNil(t, f.got.High)
			assert.InEpsilon(t, f.of(1.7208, 606.528), f.got.Value, 1e-4)
			assert.InEpsilon(t, limits[name][0], f.got.Low, 0.012)
			assert.InEpsilon(t, limits[name][1], *f.got.High, 0.012)
		})
	}
	assert.Equal(t, NotTold, w.Ending(), "95 limits %.2f to %.2f", w.Shape.Low, *w.Shape.High)
}

// Thoman, Bain and Antle 1969, inferences on the parameters of the Weibull distribution
// (Technometrics 11), table 1, from memory: in 5 of 100 whole samples the fitted shape over
// the true one is below, and in 5 above, 0.683 and 2.779 for 5 lives, 0.738 and 1.807 for
// 10, 0.791 and 1.449 for 20.
func TestShapesOfThoman(t *testing.T) {
	for _, c := range []struct {
		lives       int
		five, above float64
	}{{5, 0.683, 2.779}, {10, 0.738, 1.807}, {20, 0.791, 1.449}} {
		t.Run(fmt.Sprint(c.lives), func(t *testing.T) {
			random := rand.New(rand.NewPCG(13, 14))
			const draws = 3000
			below, above := 0.0, 0.0
			for range draws {
				hours := make([]float64, c.lives)
				for i := range hours {
					hours[i] = drawWeibull(random, 2, 500)
				}
				_, shape, ok := likeliest(of(hours))
				require.True(t, ok)
				if shape/2 < c.five {
					below++
				}
				if shape/2 > c.above {
					above++
				}
			}
			assert.InDelta(t, 0.05, below/draws, 0.016) // 4 deviations; the table was drawn too
			assert.InDelta(t, 0.05, above/draws, 0.016)
		})
	}
}

func drawWeibull(random *rand.Rand, shape, scale float64) float64 {
	return scale * math.Pow(random.ExpFloat64(), 1/shape)
}

func TestHowPartsEnd(t *testing.T) {
	for name, c := range map[string]struct {
		lives []Life
		want  Ending
	}{
		"all at much the same age":      {of([]float64{480, 510, 530, 555, 560, 590, 600, 640}), WearOut},
		"most in the first hours":       {of([]float64{1, 2, 2, 3, 5, 9, 30, 90, 400, 1500, 3000}), Early},
		"at any age":                    {of([]float64{35, 110, 200, 330, 500, 710, 1020, 1600}), NotTold},
		"wear-out, some still in place": {of([]float64{480, 510, 530, 555, 560, 590}, 300, 420, 500), WearOut},
	} {
		t.Run(name, func(t *testing.T) {
			w, err := Fit(c.lives, 0.95)
			require.NoError(t, err)
			assert.Equal(t, c.want, w.Ending(), "%+v", w.Shape)
		})
	}
}

func TestNothingToFit(t *testing.T) {
	for name, all := range map[string][]Life{
		"none":                     nil,
		"all still running":        of(nil, 100, 300),
		"one ended":                of([]float64{100}, 300, 400),
		"two at the very same age": of([]float64{100, 100}),
		"the oldest two alike":     of([]float64{100, 100}, 50),
	} {
		t.Run(name, func(t *testing.T) {
			w, err := Fit(all, 0.95)
			require.NoError(t, err)
			assert.Nil(t, w)
		})
	}
	for _, confidence := range []float64{0, 0.3, 1, math.NaN()} {
		_, err := Fit(nist, confidence)
		assert.Error(t, err)
	}
}
