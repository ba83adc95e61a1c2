package lives

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var wear = Shapes{Least: 0.5, Most: 8}

// With the shape held at 1 lives are exponential and the chance is that of a Poisson
// rate with Jeffreys' prior. 3 failures in 1000 h against a mean of 500 h: the upper tail of gamma(3.5)
// above 2, by the recurrence Q(a+1,x) = Q(a,x) + x^a e^-x / Gamma(a+1) from Q(1/2,x) = erfc(sqrt x).
func TestShorterThanALifeOfChance(t *testing.T) {
	all := of([]float64{100, 300, 400}, 200)
	got, err := ChanceShorter(all, 0, 500, Shapes{1, 1})
	require.NoError(t, err)
	q, x := math.Erfc(math.Sqrt(2.0)), 2.0
	for _, a := range []float64{0.5, 1.5, 2.5} {
		q += math.Pow(x, a) * math.Exp(-x) / math.Gamma(a+1)
	}
	assert.InDelta(t, q, got, 1e-9)
}

// The same by brute force: shapes and scales on a plain grid, each weighed by likelihood and prior.
func TestShorterAgainstAGrid(t *testing.T) {
	all := of([]float64{260, 300, 310, 420}, 150)
	const want, steps = 380.0, 1500
	unit := math.Pow(260*300*310*420, 0.25)
	sum, weights := 0.0, 0.0
	for k := range shapeSteps {
		b := wear.Least * math.Pow(wear.Most/wear.Least, float64(k)/(shapeSteps-1))
		for j := range steps {
			logScale := math.Log(30) + (math.Log(30000)-math.Log(30))*float64(j)/steps
			scale := math.Exp(logScale)
			// rate = (unit/scale)^b; rate^-1/2 d rate = rate^1/2 b d ln scale
			logW := 0.5*b*(math.Log(unit)-logScale) + math.Log(b)
			for _, l := range all {
				z := b * math.Log(l.Hours/scale)
				logW -= math.Exp(z)
				if l.End == Failed {
					logW += math.Log(b) + z
				}
			}
			w := math.Exp(logW)
			if scale*math.Gamma(1+1/b) < want {
				sum += w
			}
			weights += w
		}
	}
	got, err := ChanceShorter(all, 0, want, wear)
	require.NoError(t, err)
	assert.InDelta(t, sum/weights, got, 0.01)
}

func TestShorterReadsLikeTheTrade(t *testing.T) {
	for name, c := range map[string]struct {
		all       []Life
		hours     float64
		low, high float64
	}{
		"four pistons at 250 h where 700 are expected": {of([]float64{240, 250, 255, 270}, 100), 700, 0.99, 1},
		"four pistons at 700 h where 700 are expected": {of([]float64{650, 690, 720, 740}, 100), 700, 0.1, 0.9},
		"two that already lasted 1500 h":               {of(nil, 1500, 1500), 700, 0, 0.25},
		"one in its first hours":                       {of(nil, 20), 700, 0.05, 0.95},
	} {
		t.Run(name, func(t *testing.T) {
			p, err := ChanceShorter(c.all, 0, c.hours, wear)
			require.NoError(t, err)
			assert.GreaterOrEqual(t, p, c.low)
			assert.LessOrEqual(t, p, c.high)
		})
	}
}

func TestShorterThanTheSisters(t *testing.T) {
	all := of([]float64{250, 260, 270, 290, 540, 580, 610}, 200, 300)
	for i := range all {
		if all[i].Hours > 270 && all[i].Hours != 290 {
			all[i].Place = 1
		}
	}
	worse, err := ChanceShorterThanSisters(all, 0, 1.5, wear)
	require.NoError(t, err)
	assert.Greater(t, worse, 0.9)
	better, err := ChanceShorterThanSisters(all, 1, 1.5, wear)
	require.NoError(t, err)
	assert.Less(t, better, 0.01)
}

// Never out of 0 to 1, never NaN; the unit of time does not matter; a longer expected
// life makes "shorter" likelier; a part that went on running makes it less likely.
func TestShorterProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var all []Life
		for range rapid.IntRange(1, 12).Draw(t, "lives") {
			all = append(all, Life{
				Place: rapid.IntRange(0, 2).Draw(t, "place"),
				Hours: math.Exp(rapid.Float64Range(0, 9).Draw(t, "ln hours")),
				End:   End(rapid.IntRange(0, int(Failed)).Draw(t, "end")),
			})
		}
		at := all[0].Place
		hours := math.Exp(rapid.Float64Range(0, 9).Draw(t, "ln expected"))
		p, err := ChanceShorter(all, at, hours, wear)
		require.NoError(t, err)
		require.True(t, p >= 0 && p <= 1, "%g", p)
		longer, err := ChanceShorter(all, at, 2*hours, wear)
		require.NoError(t, err)
		require.GreaterOrEqual(t, longer, p-1e-9)
		in := make([]Life, len(all))
		for i, l := range all {
			in[i] = l
			in[i].Hours = 60 * l.Hours
		}
		minutes, err := ChanceShorter(in, at, 60*hours, wear)
		require.NoError(t, err)
		require.InDelta(t, p, minutes, 1e-6)
		s, err := ChanceShorterThanSisters(all, at, 1.5, wear)
		require.NoError(t, err)
		require.True(t, s >= 0 && s <= 1, "%g", s)
	})
}

// The chance means what it says: of places drawn from the model, those given a chance near p are shorter in
// about p of the draws.
func TestShorterIsBorneOut(t *testing.T) {
	random := rand.New(rand.NewPCG(11, 12))
	said, was, n := 0.0, 0.0, 0
	for range 400 {
		shape := 0.8 * math.Pow(5, random.Float64())
		scale := 200 * math.Pow(10, random.Float64())
		var all []Life
		for range 5 {
			h := drawWeibull(random, shape, scale)
			all = append(all, Life{Hours: min(h, 900), End: failedIf(h < 900)})
		}
		p, err := ChanceShorter(all, 0, 500, wear)
		require.NoError(t, err)
		said += p
		if scale*math.Gamma(1+1/shape) < 500 {
			was++
		}
		n++
	}
	assert.InDelta(t, was/float64(n), said/float64(n), 0.06)
}

func TestShorterRefuses(t *testing.T) {
	all := of([]float64{100})
	for name, f := range map[string]func() (float64, error){
		"no life":      func() (float64, error) { return ChanceShorter(all, 0, 0, wear) },
		"not a number": func() (float64, error) { return ChanceShorter(all, 0, math.NaN(), wear) },
		"a shape of 0": func() (float64, error) { return ChanceShorter(all, 0, 100, Shapes{0, 8}) },
		"no times":     func() (float64, error) { return ChanceShorterThanSisters(all, 0, 0, wear) },
	} {
		t.Run(name, func(t *testing.T) {
			_, err := f()
			assert.Error(t, err)
		})
	}
}
