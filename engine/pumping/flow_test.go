package pumping

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// The constants of the acceleration head: printed by the Hydraulic Institute
// and the GPSA Engineering Data Book, figure 12-18, both from memory; the last
// digit printed is the tolerance.
func TestAccelerationConstantsOfTheHandbooks(t *testing.T) {
	for _, c := range []struct {
		name             string
		layout           layout
		printed, kinetic float64
	}{
		{"simplex single-acting", layout{1, false}, 0.400, 0.395},
		{"duplex single-acting", layout{2, false}, 0.200, 0.197},
		{"simplex double-acting", layout{1, true}, 0.200, 0.197},
		{"duplex double-acting", layout{2, true}, 0.115, 0.1155},
		{"triplex", layout{3, false}, 0.066, 0.0658},
		{"quintuplex", layout{5, false}, 0.040, 0.0395},
		{"septuplex", layout{7, false}, 0.028, 0.0282},
		{"nonuplex", layout{9, false}, 0.022, 0.0219},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := c.layout.suctionFlow(0.2, 0).accelerationConstant()
			near(t, c.printed, got, 0.015)
			assert.InDelta(t, c.kinetic, got, 6e-4)
		})
	}
	// One single-acting cylinder by hand: flow pi sin t over its mean, rising
	// from dead centre by pi (1 + r/l).
	near(t, math.Pi*1.2*2*math.Pi/60, layout{1, false}.suctionFlow(0.2, 0).accelerationConstant(), 1e-12)
}

// Recomputed with finite differences: how C moves with the rod ratio and with
// the piston rod.
func TestAccelerationConstantMovesWithTheRods(t *testing.T) {
	double, three := layout{2, true}, layout{3, false}
	for _, c := range []struct {
		layout          layout
		ratio, rod, out float64
	}{
		{double, 0, 0, 0.082}, {double, 1.0 / 6, 0, 0.110}, {double, 0.2, 0, 0.1155}, {double, 0.25, 0, 0.124},
		{double, 0.2, 0.15, 0.122},
		{three, 0, 0, 0.055}, {three, 1.0 / 6, 0, 0.064}, {three, 0.2, 0, 0.066}, {three, 0.25, 0, 0.069},
	} {
		t.Run(fmt.Sprint(c.layout, c.ratio, c.rod), func(t *testing.T) {
			assert.InDelta(t, c.out, c.layout.suctionFlow(c.ratio, c.rod).accelerationConstant(), 6e-4)
		})
	}
	assert.InDelta(t, 0.0658, triplex(t, 6.5, 12).AccelerationConstant(), 5e-5)
	assert.InDelta(t, 0.122, duplex(t, 1, 18, math.Sqrt(0.15)).AccelerationConstant(), 5e-4)
}

// Recomputed over a grid: greatest and least flow over the mean at r/l 1/5.
func TestFlowSwing(t *testing.T) {
	for _, c := range []struct {
		pump Pump
		want Swing
	}{
		{triplex(t, 6.5, 12), Swing{1.068, 0.815}},
		{duplex(t, 1, 18, 1e-6), Swing{1.269, 0.785}},
		{duplex(t, 1, 18, math.Sqrt(0.15)), Swing{1.272, 0.722}},
	} {
		t.Run(fmt.Sprint(c.pump.cylinders, c.pump.geometry.Rod), func(t *testing.T) {
			s := c.pump.FlowSwing()
			assert.InDelta(t, c.want.Max, s.Max, 6e-4)
			assert.InDelta(t, c.want.Min, s.Min, 6e-4)
		})
	}
}

// Harmonic flow in closed form, and one cylinder against the peak speed, which
// is found another way.
func TestExtremesAreExact(t *testing.T) {
	s := layout{3, false}.suctionFlow(0, 0).swing()
	assert.InDelta(t, math.Pi/3, s.Max, 1e-12)
	assert.InDelta(t, math.Pi/3*math.Sqrt(3)/2, s.Min, 1e-12)
	s = layout{2, true}.suctionFlow(0, 0).swing()
	assert.InDelta(t, math.Pi/4*math.Sqrt2, s.Max, 1e-12)
	assert.InDelta(t, math.Pi/4, s.Min, 1e-12)
	for _, ratio := range []float64{0.1, 0.2, 0.5, 0.9} {
		mean, peak := crank(t, ratio, 1).Speeds(1)
		s = layout{1, false}.suctionFlow(ratio, 0).swing()
		near(t, 2*peak/mean, s.Max, 1e-12)
		assert.Zero(t, math.Round(s.Min*1e12))
	}
}

// bruteFlow is the flow of a pump that draws (or, with sign -1, delivers) at
// angle in steps of a turn/n: pin and rod as a triangle, piston by differences.
func bruteFlow(l layout, ratio, rodShare float64, n int, sign float64) []float64 {
	at := func(angle float64) float64 { // of the piston, in crank radii
		h := math.Sin(angle)
		return -math.Cos(angle) - math.Sqrt(1/(ratio*ratio)-h*h)
	}
	apart := 2 * math.Pi / float64(l.cylinders)
	if l.doubleActing {
		apart /= 2
	}
	flow := make([]float64, n)
	for i := range flow {
		for k := range l.cylinders {
			a := 2*math.Pi*float64(i)/float64(n) + float64(k)*apart
			moved := sign * (at(a+2*math.Pi/float64(n)) - at(a))
			if moved > 0 {
				flow[i] += moved
			} else if l.doubleActing {
				flow[i] -= moved * (1 - rodShare)
			}
		}
	}
	return flow
}

func TestFlowAgreesWithBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := layout{rapid.IntRange(1, 6).Draw(t, "cylinders"), rapid.Bool().Draw(t, "double")}
		ratio := rapid.Float64Range(0.02, 0.6).Draw(t, "ratio")
		rod := rapid.Float64Range(0, 0.6).Draw(t, "rod")
		if !l.doubleActing {
			rod = 1 // no crank end
		}
		const n = 5040 // steps that fall on every dead centre
		f := l.suctionFlow(ratio, rod)
		for _, sign := range []float64{1, -1} { // delivery swings like suction
			flow := bruteFlow(l, ratio, rod, n, sign)
			sum, most, least, rise := 0.0, 0.0, math.Inf(1), 0.0
			for i, q := range flow {
				sum += q
				most, least = math.Max(most, q), math.Min(least, q)
				before := flow[(i+n-1)%n]
				if sign < 0 { // delivery run backwards is suction
					before, q = q, before
				}
				rise = math.Max(rise, q-before)
			}
			near(t, f.mean()*2*math.Pi, sum, 1e-9, "what is drawn is what is displaced")
			mean := sum / n
			s := f.swing()
			assert.InDelta(t, most/mean, s.Max, 5e-3)
			assert.InDelta(t, least/mean, s.Min, 5e-3)
			assert.InDelta(t, rise/mean*n/60, f.accelerationConstant(), 5e-3*f.accelerationConstant())
		}
	})
}
