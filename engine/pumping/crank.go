package pumping

import "math"

// The motion of the slider-crank. The relations are the exact ones, as in any
// text on the theory of machines, not the series in the rod ratio that such
// texts work their examples with.

// ratio is the crank radius over the connecting-rod length.
func (p Pump) ratio() float64 { return p.geometry.Stroke / 2 / p.geometry.ConnectingRod }

// slope is the first derivative by crank angle of how far the piston has come
// back, over the radius.
func slope(ratio, angle float64) float64 {
	sin, cos := math.Sincos(angle)
	return sin + ratio*sin*cos/math.Sqrt(1-ratio*ratio*sin*sin)
}

// bend is the second derivative.
func bend(ratio, angle float64) float64 {
	sin, cos := math.Sincos(angle)
	q := 1 - ratio*ratio*sin*sin
	return cos + ratio*(cos*cos-sin*sin*q)/(q*math.Sqrt(q))
}

// Speeds is the mean speed of a piston, two stroke lengths a turn, and its
// exact peak in m/s at a rate in strokes per second. The angle of the peak is
// found to 1e-12 rad by halving, as the acceleration changes sign once in a
// quarter turn; the speed is flat there, so it is good to rounding.
func (p Pump) Speeds(rate float64) (mean, peak float64) {
	low, high := 0.0, math.Pi/2
	for high-low > 1e-12 {
		mid := (low + high) / 2
		if bend(p.ratio(), mid) > 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return 2 * p.geometry.Stroke * rate, math.Pi * rate * p.geometry.Stroke * slope(p.ratio(), low)
}

// tilt is that of the connecting rod, rad: sin(tilt) = ratio sin(angle).
func tilt(ratio, angle float64) float64 { return math.Asin(ratio * math.Sin(angle)) }

// LargestSide is the greatest guide force over the load that makes it, with
// the crank square to the axis: ratio/sqrt(1-ratio^2).
func (p Pump) LargestSide() float64 { return math.Tan(tilt(p.ratio(), math.Pi/2)) }

// Rotation is the way the crank turns.
type Rotation int

// The rotations; Forward is taken if none is given. Books on engines call the
// opposite way forward.
const (
	Forward Rotation = iota // the top of the crank moves toward the fluid end
	Reverse                 // the top of the crank moves away from the fluid end
)

// GuideForce is the force of the crosshead on its guides by the fluid alone in
// N, at a discharge pressure in Pa and a crank angle in rad of its own cylinder:
// above zero it presses on the lower guide, below zero on the upper. On a
// forward stroke the rod is squeezed and, turning forward, the crank pin is
// above the axis, so the crosshead is pressed down; on the return stroke of a
// double-acting pump the rod is stretched with the pin below, and presses it
// down again. Reverse rotation turns both about. Weight, inertia and friction
// are left out.
func (p Pump) GuideForce(pressure float64, r Rotation, angle float64) float64 {
	push, load := p.RodLoad(pressure)
	if math.Sin(angle) < 0 {
		load = push
	}
	if r == Reverse {
		load = -load
	}
	return load * math.Abs(math.Tan(tilt(p.ratio(), angle)))
}
