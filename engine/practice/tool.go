package practice

import (
	"errors"
	"slices"

	"telltale/engine/work"
	"telltale/evidence"
)

// Best is what the tool would do next, as somebody goes who follows its list
// and has it made anew after each result. Goal is the check that a safety step
// or an opening leads to; else it is the action itself. ok is false when the
// tool is at its wits' end: its list is empty and the likeliest cause was
// named.
func (s *Session) Best() (next, goal Action, ok bool, err error) {
	switch {
	case s.mustLeave():
		a := Action{Do: Leave}
		return a, a, true, nil
	case len(s.exposed) > 0:
		a := Action{Do: Name, ID: s.exposed[0].ID, Place: s.exposed[0].Place}
		return a, a, true, nil
	}
	if a, shown, err := s.bestRoot(false); shown || err != nil {
		return a, a, shown, err
	}
	m, err := s.weigh(&s.known)
	if err != nil {
		return Action{}, Action{}, false, err
	}
	steps, err := m.list()
	if err != nil {
		return Action{}, Action{}, false, err
	}
	if next, goal, ok = s.fromList(steps); !ok {
		next, ok, err = s.nextLook()
		goal = next
	}
	if err != nil {
		return Action{}, Action{}, false, err
	}
	if !ok {
		return s.guess()
	}
	// The list may put a look that needs nothing opened in front of the
	// isolation: on the running pump its safety steps still come first.
	if missing, _ := s.blocked(next); len(missing) > 0 {
		next = Action{Do: missing[0].Do, ID: missing[0].ID, Place: missing[0].Place}
	}
	return next, goal, true, nil
}

// fromList gives the first step of the list that is not done and that a check
// of the list needs.
func (s *Session) fromList(steps []work.Step) (next, goal Action, ok bool) {
	for i, step := range steps {
		switch step.Kind {
		case work.StepCheck:
			a := Action{Do: Check, ID: step.ID, Place: step.Place}
			return a, a, true
		case work.StepSafety:
			if s.safe[step.ID] {
				continue
			}
			if goal, ok = leadsTo(steps[i:], step); ok {
				return Action{Do: Safety, ID: step.ID}, goal, true
			}
		case work.StepOpening:
			if s.known.Pump.Has(step.ID, step.Place) {
				continue
			}
			if goal, ok = leadsTo(steps[i:], step); ok {
				return Action{Do: Open, ID: step.ID, Place: step.Place}, goal, true
			}
		}
	}
	return Action{}, Action{}, false
}

// leadsTo gives the first check behind a step that needs it. Where a stop
// condition wants the stop or the lock, every check does.
func leadsTo(later []work.Step, step work.Step) (Action, bool) {
	for _, c := range later {
		if c.Kind == work.StepCheck && slices.Contains(c.Needs, step.ID) && (step.BeforeTurning || step.Place.Touches(c.Place)) {
			return Action{Do: Check, ID: c.ID, Place: c.Place}, true
		}
	}
	return Action{}, false
}

// guess says what likely brought a named failure on, or names the likeliest cause,
// when the list is at its end, until one guess was wrong.
func (s *Session) guess() (next, goal Action, ok bool, err error) {
	if len(s.known.RuledOut) > 0 {
		return Action{}, Action{}, false, nil
	}
	if a, open, err := s.bestRoot(true); open || err != nil {
		return a, a, open, err
	}
	o, err := s.weigh(&s.known)
	if err != nil {
		return Action{}, Action{}, false, err
	}
	lead := -1
	for i, in := range o.Causes {
		if !has(s.known.Confirmed, evidence.At{ID: in.Cause.ID, Place: in.Place}) && (lead < 0 || o.Posterior[i] > o.Posterior[lead]*(1+1e-9)) {
			lead = i
		}
	}
	if lead < 0 {
		return Action{}, Action{}, false, nil
	}
	a := Action{Do: Name, ID: o.Causes[lead].Cause.ID, Place: o.Causes[lead].Place}
	return a, a, true, nil
}

// mostChoices bounds a replay; no list of a rulebook comes near it.
const mostChoices = 2000

// Replay goes through the same world as the tool would.
func Replay(w *World) (*Session, error) {
	s := Begin(w)
	for range mostChoices {
		if s.End != Running {
			return s, nil
		}
		next, _, ok, err := s.Best()
		if err != nil {
			return s, err
		}
		if !ok {
			s.Stop(GaveUp)
			return s, nil
		}
		out := s.Do(next)
		if out.Refused != nil || out.Cannot != "" {
			return s, &StuckError{Action: next, Outcome: out}
		}
	}
	return s, errors.New("the tool's own way through this exercise does not end")
}

// StuckError says that the tool's own next step is stopped: a mistake of the
// program, not of the trainee.
type StuckError struct {
	Action
	Outcome
}

// Error names the step.
func (e *StuckError) Error() string {
	why := e.Cannot
	if e.Refused != nil {
		for _, n := range e.Refused.Missing {
			why += " " + n.ID
		}
	}
	return "the tool's own step " + string(e.Do) + " " + e.ID + " " + e.Place.String() + " is stopped: " + why
}

// minutesTo is the minutes of an action with all that is missing before it.
func (s *Session) minutesTo(a Action) float64 {
	total := s.cost(a)
	missing, _ := s.blocked(a)
	for _, n := range missing {
		total += s.cost(Action{Do: n.Do, ID: n.ID, Place: n.Place})
	}
	return total
}
