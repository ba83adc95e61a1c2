package hear

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Where all is well, or nobody looked, is not where the next words speak of, unless they
// follow right on and name nothing.
func TestPlacesThatAreWellTakeNothing(t *testing.T) {
	hearAll(t, []toldCase{
		{triplex, "number 3 wiper leaks, 1 and 2 wipers are dry, the rod looks scored where the wiper rides", []string{"wiper-leaks present [3]", "wiper-leaks absent [1 2]", "rod-worn present [3]"}},
		{duplex, "left stuffing box leaks, the right box is fine, gland was pulled up an hour ago, left rod is scored", []string{"packing-leaks present [left]", "gland-tightened present [left]", "piston-rod-worn present [left]"}},
	})
}

// The side of a duplex that is well is so at both its ends.
func TestSidesThatAreWell(t *testing.T) {
	hearAll(t, []toldCase{
		{duplex, "the right head end hisses, the left side is quiet", []string{"hiss absent [left head left crank]"}},
		{duplex, "no hiss at any of the four chambers", []string{"hiss absent [left head left crank right head right crank]"}},
		{duplex, "the left head end hisses, its crank end sounds fine", []string{"hiss absent [left crank]"}},
	})
}

// A noise that is said whole carries no part on.
func TestNoiseSaidWhole(t *testing.T) {
	hearAll(t, []toldCase{
		{triplex, "we changed the valve on 2. No knock", []string{"knock absent"}},
		{triplex, "the dampener was pumped up. It just bangs", []string{"knock present"}},
	})
}

// Places that are well in one clause and not in the next are two statements.
func TestPlacesApartThatDiffer(t *testing.T) {
	hearAll(t, []toldCase{
		{triplex, "wiper box 3 leaks, wiper boxes 1 and 2 dry", []string{"wiper-leaks present [3]", "wiper-leaks absent [1 2]"}},
		{triplex, "wash water on 2 is muddy, on 1 and 3 clean", []string{"mud-in-wash present [2]", "mud-in-wash absent [1 3]"}},
	})
}

// A normal figure beside another says that it fell or rose, not that it is well; two that
// a needle goes between say neither.
func TestNormalFigures(t *testing.T) {
	hearAll(t, []toldCase{
		{triplex, "charge pressure 14 psi, normal 45", []string{"charge-pressure-low fell-slowly present"}},
		{triplex, "oil pressure 11 psi at 90 strokes, normally 40", []string{"oil-pressure-low low present"}},
		{triplex, "charge pressure swings 12 to 40", []string{"charge-pressure-low unsteady present"}},
		{triplex, "charge pressure normal 45 psi", []string{"charge-pressure-low absent"}},
	})
}

// What nobody got to.
func TestNeverGotTo(t *testing.T) {
	hearAll(t, []toldCase{
		{triplex, "never got to the valves on 3", []string{"valve-damage unknown [3]"}},
		{triplex, "haven't put a gauge on the dampener yet", []string{"dampener-gas unknown"}},
	})
}

// Two statements without a word between them.
func TestTurnsOver(t *testing.T) {
	hearAll(t, []toldCase{
		{triplex, "liner looks good no grooves", []string{"liner-worn absent"}},
		{triplex, "wipers all dry changed the liner on 2", []string{"wiper-leaks absent [1 2 3]", "liner-changed present [2]"}},
	})
}

// What goes on is the sign spoken of, whatever part was named since.
func TestGoesOn(t *testing.T) {
	hearAll(t, []toldCase{
		{triplex, "there is a knock on number 2. We changed the valve. It still knocks", []string{"knock-at-cylinder present [2]"}},
		{triplex, "pressure dropped 300 psi. We swapped the relief valve. Still dropping", []string{"pressure-low present"}},
		{triplex, "mud drips from the weep hole of liner 3. Gland was tightened, still drips", []string{"weep-hole-runs present [3]"}},
	})
}

// What is no number of a cylinder, and what is one.
func TestNumbersOfCylinders(t *testing.T) {
	hearAll(t, []toldCase{
		{triplex, "wiper leaks on cyl. 2, cyl. 3 is dry", []string{"wiper-leaks present [2]", "wiper-leaks absent [3]"}},
		{triplex, "piston gone on #3 again, 2nd time this month", []string{"pistons-fail-often present [3]"}},
		{duplex, "left stuffing box leaks. We hammered the cover one time more", []string{"covers-tightened present [left]"}},
		{triplex, "wiper box 3 leaks, 1 and 2 wipers are dry", []string{"wiper-leaks present [3]", "wiper-leaks absent [1 2]"}},
	})
}

// "That side" is the place told last.
func TestThatSide(t *testing.T) {
	hearAll(t, []toldCase{
		{duplex, "left packing leaks. On the right it is dry. Rod on that side is scored", []string{"piston-rod-worn present [left]"}},
	})
}

// Of what "did not look" is said.
func TestDidNotLook(t *testing.T) {
	hearAll(t, []toldCase{
		{duplex, "the left rod did not look scored", []string{"piston-rod-worn absent [left]"}},
		{triplex, "did not look under the valve on 2", []string{"valve-damage unknown [2]"}},
	})
}

// Words for well behind "is" deny, also before a word of the phrase; a figure that is nearly
// the other is as it was.
func TestWellBehindIs(t *testing.T) {
	hearAll(t, []toldCase{
		{triplex, "the wiper's dry on the rod of 2", []string{"wiper-leaks absent [2]"}},
		{triplex, "pressure 2750 psi, was 2760", []string{"pressure-low absent"}},
	})
}

// What is well by one word of many parts, or fits nearly as well on another, is not strong.
func TestStrongIsWellAhead(t *testing.T) {
	for _, story := range []string{"fluid end is all good", "not a mark anywhere"} {
		for _, h := range listener(t).Hear(story, layout(triplex)).Heard {
			assert.NotEqual(t, Strong, h.Strength, story)
		}
	}
}

// Who listened looked with the ear, who felt with the hand.
func TestListened(t *testing.T) {
	hearAll(t, []toldCase{
		{triplex, "had a listen round all the pots", []string{"listen-round present"}},
		{triplex, "put a hand on all the covers", []string{"heat-round present"}},
	})
}
