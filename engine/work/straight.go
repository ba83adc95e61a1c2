package work

import (
	"slices"

	"telltale/engine/chances"
	"telltale/engine/order"
	"telltale/evidence"
)

// GoStraight is an offer to leave the order of the list: one cause is so
// likely that the look which can prove it may come first.
type GoStraight struct {
	Cause          string         `json:"cause"`
	Check          string         `json:"check"`
	evidence.Place                // of the cause
	At             evidence.Place `json:"at"` // of the check
	Title          string         `json:"title"`
	CheckTitle     string         `json:"check_title"`
	Probability    float64        `json:"probability"`
	// Step is the number of the look in the list; First are the steps that come
	// before it all the same: safety, openings, the checks that must be done
	// before something is opened, and the looks of the list at what may have
	// brought the cause on that the isolated pump does not allow any more.
	Step  int   `json:"step"`
	First []int `json:"first"`
}

// straight gives the offer, nil if the likeliest cause is not likely enough or
// no check of the list can prove it.
func (p *planner) straight(sequence []int, w *chances.Weighed) *GoStraight {
	lead := w.Lead()
	if lead < 0 || w.Posterior[lead] < p.m.Book.Straight.Likely {
		return nil
	}
	top := p.m.Causes[lead]
	best, sure := -1, 0.0
	for n, i := range sequence {
		for _, f := range p.steps[i].Finds {
			if f.Cause == lead && f.Sure > sure && p.m.Book.CanProve(p.tasks[i].check, top.Cause.ID) {
				best, sure = n, f.Sure
			}
		}
	}
	if best < 0 {
		return nil
	}
	t := p.tasks[sequence[best]]
	return &GoStraight{
		Cause: top.Cause.ID, Check: t.id, Place: top.Place, At: t.place, Title: p.m.Fill(top.Cause.Title), CheckTitle: p.m.Fill(t.check.Title),
		Probability: w.Posterior[lead], Step: best + 1, First: p.onTheWay(sequence, best, w.RootsOf(lead)),
	}
}

// onTheWay gives the numbers of the steps that come before one of the list all
// the same: what stops the pump at once, what must be out before anything turns
// it, what a rule of the book puts first, what the step needs or waits for, and
// the looks at the roots of the cause that would be lost behind the isolation: the
// others are made afterwards, with the place open.
func (p *planner) onTheWay(sequence []int, step int, roots []chances.Root) []int {
	wanted := append(append([]int{sequence[step]}, p.stopFirst()...), p.addBeforeTurning()...)
	for _, i := range sequence[:step] {
		lost := p.tasks[i].check != nil && tooLate(p.tasks[i].check, evidence.Isolated) && p.tasks[sequence[step]].phase == underIsolation
		if p.tasks[i].first || lost && p.looksAt(i, roots) {
			wanted = append(wanted, i)
		}
	}
	needed := inner(wanted, p.before)
	out := []int{}
	for n, i := range sequence[:step] {
		if slices.Contains(needed, i) {
			out = append(out, n+1)
		}
	}
	return out
}

// looksAt says whether a check of the list is for one of some roots.
func (p *planner) looksAt(i int, roots []chances.Root) bool {
	return slices.ContainsFunc(p.steps[i].Finds, func(f order.Find) bool {
		in := p.m.Causes[f.Cause]
		return slices.ContainsFunc(roots, func(r chances.Root) bool { return r.Cause == in.Cause.ID && r.Place == in.Place })
	})
}

// Passes says whether a step of the list lies on the way of the offer.
func (g *GoStraight) Passes(number int) bool {
	return number == g.Step || slices.Contains(g.First, number)
}
