package engine

import (
	"slices"
	"sort"

	"telltale/engine/order"
)

// OrderReport says how good the order of the steps is known to be, and what
// other ways through the same steps would take. The minutes are means until a
// check exposes the cause, given that the steps expose it.
type OrderReport struct {
	// Shortest: no order of these steps finds the cause sooner on average.
	Shortest bool `json:"shortest_possible"`
	// Within is the most by which a better order could be shorter, as a
	// ratio; 1 if Shortest.
	Within float64 `json:"within"`
	// LikeliestFirst goes from the likeliest cause to the next, to the check
	// that shows it most surely. Textbook goes through the checks in the
	// rulebook's fixed order. Both keep every safety step and do what needs
	// the running pump before it is stopped.
	LikeliestFirst float64 `json:"likeliest_first_minutes"`
	Textbook       float64 `json:"fixed_order_minutes"`
}

// compare works the order report out.
func (p *planner) compare(sequence []int) OrderReport {
	problem := &order.Problem{Steps: p.steps, Weight: p.weight}
	out := OrderReport{Shortest: p.proof.Exact, Within: 1}
	if !p.proof.Exact && p.proof.Bound > 0 {
		out.Within = max(1, p.proof.Cost/p.proof.Bound)
	}
	out.LikeliestFirst = order.MeanTime(problem, p.through(sequence, p.byLikelihood(sequence)))
	out.Textbook = order.MeanTime(problem, p.through(sequence, p.byTheBook(sequence)))
	return out
}

// byLikelihood gives the checks of a sequence as somebody goes who takes the
// likeliest cause first, and for it the check that shows it most surely.
func (p *planner) byLikelihood(sequence []int) []int {
	causes := make([]int, len(p.weight))
	for i := range causes {
		causes[i] = i
	}
	sort.SliceStable(causes, func(a, b int) bool { return likelier(p.weight[causes[a]], p.weight[causes[b]]) })
	var out []int
	for _, cause := range causes {
		best, sure := -1, 0.0
		for _, i := range sequence {
			for _, f := range p.steps[i].Finds {
				if f.Cause == cause && f.Sure > sure {
					best, sure = i, f.Sure
				}
			}
		}
		if best >= 0 && !slices.Contains(out, best) {
			out = append(out, best)
		}
	}
	return append(out, p.checksOf(sequence)...)
}

// byTheBook gives the checks of a sequence in the rulebook's fixed order, all
// cylinders of one check together.
func (p *planner) byTheBook(sequence []int) []int {
	out := p.checksOf(sequence)
	rank := map[string]int{}
	for i, id := range p.m.book.Textbook {
		rank[id] = i + 1
	}
	at := func(i int) int {
		if r, listed := rank[p.tasks[i].check.ID]; listed {
			return r
		}
		return len(rank) + 1
	}
	sort.SliceStable(out, func(a, b int) bool { return at(out[a]) < at(out[b]) })
	return out
}

func (p *planner) checksOf(sequence []int) []int {
	var out []int
	for _, i := range sequence {
		if p.tasks[i].check != nil {
			out = append(out, i)
		}
	}
	sort.Ints(out) // so that the order does not lean on the sequence that it is compared with
	return out
}

// through does the steps of a sequence with the checks in another order, each
// behind what it needs. What a rule of the book puts first stays first, and
// each check stays in its phase.
func (p *planner) through(sequence, checks []int) []int {
	var out []int
	in, done := map[int]bool{}, map[int]bool{}
	for _, i := range sequence {
		in[i] = true
		if _, phased := p.doneIn[i]; !phased {
			out, done[i] = append(out, i), true
		}
	}
	var visit func(int)
	visit = func(i int) {
		if !in[i] || done[i] {
			return
		}
		done[i] = true
		for _, j := range p.steps[i].Before {
			visit(j)
		}
		out = append(out, i)
	}
	for ph := whileRunning; ph <= underIsolation; ph++ {
		for _, i := range append(append([]int{}, checks...), sequence...) {
			if p.doneIn[i] == ph {
				visit(i)
			}
		}
	}
	return out
}
