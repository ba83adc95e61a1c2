package pumping

import (
	"fmt"
	"math"
)

// Rotation is the way the crank turns.
type Rotation int

// The rotations; Forward is taken if none is given. Books on engines call the
// opposite way forward.
const (
	Forward Rotation = iota // the top of the crank moves toward the fluid end
	Reverse                 // the top of the crank moves away from the fluid end
)

// GuideCase is what loads a crosshead.
type GuideCase struct {
	Pressures Pressures
	Weight    float64 // N, of the crosshead and what hangs on it
	Rotation  Rotation
}

// GuideStroke is the force on the guides over one stroke, N, down positive:
// above zero the crosshead lies on the lower guide, below zero on the upper.
type GuideStroke struct {
	Ends   float64 // at both dead centres
	Middle float64 // with the crank square to the axis, the farthest from Ends
}

// Upper tells that the crosshead lies on the upper guide in mid-stroke. If it
// does so on one stroke only, it lifts and drops once a turn.
func (g GuideStroke) Upper() bool { return g.Middle < 0 }

// GuideForce is the force of the crosshead on its guides in N, down positive,
// at a crank angle in rad of its own cylinder. On a forward stroke the rod is
// squeezed and, turning forward, the crank pin is above the axis, so the
// crosshead is pressed down; on the return stroke of a double-acting pump the
// rod is stretched with the pin below, and presses it down again. Reverse
// rotation turns both about. Inertia and friction are left out. It errs if
// the connecting-rod length is not known.
func (p Pump) GuideForce(c GuideCase, angle float64) (float64, error) {
	crank, push, pull, err := p.guideLoads(c)
	if err := first(err, number("crank angle", angle)); err != nil {
		return 0, err
	}
	load := pull
	if math.Sin(angle) < 0 {
		load = push
	}
	return c.Weight + load*math.Abs(math.Tan(crank.tilt(angle))), nil
}

// GuideStrokes is the force on the guides over the forward and the return
// stroke, by the rule of GuideForce.
func (p Pump) GuideStrokes(c GuideCase) (forward, back GuideStroke, err error) {
	crank, push, pull, err := p.guideLoads(c)
	if err != nil {
		return GuideStroke{}, GuideStroke{}, err
	}
	most := crank.LargestSide()
	forward = GuideStroke{Ends: c.Weight, Middle: c.Weight + push*most}
	back = GuideStroke{Ends: c.Weight, Middle: c.Weight + pull*most}
	return forward, back, nil
}

// guideLoads is the crank and the rod loads of both strokes, positive if they
// press the crosshead down. The tilt and the load change sign together from
// one stroke to the next, so push and pull act the same way.
func (p Pump) guideLoads(c GuideCase) (crank Crank, push, pull float64, err error) {
	if err := notNegative("crosshead weight", c.Weight); err != nil {
		return Crank{}, 0, 0, err
	}
	if c.Rotation != Forward && c.Rotation != Reverse {
		return Crank{}, 0, 0, fmt.Errorf("unknown rotation %d", c.Rotation)
	}
	crank, err = p.Crank()
	if err != nil {
		return Crank{}, 0, 0, err
	}
	push, pull, err = p.RodLoad(c.Pressures)
	if c.Rotation == Reverse {
		push, pull = -push, -pull
	}
	return crank, push, pull, err
}
