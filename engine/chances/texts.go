package chances

import (
	"strings"
	"unicode"

	"telltale/evidence"
)

// What this package says in words of its own; all else that the crew reads
// stands in the rulebook.

// Why a sign is not weighed.
const (
	crewSaysIt  = "the crew's own word on it is weighed"
	otherKind   = "another kind is there"
	kindIsKnown = "a reading tells its kind"
	kindInDoubt = "its kind is in doubt, so it is weighed without one"
)

// What another job on the pump says of it.
const (
	otherOpen   = ", open since "
	otherClosed = ", not over by its file though closed "
	says        = ", says: "
	standOpen   = "Open: "
	wayBackOwed = "Closed again, its way back to service not gone to its end: "
	locksHang   = "Locks hang: "
	leftOpen    = "Stays open: "
	keptOutBy   = "Kept out of service: "
)

// What is missing beside readings: the place of the format is the threshold's
// or the opening's title with its place.
const (
	noFigure  = "%s: no figure to judge by; give this pump's own under manual:"
	stillOpen = "%s: readings were taken that need this done, but open: does not say so. If it still stands so, write %q under open:, or it will not be closed in the list"
)

// What a value or a life was held against.
const (
	aboveWord, belowWord = "above ", "below "
	lastsShort           = " lasts too short"
	againstSisters       = "the sisters' mean life"
	againstExpected      = "the expected life"
	lifeBelow            = "mean life below %s over %g"
)

// Refusals of a reading that plainly says the opposite of the crew.
const (
	readingShows   = "%s is absent here, but the readings at line %d show it (%s, %.0f %%); keep one"
	readingAgainst = "%s is %s here, but the readings at line %d speak against it (not %s, %.0f %%); keep one"
)

// Errors of the weighing.
const (
	impossibleProofs   = "the rulebook holds what was confirmed and ruled out to be impossible together"
	impossibleFindings = "the rulebook holds these findings to be impossible together, with what is confirmed and ruled out; one of them needs another look:\n"
	tooUnlikely        = "the findings together are less likely than can be computed; leave out those that matter least"
)

const (
	// ifNeeded is said of a part that a cause takes only at times.
	ifNeeded = " if needed"
	// notUsed ends the words of a stop about what was taken beside moving parts.
	notUsed = "Not used: "
	// builtInAlone is the reason of a verdict that the local book alone would
	// not give.
	builtInAlone = "The built-in rulebook, without the local one"
)

// LowerFirst starts a title small, unless it starts with a short form (SPM).
func LowerFirst(s string) string {
	runes := []rune(s)
	if len(runes) == 0 || len(runes) > 1 && unicode.IsUpper(runes[1]) {
		return s
	}
	runes[0] = unicode.ToLower(runes[0])
	return string(runes)
}

// Titled puts a place behind a title: "Fluid end (2)".
func Titled(title string, p evidence.Place) string {
	if p == (evidence.Place{}) {
		return title
	}
	return title + " (" + p.String() + ")"
}

// sides joins what a threshold is held against: "above 18 %, below 42 %; the
// rulebook's figure to weigh by, no limit".
func sides(figures, bases []string) string {
	return strings.Join(figures, ", ") + "; " + strings.Join(bases, "; ")
}
