package work

import (
	"slices"

	"telltale/engine/order"
	"telltale/evidence"
	"telltale/rules"
)

// The order of the tasks that plan.go gathers: phase by phase, what must come
// first before the rest.

// linkAfter notes which check waits for which at the same place. A check that
// is not in the list hands on what it waits for itself.
func (p *planner) linkAfter() {
	listed := map[string][]int{}
	for i, t := range p.tasks {
		if t.check != nil {
			listed[t.id] = append(listed[t.id], i)
		}
	}
	for i, t := range p.tasks {
		if t.check == nil {
			continue
		}
		waitsFor := func(id string) []string {
			if slices.ContainsFunc(listed[id], func(j int) bool { return p.tasks[j].place == t.place }) {
				return nil // it waits for them itself
			}
			return p.m.Book.Checks.Get(id).AfterIn(p.m.Case, p.m.Book)
		}
		for _, id := range inner(t.check.AfterIn(p.m.Case, p.m.Book), waitsFor) {
			for _, j := range listed[id] {
				if p.tasks[j].place.Touches(t.place) {
					p.after[i] = append(p.after[i], j)
				}
			}
		}
	}
	for i, t := range p.tasks {
		if t.opening != nil {
			p.linkClosed(i)
		}
	}
}

// linkClosed lets an opening wait for the checks that want it closed. One that
// must itself wait for the opening is left out: it is for after the closing up.
func (p *planner) linkClosed(opening int) {
	t := p.tasks[opening]
	for j, earlier := range p.tasks {
		switch {
		case earlier.check == nil || !earlier.check.Closes(earlier.place, t.opening, t.place):
		case p.waitsFor(j, opening):
			p.never[j] = true
		default:
			p.after[opening] = append(p.after[opening], j)
		}
	}
}

// waitsFor says whether a step needs another one first, or waits for it.
func (p *planner) waitsFor(step, other int) bool {
	reached := inner([]int{step}, func(i int) []int { return slices.Concat(p.steps[i].Before, p.after[i]) })
	p.m.Spend(20 * len(reached))
	return slices.Contains(reached, other)
}

// sequence orders the tasks: what a rule of the book puts first, then the
// rest, each phase by phase. What the first checks have already ended (the
// running pump, the power) does not come again.
func (p *planner) sequence() []int {
	p.final, p.proof = true, order.Proof{Exact: true}
	first := p.mustComeFirst(p.stopFirst())
	if slices.ContainsFunc(p.tasks, func(t task) bool { return t.first }) {
		first = p.inPhases(first, whileRunning, func(i int, _ phase) bool { return p.tasks[i].check == nil || p.tasks[i].first })
	}
	return p.worthIt(first, p.reachedBy(first))
}

// reachedBy is the phase that the pump is in after the first steps.
func (p *planner) reachedBy(first []int) phase {
	reached := whileRunning
	for _, k := range first {
		if t := p.tasks[k]; t.safety == nil || t.safety.For == rules.ForStopping || t.safety.InFull {
			reached = max(reached, t.phase)
		}
	}
	return reached
}

// mustComeFirst adds the checks that a rule of the book puts first and that
// need nothing opened, whatever they are likely to find: the look at the well
// is not weighed against minutes.
func (p *planner) mustComeFirst(sequence []int) []int {
	var wanted []int
	for _, ph := range []phase{whileRunning, beforeIsolation} {
		for i, t := range p.tasks {
			if t.first && t.phase == ph && !p.never[i] {
				wanted = append(wanted, i)
			}
		}
	}
	return p.closure(append(slices.Clone(sequence), wanted...))
}

// beforeTurning adds what must be done before anything turns the pump to a
// list with the isolation: whatever was found, the pump is not turned before.
func (p *planner) beforeTurning(sequence []int) []int {
	if p.m.Case.Pump.State != evidence.Isolated && !p.isolating(sequence) {
		return sequence
	}
	out := p.with(sequence, p.addBeforeTurning())
	for _, i := range out[len(sequence):] {
		p.doneIn[i] = underIsolation
	}
	return out
}

// with adds at the end what of the wanted steps, and of what they need, is not
// in the sequence yet.
func (p *planner) with(sequence, wanted []int) []int {
	for _, i := range p.closure(wanted) {
		if !slices.Contains(sequence, i) {
			sequence = append(sequence, i)
		}
	}
	return sequence
}

