package align

// Reason is a short code for why a result is as it is.
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

var texts = map[Reason]string{
	NotParted:         "the rod is not parted: something else holds it",
	PartedUnknown:     "it is not known whether the rod is parted",
	NotSeated:         "the crosshead does not sit on its lower guide",
	SeatedUnknown:     "it is not known whether the crosshead sits on its lower guide",
	SumsDisagree:      "top and bottom do not add up alike along the stroke: measure again",
	RodTouches:        "the rod may be touching its opening",
	OnlyOneSide:       "top without bottom, or bottom without top",
	NoHeight:          "no position has both top and bottom",
	MiddleNotTaken:    "one position alone must be mid stroke",
	WithinDoubt:       "the rod is centred as far as these readings can tell",
	SmallEnough:       "the rod is off by less than is worth a lift",
	BelowThinnest:     "the rod is off by less than half the thinnest shim",
	UpperUnder:        "clearance at the upper guide under its least",
	RodWouldTouch:     "the rod would touch its opening",
	OnePosition:       "one position only: nothing checks it along the stroke",
	ChangeAlongStroke: "the height changes along the stroke: rod out of square or bent, crosshead rocking, or guide bowed; not tilt of the guide",
	BowAlongStroke:    "the height bends along the stroke: guide bowed, rod bent, or readings off",
	SideOff:           "the rod is off to one side: shims do not move it",
	SideSumsDisagree:  "left and right do not add up alike along the stroke: measure again",
	SumsDiffer:        "top and bottom do not add up to the same as left and right",
	NotNominal:        "top and bottom do not add up to opening less rod",
	TiltNoSupports:    "the guide is tilted, but where its shims go is not known",
	RodSkew:           "the rod is out of square with the guide: shims leave that",
	FitPoor:           "the planes do not fit together within their doubt",
	NotToldApart:      "guide and rod cannot be told apart: a distance, the stroke or a position is missing",
	ShimsToTakeOut:    "this needs shims that can be taken out",
	NoPack:            "no shim stock given",
	PackOff:           "the best pack is off by more than half the thinnest shim",
	UpperNotMeasured:  "clearance at the upper guide was not measured",
	LimitsNotKnown:    "the least clearance at the upper guide is not known",
	UpperInDoubt:      "clearance at the upper guide is close to a limit",
	UpperOver:         "clearance at the upper guide over its most",
	UpperSpread:       "no one thickness brings every spot of the upper guide inside",
	UpperNoPack:       "no pack from stock brings the upper guide inside",
	CentreGuideFirst:  "shim the centre guide before the outer ones",
}

// String is the reason in a few words.
func (r Reason) String() string {
	if text, ok := texts[r]; ok {
		return text
	}
	return string(r)
}

// Note is a reason and where it applies.
type Note struct {
	Reason   Reason
	Plane    int      // index into Input.Planes, -1 if none in particular
	Position Position // -1 if none in particular
	Spot     string   // of the upper guide; "" if none
}
