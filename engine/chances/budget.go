package chances

import (
	"errors"

	"telltale/engine/noisyor"
)

// Budget bounds what is weighed for one answer.
type Budget = noisyor.Budget

// MostWork bounds all that is weighed for one answer but how firm it is, in moves as a
// Budget counts them: a second or two of a processor. A case that takes more is
// refused.
const MostWork = 1_200_000_000

// mostFirm bounds what trying how firm an answer is may take: of a case that is dear to
// weigh fewer books are tried.
const mostFirm = 200_000_000

// NewBudget is what one answer may take.
func NewBudget() *Budget { return &Budget{Most: MostWork} }

// Within has the model take what it weighs from a budget that it shares.
func (m *Model) Within(b *Budget) *Model {
	m.budget = b
	return m
}

// Spent is a *noisyor.TooWideError if more was to be weighed than the budget has, also
// where nobody heard of it.
func (m *Model) Spent() error { return m.budget.Err() }

// perLook is what looking at a step, or at what it finds, takes while steps are put in
// order, told in moves.
const perLook = 2

// Spend takes so many looks at steps out of the budget, and says whether they may be made.
func (m *Model) Spend(looks int) bool { return m.budget.Spend(perLook * looks) }

// solver is one that takes from the budget.
func (m *Model) solver() *noisyor.Solver { return &noisyor.Solver{Budget: m.budget} }

// TooWide says whether a case was refused because it is past what is computed exactly.
func TooWide(err error) bool {
	var wide *noisyor.TooWideError
	return errors.As(err, &wide)
}
