package engine

import (
	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// Weigh weighs a case without readings, as of a practice pump, and no more. The
// errors are those of Diagnose.
func Weigh(book *rules.Book, k *evidence.Case) (*chances.Weighed, error) {
	m := chances.New(book, k)
	if m.LeavePump() {
		return &chances.Weighed{Model: m, Leave: true}, nil
	}
	return m.Solve()
}
