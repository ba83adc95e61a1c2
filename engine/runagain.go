package engine

import (
	"telltale/engine/noisyor"
	"telltale/engine/order"
	"telltale/evidence"
	"telltale/rules"
)

// RunAgainReport is what can only be looked at on the running pump, for when
// the list found nothing: the pump stands now, so each look pays for closing
// up, the return to service and the guards of the running pump.
type RunAgainReport struct {
	// ReturnMinutes is the closing up and the return to service.
	ReturnMinutes float64      `json:"return_minutes"`
	Steps         []StepReport `json:"steps"`
}

// runAgain lists the checks of the running pump behind the return to service.
// miss is, by cause, the chance that the list missed it; found is what the
// list finds. Nil if nothing is worth it, the pump runs now, or a stop
// condition forbids it.
func (m *model) runAgain(s *noisyor.Solver, w weighed, weight, miss []float64, stops []*rules.Stop, back []StepReport, found float64) (*RunAgainReport, error) {
	if m.k.Pump.State == evidence.Running || len(stops) > 0 {
		return nil, nil
	}
	left := make([]float64, len(weight))
	for i := range weight {
		left[i] = weight[i] * miss[i]
	}
	p := m.runningPlanner(left)
	sequence := order.Greedy(&order.Problem{Steps: p.steps, Weight: left}, nil, all(len(p.steps)), m.book.LeastGain)
	if len(p.checksOf(sequence)) == 0 {
		return nil, nil
	}
	out := &RunAgainReport{Steps: []StepReport{}}
	for _, step := range back {
		out.ReturnMinutes += step.Minutes
	}
	clock := out.ReturnMinutes
	for n, i := range sequence {
		clock += p.steps[i].Minutes
		for _, f := range p.steps[i].Finds {
			miss[f.Cause] *= 1 - f.Sure
		}
		if p.tasks[i].check != nil {
			var err error
			if found, err = m.foundBy(s, w, miss, found); err != nil {
				return nil, err
			}
		}
		step := m.step(p.tasks[i], p.steps, p.tasks, i, left, found)
		step.Number, step.MinutesByHere = n+1, clock
		out.Steps = append(out.Steps, step)
	}
	return out, nil
}

// runningPlanner gathers the checks that want the pump running, as if it ran.
func (m *model) runningPlanner(left []float64) *planner {
	runs := *m
	k := *m.k
	k.Pump.State, k.Pump.Open = evidence.Running, nil
	runs.k = &k
	p := newPlanner(&runs, left)
	p.running = true
	for _, c := range m.book.Checks.List {
		if c.Pump != rules.NeedsRunning || !c.When.Holds(m.k, m.book) {
			continue
		}
		for _, place := range m.k.Pump.Places(c.Level) {
			if finds := p.finds(c, place); p.gain(finds) >= m.book.LeastGain && !p.answered(c, place) && !m.cleared(c.ID, place) {
				p.addCheck(c, place, finds, false)
			}
		}
	}
	return p
}

// cleared says whether a check was done at a place, with or without a result.
func (m *model) cleared(check string, place evidence.Place) bool {
	for _, at := range append(append([]evidence.At{}, m.weighedCase().Cleared...), m.k.Unclear...) {
		if at.ID == check && at.Place == place {
			return true
		}
	}
	return false
}

func all(n int) []bool {
	out := make([]bool, n)
	for i := range out {
		out[i] = true
	}
	return out
}
