package engine

import (
	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// Doors of the two rooms for what needs no whole answer. What takes a case
// without readings is for a practice pump.

// Weigh weighs a case without readings. The errors are those of Diagnose.
func Weigh(book *rules.Book, k *evidence.Case) (*chances.Weighed, error) {
	m := chances.New(book, k)
	if m.LeavePump() {
		return &chances.Weighed{Model: m, Leave: true}, nil
	}
	return m.Solve()
}

// NextSteps gives the list of Diagnose for a case without readings: the same
// steps in the same order with what they need, but without the chance to have
// found the trouble and without the closing up. It is empty when the pump must
// be left. The errors are those of Diagnose.
func NextSteps(book *rules.Book, k *evidence.Case) ([]work.Step, error) {
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
func WithFirst(book *rules.Book, k *evidence.Case, check string, at evidence.Place) (*work.Instead, error) {
	w, err := Weigh(book, k)
	if err != nil || w.Leave {
		return nil, err
	}
	return work.WithFirst(w, check, at), nil
}