// isolating says whether a step of the isolation is in a sequence.
func (p *planner) isolating(sequence []int) bool {
	return slices.ContainsFunc(sequence, func(i int) bool { return p.tasks[i].guards(rules.ForIsolation) })
}

// stopFirst gives the steps that stop the pump, or stop it and lock it off,
// when a stop condition demands it: they come before everything, at whatever
// moment the pump is stopped.
func (p *planner) stopFirst() []int {
	if p.lockNow && len(p.tasks) > 0 {
		stopping := p.safetySteps(rules.ForStopping)
		return p.closure(append(stopping, p.safetySteps(rules.ForIsolation)...))
	}
	if !p.stopNow {
		return nil
	}
	return p.closure(p.safetySteps(rules.ForStopping))
}

// closure gives steps in an order in which each stands behind what it needs,
// what needs the running pump first.
func (p *planner) closure(wanted []int) []int {
	return inner(wanted, func(i int) []int {
		if p.tasks[i].phase == whileRunning {
			p.steps[i].Before = append(p.steps[i].Before, p.watched[i]...)
		}
		return p.steps[i].Before
	})
}

// inPhases orders what is wanted after a prefix, phase by phase from one on.
func (p *planner) inPhases(prefix []int, from phase, wanted func(int, phase) bool) []int {
	out := slices.Clone(prefix)
	for ph := from; ph <= underIsolation; ph++ {
		allowed := p.allowed(ph)
		opened := p.opensBy(out)
		p.m.Spend(len(p.tasks) * (1 + len(opened)))
		for i, t := range p.tasks {
			allowed[i] = allowed[i] && wanted(i, ph) && !(t.check != nil && (p.never[i] || p.m.Book.WantsClosed(t.check, t.place, opened)))
		}
		p.waitTogether(ph, allowed, out)
		problem := p.problemIn(ph, allowed, out)
		chosen := p.order(problem, out, allowed)
		for _, i := range chosen {
			p.needed[i], p.doneIn[i] = problem.Steps[i].Before, ph
		}
		out = append(out, chosen...)
	}
	return out
}

// order puts the steps of one phase in order: quickly while it is still tried
// which early checks are worth it, and as well as can be proved in the end.
func (p *planner) order(problem *order.Problem, done []int, allowed []bool) []int {
	if !p.final {
		return order.Greedy(problem, done, allowed, p.m.Book.LeastGain)
	}
	chosen, proof, err := order.Best(problem, done, allowed, order.Options{Least: p.m.Book.LeastGain})
	if err != nil { // the planner made an impossible problem; the quick way needs no check
		return order.Greedy(problem, done, allowed, p.m.Book.LeastGain)
	}
	p.proof.Exact = p.proof.Exact && proof.Exact
	p.proof.Cost += proof.Cost
	p.proof.Bound += proof.Bound
	return chosen
}

// waitTogether holds back what can wait for the isolation while a check that
// comes before it is put off or belongs to a later phase, and what waits for that
// in its turn.
func (p *planner) waitTogether(now phase, allowed []bool, done []int) {
	late := func(i int) bool { return p.tasks[i].check.Pump.UnderIsolation() }
	waits := func(i int) bool {
		return slices.ContainsFunc(p.after[i], func(j int) bool {
			return !allowed[j] && !slices.Contains(done, j) && (late(j) || p.tasks[j].phase > now)
		})
	}
	for more := true; more; {
		more = false
		for i, t := range p.tasks { // an opening waits for what is done in its own phase only
			if allowed[i] && t.check != nil && late(i) && waits(i) {
				allowed[i], more = false, true
			}
		}
	}
}

// problemIn is the ordering problem of one phase: what a step needs always,
// the safety steps of the running pump while it runs, and the checks that come
// before another where both can still be done.
func (p *planner) problemIn(now phase, allowed []bool, done []int) *order.Problem {
	finished := make([]bool, len(p.tasks))
	for _, i := range done {
		finished[i] = true
	}
	steps := slices.Clone(p.steps)
	for i := range steps {
		if !allowed[i] || finished[i] {
			continue
		}
		before := slices.Clone(steps[i].Before)
		switch now {
		case whileRunning:
			before = append(before, p.watched[i]...)
		case underIsolation: // not beside the running pump any more
			before = append(before, p.putOff[i]...)
		}
		for _, j := range p.after[i] {
			if allowed[j] && !finished[j] {
				before = append(before, j)
			}
		}
		steps[i].Before = before
	}
	return p.problemOf(steps)
}

