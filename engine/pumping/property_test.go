package pumping

import (
	"fmt"
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// any number that is accepted, over all sizes.
func anyPositive(t *rapid.T, name string) float64 {
	x := math.Pow(10, rapid.Float64Range(-12, 12).Draw(t, name))
	return math.Min(math.Max(x, smallest), greatest)
}

func anyPump(t *rapid.T) Pump {
	g := Geometry{
		Action: rapid.SampledFrom([]Action{TriplexSingleActing, DuplexDoubleActing}).Draw(t, "action"),
		Liner:  math.Max(anyPositive(t, "liner"), 1e-10),
		Stroke: math.Max(math.Min(anyPositive(t, "stroke"), 1e11), 1e-11),
	}
	g.Rod = math.Max(g.Liner*rapid.Float64Range(0, 0.9999999999).Draw(t, "rod"), smallest)
	g.ConnectingRod = g.Stroke / 2 / rapid.Float64Range(0.06, greatestRatio*0.999999).Draw(t, "ratio")
	p, err := New(g)
	require.NoError(t, err, "%v", g)
	return p
}

// answers calls everything that answers, on one set of numbers.
func answers(p Pump, next func() float64) (results []any, errs []error) {
	keep := func(err error, values ...any) {
		results = append(results, values...)
		errs = append(errs, err)
	}
	pressures := Pressures{Discharge: next()}
	pressures.Suction = pressures.Discharge / 30
	q, err := p.Flow(next())
	keep(err, q)
	push, pull, err := p.RodLoad(pressures)
	keep(err, push, pull)
	x, err := p.PressureAtRodLoad(next())
	keep(err, x)
	x, err = LargestLiner(next(), next())
	keep(err, x)
	x, err = HydraulicPower(next(), next())
	keep(err, x)
	x, err = InputPower(next(), 0.9)
	keep(err, x)
	c, err := p.Crank()
	keep(err, c.Ratio(), c.LargestSide())
	m, err := c.Motion(next(), next())
	keep(err, m)
	s, err := c.Speeds(next())
	keep(err, s)
	f, err := c.Forces(next(), next())
	keep(err, f)
	guide := GuideCase{Pressures: pressures, Weight: next(), Rotation: Reverse}
	x, err = p.GuideForce(guide, next())
	keep(err, x)
	forward, back, err := p.GuideStrokes(guide)
	keep(err, forward, back)
	w, err := p.FlowSwing()
	keep(err, w)
	x, err = p.AccelerationConstant()
	keep(err, x)
	h, err := AccelerationHead(Draw{next(), next(), next(), next()}, []Segment{{next(), next()}})
	keep(err, h)
	x, err = Suction{next(), next(), next(), next(), next(), next()}.Margin(next())
	keep(err, x)
	e, err := p.VolumetricEfficiency(Count{Volume: Reading{Best: next()}, Strokes: Reading{Best: next()}})
	keep(err, e)
	sig, err := p.Signatures(Efficiency{next(), next()}, Reading{0.04, 0.01})
	keep(err, sig)
	return results, errs
}

func finite(v reflect.Value) bool {
	switch v.Kind() {
	case reflect.Float64:
		return !math.IsNaN(v.Float()) && !math.IsInf(v.Float(), 0)
	case reflect.Struct:
		for i := range v.NumField() {
			if !finite(v.Field(i)) {
				return false
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			if !finite(v.Index(i)) {
				return false
			}
		}
	}
	return true
}

func TestEveryAnswerIsANumber(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyPump(t)
		results, errs := answers(p, func() float64 { return anyPositive(t, "x") })
		for _, err := range errs {
			assert.NoError(t, err)
		}
		for _, r := range results {
			assert.True(t, finite(reflect.ValueOf(r)), "%T %v", r, r)
		}
	})
}

