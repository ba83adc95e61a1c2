package pumping

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"telltale/engine/measure"
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

// answers calls everything that answers, on one set of numbers. sound gives the
// numbers that are not checked: rates, pressures and angles, as a case has them.
func answers(p Pump, next, sound func() float64) (results []any, errs []error) {
	keep := func(err error, values ...any) {
		results = append(results, values...)
		errs = append(errs, err)
	}
	push, pull := p.RodLoad(sound())
	mean, peak := p.Speeds(sound())
	keep(nil, p.Flow(sound()), push, pull, p.PressureAtRodLoad(sound()), p.LargestSide(), mean, peak,
		p.GuideForce(sound(), Reverse, sound()), p.FlowSwing(), p.AccelerationConstant())
	x, err := LargestLiner(next(), next())
	keep(err, x)
	x, err = AccelerationHead(Draw{next(), next(), next(), next()}, Segment{next(), next()})
	keep(err, x)
	x, err = Suction{next(), next(), next(), next(), next(), next()}.NPSHAvailable()
	keep(err, x)
	e, err := p.VolumetricEfficiency(within(next(), 0), within(next(), 0))
	keep(err, e)
	sig, err := p.Signatures(measure.Value{Mean: next(), U: next()}, within(0.04, 0.01))
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
		p, any := anyPump(t), func() float64 { return anyPositive(t, "x") }
		results, errs := answers(p, any, any)
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
	count, one := 0, func() float64 { return 1 }
	_, errs := answers(p, func() float64 { count++; return 1 }, one)
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
			}, one)
			assert.Error(t, errors.Join(errs...), fmt.Sprint(bad, " as number ", spoil))
			for _, r := range results {
				assert.True(t, finite(reflect.ValueOf(r)), "%v as number %d: %T %v", bad, spoil, r, r)
			}
		}
	}
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
		push, pull := p.RodLoad(1e6)
		near(t, 1e6*byHand, n*(push+pull)*g.Stroke, 1e-9)
	})
}

// The exact peak and derivatives, against the pin and the rod as a triangle, a
// fine walk and differences.
func TestMotionHangsTogether(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ratio := rapid.Float64Range(0.01, greatestRatio).Draw(t, "ratio")
		position := func(angle float64) float64 { // in crank radii
			height := math.Sin(angle)
			return 1 + 1/ratio - (math.Cos(angle) + math.Sqrt(1/(ratio*ratio)-height*height))
		}
		a := rapid.Float64Range(-10, 10).Draw(t, "angle")
		const h = 1e-5
		assert.InDelta(t, (position(a+h)-position(a-h))/(2*h), slope(ratio, a), 1e-7)
		assert.InDelta(t, (slope(ratio, a+h)-slope(ratio, a-h))/(2*h), bend(ratio, a), 1e-6)
		assert.InDelta(t, math.Sin(a)*ratio, math.Sin(tilt(ratio, a)), 1e-15)
		// What the crank pushes at the pin comes out at the piston.
		assert.InDelta(t, math.Sin(a+tilt(ratio, a))/math.Cos(tilt(ratio, a)), slope(ratio, a), 1e-11)
		mean, peak := crank(t, 1, 1/ratio).Speeds(1 / (2 * math.Pi)) // one rad a second
		assert.InDelta(t, 2/math.Pi, mean, 1e-12)
		most := 0.0
		for i := range 2000 {
			most = math.Max(most, slope(ratio, 2*math.Pi*float64(i)/2000))
		}
		assert.LessOrEqual(t, most, peak+1e-12)
		assert.InDelta(t, peak, most, 1e-4)
	})
}
