package align

import "telltale/engine/measure"

// Outcome is what to do about the lower guide.
type Outcome string

// The outcomes.
const (
	NoneNeeded   Outcome = "none needed"
	EqualShims   Outcome = "equal shims"   // the same pack at both ends
	UnequalShims Outcome = "unequal shims" // tell the engineer first; one end may be negative
	TakeOut      Outcome = "take out"      // rod high: as much out of both ends, if there are shims to take out
	Withheld     Outcome = "withheld"      // the readings do not support a thickness; see the notes
	StopAndAsk   Outcome = "stop and ask"  // raising would leave an upper clearance under its least; Wanted and Short say by how much
)

// Centring is the whole result.
type Centring struct {
	Planes []PlaneResult
	Joint  *Joint // nil unless guide and rod can be told apart

	Outcome     Outcome
	Notes       []Note // why, and what else to know; in a fixed order
	AskEngineer bool

	Wanted *Shims  // lift wanted at each end; nil if none needed or withheld
	Packs  *Packed // lower guide packs from stock; nil if there are none to fit
	After  *After  // forecast with the packs (or Wanted exactly, where no pack was chosen); nil if withheld
	Upper  *Upper  // what the upper guide then needs; nil if nothing
	Short  *Short  // with StopAndAsk, the worst spot
}

// Shims are lifts under the two supports, metres; below 0 is to be taken out.
type Shims struct {
	Front, Rear measure.Value
	Cov         float64 // covariance of the two, metres^2
	Equal       bool
}

// Packed are the packs for the two ends of a guide; with equal shims they are the same.
type Packed struct {
	Front, Rear *Pack // nil at an end where nothing goes in
}

// PlaneResult is what one plane says.
type PlaneResult struct {
	Positions [3]*PlaceResult // by Position; nil was not taken
	Height    *Trend          // nil if no position has both Top and Bottom
	Side      *Trend          // nil if no position has both Left and Right
}

// PlaceResult is what one position says; nil where the readings were not taken.
type PlaceResult struct {
	Height  *measure.Value // (Bottom - Top)/2, below 0 is low
	Side    *measure.Value // (Left - Right)/2, above 0 is toward the right
	SumUp   *measure.Value // Top + Bottom
	SumSide *measure.Value // Left + Right
	Suspect bool           // a reading here does not fit the others
}

// Trend is how height or side goes along the stroke.
type Trend struct {
	Mean     measure.Value  // at mid stroke by the fitted line: the mean of three positions of equal U. Its U is no less than that of one
	Change   *measure.Value // front less back over the whole stroke; nil with one position
	PerMetre *measure.Value // Change/stroke; nil if the stroke is not known
	Bow      *measure.Value // back - 2 middle + front; nil without all three
	Changes  bool           // Change is real: beyond K of its uncertainties and beyond what rounding can do
	Bows     bool           // Bow is real, as Changes; the other U are then widened by the Birge ratio
}

// Joint is the guide and the rod told apart: z = a + b x + eps (x - s).
type Joint struct {
	A     measure.Value // height of the guide at x = 0, metres
	B     measure.Value // tilt of the guide, rising toward the fluid end, metres per metre
	Eps   measure.Value // rod out of square with the guide, metres per metre
	Cov   [3][3]float64 // of A, B, Eps
	Birge float64       // scatter against what the uncertainties explain; 0 if nothing is left over
	Tilts bool          // B is real
	Skew  bool          // Eps is real

	GuideTrue  *Shims // makes the guide true; rod squareness is then to be put right. Nil without Supports
	RodCentred *Shims // centres the rod over the stroke as it is. Nil without Supports
}

// After is the forecast if the wanted lift is made.
type After struct {
	Planes []AfterPlane
	Upper  []AfterSpot
}

// AfterPlane is the forecast at one plane.
type AfterPlane struct {
	Mean      *measure.Value // height at mid stroke
	Positions [3]*AfterPlace
}

// AfterPlace is the forecast at one position. Left and Right stay as they were.
type AfterPlace struct {
	Height, Top, Bottom measure.Value
	Left, Right         *measure.Value
}

// AfterSpot is the forecast at one spot of the upper guide.
type AfterSpot struct {
	Name      string
	Clearance measure.Value
	Verdict   measure.Verdict
}

// Upper is what shims above the upper guide (equal at all its ends; they take from the
// clearance) would bring every spot inside its limits.
type Upper struct {
	Least, Most float64     // thickness from which to which every spot is inside, metres; Least > Most: there is none
	Guarded     bool        // the guard band is kept at every spot with Pack; without, that it can be
	Wanted      *float64    // middle of that range, metres; nil if there is none
	Pack        *Pack       // nil if no pack from stock falls in the range
	After       []AfterSpot // forecast with Pack; nil without
}

// Short is the spot where raising would take most from the least clearance.
type Short struct {
	Spot string
	By   measure.Value // least allowed less forecast clearance, metres
}
