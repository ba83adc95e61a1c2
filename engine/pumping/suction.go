package pumping

import (
	"cmp"
	"math"
)

// Gravity is the standard acceleration of free fall, m/s2.
const Gravity = 9.80665

// Segment is a length of suction line of one bore, m.
type Segment struct{ Length, Bore float64 }

// Draw is how a pump draws through its suction line.
type Draw struct {
	Flow     float64 // mean, m3/s
	Rate     float64 // strokes per second
	Constant float64 // C for strokes per minute, from Pump.AccelerationConstant or a handbook
	K        float64 // of the fluid and line: from the handbook that the caller goes by
}

// AccelerationHead is the head in m of the fluid that it takes to keep up the
// fluid in the segments of line with the pistons, for each of them
//
//	h = L V N C/(K g)
//
// with V the mean velocity in the segment and N the strokes per minute
// (Hydraulic Institute; GPSA Engineering Data Book, section 12; both from
// memory). K is 1.4 for water without gas up to 2.5 for a compressible fluid
// there; none for mud was found. The fluid is taken to move as one piece, so
// it does not hold for a line so long that pressure waves count, nor beyond a
// dampener.
func AccelerationHead(d Draw, line ...Segment) (float64, error) {
	head, err := 0.0, cmp.Or(notNegative("flow", d.Flow), notNegative("stroke rate", d.Rate),
		positive("acceleration constant", d.Constant), positive("K", d.K))
	for _, s := range line {
		err = cmp.Or(err, positive("length of the suction line", s.Length), positive("bore of the suction line", s.Bore))
		velocity := d.Flow / (math.Pi / 4 * s.Bore * s.Bore)
		head += s.Length * velocity * 60 * d.Rate * d.Constant / (d.K * Gravity)
	}
	if err != nil {
		return 0, err
	}
	return head, nil
}

// Suction is what the pressure at the pump's inlet is made of. Heads are in m
// of the fluid.
type Suction struct {
	SurfacePressure  float64 // Pa absolute, on the fluid in the tank: mostly the atmosphere
	VapourPressure   float64 // Pa absolute, at the fluid's temperature
	Density          float64 // kg/m3
	StaticHead       float64 // of the fluid's level over the pump, negative below it; a booster's head is added here
	FrictionHead     float64 // lost in the line at the greatest flow
	AccelerationHead float64 // summed over the line
}

// NPSHAvailable is the net positive suction head in m of the fluid:
//
//	(surface - vapour pressure)/(density g) + static - friction - acceleration
//
// Below zero the fluid boils in the pump. Less what the pump's manual requires
// it is the margin; if that already holds the acceleration head, leave it out of
// Suction.
func (s Suction) NPSHAvailable() (float64, error) {
	err := cmp.Or(notNegative("surface pressure", s.SurfacePressure), notNegative("vapour pressure", s.VapourPressure),
		positive("density", s.Density), notNegative("static head", math.Abs(s.StaticHead)),
		notNegative("friction head", s.FrictionHead), notNegative("acceleration head", s.AccelerationHead))
	if err != nil {
		return 0, err
	}
	pressure := (s.SurfacePressure - s.VapourPressure) / (s.Density * Gravity)
	return pressure + s.StaticHead - s.FrictionHead - s.AccelerationHead, nil
}
