package align

import (
	"cmp"
	"slices"

	"telltale/engine/measure"
)

// Outcome is what to do about the lower guide: the id of the words for it.
type Outcome string

// The outcomes.
const (
	NoneNeeded   Outcome = "none-needed"
	EqualShims   Outcome = "equal-shims"   // the same pack at both ends
	UnequalShims Outcome = "unequal-shims" // tell the engineer first; one end may be negative
	TakeOut      Outcome = "take-out"      // rod high: as much out of both ends, if there are shims to take out
	Withheld     Outcome = "withheld"      // the readings do not support a thickness; see the notes
	StopAndAsk   Outcome = "stop-and-ask"  // raising would leave an upper clearance under its least; Wanted and Short say by how much
)

// Centring is where the rod stands, what to do about it, and what that will do.
type Centring struct {
	Planes []Plane `json:"planes"`
	Guide  *Guide  `json:"guide,omitempty"` // nil unless guide and rod can be told apart
	// TooNear is how far apart the planes stand, where that gives no line of the guide.
	TooNear *TooNear `json:"planes_too_near,omitempty"`

	Outcome     Outcome `json:"outcome"`
	AskEngineer bool    `json:"ask_engineer"`
	Notes       []Note  `json:"-"` // why, and what else to know; in a fixed order

	Wanted *Ends  `json:"wanted,omitempty"` // lift wanted at each end of the lower guide; nil if none needed or withheld
	Packs  []Pack `json:"packs"`            // for the lower guide, from stock
	// Upper is the clearance over the crosshead, now and after the packs (or Wanted exactly,
	// where no pack was chosen).
	Upper    []Spot    `json:"upper_guide"`
	UpperFix *UpperFix `json:"upper_shims,omitempty"` // what the upper guide then needs; nil if nothing
	Short    *Short    `json:"short,omitempty"`       // with StopAndAsk, the worst spot
}

// TooNear is how far apart planes stand and would have to, in metres, for a guide whose
// height is known to Known: half of the rod's room in its opening. Nothing that can be
// measured there is more.
type TooNear struct {
	Apart  float64 `json:"apart_metres"`
	Needed float64 `json:"needed_metres"`
	Known  float64 `json:"known_metres"`
}

// Plane is one opening along the rod where clearances were taken.
type Plane struct {
	At        *float64   `json:"at_metres,omitempty"` // from the crosshead centre at mid stroke; nil if not known
	AtU       float64    `json:"-"`                   // standard uncertainty of At
	Positions []Position `json:"positions"`           // those that were taken, from back to front

	// Worked out.
	Height *Trend          `json:"height,omitempty"`       // nil if no position has both Top and Bottom
	Side   *Trend          `json:"side,omitempty"`         // nil if no position has both Left and Right
	Rests  *measure.Length `json:"height_after,omitempty"` // height at mid stroke after the packs; nil if withheld
}

// The names of the positions: half a stroke back, mid stroke, half a stroke forward.
const (
	Back   = "back"
	Middle = "middle"
	Front  = "front"
)

var stations = []string{Back, Middle, Front}

// Position is the clearances round the rod in metres with the crosshead at one place of its
// stroke, as seen looking toward the fluid end. What was not taken is nil.
type Position struct {
	Name   string          `json:"crosshead"`
	Top    *measure.Length `json:"top,omitempty"`
	Bottom *measure.Length `json:"bottom,omitempty"`
	Left   *measure.Length `json:"left,omitempty"`
	Right  *measure.Length `json:"right,omitempty"`

	// Worked out; nil where the readings were not taken.
	Height  *measure.Length `json:"height,omitempty"` // (Bottom - Top)/2, below 0 is low
	Side    *measure.Length `json:"side,omitempty"`   // (Left - Right)/2, above 0 is toward the right
	Sum     *measure.Length `json:"sum,omitempty"`    // Top + Bottom
	sumSide *measure.Length // Left + Right
	Suspect bool            `json:"suspect"`         // a reading here does not fit the others
	After   *Clearing       `json:"after,omitempty"` // nil if withheld
}

// Clearing is what is foreseen at a position after the packs. Left and Right stay as they
// were.
type Clearing struct {
	Top    measure.Length `json:"top"`
	Bottom measure.Length `json:"bottom"`
	Height measure.Length `json:"height"`
}

// Trend is how height or side goes along the stroke.
type Trend struct {
	Mean     measure.Length  `json:"mean"`             // at mid stroke by the fitted line: the mean of three positions of equal U. Its U is no less than that of one
	Change   *measure.Length `json:"change,omitempty"` // front less back over the whole stroke; nil with one position
	PerMetre *measure.Value  `json:"-"`                // Change/stroke; nil if the stroke is not known
	Bow      *measure.Length `json:"bow,omitempty"`    // back - 2 middle + front; nil without all three
	Changes  bool            `json:"changes"`          // Change is real: beyond K of its uncertainties and beyond what rounding can do
	Bows     bool            `json:"bows"`             // Bow is real, as Changes; the other U are then widened by the Birge ratio
}

