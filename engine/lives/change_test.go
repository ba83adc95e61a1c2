package lives

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// costOfAnHour is (R + ratio F)/integral of R by Simpson's rule, in planned changes.
func costOfAnHour(shape, age, ratio float64) float64 {
	const steps = 4000
	lasts := func(x float64) float64 { return math.Exp(-math.Pow(x, shape)) }
	sum := lasts(0) + lasts(age)
	for i := 1; i < steps; i++ {
		sum += lasts(age*float64(i)/steps) * float64(2+2*(i%2))
	}
	r := lasts(age)
	return (r + ratio*(1-r)) / (sum * age / steps / 3)
}

// A worked example of optimum replacement in textbooks of reliability (ReliaWiki,
// Introduction to Repairable Systems; from memory): shape 2.5, scale 1000 h, a failure at
// 5 times a planned change: 493.0470 h.
func TestBestAgeOfATextbook(t *testing.T) {
	assert.InDelta(t, 493.0470, 1000*bestAge(2.5, 5), 5e-4)
}

// For shape 2 the integral is that of Gauss, so that the condition of Barlow and
// Proschan is sqrt(pi) x erf(x) - 1 + exp(-x^2) = 1/(ratio-1).
func TestBestAgeOfShapeTwo(t *testing.T) {
	for _, ratio := range []float64{1.5, 2, 5, 10, 100} {
		x := bestAge(2, ratio)
		assert.InDelta(t, 1/(ratio-1), math.Sqrt(math.Pi)*x*math.Erf(x)-1+math.Exp(-x*x), 1e-6)
	}
}

// Every age of a dense grid costs as much or more.
func TestBestAgeAgainstEveryAge(t *testing.T) {
	for _, shape := range []float64{1.3, 2, 3.5, 8} {
		for _, ratio := range []float64{1.5, 3, 10} {
			t.Run(fmt.Sprint(shape, " ", ratio), func(t *testing.T) {
				x := bestAge(shape, ratio)
				cost := costOfAnHour(shape, x, ratio)
				least, at := math.Inf(1), 0.0
				for age := x / 8; age < 4*x; age *= 1.02 {
					if c := costOfAnHour(shape, age, ratio); c < least {
						least, at = c, age
					}
				}
				assert.LessOrEqual(t, cost, least*(1+1e-6))
				if shape >= 2 { // else the cost is nearly the same over a wide range
					assert.InEpsilon(t, at, x, 0.05)
				}
				assert.InDelta(t, 1-cost*math.Gamma(1+1/shape)/ratio, saving(shape, x, ratio), 1e-6)
			})
		}
	}
}

// Parts drawn one after the other cost by the hour what the formula says.
func TestSavingIsBorneOut(t *testing.T) {
	random := rand.New(rand.NewPCG(21, 22))
	const shape, ratio = 3.0, 6.0
	age := bestAge(shape, ratio)
	cost, hours, left := 0.0, 0.0, 0.0
	const parts = 200_000
	for range parts {
		l := drawWeibull(random, shape, 1)
		left += l
		hours += min(l, age)
		cost++
		if l < age {
			cost += ratio - 1
		}
	}
	assert.InDelta(t, 1-cost/hours/(ratio*parts/left), saving(shape, age, ratio), 0.005)
}

// wornOut are 12 parts that wear out, 4 of which still run.
var wornOut = of([]float64{410, 455, 480, 520, 560, 590, 640, 700}, 200, 330, 450, 610)

func TestChangeAt(t *testing.T) {
	fit := func(all []Life) *Weibull {
		w, err := Fit(all, 0.95)
		require.NoError(t, err)
		return w
	}
	w := fit(wornOut)
	c, err := w.ChangeAt(5)
	require.NoError(t, err)
	require.Equal(t, ChangeAtAge, c.Says)
	assert.InEpsilon(t, w.Scale*bestAge(w.Shape.Value, 5), c.Age.Value, 1e-9)
	require.NotNil(t, c.Age.High)
	assert.Less(t, c.Age.Low, c.Age.Value)
	assert.Greater(t, *c.Age.High, c.Age.Value)
	assert.Greater(t, c.Saves.Value, 0.3)

	for name, s := range map[string]struct {
		all   []Life
		ratio float64
		want  Advice
	}{
		"at any age":           {of([]float64{35, 110, 200, 330, 500, 710, 1020, 1600}), 5, NoWearOut},
		"in the first hours":   {of([]float64{1, 2, 2, 3, 5, 9, 30, 90, 400, 1500, 3000}), 5, NoWearOut},
		"ten of twenty (NIST)": {nist, 5, NoWearOut},
		"four failures":        {of([]float64{500, 510, 520, 530}), 5, TooFewToSay},
		"a failure costs little more than a change": {wornOut, 1.005, BeyondRecord},
	} {
		t.Run(name, func(t *testing.T) {
			c, err := fit(s.all).ChangeAt(s.ratio)
			require.NoError(t, err)
			assert.Equal(t, Change{Says: s.want}, c)
		})
	}
}

