package pumping

import (
	"errors"
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
	ConnectingRod float64 // between centres; 0 if not known
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

// New checks the geometry. It errs on an unknown action, a bore or stroke
// that is not a positive number, a rod that is not smaller than the liner or
// is missing on a double-acting pump, and a connecting rod too short for the
// crank to turn (crank radius above .9 of it).
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
	err := first(positive("liner bore", g.Liner), positive("stroke", g.Stroke),
		rod("piston-rod diameter", g.Rod), notNegative("connecting-rod length", g.ConnectingRod))
	if err != nil {
		return Pump{}, err
	}
	if g.Rod >= g.Liner {
		return Pump{}, fmt.Errorf("the piston rod (%v m) must be smaller than the liner bore (%v m)", g.Rod, g.Liner)
	}
	if g.ConnectingRod > 0 {
		if _, err := NewCrank(g.Stroke/2, g.ConnectingRod); err != nil {
			return Pump{}, err
		}
	}
	return p, nil
}

var errNotMade = errors.New("no pump given: its geometry was not checked")

// made is the error of a Pump that did not come from New.
func (p Pump) made() error {
	if p.cylinders == 0 {
		return errNotMade
	}
	return nil
}

// Crank is the slider-crank of each cylinder, with radius half the stroke. It
// errs if the connecting-rod length is not known.
func (p Pump) Crank() (Crank, error) {
	if err := p.made(); err != nil {
		return Crank{}, err
	}
	if p.geometry.ConnectingRod == 0 {
		return Crank{}, errors.New("the connecting-rod length is not known")
	}
	return NewCrank(p.geometry.Stroke/2, p.geometry.ConnectingRod)
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
// volumetric efficiency. Times 60 it is the displacement per minute.
func (p Pump) Flow(rate float64) (float64, error) {
	if err := first(p.made(), notNegative("stroke rate", rate)); err != nil {
		return 0, err
	}
	return p.Displacement() * rate, nil
}
