package pumping

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// crank is a pump with a crank radius and a connecting rod in m.
func crank(t require.TestingT, radius, rod float64) Pump {
	p, err := New(Geometry{Action: TriplexSingleActing, Liner: 0.1, Stroke: 2 * radius, ConnectingRod: rod})
	require.NoError(t, err)
	return p
}

func rad(degrees float64) float64 { return degrees * math.Pi / 180 }

// R.S. Khurmi and J.K. Gupta, Theory of Machines, chapter 15, read second hand
// in a copy of its examples. The book works with the series sin t +
// sin 2t/(2n) and cos t + cos 2t/n; the exact figures are recomputed.
func TestMotionAgreesWithATextbook(t *testing.T) {
	// Example 15.4: r .3 m, l 1.5 m, 180 rpm, 40 degrees: 4.19 m/s, 85.36 m/s2,
	// no acceleration at 79.27 degrees.
	w := 2 * math.Pi * 3
	velocity, acceleration := 0.3*w*slope(0.2, rad(40)), 0.3*w*w*bend(0.2, rad(40))
	near(t, 4.1964, velocity, 1e-5)
	near(t, 85.5989, acceleration, 1e-6)
	near(t, 4.19, velocity, 2e-3)
	near(t, 85.36, acceleration, 4e-3)
	assert.Positive(t, bend(0.2, rad(79.27-0.2)))
	assert.Negative(t, bend(0.2, rad(79.27+0.2)))

	// Example 15.3: r .3 m, l 1 m, 200 rpm: 6.54 m/s at 75 degrees; exact
	// 6.562 at 74.53.
	_, peak := crank(t, 0.3, 1).Speeds(200.0 / 60)
	near(t, 6.562, peak, 5e-5)
	near(t, 6.54, peak, 5e-3)
	assert.Positive(t, bend(0.3, rad(74.53-0.006)))
	assert.Negative(t, bend(0.3, rad(74.53+0.006)))
	// Not the 7.0 m/s that another book of examples gets for the same data by
	// sin 2t/n, read second hand.
	assert.Greater(t, math.Abs(7.0-peak), 0.4)
}

// Recomputed: 12 in stroke at 120 strokes a minute, 2 S N/12 = 240 ft/min on
// the mean and 384.5 at most at r/l = 1/5.
func TestPistonSpeed(t *testing.T) {
	p := triplex(t, 6, 12)
	near(t, 0.2, p.ratio(), 1e-12)
	mean, peak := p.Speeds(120 * spm)
	near(t, 240, mean*60/foot, 1e-12)
	near(t, 384.5, peak*60/foot, 1e-4)
	near(t, 1.602, peak/mean, 1e-4)
}

// Khurmi and Gupta, examples 15.7, 15.9 and 15.10, read second hand as above.
// The piston effort is theirs; what it does at the guide is tested.
func TestSideForceAgreesWithATextbook(t *testing.T) {
	inertia := func(mass, radius, n, rpm, degrees float64) float64 {
		w := 2 * math.Pi * rpm / 60
		return mass * radius * w * w * (math.Cos(rad(degrees)) + math.Cos(2*rad(degrees))/n)
	}
	for name, c := range map[string]struct{ effort, prints, ratio, degrees, side, within float64 }{
		// r .3 m, l 1.2 m, bore .5 m, .35 N/mm2, 250 kg, 250 rpm, 60 degrees: guide 10.97 kN.
		"15.7": {0.35e6*math.Pi/4*0.25 - inertia(250, 0.3, 4, 250, 60), 0, 0.3 / 1.2, 60, 10.97e3, 1.5e-3},
		// Bore 80 mm, r .05 m, l .2 m, .7 N/mm2, 1 kg, 1800 rpm, 33 degrees:
		// effort 1848 N, guide 254 N.
		"15.9": {0.7e6*math.Pi/4*0.0064 - inertia(1, 0.05, 4, 1800, 33), 1848, 0.05 / 0.2, 33, 254, 2e-3},
		// Bore .3 m, .5 N/mm2, 180 kg at 36 m/s2, 600 N of friction, r .3 m,
		// l 4.5 r, 30 degrees: effort 28263 N, guide 3.16 kN.
		"15.10": {0.5e6*math.Pi/4*0.09 - 180*36 - 600, 28263, 1 / 4.5, 30, 3.16e3, 2e-3},
	} {
		t.Run(name, func(t *testing.T) {
			if c.prints > 0 {
				near(t, c.prints, c.effort, 1e-3)
			}
			near(t, c.side, c.effort*math.Tan(tilt(c.ratio, rad(c.degrees))), c.within)
		})
	}
}

