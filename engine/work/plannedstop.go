package work

import (
	"slices"

	"telltale/engine/chances"
	"telltale/engine/order"
	"telltale/evidence"
	"telltale/rules"
)

// StepDue is the kind of a step that is no check of the book: a part that is changed, a
// repair, a look of the upkeep.
const StepDue = "due"

// Wanted is something that is to be done on a pump in a planned stop.
type Wanted struct {
	// Check says what it needs: how the pump stands, openings, safety, tools, minutes. What
	// is no check of the book (Due) is told in the same form, with an id of its own.
	Check *rules.Check
	Place evidence.Place
	Due   bool
}

// PlannedStop plans what is done on one pump in one planned stop: the safety steps once,
// each opening once and before what is behind it, and the closing up.
type PlannedStop struct{ m *chances.Model }

// InStop plans for a pump as its case says it stands.
func InStop(m *chances.Model) PlannedStop { return PlannedStop{m} }

// Minutes are those of the whole of it, from the first safety step to the last step back
// to service; false if not all of it can be done as the pump stands.
func (s PlannedStop) Minutes(wanted []Wanted) (minutes float64, can bool) {
	p, sequence, can := s.arrange(wanted, false)
	for _, i := range sequence {
		minutes += p.steps[i].Minutes
	}
	for _, step := range p.returns(sequence, found{}) {
		minutes += step.Minutes
	}
	return minutes, can
}

// Steps are the steps in the order of a teardown plan: the order that has the most done
// the soonest. Nothing is listed that cannot be done as the pump stands.
func (s PlannedStop) Steps(wanted []Wanted) []Step {
	p, sequence, _ := s.arrange(wanted, true)
	p.weight = make([]float64, len(s.m.Causes)) // what is done looks for no cause
	for i := range p.steps {
		p.steps[i].Finds = nil
	}
	var steps []Step
	for _, i := range sequence {
		step := p.step(i, found{})
		if slices.ContainsFunc(wanted, func(w Wanted) bool { return w.Due && w.Check == p.tasks[i].check }) {
			step.Kind = StepDue
		}
		steps = append(steps, step)
	}
	return numbered(append(steps, p.returns(sequence, found{})...), 0)
}

// arrange orders what is wanted, each thing worth the same.
func (s PlannedStop) arrange(wanted []Wanted, final bool) (p *planner, sequence []int, can bool) {
	weight := make([]float64, len(wanted))
	for n := range weight {
		weight[n] = 1
	}
	p, can = newPlanner(s.m, aim{weight: weight}), true
	p.stands()
	for n, w := range wanted {
		find := order.Find{Cause: n, Sure: 1}
		i, there := p.index[taskKey{StepCheck, w.Check.ID, w.Place}]
		switch {
		case there:
			p.steps[i].Finds = append(p.steps[i].Finds, find)
		case p.possible(w.Check) && canDo(s.m, w.Check, w.Place):
			p.addCheck(w.Check, w.Place, []order.Find{find}, false)
		default:
			can = false
		}
	}
	p.linkAfter()
	first := p.stopFirst()
	p.final, p.proof = final, order.Proof{Exact: true}
	sequence = p.inPhases(first, p.reachedBy(first), func(int, phase) bool { return true })
	p.tidy(sequence[len(first):])
	if len(s.m.Case.Pump.Open) > 0 {
		sequence = p.with(sequence, p.safetySteps(rules.ForIsolation))
	}
	sequence = p.beforeTurning(sequence)
	for i, before := range p.needed {
		p.steps[i].Before = before
	}
	for i, t := range p.tasks {
		can = can && (t.check == nil || slices.Contains(sequence, i))
	}
	return p, sequence, can
}
