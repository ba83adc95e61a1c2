package engine

import (
	"slices"

	"telltale/evidence"
)

// GoStraightReport is an offer to leave the order of the list: one cause is so
// likely that the look which can prove it may come first.
type GoStraightReport struct {
	Cause          string         `json:"cause"`
	Check          string         `json:"check"`
	evidence.Place                // of the cause
	At             evidence.Place `json:"at"` // of the check
	Title          string         `json:"title"`
	CheckTitle     string         `json:"check_title"`
	Probability    float64        `json:"probability"`
	// Step is the number of the look in the list; First are the steps that come
	// before it all the same: safety, openings, and the checks that must be
	// done before something is opened.
	Step  int   `json:"step"`
	First []int `json:"first"`
}

// straight gives the offer, nil if the likeliest cause is not likely enough or
// no check of the list can prove it.
func (p *planner) straight(sequence []int, r *Report) *GoStraightReport {
	if len(r.Causes) == 0 || r.Causes[0].Probability < p.m.book.Straight.Likely {
		return nil
	}
	top := r.Causes[0]
	best, sure := -1, 0.0
	for n, i := range sequence {
		c := p.tasks[i].check
		if c == nil || !p.m.book.CanProve(c, top.Cause) {
			continue
		}
		for _, f := range p.steps[i].Finds {
			if in := p.m.causes[f.Cause]; in.cause.ID == top.Cause && in.place == top.Place && f.Sure > sure {
				best, sure = n, f.Sure
			}
		}
	}
	if best < 0 {
		return nil
	}
	t := p.tasks[sequence[best]]
	return &GoStraightReport{
		Cause: top.Cause, Check: t.check.ID, Place: top.Place, At: t.place, Title: top.Title, CheckTitle: p.m.fill(t.check.Title),
		Probability: top.Probability, Step: best + 1, First: p.onTheWay(sequence, best),
	}
}

// onTheWay gives the numbers of the steps that come before one of the list all
// the same: what stops the pump at once, what must be out before anything turns
// it, what a rule of the book puts first, and what the step needs or waits for.
func (p *planner) onTheWay(sequence []int, step int) []int {
	needed := map[int]bool{}
	var visit func(int)
	visit = func(i int) {
		for _, j := range p.steps[i].Before {
			if !needed[j] {
				needed[j] = true
				visit(j)
			}
		}
	}
	visit(sequence[step])
	for _, i := range append(p.stopFirst(), p.addBeforeTurning()...) {
		needed[i] = true
		visit(i)
	}
	out := []int{}
	for _, i := range sequence[:step] {
		if p.tasks[i].first && !needed[i] {
			needed[i] = true
			visit(i)
		}
	}
	for n, i := range sequence[:step] {
		if needed[i] {
			out = append(out, n+1)
		}
	}
	return out
}

// Passes says whether a step of the list lies on the way of the offer.
func (g *GoStraightReport) Passes(number int) bool {
	return number == g.Step || slices.Contains(g.First, number)
}
