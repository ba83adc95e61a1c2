package align

import "telltale/engine/measure"

// Answer is a yes or no that may not be known.
type Answer int

// The answers.
const (
	Unknown Answer = iota
	Yes
	No
)

// Position is where the crosshead stood when a reading was taken.
type Position int

// The positions: half a stroke back, mid stroke, half a stroke forward.
const (
	Back Position = iota
	Middle
	Front
)

// Reading is the clearances round the rod at one plane and one position, in metres, as
// seen looking toward the fluid end. Nil was not taken.
type Reading struct {
	Top, Bottom *measure.Value
	Left, Right *measure.Value
}

// Plane is one place along the rod where clearances were taken.
type Plane struct {
	At       *float64    // metres from the crosshead centre at mid stroke; nil if not known
	Readings [3]*Reading // by Position; nil was not taken
}

// Supports are where the shims under the guide go, in metres from the crosshead centre at
// mid stroke, positive toward the fluid end. Front is the one nearer the fluid end.
type Supports struct {
	Front, Rear float64
}

// Spot is one place where the clearance between the crosshead and the upper guide was taken.
type Spot struct {
	Name      string
	Along     *float64 // metres from the crosshead centre, positive toward the fluid end; nil if not known
	Clearance measure.Value
}

// Shim is one thickness in stock.
type Shim struct {
	Nominal float64        // metres
	Actual  *measure.Value // measured thickness; nil takes Nominal as exact
	Count   int            // pieces in stock; 0 is as many as wanted
}

// Input is everything that was measured. Only Planes is needed for the rod's height; what
// is missing is said in the notes of the result.
type Input struct {
	Planes   []Plane
	Stroke   float64 // metres; 0 if not known
	Parted   Answer  // is the rod free of what it drives or is driven by at its far end?
	Seated   Answer  // does the crosshead sit on its lower guide at every corner?
	Supports *Supports
	Level    *measure.Value // slope of the guide against the bore line, metres per metre, rising toward the fluid end
	Opening  *measure.Value // nominal diameter of the opening
	Rod      *measure.Value // nominal diameter of the rod

	Upper       []Spot
	UpperLimits measure.Limits

	Stock     []Shim
	MaxPieces int // most pieces in one pack, 1 to 4; 0 is 4

	// Leave is the lift, in metres, under which the guide is left as it is; 0 leaves that
	// to the thinnest shim in stock. A rod aside by less is not called aside.
	Leave float64

	CentreGuide bool // a centre guide stands between outer ones

	K     float64 // a figure counts as real beyond K of its uncertainties; 0 is 2
	Guard float64 // guard band at limits, in uncertainties; 0 is 1.645 (95 % from one side)
}
