package pumping

import "math"

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
// fluid in each segment of line with the pistons:
//
//	h = L V N C/(K g)
//
// with V the mean velocity in the segment and N the strokes per minute
// (Hydraulic Institute; GPSA Engineering Data Book, section 12; both from
// memory). K is 1.4 for water without gas up to 2.5 for a compressible fluid
// there; none for mud was found. The fluid is taken to move as one piece, so
// it does not hold for a line so long that pressure waves count, nor beyond a
// dampener.
func AccelerationHead(d Draw, line []Segment) ([]float64, error) {
	err := first(notNegative("flow", d.Flow), notNegative("stroke rate", d.Rate),
		positive("acceleration constant", d.Constant), positive("K", d.K))
	if err != nil {
		return nil, err
	}
	heads := make([]float64, 0, len(line))
	for _, s := range line {
		if err := first(positive("length of the suction line", s.Length), positive("bore of the suction line", s.Bore)); err != nil {
			return nil, err
		}
		velocity := d.Flow / (math.Pi / 4 * s.Bore * s.Bore)
		heads = append(heads, s.Length*velocity*60*d.Rate*d.Constant/(d.K*Gravity))
	}
	return heads, nil
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
// Below zero the fluid boils in the pump.
func (s Suction) NPSHAvailable() (float64, error) {
	err := first(notNegative("surface pressure", s.SurfacePressure), notNegative("vapour pressure", s.VapourPressure),
		positive("density", s.Density), number("static head", s.StaticHead),
		notNegative("friction head", s.FrictionHead), notNegative("acceleration head", s.AccelerationHead))
	if err != nil {
		return 0, err
	}
	pressure := (s.SurfacePressure - s.VapourPressure) / (s.Density * Gravity)
	return pressure + s.StaticHead - s.FrictionHead - s.AccelerationHead, nil
}

// Margin is NPSHAvailable less the head in m that the pump requires, which
// must come from its manual. With 0 required it is how far the chamber stays
// above the vapour pressure if the suction valve took nothing. If the
// requirement already holds the acceleration head, leave that out of Suction.
func (s Suction) Margin(required float64) (float64, error) {
	available, err := s.NPSHAvailable()
	if err := first(err, notNegative("required suction head", required)); err != nil {
		return 0, err
	}
	return available - required, nil
}
