package order

import "math"

// Step is one thing to do. Access and safety steps find nothing.
type Step struct {
	Minutes float64
	Before  []int // steps that must be done earlier
	Finds   []Find
}

// Find says how surely a step exposes a cause that is there.
type Find struct {
	Cause int
	Sure  float64
}

// Problem is the steps and the weight of each cause.
type Problem struct {
	Steps  []Step
	Weight []float64
}

// Cost is J of doing the steps in this order, in weight times minutes.
func Cost(p *Problem, sequence []int) float64 {
	left := append([]float64(nil), p.Weight...)
	cost := 0.0
	for _, i := range sequence {
		cost += p.Steps[i].Minutes * sum(left)
		p.expose(left, i)
	}
	return cost
}

// Exposed is the weight that the sequence brings to light.
func Exposed(p *Problem, sequence []int) float64 {
	left := append([]float64(nil), p.Weight...)
	for _, i := range sequence {
		p.expose(left, i)
	}
	return sum(p.Weight) - sum(left)
}

// MeanTime is the mean minutes until a check exposes a cause, over the causes
// by their weight, given that the sequence exposes it; 0 if it exposes none.
func MeanTime(p *Problem, sequence []int) float64 {
	left := append([]float64(nil), p.Weight...)
	clock, timed, exposed := 0.0, 0.0, 0.0
	for _, i := range sequence {
		clock += p.Steps[i].Minutes
		before := sum(left)
		p.expose(left, i)
		timed += (before - sum(left)) * clock
		exposed += before - sum(left)
	}
	if exposed <= 0 {
		return 0
	}
	return timed / exposed
}

func sum(xs []float64) float64 {
	total := 0.0
	for _, x := range xs {
		total += x
	}
	return total
}

func (p *Problem) expose(left []float64, step int) {
	for _, f := range p.Steps[step].Finds {
		left[f.Cause] *= 1 - f.Sure
	}
}

// run is the state of one greedy ordering.
type run struct {
	problem *Problem
	allowed []bool
	done    []bool
	left    []float64
	least   float64
	out     []int
	mark    []int // of the bundle being collected
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
	r := run{
		problem: p, allowed: allowed, least: least,
		done: make([]bool, len(p.Steps)), mark: make([]int, len(p.Steps)),
		left: append([]float64(nil), p.Weight...),
	}
	for _, i := range first {
		r.take(i)
	}
	r.out = r.out[:0]
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

func (r *run) take(i int) {
	if r.done[i] {
		return
	}
	r.done[i] = true
	r.problem.expose(r.left, i)
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
	for i, step := range r.problem.Steps {
		if len(step.Finds) == 0 || !r.usable(i) || r.gain(i) < r.least || r.gain(i) <= 0 {
			continue
		}
		b, ok := r.collect(base, i)
		if !ok {
			continue
		}
		if !found || b.density() > best.density()*(1+1e-12) {
			best, found = b, true
		}
	}
	return best, found
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

// collect gathers base, step i and all that they need and that is not done.
func (r *run) collect(base []int, i int) (bundle, bool) {
	r.round++
	var b bundle
	for _, j := range base {
		r.mark[j] = r.round
	}
	b.steps = append(b.steps, base...)
	if r.mark[i] == r.round || !r.need(&b, i) {
		return b, false
	}
	after := append([]float64(nil), r.left...)
	for _, j := range b.steps {
		b.minutes += r.problem.Steps[j].Minutes
		r.problem.expose(after, j)
	}
	for c := range after {
		b.gain += r.left[c] - after[c]
	}
	return b, true
}

func (r *run) need(b *bundle, i int) bool {
	if r.done[i] || r.mark[i] == r.round {
		return true
	}
	if !r.allowed[i] {
		return false
	}
	r.mark[i] = r.round
	// Earlier checks first: a check is done before doors are opened that only
	// a later one needs.
	for _, checks := range []bool{true, false} {
		for _, j := range r.problem.Steps[i].Before {
			if (len(r.problem.Steps[j].Finds) > 0) == checks && !r.need(b, j) {
				return false
			}
		}
	}
	b.steps = append(b.steps, i)
	return true
}
