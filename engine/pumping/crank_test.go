package pumping

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func crank(t require.TestingT, radius, rod float64) Crank {
	c, err := NewCrank(radius, rod)
	require.NoError(t, err)
	return c
}

func rad(degrees float64) float64 { return degrees * math.Pi / 180 }

// Positions of a 12 in stroke on a 30 in rod, recomputed with the pin and the
// rod as a triangle.
func TestPosition(t *testing.T) {
	c := crank(t, 6, 30)
	for degrees, want := range map[float64]float64{0: 0, 30: 0.95422, 60: 3.45343, 90: 6.60612, 120: 9.45343, 150: 11.34653, 180: 12, 270: 6.60612} {
		m, err := c.Motion(rad(degrees), 0)
		require.NoError(t, err)
		assert.InDelta(t, want, m.Position, 6e-6, degrees)
		pin := 6 * math.Cos(rad(degrees))
		height := 6 * math.Sin(rad(degrees))
		assert.InDelta(t, 36-(pin+math.Sqrt(900-height*height)), m.Position, 1e-13)
		assert.InDelta(t, math.Asin(height/30), m.RodAngle, 1e-15)
	}
}

// R.S. Khurmi and J.K. Gupta, Theory of Machines, chapter 15, read second hand
// in a copy of its examples. The book works with the series sin t +
// sin 2t/(2n) and cos t + cos 2t/n; the exact figures are recomputed.
func TestMotionAgreesWithATextbook(t *testing.T) {
	// Example 15.4: r .3 m, l 1.5 m, 180 rpm, 40 degrees: 4.19 m/s, 85.36 m/s2,
	// no acceleration at 79.27 degrees.
	c := crank(t, 0.3, 1.5)
	m, err := c.Motion(rad(40), 3)
	require.NoError(t, err)
	near(t, 4.1964, m.Velocity, 1e-5)
	near(t, 85.5989, m.Acceleration, 1e-6)
	near(t, 4.19, m.Velocity, 2e-3)
	near(t, 85.36, m.Acceleration, 4e-3)
	s, err := c.Speeds(3)
	require.NoError(t, err)
	assert.InDelta(t, rad(79.27), s.PeakAngle, rad(0.2))

	// Example 15.3: r .3 m, l 1 m, 200 rpm: 6.54 m/s at 75 degrees; exact
	// 6.562 at 74.53.
	s, err = crank(t, 0.3, 1).Speeds(200.0 / 60)
	require.NoError(t, err)
	near(t, 6.562, s.Peak, 5e-5)
	assert.InDelta(t, rad(74.53), s.PeakAngle, rad(0.006))
	near(t, 6.54, s.Peak, 5e-3)
	assert.InDelta(t, rad(75), s.PeakAngle, rad(0.6))
	// Not the 7.0 m/s that another book of examples gets for the same data by
	// sin 2t/n, read second hand.
	assert.Greater(t, math.Abs(7.0-s.Peak), 0.4)
}

// Recomputed: 12 in stroke at 120 strokes a minute, 2 S N/12 = 240 ft/min on
// the mean and 384.5 at most at r/l = 1/5.
func TestPistonSpeed(t *testing.T) {
	c, err := triplex(t, 6, 12).Crank()
	require.NoError(t, err)
	near(t, 0.2, c.Ratio(), 1e-12)
	s, err := c.Speeds(120 * spm)
	require.NoError(t, err)
	near(t, 240, s.Mean*60/foot, 1e-12)
	near(t, 384.5, s.Peak*60/foot, 1e-4)
	near(t, 1.602, s.Peak/s.Mean, 1e-4)
}

// Khurmi and Gupta, examples 15.7, 15.9 and 15.10, read second hand as above.
// The piston effort is theirs; what it does at the guide and crank is tested.
func TestForcesAgreeWithATextbook(t *testing.T) {
	// 15.7: r .3 m, l 1.2 m, bore .5 m, .35 N/mm2, 250 kg, 250 rpm, 60 degrees:
	// guide 10.97 kN, rod 50.65 kN, tangential 48.30 kN, 14.49 kN m.
	inertia := func(mass, radius, n, rpm, degrees float64) float64 {
		w := 2 * math.Pi * rpm / 60
		return mass * radius * w * w * (math.Cos(rad(degrees)) + math.Cos(2*rad(degrees))/n)
	}
	effort := 0.35e6*math.Pi/4*0.25 - inertia(250, 0.3, 4, 250, 60)
	f, err := crank(t, 0.3, 1.2).Forces(effort, rad(60))
	require.NoError(t, err)
	near(t, 10.97e3, f.Side, 1.5e-3)
	near(t, 50.65e3, f.Thrust, 1e-3)
	near(t, 48.30e3, f.Torque/0.3, 1e-3)
	near(t, 14.49e3, f.Torque, 1e-3)

	// 15.9: bore 80 mm, r .05 m, l .2 m, .7 N/mm2, 1 kg, 1800 rpm, 33 degrees:
	// effort 1848 N, guide 254 N, rod 1865 N.
	effort = 0.7e6*math.Pi/4*0.0064 - inertia(1, 0.05, 4, 1800, 33)
	near(t, 1848, effort, 1e-3)
	f, err = crank(t, 0.05, 0.2).Forces(effort, rad(33))
	require.NoError(t, err)
	near(t, 254, f.Side, 2e-3)
	near(t, 1865, f.Thrust, 1e-3)

	// 15.10: bore .3 m, .5 N/mm2, 180 kg at 36 m/s2, 600 N of friction, r .3 m,
	// l 4.5 r, 30 degrees: effort 28263 N, guide 3.16 kN, bearings 22.9 kN,
	// 5.06 kN m.
	effort = 0.5e6*math.Pi/4*0.09 - 180*36 - 600
	near(t, 28263, effort, 1e-4)
	c := crank(t, 0.3, 1.35)
	f, err = c.Forces(effort, rad(30))
	require.NoError(t, err)
	near(t, 3.16e3, f.Side, 2e-3)
	near(t, 5.06e3, f.Torque, 2e-3)
	m, err := c.Motion(rad(30), 0)
	require.NoError(t, err)
	near(t, 22.9e3, f.Thrust*math.Cos(rad(30)+m.RodAngle), 2e-3)
}

// Greatest guide force over rod load, recomputed: r/l over sqrt(1 - (r/l)^2).
func TestLargestSide(t *testing.T) {
	for rod, want := range map[float64]float64{5: 0.2041, 4: 0.2582, 6: 0.1690} {
		assert.InDelta(t, want, crank(t, 1, rod).LargestSide(), 5e-5)
	}
	near(t, 20320, crank(t, 1, 5).LargestSide()*99549, 1e-4)
	f, err := crank(t, 1, 5).Forces(1, rad(90))
	require.NoError(t, err)
	near(t, crank(t, 1, 5).LargestSide(), f.Side, 1e-12)
}
