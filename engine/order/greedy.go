package order

import (
	"math"
	"slices"
)

// run is the state of one greedy ordering.
type run struct {
	problem *Problem
	allowed []bool
	done    []bool
	left    []float64
	after   []float64 // left, but while a bundle is collected
	least   float64
	out     []int
	needs   [][]int // of each check that was asked for: see need
	mark    []int   // of the bundle being collected
	steps   []int   // of it
	looked  int     // steps and finds that were looked at for it
	round   int
}

// bundle is a step with everything unfinished that must come before it.
type bundle struct {
	steps   []int // in an order that respects Before
	minutes float64
	gain    float64
}

func (b bundle) density() float64 {
	if b.minutes <= 0 {
		return math.Inf(1)
	}
	return b.gain / b.minutes
}

// Greedy orders the allowed steps after those in first, which are already
// done in that order. Again and again it takes the check that, with all it
// still needs, exposes most weight per minute, and widens that bundle while
// another check raises the density: so a door that two good checks share is
// not judged by one of them alone. A check that would add less than least is
// left out, and with it what only it needed. Steps that are not allowed and
// not done make what depends on them impossible. Equal densities go to the
// lower index, so the result is always the same.
func Greedy(p *Problem, first []int, allowed []bool, least float64) []int {
	r := newRun(p, first, allowed, least)
	for {
		best, found := r.densest(nil)
		if !found {
			return r.out
		}
		for {
			wider, found := r.densest(best.steps)
			if !found || wider.density() <= best.density() {
				break
			}
			best = wider
		}
		r.takeBundle(best)
	}
}

func newRun(p *Problem, first []int, allowed []bool, least float64) *run {
	r := &run{
		problem: p, allowed: allowed, least: least, round: 1,
		done: make([]bool, len(p.Steps)), mark: make([]int, len(p.Steps)), needs: make([][]int, len(p.Steps)),
		left: slices.Clone(p.Weight), after: slices.Clone(p.Weight),
	}
	for _, i := range first {
		r.take(i)
	}
	r.out = nil
	return r
}

func (r *run) take(i int) {
	if r.done[i] {
		return
	}
	r.done[i] = true
	r.problem.expose(r.left, i)
	r.problem.expose(r.after, i)
	r.out = append(r.out, i)
}

func (r *run) takeBundle(b bundle) {
	for _, i := range b.steps {
		r.take(i)
	}
}

// densest finds the check whose bundle, together with the steps in base, has
// the greatest gain per minute.
func (r *run) densest(base []int) (bundle, bool) {
	var best bundle
	found := false
	moves := len(r.problem.Steps)
	for i, step := range r.problem.Steps {
		if len(step.Finds) == 0 || !r.usable(i) {
			continue
		}
		moves += len(step.Finds)
		if gain := r.gain(i); gain < r.least || gain <= 0 {
			continue
		}
		b, ok := r.collect(base, i)
		moves += r.looked
		if !ok {
			continue
		}
		if !found || b.density() > best.density()*(1+1e-12) {
			b.steps = slices.Clone(b.steps)
			best, found = b, true
		}
	}
	return best, r.problem.spend(moves) && found
}

func (r *run) usable(i int) bool { return r.allowed[i] && !r.done[i] }

// gain is the weight that step i would expose now.
func (r *run) gain(i int) float64 {
	g := 0.0
	for _, f := range r.problem.Steps[i].Finds {
		g += r.left[f.Cause] * f.Sure
	}
	return g
}

// collect gathers base, step i and all that they need and that is not done. Its
// steps are overwritten by the next call.
func (r *run) collect(base []int, i int) (bundle, bool) {
	if r.needs[i] == nil {
		r.needs[i] = r.need(i)
	}
	r.round++
	r.looked = len(base) + len(r.needs[i])
	b := bundle{steps: append(r.steps[:0], base...)}
	for _, j := range base {
		r.mark[j] = r.round
	}
	if r.mark[i] == r.round || len(r.needs[i]) == 0 {
		return b, false
	}
	// What is done or in base has all that it needs there too.
	for _, j := range r.needs[i] {
		if !r.done[j] && r.mark[j] != r.round {
			b.steps = append(b.steps, j)
		}
	}
	r.steps = b.steps
	for _, j := range b.steps {
		step := &r.problem.Steps[j]
		b.minutes += step.Minutes
		r.looked += 2 * len(step.Finds)
		for _, f := range step.Finds {
			found := r.after[f.Cause] * f.Sure
			b.gain, r.after[f.Cause] = b.gain+found, r.after[f.Cause]-found
		}
	}
	for _, j := range b.steps {
		for _, f := range r.problem.Steps[j].Finds {
			r.after[f.Cause] = r.left[f.Cause]
		}
	}
	return b, true
}

// need gives what step i needs that is not done, and i itself, in an order that
// respects Before; nothing if a step that it needs is not allowed.
func (r *run) need(i int) []int {
	out, seen := []int{}, make([]bool, len(r.done))
	var visit func(int) bool
	visit = func(i int) bool {
		if r.done[i] || seen[i] {
			return true
		}
		if !r.allowed[i] {
			return false
		}
		seen[i] = true
		// Earlier checks first: a check is done before doors are opened that only
		// a later one needs.
		for _, checks := range []bool{true, false} {
			for _, j := range r.problem.Steps[i].Before {
				if (len(r.problem.Steps[j].Finds) > 0) == checks && !visit(j) {
					return false
				}
			}
		}
		out = append(out, i)
		return true
	}
	if !visit(i) {
		return []int{}
	}
	return out
}
