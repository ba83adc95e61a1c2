package pumping

import (
	"fmt"
	"math"
)

// Pressures are those in the chambers, in Pa over the atmosphere.
type Pressures struct {
	Discharge float64
	Suction   float64 // 0 neglects it
}

func (p Pressures) check() error {
	err := first(notNegative("discharge pressure", p.Discharge), notNegative("suction pressure", p.Suction))
	if err == nil && p.Suction > p.Discharge {
		return fmt.Errorf("the suction pressure (%v Pa) is above the discharge pressure (%v Pa)", p.Suction, p.Discharge)
	}
	return err
}

// RodLoad is the force of the fluid along the piston rod, N, on the forward
// stroke (push: the rod is squeezed) and on the return stroke (pull: the rod
// is stretched; negative if it is squeezed then too):
//
//	double-acting: push = p A - s (A-a),  pull = p (A-a) - s A
//	single-acting: push = p A,            pull = -s A
//
// with A the bore, a the rod, p the discharge and s the suction pressure. The
// back of a single-acting piston is open. Inertia and friction are left out.
func (p Pump) RodLoad(at Pressures) (push, pull float64, err error) {
	if err := first(p.made(), at.check()); err != nil {
		return 0, 0, err
	}
	head, crank := p.Area(HeadEnd), p.Area(CrankEnd)
	return at.Discharge*head - at.Suction*crank, at.Discharge*crank - at.Suction*head, nil
}

// PressureAtRodLoad is the discharge pressure in Pa at which the push on this
// liner reaches the rod-load rating in N, which must come from the pump's
// manual. The suction pressure is neglected, which is on the safe side. It is
// an upper bound: the rating of the liner or of the fluid end may be lower and
// then governs.
func (p Pump) PressureAtRodLoad(rating float64) (float64, error) {
	if err := first(p.made(), positive("rod-load rating", rating)); err != nil {
		return 0, err
	}
	return rating / p.Area(HeadEnd), nil
}

// LargestLiner is the bore in m at which the push reaches the rod-load rating
// in N (from the pump's manual) at a discharge pressure in Pa. Like
// PressureAtRodLoad it is an upper bound.
func LargestLiner(rating, pressure float64) (float64, error) {
	if err := first(positive("rod-load rating", rating), positive("discharge pressure", pressure)); err != nil {
		return 0, err
	}
	return math.Sqrt(4 * rating / (math.Pi * pressure)), nil
}

// HydraulicPower is pressure (Pa) times flow (m3/s), W.
func HydraulicPower(pressure, flow float64) (float64, error) {
	if err := first(notNegative("pressure", pressure), notNegative("flow", flow)); err != nil {
		return 0, err
	}
	return pressure * flow, nil
}

// InputPower is the power in W that must be put in for a hydraulic power in W
// at a mechanical efficiency above 0 and at most 1.
func InputPower(hydraulic, mechanicalEfficiency float64) (float64, error) {
	if err := first(notNegative("hydraulic power", hydraulic), positive("mechanical efficiency", mechanicalEfficiency)); err != nil {
		return 0, err
	}
	if mechanicalEfficiency > 1 {
		return 0, fmt.Errorf("mechanical efficiency must be a fraction of at most 1, not %v", mechanicalEfficiency)
	}
	return hydraulic / mechanicalEfficiency, nil
}
