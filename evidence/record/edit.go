package record

import (
	"telltale/evidence"
	"telltale/evidence/source"
)

// Edit is one change of a case file: one thing that somebody said. Edits are
// made by the functions of this package and carried out by Apply or
// File.Write. Ids and answers are the rulebook's; the zero Place is the whole
// pump.
type Edit struct {
	do func(*draft) error
}

// Apply carries out edits in order on the text of a case file and gives the
// new text with the case that it holds. Everything that no edit touches stays
// as it was written. An empty text is a file yet to be started.
//
// On any error nothing is given:
//   - *DamagedError: the text as it stands has mistakes; it must be mended by
//     hand first.
//   - *RefusedError: the text is right, but cannot take an edit (an unknown
//     word, something open on a running pump, corrected but not confirmed).
//
// Both carry the *source.InputError of the text, which errors.As finds.
func Apply(name string, text []byte, words evidence.Vocabulary, edits ...Edit) ([]byte, *evidence.Case, error) {
	return apply(name, text, words, edits)
}

// DamagedError says that a case file has mistakes before any edit.
type DamagedError struct{ Err *source.InputError }

// Error gives the mistakes with their places in the file.
func (e *DamagedError) Error() string {
	return "the case file has mistakes; nothing was written until they are mended by hand\n" + e.Err.Error()
}

// Unwrap gives the mistakes.
func (e *DamagedError) Unwrap() error { return e.Err }

// RefusedError says that an edit would make the case wrong. The places in Err
// are those of the text that it would have become.
type RefusedError struct{ Err *source.InputError }

// Error gives the reasons without places, which are not in the file.
func (e *RefusedError) Error() string {
	out := ""
	for i, p := range e.Err.Problems {
		if i > 0 {
			out += "\n"
		}
		out += p.Message
	}
	return out
}

// Unwrap gives the mistakes that the text would have had.
func (e *RefusedError) Unwrap() error { return e.Err }

// SetPump sets one key of the pump: name, action, state, rotation, liner,
// stroke, piston-rod, connecting-rod, speed or discharge. An empty value takes
// the key out.
func SetPump(key, value string) Edit { panic("soon") }

// SetCylinders names the cylinders, in order.
func SetCylinders(names ...string) Edit { panic("soon") }

// SetFinding notes what was found of a symptom: answer is present, absent,
// unknown or one of its kinds. Without places it is said of the whole pump:
// absent means nowhere, present and a kind mean somewhere, unknown that nobody
// knows of any place. A cylinder named for a symptom of one end means that the
// end is not known.
//
// What was said before stands as long as both can be true ("somewhere" and
// "not at 1" together; "present" and then its kind). Where they cannot, the
// new answer takes the place of the older ones at its places. Unknown takes
// out what was said of its places.
func SetFinding(symptom, answer string, places ...evidence.Place) Edit { panic("soon") }

// ClearFinding takes out what was said of a symptom at these places, as if it
// had never been asked; without places altogether.
func ClearFinding(symptom string, places ...evidence.Place) Edit { panic("soon") }

// AddRecent notes a work that was done lately.
func AddRecent(work string) Edit { panic("soon") }

// RemoveRecent takes it out again.
func RemoveRecent(work string) Edit { panic("soon") }

// OpenAccess notes that an access is open; without places at all of them.
func OpenAccess(access string, places ...evidence.Place) Edit { panic("soon") }

// CloseAccess notes that an access is closed again. It is refused while
// something is open that needs it; what it needed itself stays open.
func CloseAccess(access string, places ...evidence.Place) Edit { panic("soon") }

// Checked notes the result of a check: nothing (found nothing) or unclear. A
// newer result takes the place of an older one.
func Checked(check, result string, places ...evidence.Place) Edit { panic("soon") }

// Unchecked takes the result of a check out again.
func Unchecked(check string, places ...evidence.Place) Edit { panic("soon") }

// Confirm notes that a cause is proved at a place; it is no longer ruled out
// there.
func Confirm(cause string, places ...evidence.Place) Edit { panic("soon") }

// Unconfirm takes a confirmation out again, and with it that the cause was
// corrected or checked again.
func Unconfirm(cause string, places ...evidence.Place) Edit { panic("soon") }

// RuleOut notes that a cause is proved not to be there; it is no longer
// confirmed there. Without places it is ruled out everywhere.
func RuleOut(cause string, places ...evidence.Place) Edit { panic("soon") }

// Unrule takes back that a cause was ruled out.
func Unrule(cause string, places ...evidence.Place) Edit { panic("soon") }

// Corrected notes that a confirmed cause was repaired.
func Corrected(cause string, places ...evidence.Place) Edit { panic("soon") }

// Uncorrected takes that back, and that it was checked again.
func Uncorrected(cause string, places ...evidence.Place) Edit { panic("soon") }

// CheckedAgain notes that the look or reading that showed a corrected cause
// was repeated and is right.
func CheckedAgain(cause string, places ...evidence.Place) Edit { panic("soon") }

// SetManual notes a figure of this pump's manual, by the id of its limit; an
// empty figure takes it out.
func SetManual(limit, figure string) Edit { panic("soon") }

// SetMeasured notes one reading or word under measured: by its keys, as
// "rod-in-opening", "2", "back", "top"; an empty value takes it out.
func SetMeasured(value string, path ...string) Edit { panic("soon") }

// AddLog adds a line to the end of the log. Empty parts are left out.
func AddLog(entry evidence.LogEntry) Edit { panic("soon") }

// draft is a text on its way from edit to edit.
type draft struct{}

func apply(name string, text []byte, words evidence.Vocabulary, edits []Edit) ([]byte, *evidence.Case, error) {
	panic("soon")
}
