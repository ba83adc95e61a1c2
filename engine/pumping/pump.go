package pumping

import (
	"cmp"
	"fmt"
	"math"
)

// Action is the kind of pump.
type Action int

// The two kinds of mud pump.
const (
	TriplexSingleActing Action = iota + 1 // 3 cylinders, cranks 120 degrees apart
	DuplexDoubleActing                    // 2 cylinders, cranks 90 degrees apart
)

// Chamber is one end of a cylinder.
type Chamber int

// The chambers. A single-acting pump has head ends only.
const (
	NoChamber Chamber = iota
	HeadEnd           // beyond the piston, away from the crank
	CrankEnd          // around the piston rod
)

// Geometry is what is measured on the pump or read from its plate, in metres.
type Geometry struct {
	Action        Action
	Liner         float64 // bore
	Rod           float64 // piston-rod diameter: needed if double-acting, without effect if not (0 will do)
	Stroke        float64
	ConnectingRod float64 // between centres
}

// Pump is a pump with possible geometry; make it with New.
type Pump struct {
	geometry Geometry
	layout
}

// layout is the arrangement of chambers.
type layout struct {
	cylinders    int
	doubleActing bool
}

// greatestRatio of crank radius to connecting rod. At 1 the crank cannot
// turn; real pumps have about 1/6 to 1/4 (common practice, no source).
const greatestRatio = 0.9

// New checks the geometry. It errs on an unknown action, a bore, stroke or
// connecting rod that is not a positive number, a rod that is not smaller than
// the liner or is missing on a double-acting pump, and a connecting rod too
// short for the crank to turn (crank radius above .9 of it).
func New(g Geometry) (Pump, error) {
	p := Pump{geometry: g}
	switch g.Action {
	case TriplexSingleActing:
		p.layout = layout{cylinders: 3}
	case DuplexDoubleActing:
		p.layout = layout{cylinders: 2, doubleActing: true}
	default:
		return Pump{}, fmt.Errorf("unknown pump action %d", g.Action)
	}
	rod := notNegative
	if p.doubleActing {
		rod = positive
	}
	err := cmp.Or(positive("liner bore", g.Liner), positive("stroke", g.Stroke),
		rod("piston-rod diameter", g.Rod), positive("connecting-rod length", g.ConnectingRod))
	switch {
	case err != nil:
		return Pump{}, err
	case g.Rod >= g.Liner:
		return Pump{}, fmt.Errorf("the piston rod (%v m) must be smaller than the liner bore (%v m)", g.Rod, g.Liner)
	case g.Stroke/2 > greatestRatio*g.ConnectingRod:
		return Pump{}, fmt.Errorf("the connecting rod (%v m) is too short for the crank radius (%v m) to turn", g.ConnectingRod, g.Stroke/2)
	}
	return p, nil
}

// The range of a usable number. The formulas multiply and divide fewer than
// ten of them, so their answers stay far from overflow.
const (
	smallest = 1e-12
	greatest = 1e12
)

// positive is the error of a number that must be above zero.
func positive(name string, x float64) error {
	if x >= smallest && x <= greatest { // false for NaN
		return nil
	}
	return fmt.Errorf("%s must be above zero and of a possible size, not %v", name, x)
}

// notNegative is the error of a number that may be zero.
func notNegative(name string, x float64) error {
	if x >= 0 && x <= greatest {
		return nil
	}
	return fmt.Errorf("%s must be zero or more and of a possible size, not %v", name, x)
}

// Area is the piston area in m2 that faces the chamber: the whole bore at the
// head end, the bore less the rod at the crank end of a double-acting pump; 0
// for a chamber the pump has not.
func (p Pump) Area(c Chamber) float64 {
	bore, rod := p.geometry.Liner, p.geometry.Rod
	switch {
	case c == HeadEnd:
		return math.Pi / 4 * bore * bore
	case c == CrankEnd && p.doubleActing:
		return math.Pi / 4 * (bore - rod) * (bore + rod) // as factors: never rounds to 0
	}
	return 0
}

// ChamberDisplacement is what one such chamber displaces in a stroke, m3: its
// area times the stroke length.
func (p Pump) ChamberDisplacement(c Chamber) float64 { return p.Area(c) * p.geometry.Stroke }

// Displacement is what the whole pump displaces in a stroke at 100 %
// volumetric efficiency, m3:
//
//	triplex single-acting: 3 pi/4 D^2 S
//	duplex double-acting:  pi/2 (2 D^2 - d^2) S
//
// as Bourgoyne et al., Applied Drilling Engineering (SPE 1986), chapter 1,
// which calls it the pump factor. No rounded constants are used.
func (p Pump) Displacement() float64 {
	return float64(p.cylinders) * (p.ChamberDisplacement(HeadEnd) + p.ChamberDisplacement(CrankEnd))
}

// Flow is the mean flow in m3/s at a rate in strokes per second, at 100 %
// volumetric efficiency. Times 60 it is the displacement per minute; times a
// pressure in Pa it is the hydraulic power in W.
func (p Pump) Flow(rate float64) float64 { return p.Displacement() * rate }

// RodLoad is the force of the fluid along the piston rod at a discharge
// pressure in Pa, N, on the forward stroke (push: the rod is squeezed) and on
// the return stroke (pull: the rod is stretched; none in a single-acting pump,
// whose piston is open at the back). Suction pressure, inertia and friction are
// left out.
func (p Pump) RodLoad(pressure float64) (push, pull float64) {
	return pressure * p.Area(HeadEnd), pressure * p.Area(CrankEnd)
}

// PressureAtRodLoad is the discharge pressure in Pa at which the push on this
// liner reaches the rod-load rating in N, which must come from the pump's
// manual. The suction pressure is neglected, which is on the safe side. It is
// an upper bound: the rating of the liner or of the fluid end may be lower and
// then governs.
func (p Pump) PressureAtRodLoad(rating float64) float64 { return rating / p.Area(HeadEnd) }

// LargestLiner is the bore in m at which the push reaches the rod-load rating
// in N (from the pump's manual) at a discharge pressure in Pa. Like
// PressureAtRodLoad it is an upper bound. It errs unless both are above zero.
func LargestLiner(rating, pressure float64) (float64, error) {
	if err := cmp.Or(positive("rod-load rating", rating), positive("discharge pressure", pressure)); err != nil {
		return 0, err
	}
	return math.Sqrt(4 * rating / (math.Pi * pressure)), nil
}
