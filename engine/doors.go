package engine

import (
	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// mostWhileWaiting is the width up to which a case of a practice pump is weighed, well
// below what is computed at all: an exercise weighs a case at each step and again to look
// back, and each one more doubles the time, from about a second here.
const mostWhileWaiting = 13

// Weigh weighs a case without readings, as of a practice pump, and no more. The
// errors are those of Diagnose; a case is sooner too wide.
func Weigh(book *rules.Book, k *evidence.Case) (*chances.Weighed, error) {
	m := chances.New(book, k)
	if m.LeavePump() {
		return &chances.Weighed{Model: m, Leave: true}, nil
	}
	return m.SolveWithin(mostWhileWaiting)
}