// Guide is the guide and the rod told apart: z = Height + Slope x + Skew (x - s).
type Guide struct {
	Height measure.Length `json:"height"`                      // of the guide at x = 0
	Slope  measure.Length `json:"slope_per_metre"`             // of the guide, rising toward the fluid end
	Skew   measure.Length `json:"rod_out_of_square_per_metre"` // rod out of square with the guide
	Slopes bool           `json:"slopes"`                      // Slope is real
	Skewed bool           `json:"skewed"`                      // Skew is real

	GuideTrue  *Ends `json:"-"`                     // makes the guide true; rod squareness is then to be put right. Nil without Supports
	RodCentred *Ends `json:"rod_centred,omitempty"` // centres the rod over the stroke as it is, and leaves the guide. Nil without Supports
}

// Ends is a thickness in metres under each end of a guide; below 0 is to be taken out.
type Ends struct {
	Front measure.Length `json:"front"`
	Rear  measure.Length `json:"rear"`
	Equal bool           `json:"equal"`
}

// Spot is one place where the clearance between the crosshead and the upper guide was taken.
type Spot struct {
	Name string `json:"name"`
	Read string `json:"read"` // as the crew wrote it
	measure.Length
	Along *float64 `json:"-"` // metres from the crosshead centre, positive toward the fluid end; nil if not known

	// Worked out; After is nil if withheld.
	Stand       string          `json:"stand"`
	Inside      float64         `json:"chance_inside"`
	Under       float64         `json:"chance_under"`
	After       *measure.Length `json:"after,omitempty"` // the lower guide's packs
	AfterStand  string          `json:"after_stand,omitempty"`
	AfterInside float64         `json:"after_chance_inside,omitempty"`
	AfterUnder  float64         `json:"after_chance_under,omitempty"`
	AfterBoth   *measure.Length `json:"after_both,omitempty"` // with the shims above the upper guide too
}

// UpperFix is what shims above the upper guide (equal at all its ends; they take from the
// clearance) would bring every spot inside its limits.
type UpperFix struct {
	Least  float64  `json:"least_metres"` // thickness from which to which every spot is inside
	Most   float64  `json:"most_metres"`  // less than Least: no thickness does
	Wanted *float64 `json:"wanted_metres,omitempty"`
	Pack   *Pack    `json:"pack,omitempty"` // nil if no pack from stock falls in the range
}

// Short is the spot where raising would take most from the least clearance.
type Short struct {
	Spot string         `json:"spot"`
	By   measure.Length `json:"by"` // least allowed less forecast clearance
}

// Centre works out where the rod lies and what to do about it. Input that cannot be right
// (a clearance below 0, a reading without uncertainty, supports in the wrong order) gives
// an error; readings that are possible but do not support a correction give the outcome
// Withheld and say why.
func Centre(in Input) (Centring, error) {
	in.K, in.Guard, in.MaxPieces = cmp.Or(in.K, usualK), cmp.Or(in.Guard, usualGuard), cmp.Or(in.MaxPieces, mostPieces)
	if err := in.check(); err != nil {
		return Centring{}, err
	}
	j := job{in: in, out: Centring{Packs: []Pack{}}}
	for _, step := range []func() error{j.readPlanes, j.readUpper, j.tellApart, j.correct, j.forecast} {
		if err := step(); err != nil {
			return Centring{}, err
		}
	}
	return j.out, nil
}

// job is one run of Centre.
type job struct {
	in       Input
	out      Centring
	withheld bool
}

// place is where a note applies: a plane, -1 for none in particular, and a position, "" for
// none.
type place struct {
	plane    int
	position string
}

var nowhere = place{-1, ""}

// note says a reason once for each place.
func (j *job) note(r Reason, at place) {
	n := Note{Reason: r, Plane: at.plane, Position: at.position}
	if !slices.Contains(j.out.Notes, n) {
		j.out.Notes = append(j.out.Notes, n)
	}
}

func (j *job) noteSpot(r Reason, spot string) {
	j.out.Notes = append(j.out.Notes, Note{Reason: r, Plane: -1, Spot: spot})
}

func (j *job) withhold(r Reason, at place) {
	j.note(r, at)
	j.withheld = true
}

func (j *job) ask(r Reason, at place) {
	j.note(r, at)
	j.out.AskEngineer = true
}