// Each number in turn is spoilt; the answer that needed it must err, and none
// may come out as NaN or infinite.
func TestABadNumberGivesAnError(t *testing.T) {
	p := triplex(t, 6.5, 12)
	count := 0
	_, errs := answers(p, func() float64 { count++; return 1 })
	for _, err := range errs {
		require.NoError(t, err)
	}
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e13} {
		for spoil := range count {
			i := -1
			results, errs := answers(p, func() float64 {
				i++
				if i == spoil {
					return bad
				}
				return 1
			})
			assert.Error(t, first(errs...), fmt.Sprint(bad, " as number ", spoil))
			for _, r := range results {
				assert.True(t, finite(reflect.ValueOf(r)), "%v as number %d: %T %v", bad, spoil, r, r)
			}
		}
	}
	_, errs = answers(Pump{}, func() float64 { return 1 })
	assert.ErrorIs(t, first(errs...), errNotMade)
	_, err := InputPower(1, 1.01)
	assert.Error(t, err)
}

func TestChambersAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyPump(t)
		g := p.geometry
		byHand := 3 * math.Pi / 4 * g.Liner * g.Liner * g.Stroke
		n := 3.0
		if g.Action == DuplexDoubleActing {
			byHand = math.Pi / 2 * (2*g.Liner*g.Liner - g.Rod*g.Rod) * g.Stroke
			n = 2
		}
		near(t, byHand, p.Displacement(), 1e-12)
		near(t, byHand, n*(p.ChamberDisplacement(HeadEnd)+p.ChamberDisplacement(CrankEnd)), 1e-12)
		// The flow in its own unit, over a turn: head-end areas times radii.
		drawn := p.suctionFlow(0.2, p.rodShare()).mean() * 2 * math.Pi * p.Area(HeadEnd) * g.Stroke / 2
		near(t, byHand, drawn, 1e-9)
		// Work of a turn against the rod load is pressure times displacement.
		push, pull, err := p.RodLoad(Pressures{Discharge: 1e6})
		require.NoError(t, err)
		near(t, 1e6*byHand, n*(push+pull)*g.Stroke, 1e-9)
	})
}

// The exact peak and derivatives, against a fine walk and differences.
func TestMotionHangsTogether(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := crank(t, 1, 1/rapid.Float64Range(0.01, greatestRatio).Draw(t, "ratio"))
		at := func(angle float64) Motion {
			m, err := c.Motion(angle, 1/(2*math.Pi)) // one rad a second
			require.NoError(t, err)
			return m
		}
		a := rapid.Float64Range(-10, 10).Draw(t, "angle")
		const h = 1e-5
		assert.InDelta(t, (at(a+h).Position-at(a-h).Position)/(2*h), at(a).Velocity, 1e-7)
		assert.InDelta(t, (at(a+h).Velocity-at(a-h).Velocity)/(2*h), at(a).Acceleration, 1e-6)
		s, err := c.Speeds(1 / (2 * math.Pi))
		require.NoError(t, err)
		assert.InDelta(t, s.Peak, at(s.PeakAngle).Velocity, 1e-12)
		assert.InDelta(t, -s.Peak, at(2*math.Pi-s.PeakAngle).Velocity, 1e-12)
		most := 0.0
		for i := range 2000 {
			most = math.Max(most, at(2*math.Pi*float64(i)/2000).Velocity)
		}
		assert.LessOrEqual(t, most, s.Peak+1e-12)
		assert.InDelta(t, s.Peak, most, 1e-4)
		// Power in at the crank is power out at the piston.
		f, err := c.Forces(7, a)
		require.NoError(t, err)
		assert.InDelta(t, 7*at(a).Velocity, f.Torque, 1e-12)
		assert.InDelta(t, 7*math.Sin(a+at(a).RodAngle)/math.Cos(at(a).RodAngle), f.Torque, 1e-11)
		assert.InDelta(t, f.Thrust*f.Thrust, 49+f.Side*f.Side, 1e-9)
	})
}