// worthIt orders everything, and puts off an early check that costs everybody
// behind it more than it finds: to the time under isolation if it can be done
// then, else for good. In the same way it leaves out a check that an opening
// waits for. What nothing else would find is never left out for good.
func (p *planner) worthIt(prefix []int, from phase) []int {
	problem := p.problem()
	notEarly, notAtAll := make([]bool, len(p.tasks)), make([]bool, len(p.tasks))
	ordered := func() []int {
		return p.inPhases(prefix, from, func(i int, ph phase) bool { return !notAtAll[i] && (ph == underIsolation || !notEarly[i]) })
	}
	p.final = false
	best := ordered()
	cost := order.Cost(problem, best)
	enough := order.Exposed(problem, best) - p.m.Book.LeastGain
	without := func(out []bool, k int) {
		if !p.m.Spend(len(p.tasks) * len(p.weight)) {
			return
		}
		out[k] = true
		shorter := ordered()
		if c := order.Cost(problem, shorter); c < cost && order.Exposed(problem, shorter) >= enough {
			best, cost = shorter, c
			return
		}
		out[k] = false
	}
	for _, k := range p.earlyChecks(best[len(prefix):]) {
		without(notEarly, k)
	}
	for _, k := range p.waitedFor(best[len(prefix):]) {
		without(notAtAll, k)
	}
	p.final, p.doneIn = true, map[int]phase{}
	out := ordered() // once more: as well as can be proved, and what each step needs is noted
	p.tidy(out[len(prefix):])
	return out
}

// tidy puts steps that stand together and find nothing in the order of the
// book, which is that of the procedure: getting ready comes before the stop.
// It costs nothing: no check stands between them.
func (p *planner) tidy(sequence []int) {
	for from := 0; from < len(sequence); from++ {
		to := from
		for to < len(sequence) && p.tasks[sequence[to]].check == nil {
			to++
		}
		p.tidyRun(sequence[from:to])
		from = to
	}
}

// tidyRun puts one run in order: again and again the first by the book of those
// that need none of the others.
func (p *planner) tidyRun(run []int) {
	left := make([]bool, len(p.tasks))
	for _, i := range run {
		left[i] = true
	}
	for ; len(run) > 1; run = run[1:] {
		next := -1
		for at, i := range run {
			before, noted := p.needed[i]
			if !noted {
				before = p.steps[i].Before
			}
			waits := slices.ContainsFunc(before, func(j int) bool { return left[j] })
			if !waits && (next < 0 || p.bookRank(i) < p.bookRank(run[next])) {
				next = at
			}
		}
		run[0], run[next] = run[next], run[0]
		left[run[0]] = false
	}
}

// bookRank is where a step stands among those that find nothing: the steps of
// the isolation in the order of the book, then what is named by an opening or a
// check, as it was asked for. No two have the same.
func (p *planner) bookRank(i int) int {
	s := p.tasks[i].safety
	if s == nil || s.For == rules.ForNamed {
		return len(p.m.Book.Safety.List) + i
	}
	return slices.Index(p.m.Book.Safety.List, s)
}

// earlyChecks gives the checks before the isolation, the last one first.
func (p *planner) earlyChecks(sequence []int) []int {
	out := slices.DeleteFunc(slices.Clone(sequence), func(k int) bool { return p.tasks[k].check == nil || p.tasks[k].phase == underIsolation })
	slices.Reverse(out)
	return out
}

// waitedFor gives the checks under isolation that an opening of the list waits
// for, the last one first.
func (p *planner) waitedFor(sequence []int) []int {
	out := slices.DeleteFunc(slices.Clone(sequence), func(k int) bool {
		return p.tasks[k].phase != underIsolation || !slices.ContainsFunc(sequence, func(i int) bool { return p.tasks[i].opening != nil && slices.Contains(p.after[i], k) })
	})
	slices.Reverse(out)
	return out
}

// allowed gives what can be done in a phase. Named safety steps go with what names
// them; under isolation all is left but what needs the pump running or the
// power on.
func (p *planner) allowed(now phase) []bool {
	out := make([]bool, len(p.tasks))
	for i, t := range p.tasks {
		switch {
		case t.guards(rules.ForNamed):
			out[i] = true
		case t.safety != nil && now == beforeIsolation:
			out[i] = true // a lock that a check with power on needs, for example
		case now == underIsolation:
			out[i] = t.check == nil || t.check.Pump.UnderIsolation()
		default:
			out[i] = t.phase == now
		}
	}
	return out
}
