package engine

import (
	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// What a practice pump needs of the model: the causes with their chances to
// draw from, the weights of a case as it stands, and the next steps alone.

// Instance is a cause at one of its places, with the chance that it is there
// before anything was found.
type Instance struct {
	Cause *rules.Cause
	Place evidence.Place
	Prior float64
}

// Instances gives every cause that can be on the pump of the case, at each of
// its places, in the order of the book. The findings of the case do not count
// except where a rule of the book moves the odds by them.
func Instances(book *rules.Book, k *evidence.Case) []Instance {
	return newModel(book, k).instances()
}

func (m *model) instances() []Instance {
	out := make([]Instance, len(m.causes))
	for i, in := range m.causes {
		out[i] = Instance{Cause: in.cause, Place: in.place, Prior: in.prior}
	}
	return out
}

// Outlook is a case weighed, without its list: Diagnose without words. The
// slices go with Causes.
type Outlook struct {
	Stops     []*rules.Stop
	Leave     bool // a stop demands that the pump waits; nothing is weighed then
	Causes    []Instance
	Posterior []float64
	Odds      []float64
	Behind    []float64 // chance that the cause is there and shows a finding
}

// Weigh weighs a case without readings. The errors are those of Diagnose.
func Weigh(book *rules.Book, k *evidence.Case) (*Outlook, error) {
	m := newModel(book, k)
	out, _, err := m.outlook(&noisyor.Solver{})
	return out, err
}

func (m *model) outlook(s *noisyor.Solver) (*Outlook, weighed, error) {
	out := &Outlook{Stops: m.stops(), Causes: m.instances()}
	for _, stop := range out.Stops {
		out.Leave = out.Leave || stop.LeavePump
	}
	if out.Leave {
		return out, weighed{}, nil
	}
	a, err := s.Solve(m.problem(-1))
	if err != nil {
		return out, weighed{}, err
	}
	if a.Evidence == 0 {
		return out, weighed{}, ErrTooUnlikely
	}
	w := weighed{Answer: a}
	out.Posterior, out.Odds, out.Behind = a.Posterior, a.Odds, m.behind(w)
	return out, w, nil
}

// NextSteps gives the list of Diagnose for a case without readings: the same
// steps in the same order with what they need, but without the chance to have
// found the trouble and without the closing up. It is empty when the pump must
// be left. The errors are those of Diagnose.
func NextSteps(book *rules.Book, k *evidence.Case) ([]StepReport, error) {
	m := newModel(book, k)
	out, w, err := m.outlook(&noisyor.Solver{})
	if err != nil || out.Leave {
		return nil, err
	}
	p, sequence := m.plan(m.behind(w), out.Stops, nil)
	var steps []StepReport
	for n, i := range sequence {
		step := m.step(p.tasks[i], p.steps, p.tasks, i, out.Behind, 0)
		step.Number = n + 1
		steps = append(steps, step)
	}
	return steps, nil
}

// ChanceToFind is the chance that a check at a place exposes causes that are
// there and show a finding, added over the causes.
func (o *Outlook) ChanceToFind(c *rules.Check, place evidence.Place) float64 {
	total := 0.0
	for _, f := range c.Finds {
		for i, in := range o.Causes {
			if in.Cause.ID == f.Cause && in.Place.Touches(place) {
				total += o.Behind[i] * f.Sure
			}
		}
	}
	return total
}
