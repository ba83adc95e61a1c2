package chances

import (
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// Two words of the crew can speak against each other without either being
// wrong to write: a check that found nothing, beside the sign that this check
// looks for, or beside a proved cause that it would have shown. Both stay in
// the case; which one stands is for the crew to say.

// Contradiction is a check that found nothing beside what it would have
// shown: a sign, or a cause that is confirmed.
type Contradiction struct {
	Check string `json:"check"`
	evidence.Place
	CheckTitle string `json:"check_title"`
	Sign       string `json:"sign,omitempty"`
	Cause      string `json:"cause,omitempty"`
	Title      string `json:"title"` // of the sign or cause
	Kind       string `json:"kind,omitempty"`
	KindTitle  string `json:"kind_title,omitempty"`
	// At is the place of the sign or cause.
	At evidence.Place `json:"at"`
}

// Contradictions gives what speaks against each other in a case, in the order
// of the file.
func Contradictions(book *rules.Book, k *evidence.Case) []Contradiction {
	out := []Contradiction{}
	for _, done := range k.Cleared {
		check := book.Checks.Get(done.ID)
		nothing := Contradiction{Check: done.ID, Place: done.Place, CheckTitle: check.Title}
		for _, f := range k.Findings {
			if f.Answer != evidence.Present || f.Measured || len(f.Over) > 1 || !slices.Contains(check.MainQuestions(), f.Sign) ||
				!f.Over[0].Touches(done.Place) || putRight(book, k, f) {
				continue
			}
			sign, seen := book.Signs.Get(f.Sign), nothing
			seen.Sign, seen.Title, seen.Kind, seen.KindTitle, seen.At = sign.ID, sign.Title, f.Kind, sign.KindTitle(f.Kind), f.Over[0]
			out = append(out, seen)
		}
		for _, at := range k.Confirmed {
			if at.Place.Touches(done.Place) && book.CanProve(check, at.ID) && !Among(k.Corrected, at.ID, at.Place) {
				proved := nothing
				proved.Cause, proved.Title, proved.At = at.ID, book.Causes.Get(at.ID).Title, at.Place
				out = append(out, proved)
			}
		}
	}
	return out
}

// putRight says whether a cause that shows the finding was corrected there: the
// finding is from before, the check from after.
func putRight(book *rules.Book, k *evidence.Case, f evidence.Finding) bool {
	return slices.ContainsFunc(k.Corrected, func(at evidence.At) bool {
		return book.Causes.Get(at.ID).CanShow(f.Sign, "", k, book) && at.Place.Touches(f.Over[0])
	})
}