// Greatest guide force over rod load, recomputed: r/l over sqrt(1 - (r/l)^2).
func TestLargestSide(t *testing.T) {
	for rod, want := range map[float64]float64{5: 0.2041, 4: 0.2582, 6: 0.1690} {
		t.Run(fmt.Sprint(rod), func(t *testing.T) {
			p := crank(t, 1, rod)
			assert.InDelta(t, want, p.LargestSide(), 5e-5)
			near(t, p.ratio()/math.Sqrt(1-p.ratio()*p.ratio()), p.LargestSide(), 1e-12)
			near(t, p.LargestSide()*math.Pi/4*0.01*5, p.GuideForce(5, Forward, rad(270)), 1e-12)
		})
	}
	near(t, 20320, crank(t, 1, 5).LargestSide()*99549, 1e-4)
}

// pressedDown is the oracle: the pin and the crosshead in a plane, x toward
// the fluid end and z up, and the force of the connecting rod along the line
// between them. It shares nothing with the package but the pump's numbers.
func pressedDown(p Geometry, discharge float64, rotation Rotation, angle float64) float64 {
	radius, turn := p.Stroke/2, 1.0
	if rotation == Forward {
		turn = -1 // pin at x = r cos, going back over 0..pi: its top goes to the fluid end if it goes back below
	}
	x, z := radius*math.Cos(angle), turn*radius*math.Sin(angle)
	along := math.Sqrt(p.ConnectingRod*p.ConnectingRod - z*z)
	speed := -radius * math.Sin(angle) * (1 + x/along)
	head := math.Pi / 4 * p.Liner * p.Liner
	crankEnd := head - math.Pi/4*p.Rod*p.Rod
	if p.Action == TriplexSingleActing {
		crankEnd = 0
	}
	fluid := -discharge * head // toward the fluid end
	if speed < 0 {
		fluid = discharge * crankEnd
	}
	// The rod holds it along x; its line falls z over along.
	return -fluid * z / along
}

// By mechanics, no source; 720 angles against the oracle. Which guide is
// loaded is as the engine's rotation test has it: a triplex in reverse lifts
// and drops.
func TestGuideForceOverATurn(t *testing.T) {
	for name, p := range map[string]Pump{"triplex": triplex(t, 6.5, 12), "duplex": duplex(t, 6.5, 18, 2.5)} {
		for rotation, sign := range map[Rotation]float64{Forward: 1, Reverse: -1} {
			t.Run(fmt.Sprint(name, rotation), func(t *testing.T) {
				push, pull := p.RodLoad(1500 * psi)
				for i := range 720 {
					angle := rad(float64(i)/2 + 0.25)
					got := p.GuideForce(1500*psi, rotation, angle)
					assert.InDelta(t, pressedDown(p.geometry, 1500*psi, rotation, angle), got, 1e-9*push)
					load := pull
					if angle > math.Pi {
						load = push
					}
					assert.GreaterOrEqual(t, sign*got, 0.0)
					assert.LessOrEqual(t, sign*got, load*p.LargestSide()+1e-6)
				}
			})
		}
	}
}

// Recomputed: duplex 6.5/2.5 in at 1500 psi and r/l 1/5.
func TestGuideForceOfADuplex(t *testing.T) {
	p := duplex(t, 6.5, 18, 2.5)
	near(t, 10160, p.GuideForce(1500*psi, Forward, rad(270))/pound, 1e-4)
	near(t, 8657, p.GuideForce(1500*psi, Forward, rad(90))/pound, 1e-4)
	near(t, -8657, p.GuideForce(1500*psi, Reverse, rad(90))/pound, 1e-4)
}
