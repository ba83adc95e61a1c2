package engine

import (
	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// Doors of the two rooms for what needs no whole answer. What takes a case
// without readings is for a practice pump.

// ErrTooUnlikely says that the findings together are possible, but less likely
// than a number of the machine can hold.
var ErrTooUnlikely = chances.ErrTooUnlikely

// NewRanker makes a Ranker for a book.
func NewRanker(book *rules.Book) *Ranker { return chances.NewRanker(book) }

// Accepts says whether a case can still be worked out after a change.
func Accepts(book *rules.Book, before, after *evidence.Case) error {
	return chances.Accepts(book, before, after)
}

// Contradictions gives what speaks against each other in a case.
func Contradictions(book *rules.Book, k *evidence.Case) []Contradiction {
	return chances.Contradictions(book, k)
}

// SeenAgain gives what was right when it was looked at again and accounts for a
// sign that is there now.
func SeenAgain(book *rules.Book, k *evidence.Case, sign, kind string, places []evidence.Place) []evidence.At {
	return chances.SeenAgain(book, k, sign, kind, places)
}

// Instances gives every cause that can be on the pump of the case, at each of
// its places, in the order of the book. The findings of the case do not count
// except where a rule of the book moves the odds by them.
func Instances(book *rules.Book, k *evidence.Case) []Instance { return chances.New(book, k).Causes }

// Weigh weighs a case without readings. The errors are those of Diagnose.
func Weigh(book *rules.Book, k *evidence.Case) (*Weighed, error) {
	m := chances.New(book, k)
	if m.LeavePump() {
		return &Weighed{Model: m, Leave: true}, nil
	}
	return m.Solve()
}

// NextSteps gives the list of Diagnose for a case without readings: the same
// steps in the same order with what they need, but without the chance to have
// found the trouble and without the closing up. It is empty when the pump must
// be left. The errors are those of Diagnose.
func NextSteps(book *rules.Book, k *evidence.Case) ([]Step, error) {
	w, err := Weigh(book, k)
	if err != nil || w.Leave {
		return nil, err
	}
	return work.Next(w), nil
}

// WithFirst works out what the list of a case without readings comes to if a
// check at a place is done first, with all that must come before it. It is nil
// when the pump must be left or nothing is looked for. The errors are those of
// Diagnose.
func WithFirst(book *rules.Book, k *evidence.Case, check string, at evidence.Place) (*Instead, error) {
	w, err := Weigh(book, k)
	if err != nil || w.Leave {
		return nil, err
	}
	return work.WithFirst(w, check, at), nil
}

// Openable lists what can be opened on this pump at a place, or on the way to
// it, and is not open yet, in the order of the book.
func Openable(book *rules.Book, k *evidence.Case, at evidence.Place) []evidence.At {
	return work.Openable(book, k, at)
}

// Openings gives the steps that open what is wanted, behind the isolation.
func Openings(book *rules.Book, k *evidence.Case, wanted []evidence.At) []Step {
	return work.Openings(book, k, wanted)
}

// ReturnDo says what a step back to service asks for, with what it lists from
// the case.
func ReturnDo(book *rules.Book, k *evidence.Case, r *rules.Return) string {
	return work.ReturnDo(book, k, r)
}