// Limits of the age and of what it saves, over a plain grid of what the lives allow.
func TestLimitsOfChangeAt(t *testing.T) {
	w, err := Fit(wornOut, 0.95)
	require.NoError(t, err)
	const ratio = 4
	c, err := w.ChangeAt(ratio)
	require.NoError(t, err)
	logL := func(shape, scale float64) float64 {
		sum := 0.0
		for _, l := range wornOut {
			z := math.Pow(l.Hours/scale, shape)
			sum -= z
			if l.End == Failed {
				sum += math.Log(shape/l.Hours) + math.Log(z)
			}
		}
		return sum
	}
	least := logL(w.Shape.Value, w.Scale) - 3.8415/2*(1+2.0/8)
	age, saves := [2]float64{1e9, 0}, [2]float64{1, -1}
	widen := func(at *[2]float64, x float64) { at[0], at[1] = min(at[0], x), max(at[1], x) }
	for shape := 1.5; shape < 15; shape += 0.05 {
		best := bestAge(shape, ratio) // checked above
		for scale := 350.0; scale < 1200; scale *= 1.004 {
			if logL(shape, scale) >= least {
				widen(&age, best*scale)
				widen(&saves, 1-costOfAnHour(shape, c.Age.Value/scale, ratio)*math.Gamma(1+1/shape)/ratio)
			}
		}
	}
	assert.InEpsilon(t, age[0], c.Age.Low, 0.01)
	assert.InEpsilon(t, age[1], *c.Age.High, 0.01)
	assert.InDelta(t, saves[0], c.Saves.Low, 0.01)
	assert.InDelta(t, saves[1], *c.Saves.High, 0.01)
}

// A dearer failure is never left to come later; the age goes with the unit of time,
// what it saves does not; and nothing saves more than all but one planned change for each failure.
func TestChangeProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shape := rapid.Float64Range(1.01, 30).Draw(t, "shape")
		ratio := math.Exp(rapid.Float64Range(0.01, 6).Draw(t, "ln ratio"))
		x := bestAge(shape, ratio)
		require.LessOrEqual(t, bestAge(shape, 1.1*ratio), x*(1+1e-6))
		if !math.IsInf(x, 1) {
			s := saving(shape, x, ratio)
			require.True(t, s > -1e-9 && s < 1-1/ratio, "saves %g of a failure at %g", s, ratio)
			require.LessOrEqual(t, saving(shape, 0.8*x, ratio), s+1e-9)
			require.LessOrEqual(t, saving(shape, 1.2*x, ratio), s+1e-9)
		}

		var all, minutes []Life
		for range rapid.IntRange(5, 12).Draw(t, "lives") {
			l := Life{Hours: rapid.Float64Range(300, 600).Draw(t, "hours"), End: End(rapid.IntRange(int(InBefore), int(Failed)).Draw(t, "end"))}
			all = append(all, l)
			l.Hours *= 60
			minutes = append(minutes, l)
		}
		w, err := Fit(all, 0.95)
		require.NoError(t, err)
		if w == nil {
			return
		}
		m, err := Fit(minutes, 0.95)
		require.NoError(t, err)
		a, err := w.ChangeAt(ratio)
		require.NoError(t, err)
		b, err := m.ChangeAt(ratio)
		require.NoError(t, err)
		if a.Age != nil && b.Age != nil {
			require.Equal(t, a.Says, b.Says)
			require.InEpsilon(t, 60*a.Age.Value, b.Age.Value, 1e-3)
			require.InDelta(t, a.Saves.Value, b.Saves.Value, 1e-3)
			require.True(t, a.Age.Low <= a.Age.Value && a.Saves.Low <= a.Saves.Value)
		}
	})
}

func TestChangeRefuses(t *testing.T) {
	w, err := Fit(wornOut, 0.95)
	require.NoError(t, err)
	for _, ratio := range []float64{1, 0, -3, 1001, math.Inf(1), math.NaN()} {
		_, err := w.ChangeAt(ratio)
		assert.ErrorContains(t, err, "must be above 1", "%g", ratio)
	}
}

func TestFailing(t *testing.T) {
	w, err := Fit(nist, 0.95)
	require.NoError(t, err)
	// By the fit that NIST prints: shape 1.7208, scale 606.5280.
	p, err := w.Failing(300, 100)
	require.NoError(t, err)
	assert.InDelta(t, 1-math.Exp(math.Pow(300/606.528, 1.7208)-math.Pow(400/606.528, 1.7208)), p.Value, 1e-5)
	half, err := w.Failing(0, w.Median.Value)
	require.NoError(t, err)
	assert.InDelta(t, 0.5, half.Value, 1e-9, "half of the new ones fail by the median")
	soon, err := w.Failing(0, w.Tenth.Low)
	require.NoError(t, err)
	assert.InDelta(t, 0.1, *soon.High, 1e-3, "the limits of a share and of its age are the same")
	for _, c := range [][2]float64{{-1, 5}, {0, 0}, {math.NaN(), 5}, {5, math.NaN()}, {5, 2e8}, {2e8, 5}} {
		_, err := w.Failing(c[0], c[1])
		assert.Error(t, err, "%v", c)
	}
}

// A chance, at any age and for any fit; more hours never make it less.
func TestFailingProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var all []Life
		for range rapid.IntRange(3, 8).Draw(t, "lives") {
			all = append(all, Life{Hours: math.Exp(rapid.Float64Range(0, 9).Draw(t, "ln hours")), End: End(rapid.IntRange(0, int(Failed)).Draw(t, "end"))})
		}
		w, err := Fit(all, 0.95)
		require.NoError(t, err)
		if w == nil {
			return
		}
		age, hours := math.Exp(rapid.Float64Range(-3, 18).Draw(t, "ln age")), math.Exp(rapid.Float64Range(-3, 17).Draw(t, "ln hours ahead"))
		p, err := w.Failing(age, hours)
		require.NoError(t, err)
		require.True(t, 0 <= p.Low && p.Low <= p.Value && p.Value <= 1 && (p.High == nil || p.Value <= *p.High && *p.High <= 1), "%+v", p)
		more, err := w.Failing(age, 2*hours)
		require.NoError(t, err)
		require.GreaterOrEqual(t, more.Value, p.Value)
	})
}
