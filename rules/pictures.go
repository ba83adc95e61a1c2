package rules

import "telltale/evidence/source"

// Picture names a drawing of how a thing is done by hand. It stands beside the
// step that names it, once on a page.
type Picture string

// The pictures.
const (
	ShimUnderGuide Picture = "shim-under-guide" // a shim under the free end of the lower guide
	OverCrosshead  Picture = "over-crosshead"   // the feeler's way between crosshead and upper guide
	RoundFlange    Picture = "round-flange"     // feeler points round the flange of an extension rod
	RoundRod       Picture = "round-rod"        // feeler points round a rod in its opening
	LockingWire    Picture = "locking-wire"     // which way the wire pulls the screws
	PackingOrder   Picture = "packing-order"    // the rings of a stuffing box
	ValvePot       Picture = "valve-pot"        // where to look at a valve and its seat
	LoadedGuide    Picture = "loaded-guide"     // which guide carries the pressure stroke
)

var pictures = []Picture{ShimUnderGuide, OverCrosshead, RoundFlange, RoundRod, LockingWire, PackingOrder, ValvePot, LoadedGuide}

// Pictures lists the pictures that a step can name.
func Pictures() []Picture { return pictures }

// picture reads which picture a step shows; "" is none.
func (l *loader) picture(o *source.Object) Picture {
	return oneOf(l, o.Get("picture"), "picture", pictures...)
}
