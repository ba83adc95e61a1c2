package pumping

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func head(t *testing.T, d Draw, line ...Segment) float64 {
	h, err := AccelerationHead(d, line...)
	require.NoError(t, err)
	return h
}

// GPSA Engineering Data Book, section 12, example, from memory: triplex 2x5 in
// at 360 rpm, 73 gpm, 4 ft of 4 in and 20 ft of 6 in pipe (its bores of 4.026
// and 6.065 in give the figures), C .066, K 1.4: 3.88 + 8.55 = 12.43 ft.
func TestAccelerationHeadOfTheHandbook(t *testing.T) {
	d := Draw{Flow: 73 * gpm, Rate: 360 * spm, Constant: 0.066, K: 1.4}
	first, second := Segment{4 * foot, 4.026 * inch}, Segment{20 * foot, 6.065 * inch}
	near(t, 3.88, head(t, d, first)/foot, 2e-3) // the book's g of 32.2 is .08 % high
	near(t, 8.55, head(t, d, second)/foot, 2e-3)
	near(t, 12.43, head(t, d, first, second)/foot, 2e-3)
	near(t, 73, triplex(t, 2, 5).Flow(360*spm)/gpm, 0.007)
}

// B.K. Sarkar, Fluid Mechanics and Hydraulic Machines, examples 9.3 and 9.4,
// read second hand in a copy of its examples, recomputed. One
// cylinder and harmonic motion (no rod ratio), which no mud pump has: so the
// pump is put together by hand.
func TestSinglePistonOfATextbook(t *testing.T) {
	// 9.4: single-acting, D .15 m, S .3 m, 50 rpm, 22 m of .1 m pipe, delivers
	// .0042 m3/s: .00441786 m3/s by geometry, slip 4.93 %, head 20.75 m.
	p := Pump{Geometry{Liner: 0.15, Stroke: 0.3}, layout{1, false}}
	near(t, 0.00441786, p.Flow(50*spm), 2e-6)
	e, err := p.VolumetricEfficiency(within(0.0042, 0), within(50*spm, 0))
	require.NoError(t, err)
	near(t, 0.0493, 1-e.Mean, 1e-3)
	near(t, 20.75, head(t, Draw{p.Flow(50 * spm), 50 * spm, p.suctionFlow(0, 0).accelerationConstant(), 1}, Segment{22, 0.1}), 1e-3)

	// 9.3: the same size double-acting at 60 rpm, .62 m3/min: slip 2.54 %.
	p = Pump{Geometry{Liner: 0.15, Stroke: 0.3}, layout{1, true}}
	e, err = p.VolumetricEfficiency(within(0.62, 0), within(60, 0))
	require.NoError(t, err)
	near(t, 0.0254, 1-e.Mean, 2e-3)
}

// Recomputed by hand with the handbooks' C.
func TestAccelerationHeadOfMudPumps(t *testing.T) {
	for _, c := range []struct {
		pump           Pump
		strokes        float64
		constant       float64
		velocity, head float64 // ft/s, ft
	}{
		{triplex(t, 6.5, 12), 100, 0.066, 2.104, 6.17},
		{duplex(t, 6.5, 18, 2.5), 60, 0.115, 2.338, 7.16},
	} {
		t.Run(fmt.Sprint(c.constant), func(t *testing.T) {
			q := c.pump.Flow(c.strokes * spm)
			near(t, c.velocity, q/(math.Pi/4*math.Pow(10.02*inch, 2))/foot, 3e-4)
			line := Segment{20 * foot, 10.02 * inch}
			near(t, c.head, head(t, Draw{q, c.strokes * spm, c.constant, 1.4}, line)/foot, 1e-3)
			// The pump's own constant, with its rods: .3 % less in the triplex,
			// 6 % more in the duplex.
			own := c.pump.AccelerationConstant()
			near(t, c.head*own/c.constant, head(t, Draw{q, c.strokes * spm, own, 1.4}, line)/foot, 1e-3)
		})
	}
	// 12 lb/gal: 6.17 ft is 3.84 psi.
	near(t, 3.84, 6.17*foot*12*(0.45359237/gallon)*Gravity/psi, 2e-3)
}

// Recomputed: psi to ft by 2.3106/SG, 14.696 less .5 psi at SG 1.438, 4 ft up,
// 1 ft of friction, 6.17 ft of acceleration head.
func TestNPSHAvailable(t *testing.T) {
	s := Suction{
		SurfacePressure: 14.696 * psi, VapourPressure: 0.5 * psi,
		Density:    1.438 * psi / (2.3106 * foot * Gravity),
		StaticHead: 4 * foot, FrictionHead: 1 * foot, AccelerationHead: 6.17 * foot,
	}
	n, err := s.NPSHAvailable()
	require.NoError(t, err)
	assert.InDelta(t, 2.3106*14.196/1.438+4-1-6.17, n/foot, 1e-9)
	assert.InDelta(t, 19.64, n/foot, 0.011)
	s.VapourPressure, s.StaticHead = 14*psi, -5
	n, err = s.NPSHAvailable()
	require.NoError(t, err)
	assert.Negative(t, n, "hot mud and a lift: it boils")
}
