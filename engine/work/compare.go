package work

import (
	"slices"
	"sort"

	"telltale/engine/chances"
	"telltale/engine/order"
)

// Order says how good the order of the steps is known to be, and what
// other ways through the same steps would take. The minutes are means until a
// check exposes the cause, given that the steps expose it.
type Order struct {
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

// compare holds the order of a sequence against other ways.
func (p *planner) compare(sequence []int) *Order {
	out := Order{Shortest: p.proof.Exact, Within: 1}
	if !p.proof.Exact && p.proof.Bound > 0 {
		out.Within = max(1, p.proof.Cost/p.proof.Bound)
	}
	out.LikeliestFirst = order.MeanTime(p.problem(), p.through(sequence, p.byLikelihood(sequence)))
	out.Textbook = order.MeanTime(p.problem(), p.through(sequence, p.byTheBook(sequence)))
	return &out
}

// byLikelihood gives the checks of a sequence as somebody goes who takes the
// likeliest cause first, and for it the check that shows it most surely.
func (p *planner) byLikelihood(sequence []int) []int {
	causes := make([]int, len(p.weight))
	for i := range causes {
		causes[i] = i
	}
	sort.SliceStable(causes, func(a, b int) bool { return chances.Likelier(p.weight[causes[a]], p.weight[causes[b]]) })
	best, sure := map[int]int{}, make([]float64, len(p.weight))
	for _, i := range sequence {
		for _, f := range p.steps[i].Finds {
			if f.Sure > sure[f.Cause] {
				best[f.Cause], sure[f.Cause] = i, f.Sure
			}
		}
	}
	var out []int
	for _, cause := range causes {
		if i, found := best[cause]; found && !slices.Contains(out, i) {
			out = append(out, i)
		}
	}
	return append(out, p.checksOf(sequence)...)
}

// byTheBook gives the checks of a sequence in the rulebook's fixed order, all
// cylinders of one check together.
func (p *planner) byTheBook(sequence []int) []int {
	out := p.checksOf(sequence)
	rank := func(i int) int {
		if r := slices.Index(p.m.Book.Textbook, p.tasks[i].id); r >= 0 {
			return r
		}
		return len(p.m.Book.Textbook)
	}
	sort.SliceStable(out, func(a, b int) bool { return rank(out[a]) < rank(out[b]) })
	return out
}

func (p *planner) checksOf(sequence []int) []int {
	out := slices.DeleteFunc(slices.Clone(sequence), func(i int) bool { return p.tasks[i].check == nil })
	slices.Sort(out) // so that the order does not lean on the sequence that it is compared with
	return out
}

// through does the steps of a sequence with the checks in another order, each
// behind what it needs. What a rule of the book puts first stays first, and
// each check stays in its phase.
func (p *planner) through(sequence, checks []int) []int {
	in := map[int]bool{}
	var wanted []int
	for _, i := range sequence {
		in[i] = true
		if _, phased := p.doneIn[i]; !phased {
			wanted = append(wanted, i)
		}
	}
	first := len(wanted)
	for ph := whileRunning; ph <= underIsolation; ph++ {
		for _, i := range slices.Concat(checks, sequence) {
			if phase, phased := p.doneIn[i]; phased && phase == ph && in[i] {
				wanted = append(wanted, i)
			}
		}
	}
	ahead := wanted[:first]
	return inner(wanted, func(i int) []int {
		if slices.Contains(ahead, i) {
			return nil // where it is, whatever it needs
		}
		return slices.DeleteFunc(slices.Clone(p.steps[i].Before), func(j int) bool { return !in[j] })
	})
}
