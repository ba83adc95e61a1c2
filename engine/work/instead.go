package work

import (
	"slices"

	"telltale/engine/chances"
	"telltale/engine/order"
	"telltale/evidence"
	"telltale/rules"
)

// Instead holds the list of a case against the same list with one of its
// checks done first: what speaks for the order of the list.
type Instead struct {
	// The mean minutes until a check of the list shows a cause, over the causes
	// behind the findings by their weight, and the share of that weight that
	// the list shows: of the list as it is, and with the check first.
	Minutes, Share           float64
	FirstMinutes, FirstShare float64
	// Lost are checks of the list that cannot be done any more behind it, as
	// the pump stands or is isolated by then.
	Lost []Step
	// Useless says that the check is not in the list at all: its questions are
	// answered, or it finds too little. Then only Rule holds besides.
	Useless bool
	// Rule says that a rule of the book puts the first check of the list before
	// all others.
	Rule bool
}

// WithFirst works out what the list of a weighed case comes to if a check at a
// place is done first, with all that must come before it. It is nil when nothing
// is looked for, and where it takes more than the budget has.
func WithFirst(w *chances.Weighed, check string, at evidence.Place) *Instead {
	p, sequence := plan(w.Model, aimAt(w))
	if w.Spent() != nil {
		return nil
	}
	own, listed := p.index[taskKey{StepCheck, check, at}]
	if !listed {
		return &Instead{Rule: p.ruledFirst(sequence, -1), Useless: true}
	}
	out := &Instead{Rule: p.ruledFirst(sequence, own)}
	total := 0.0
	for _, weight := range p.weight {
		total += weight
	}
	if total <= 0 {
		return nil
	}
	front := p.atOnceTo(own)
	rest := slices.DeleteFunc(slices.Clone(sequence), func(i int) bool { return slices.Contains(front, i) })
	moved, lost := p.possibleIn(append(front, rest...))
	problem := p.problem()
	out.Minutes, out.Share = order.MeanTime(problem, sequence), order.Exposed(problem, sequence)/total
	out.FirstMinutes, out.FirstShare = order.MeanTime(problem, moved), order.Exposed(problem, moved)/total
	for _, i := range lost {
		out.Lost = append(out.Lost, p.step(i, found{}))
	}
	return out
}

// ruledFirst says whether a rule of the book puts the first check of a sequence
// before another one.
func (p *planner) ruledFirst(sequence []int, other int) bool {
	i := slices.IndexFunc(sequence, func(i int) bool { return p.tasks[i].check != nil })
	return i >= 0 && p.tasks[sequence[i]].first && sequence[i] != other
}

// atOnceTo gives a check behind what it needs when it is done now, not where the
// list has it: a look from outside that the list puts off needs no isolation.
func (p *planner) atOnceTo(check int) []int {
	t := p.tasks[check]
	alone := newPlanner(p.m, p.aim)
	alone.running, alone.live, alone.stopNow, alone.atOnce, alone.lockNow, alone.shut = p.running, p.live, p.stopNow, p.atOnce, p.lockNow, p.shut
	alone.addCheck(t.check, t.place, p.steps[check].Finds, t.first)
	var out []int
	for _, i := range alone.closure([]int{len(alone.tasks) - 1}) {
		out = append(out, p.index[alone.tasks[i].taskKey])
	}
	return out
}

// possibleIn parts a sequence into what can be done in its turn and the checks
// that come too late: the pump does not run any more, or it is isolated. It
// stands when every step of the stop is done, and is isolated when every step
// of the isolation is: a check with power on can need one lock before.
func (p *planner) possibleIn(sequence []int) (possible, late []int) {
	left := map[rules.SafetyFor]int{}
	for _, i := range sequence {
		if s := p.tasks[i].safety; s != nil {
			left[s.For]++
		}
	}
	state := p.m.Case.Pump.State
	for _, i := range sequence {
		t := p.tasks[i]
		if t.check != nil && tooLate(t.check, state) {
			late = append(late, i)
			continue
		}
		if possible = append(possible, i); t.safety == nil {
			continue
		}
		left[t.safety.For]--
		switch {
		case t.safety.For == rules.ForIsolation && left[rules.ForIsolation] == 0:
			state = evidence.Isolated
		case t.safety.For == rules.ForStopping && left[rules.ForStopping] == 0 && state == evidence.Running:
			state = evidence.Stopped
		}
	}
	return possible, late
}

func tooLate(c *rules.Check, state evidence.PumpState) bool {
	return c.Pump == rules.NeedsRunning && state != evidence.Running || !c.Pump.UnderIsolation() && state == evidence.Isolated
}
