package pumping

import (
	"fmt"
	"math"
)

// Crank is a slider-crank; make it with NewCrank. Its relations are the exact
// ones, as in any text on the theory of machines, not the series in the rod
// ratio that such texts work their examples with.
type Crank struct {
	radius float64 // m
	ratio  float64 // crank radius over connecting-rod length
}

// NewCrank is a crank of a radius and connecting-rod length in m. It errs
// unless the rod is longer than radius/.9.
func NewCrank(radius, connectingRod float64) (Crank, error) {
	if err := first(positive("crank radius", radius), positive("connecting-rod length", connectingRod)); err != nil {
		return Crank{}, err
	}
	if radius > greatestRatio*connectingRod {
		return Crank{}, fmt.Errorf("the connecting rod (%v m) is too short for the crank radius (%v m) to turn", connectingRod, radius)
	}
	return Crank{radius: radius, ratio: radius / connectingRod}, nil
}

// Ratio is the crank radius over the connecting-rod length.
func (c Crank) Ratio() float64 { return c.ratio }

// position is how far the piston has come back, over the radius.
func position(ratio, angle float64) float64 {
	sin, cos := math.Sincos(angle)
	// (1 - sqrt(1-u^2))/ratio written so that it does not cancel for a long rod.
	u := ratio * sin
	return 1 - cos + u*sin/(1+math.Sqrt(1-u*u))
}

// slope is the first derivative of position by angle.
func slope(ratio, angle float64) float64 {
	sin, cos := math.Sincos(angle)
	return sin + ratio*sin*cos/math.Sqrt(1-ratio*ratio*sin*sin)
}

// bend is the second derivative of position by angle.
func bend(ratio, angle float64) float64 {
	sin, cos := math.Sincos(angle)
	q := 1 - ratio*ratio*sin*sin
	return cos + ratio*(cos*cos-sin*sin*q)/(q*math.Sqrt(q))
}

// Motion is that of a piston at one crank angle and a steady rate.
type Motion struct {
	Position     float64 // m back from the head-end dead centre
	Velocity     float64 // m/s, positive while it comes back
	Acceleration float64 // m/s2, positive away from the fluid end
	RodAngle     float64 // rad, tilt of the connecting rod: sin(tilt) = ratio sin(angle)
}

// Motion is the exact motion at a crank angle in rad and a steady rate in
// strokes per second, which may be 0.
func (c Crank) Motion(angle, rate float64) (Motion, error) {
	if err := first(number("crank angle", angle), notNegative("stroke rate", rate)); err != nil {
		return Motion{}, err
	}
	w := 2 * math.Pi * rate
	return Motion{
		Position:     c.radius * position(c.ratio, angle),
		Velocity:     c.radius * w * slope(c.ratio, angle),
		Acceleration: c.radius * w * w * bend(c.ratio, angle),
		RodAngle:     c.tilt(angle),
	}, nil
}

func (c Crank) tilt(angle float64) float64 { return math.Asin(c.ratio * math.Sin(angle)) }

// Speeds of a piston, m/s.
type Speeds struct {
	Mean      float64 // two stroke lengths, 4 radii, each turn
	Peak      float64
	PeakAngle float64 // rad, on the return stroke; 2 pi less this on the forward stroke
}

// Speeds is the mean and the exact peak speed at a rate in strokes per
// second. The angle is found to 1e-12 rad by halving, as the acceleration
// changes sign once in a quarter turn; the speed is flat there, so it is good
// to rounding.
func (c Crank) Speeds(rate float64) (Speeds, error) {
	if err := notNegative("stroke rate", rate); err != nil {
		return Speeds{}, err
	}
	low, high := 0.0, math.Pi/2
	for high-low > 1e-12 {
		mid := (low + high) / 2
		if bend(c.ratio, mid) > 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return Speeds{
		Mean:      4 * c.radius * rate,
		Peak:      2 * math.Pi * rate * c.radius * slope(c.ratio, low),
		PeakAngle: low,
	}, nil
}

// Forces are what a force along the piston rod makes of itself at the
// crosshead and the crank.
type Forces struct {
	Side   float64 // N on the guide: load tan(tilt)
	Thrust float64 // N along the connecting rod: load/cos(tilt)
	Torque float64 // N m on the crank: load radius sin(angle+tilt)/cos(tilt)
}

// Forces gives them for a load in N (either sign) at a crank angle in rad.
func (c Crank) Forces(load, angle float64) (Forces, error) {
	if err := first(number("load", load), number("crank angle", angle)); err != nil {
		return Forces{}, err
	}
	return Forces{
		Side:   load * math.Tan(c.tilt(angle)),
		Thrust: load / math.Cos(c.tilt(angle)),
		Torque: load * c.radius * slope(c.ratio, angle),
	}, nil
}

// LargestSide is the greatest guide force over the load that makes it, with
// the crank square to the axis: ratio/sqrt(1-ratio^2).
func (c Crank) LargestSide() float64 { return c.ratio / math.Sqrt(1-c.ratio*c.ratio) }
