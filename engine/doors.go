package engine

import (
	"telltale/engine/chances"
	"telltale/engine/work"
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
	return WeighWithin(book, k, chances.NewBudget())
}

// movesToWeigh is what a Weigh takes that weighs next to nothing, told in moves.
const movesToWeigh = 4_000_000

// WeighWithin is Weigh within a budget that many share.
func WeighWithin(book *rules.Book, k *evidence.Case, budget *chances.Budget) (*chances.Weighed, error) {
	if !budget.Spend(movesToWeigh) {
		return nil, budget.Err()
	}
	m := chances.New(book, k).Within(budget)
	if m.LeavePump() {
		return &chances.Weighed{Model: m, Leave: true}, nil
	}
	return m.SolveWithin(mostWhileWaiting)
}

// Stands is what holds of a case whatever is likely: its stop conditions, and nothing that
// takes weighing. The error is one of Diagnose that readings can give.
func Stands(book *rules.Book, k *evidence.Case) (*Report, error) {
	_, r, err := lay(book, k)
	return r, err
}

// LookAhead tries what answers would change, within one share of work for all of them.
type LookAhead struct {
	book   *rules.Book
	budget *chances.Budget
}

// movesToLay is what a Trial takes that weighs next to nothing, told in moves.
const movesToLay = 10_000_000

// mostAhead bounds all that is tried, in moves: a third of what one answer may take.
const mostAhead = chances.MostWork / 3

// NewLookAhead begins one.
func NewLookAhead(book *rules.Book) *LookAhead {
	return &LookAhead{book, &chances.Budget{Most: mostAhead}}
}

// Trial is a case that is tried: its Report with the stop conditions and the causes by their
// chance, and what the steps follow from.
type Trial struct {
	*Report
	weighed *chances.Weighed // nil: nothing is
}

// Try weighs a case. Once the share is spent the error is a *noisyor.TooWideError.
func (a *LookAhead) Try(k *evidence.Case) (*Trial, error) {
	if !a.budget.Spend(movesToLay) {
		return nil, a.budget.Err()
	}
	r, w, err := outlook(a.book, k, a.budget)
	return &Trial{r, w}, err
}

// Next are the steps of a case that was tried.
func (t *Trial) Next() ([]work.Step, error) {
	if t.weighed == nil {
		return nil, nil
	}
	return work.Next(t.weighed)
}
