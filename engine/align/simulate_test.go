package align_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/align"
	"telltale/engine/measure"
)

// rounded is a gauge that reads to a step, with a little noise of the hand.
func rounded(r *rand.Rand, step, noise float64) func(float64) *measure.Value {
	return func(clearance float64) *measure.Value {
		reading := math.Round((clearance+noise*r.NormFloat64())/step) * step
		return &measure.Value{Mean: reading, U: math.Hypot(step/math.Sqrt(12), noise)}
	}
}

// fewShims keep the pack search short.
var fewShims = []align.Shim{{Nominal: .001 * inch}, {Nominal: .002 * inch}, {Nominal: .005 * inch}}

func within(t *testing.T, hits, draws int, least, most float64, what string) {
	t.Helper()
	share := float64(hits) / float64(draws)
	// Three standard deviations of a binomial share about the bounds.
	slack := 3 * math.Sqrt(.05*.95/float64(draws))
	t.Logf("%s: %.4f", what, share)
	assert.GreaterOrEqual(t, share, least-slack, what)
	assert.LessOrEqual(t, share, most+slack, what)
}

// With two U, about 95 % of corrections must leave the mean height over the stroke within
// it (GUM 6.2). The worst case for a gauge that rounds is a rod that does not move along
// the stroke: all three readings are rounded alike, and their mean is no better than one.
// Half of the difference of two even roundings is triangular on half a step either side:
// two U (.408 step) hold 1-(1-.816)^2 = .966 of it. A rod that moves, or a hand that
// wavers, does better.
func TestOnePlaneCentresTheRodAsSurelyAsItSays(t *testing.T) {
	const draws = 4000
	for _, c := range []struct {
		name            string
		eps, noise      float64
		least, mostHits float64
	}{
		{"rod square, no noise", 0, 0, .966, .966},
		{"rod out of square", .0004, 0, .966, 1},
		{"wavering hand", 0, .0005 * inch, .966, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := rand.New(rand.NewPCG(7, 11))
			hits := 0
			for range draws {
				p := pump{
					half:   (.120 + .01*r.Float64()) * inch,
					height: (r.Float64() - .5) * .03 * inch,
					tilt:   (r.Float64() - .5) * .0004,
					eps:    (2*r.Float64() - 1) * c.eps,
				}
				in := ready(p.read(30*inch, 12*inch, rounded(r, .001*inch, c.noise)))
				out := centre(t, in)
				require.NotEqual(t, align.Withheld, out.Outcome)
				h := out.Planes[0].Height.Mean
				left := p.rod(0, 30*inch) - h.Mean // mean over the stroke after a lift of -h
				if math.Abs(left) <= 2*h.U {
					hits++
				}
			}
			within(t, hits, draws, c.least, c.mostHits, c.name)
		})
	}
}

// The same for the guide, from two planes; and what the forecast says of every clearance
// comes true within its doubt.
func TestTwoPlanesFindTheGuideAsSurelyAsTheySay(t *testing.T) {
	const draws = 3000
	for _, c := range []struct {
		name       string
		eps, noise float64
	}{{"rod square", 0, 0}, {"rod out of square", .0006, 0}, {"wavering hand", .0002, .0003 * inch}} {
		t.Run(c.name, func(t *testing.T) {
			r := rand.New(rand.NewPCG(3, 5))
			front, rear, skew, forecast, places := 0, 0, 0, 0, 0
			for range draws {
				p := pump{
					half:   (.120 + .01*r.Float64()) * inch,
					height: -(.005 + .01*r.Float64()) * inch,
					tilt:   (r.Float64() - .5) * .0008,
					eps:    (2*r.Float64() - 1) * c.eps,
				}
				gauge := rounded(r, .0005*inch, c.noise)
				in := ready(p.read(28*inch, 12*inch, gauge), p.read(40*inch, 12*inch, gauge))
				in.Supports, in.Stock = supports, fewShims
				out := centre(t, in)
				g := out.Guide
				hit := func(n *int, got measure.Value, want float64) {
					if math.Abs(got.Mean-want) <= 2*got.U {
						*n++
					}
				}
				hit(&front, g.GuideTrue.Front, -(p.height + p.tilt*supports.Front))
				hit(&rear, g.GuideTrue.Rear, -(p.height + p.tilt*supports.Rear))
				hit(&skew, g.Skew, p.eps)
				if len(out.Packs) == 0 {
					continue
				}
				var lift [2]float64
				for i, end := range []string{align.UnderFront, align.UnderRear} {
					if p := pack(out, end); p != nil {
						lift[i] = p.Thickness.Mean
					}
				}
				if out.Wanted.Front.Mean < 0 || out.Wanted.Rear.Mean < 0 {
					continue // what is taken out is not ours to say
				}
				after := p.shimmed(lift[0], lift[1], *supports)
				for i, x := range []float64{28 * inch, 40 * inch} {
					for k, s := range []float64{-6 * inch, 0, 6 * inch} {
						places++
						hit(&forecast, out.Planes[i].Positions[k].After.Height, after.rod(s, x))
					}
				}
			}
			within(t, front, draws, .95, 1, c.name+", front")
			within(t, rear, draws, .95, 1, c.name+", rear")
			within(t, skew, draws, .94, 1, c.name+", squareness")
			within(t, forecast, places, .95, 1, c.name+", forecast")
		})
	}
}

// A rod that is centred, square and read by rounding only is left alone nearly always, and
// rounding alone never calls for the engineer or for measuring again.
func TestAGoodPumpIsLeftAlone(t *testing.T) {
	const draws = 3000
	r := rand.New(rand.NewPCG(13, 17))
	none := 0
	for range draws {
		p := pump{half: (.120 + .01*r.Float64()) * inch}
		in := ready(p.read(28*inch, 12*inch, rounded(r, .001*inch, 0)))
		in.Stock = fewShims
		out := centre(t, in)
		assert.False(t, out.AskEngineer)
		assert.NotEqual(t, align.Withheld, out.Outcome)
		if out.Outcome == align.NoneNeeded {
			none++
		}
	}
	within(t, none, draws, .95, 1, "left alone")
}
