package align

import "slices"

// Reason is why a result is as it is: the id of the words for it.
type Reason string

// Reasons for which a correction is withheld.
const (
	NotParted      Reason = "rod-not-parted"
	PartedUnknown  Reason = "rod-parted-not-known"
	NotSeated      Reason = "crosshead-not-seated"
	SeatedUnknown  Reason = "crosshead-seated-not-known"
	SumsDisagree   Reason = "sums-disagree" // Place: the suspect position
	RodTouches     Reason = "rod-touches"   // Place: where the clearance may be nothing
	OnlyOneSide    Reason = "only-one-side" // Place: Top without Bottom, or Bottom without Top
	NoHeight       Reason = "no-height"
	MiddleNotTaken Reason = "middle-not-taken" // the only position is not the middle
)

// Reasons for which no shim is needed.
const (
	WithinDoubt   Reason = "within-doubt"
	BelowThinnest Reason = "below-thinnest"
	SmallEnough   Reason = "small-enough"
)

// Reasons to stop and ask.
const (
	UpperUnder    Reason = "upper-under-least" // Spot: which; with other outcomes it is so already
	RodWouldTouch Reason = "rod-would-touch"   // the lift would leave no clearance at the rod
)

// Other notes.
const (
	OnePosition       Reason = "one-position"         // Place: the plane; nothing checks the reading along the stroke
	ChangeAlongStroke Reason = "change-along-stroke"  // Place: the plane; rod out of square or bent, crosshead rocking, guide bowed
	BowAlongStroke    Reason = "bow-along-stroke"     // Place: the plane; guide bowed, rod bent, or readings less good than their step
	SideOff           Reason = "side-off"             // Place: the plane; shims do not move it
	SideSumsDisagree  Reason = "side-sums-disagree"   // Place: the suspect position of Left + Right
	SumsDiffer        Reason = "sums-differ"          // Place: Top + Bottom is not Left + Right
	NotNominal        Reason = "not-nominal"          // Place: Top + Bottom is not opening less rod
	TiltNoSupports    Reason = "tilt-no-supports"     // guide tilts, but the supports are not known
	RodSkew           Reason = "rod-skew"             // rod out of square with the guide; shims leave it
	FitPoor           Reason = "fit-poor"             // planes and level disagree by more than their doubt; U widened
	NotToldApart      Reason = "not-told-apart"       // several planes, but distance or stroke missing
	GuideNotKnown     Reason = "guide-not-known"      // the doubt of the guide's height is more than the rod's room; see TooNear
	ShimsToTakeOut    Reason = "shims-to-take-out"    // only if there are shims to take out
	NoPack            Reason = "no-pack"              // no stock given
	PackOff           Reason = "pack-off"             // the best pack misses by more than half the thinnest shim
	UpperNotMeasured  Reason = "upper-not-measured"   // nothing says what raising leaves above
	LimitsNotKnown    Reason = "upper-limits-unknown" // the least clearance is not known
	UpperInDoubt      Reason = "upper-in-doubt"       // Spot: nearer to a limit than the guard band
	UpperOver         Reason = "upper-over-most"      // Spot: which; see Upper
	UpperSpread       Reason = "upper-spread"         // no one thickness brings every spot inside
	UpperNoPack       Reason = "upper-no-pack"        // no pack from stock falls in the range
	CentreGuideFirst  Reason = "centre-guide-first"   // shim the centre guide before the outer ones
)

// Note is a reason and where it applies.
type Note struct {
	Reason   Reason
	Plane    int    // index into Planes, -1 if none in particular
	Position string // its name; "" if none in particular
	Spot     string // of the upper guide; "" if none
}

// Says says whether a reason is among the notes.
func (c *Centring) Says(r Reason) bool {
	return slices.ContainsFunc(c.Notes, func(n Note) bool { return n.Reason == r })
}
