package work

import (
	"slices"

	"telltale/engine/chances"
	"telltale/engine/order"
	"telltale/evidence"
	"telltale/rules"
)

// RunAgain is what can only be looked at on the running pump, for when
// the list found nothing: the pump stands now, so each look pays for closing
// up, the return to service and the safety steps of the running pump.
type RunAgain struct {
	// ReturnMinutes is the closing up and the return to service.
	ReturnMinutes float64 `json:"return_minutes"`
	Steps         []Step  `json:"steps"`
}

// runAgain lists the checks of the running pump behind the return to service;
// found is what the list finds. Nil if nothing is worth it, the pump runs now,
// or a stop condition forbids it.
func (l *List) runAgain(found found) (*RunAgain, error) {
	m := l.w.Model
	if m.Case.Pump.State == evidence.Running || len(m.Stops()) > 0 {
		return nil, nil
	}
	left := slices.Clone(l.planner.weight)
	for i := range left {
		left[i] *= l.miss[i]
	}
	p := runningPlanner(m, aim{weight: left, root: l.planner.root})
	all := slices.Repeat([]bool{true}, len(p.steps))
	sequence := order.Greedy(p.problem(), nil, all, m.Book.LeastGain)
	if len(p.checksOf(sequence)) == 0 {
		return nil, nil
	}
	out := &RunAgain{}
	for _, step := range l.Steps {
		if step.Kind == StepReturn {
			out.ReturnMinutes += step.Minutes
		}
	}
	steps, _, err := p.told(sequence, slices.Clone(l.miss), found, p.listed, foundBehind(l.w, p.root))
	out.Steps = numbered(steps, out.ReturnMinutes)
	return out, err
}

// runningPlanner gathers the checks that want the pump running, as if it ran.
func runningPlanner(m *chances.Model, left aim) *planner {
	p := newPlanner(m.Standing(evidence.Running), left)
	p.running = true
	for _, c := range m.Book.Checks.List {
		if c.Pump != rules.NeedsRunning || !c.When.Holds(m.Case, m.Book) {
			continue
		}
		for _, place := range m.Case.Pump.Places(c.Level) {
			if finds := p.finds(c, place); p.gain(finds) >= m.Book.LeastGain && !m.Answered(c, place) && !p.cleared(c.ID, place) {
				p.addCheck(c, place, finds, false)
			}
		}
	}
	return p
}
