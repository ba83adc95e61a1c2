package work

import (
	"slices"

	"telltale/engine/chances"
	"telltale/engine/order"
	"telltale/evidence"
	"telltale/rules"
)

// task is one safety step, opening or check at one place.
type task struct {
	taskKey
	safety  *rules.Safety
	opening *rules.Opening
	check   *rules.Check
	phase   phase
	first   bool // a rule of the book puts it before the other checks
}

// phase says when a task can be done.
type phase int

// The phases of a list, in order. What needs the running pump comes before
// the pump is stopped or not at all; what needs power or pressure comes before
// the isolation or not at all.
const (
	whileRunning phase = iota
	beforeIsolation
	underIsolation
)

// planner turns a book and a case into steps with their order.
type planner struct {
	m *chances.Model
	aim
	running bool // observations on the running pump are allowed
	live    bool // steps that need power are allowed
	stopNow bool // a stop condition stops the pump before anything else
	atOnce  bool // and at once: the driller is not asked for the moment
	lockNow bool // a stop condition demands that it is locked off at once
	shut    bool // a stop condition demands that nothing is opened
	// outOfService: a stop condition keeps the pump from running again.
	outOfService bool
	takesOver    bool // the isolation of others is taken over
	tasks        []task
	steps        []order.Step
	index        map[taskKey]int
	after        map[int][]int    // checks that come before a check where both are done in one phase
	doneIn       map[int]phase    // in which phase each step of the sequence stands; none if a rule puts it first (stop at once, look at the well)
	needed       map[int][]int    // what each step of the sequence needs, as it was ordered
	final        bool             // the last ordering, which is proved
	proof        order.Proof      // of the last ordering
	putOff       map[int][]int    // safety steps that a check needs if it is put off to the time under isolation
	watched      map[int][]int    // safety steps that a check needs only while the pump runs
	never        map[int]bool     // checks that want closed what they must wait for
	passed       map[string][]int // what comes before each safety step that is not to be done
}

// taskKey says which step it is.
type taskKey struct {
	kind, id string
	place    evidence.Place
}

// guards says whether a task is a safety step of some purpose.
func (t *task) guards(purpose rules.SafetyFor) bool {
	return t.safety != nil && t.safety.For == purpose
}

// aim is what a list is made for, by cause.
type aim struct {
	weight []float64
	root   []bool // whether it is looked for as what brought something on
	// inside are the ids of causes that only checks behind the isolation count for.
	inside map[string]bool
	// keptOut: what is aimed at keeps the pump out of service.
	keptOut bool
}

// aimAt aims at what is behind the findings.
func aimAt(w *chances.Weighed) aim { return aim{weight: w.Behind(), root: w.AsRoots()} }

// plan gives the planner with its tasks and the order of the list, without the
// closing up.
func plan(m *chances.Model, aim aim) (*planner, []int) {
	p := newPlanner(m, aim)
	p.stands()
	p.addChecks()
	p.linkAfter()
	sequence := p.sequence()
	repairs := toRepair(m)
	if len(m.Case.Pump.Open) > 0 || slices.ContainsFunc(repairs, func(c *rules.Cause) bool { return c.Behind == rules.BehindPump }) {
		sequence = p.with(sequence, p.safetySteps(rules.ForIsolation)) // the repair or the closing up needs it
	}
	for _, c := range repairs {
		if !p.shut { // else no repair either
			sequence = p.with(sequence, p.named(c.Safety))
		}
	}
	sequence = p.beforeTurning(sequence)
	for i, before := range p.needed {
		p.steps[i].Before = before
	}
	return p, sequence
}

// stands notes what may be done as the pump stands, by the stop conditions that hold.
func (p *planner) stands() {
	m := p.m
	p.running, p.live, p.shut, p.atOnce = m.RunningAllowed(), m.PowerAllowed(), m.OpensNothing(), m.StopsAtOnce()
	p.lockNow = !p.live && m.Case.Pump.State != evidence.Isolated
	p.stopNow = m.Case.Pump.State == evidence.Running && !p.running
}

// toRepair gives the causes that are proved and not corrected, in the order of
// the case.
func toRepair(m *chances.Model) []*rules.Cause {
	var out []*rules.Cause
	for _, at := range m.Case.Confirmed {
		if !chances.Among(m.Case.Corrected, at.ID, at.Place) {
			out = append(out, m.Book.Causes.Get(at.ID))
		}
	}
	return out
}

func newPlanner(m *chances.Model, aim aim) *planner {
	return &planner{
		m: m, aim: aim, outOfService: m.OutOfService() || aim.keptOut, takesOver: m.Book.TakesOver(m.Case), index: map[taskKey]int{}, after: map[int][]int{}, watched: map[int][]int{}, putOff: map[int][]int{},
		needed: map[int][]int{}, doneIn: map[int]phase{}, never: map[int]bool{}, passed: map[string][]int{},
	}
}

func (p *planner) addChecks() {
	for _, c := range p.m.Book.Checks.List {
		if !p.possible(c) {
			continue
		}
		for _, place := range p.m.Case.Pump.Places(c.Level) {
			if p.cleared(c.ID, place) || !canDo(p.m, c, place) {
				continue
			}
			finds := p.finds(c, place)
			first := c.FirstWhen != nil && c.FirstWhen.Holds(p.m.Case, p.m.Book)
			if first || !p.m.Answered(c, place) && p.gain(finds) >= p.m.Book.LeastGain && p.gain(finds) > 0 {
				p.addCheck(c, place, finds, first)
			}
		}
	}
}

// canDo says whether a check can be done at a place as the pump stands: what
// it needs opened is there, nothing is open that it wants closed, no sign
// spoils it, and it turns nothing that must not turn.
func canDo(m *chances.Model, c *rules.Check, at evidence.Place) bool {
	return !m.Book.WantsClosed(c, at, m.Case.Pump.Open) && c.FitsAt(at, m.Case) && m.Book.MayTurn(c, at, m.Case) &&
		!slices.ContainsFunc(c.Openings, func(id string) bool { return !m.Book.ExistsAt(id, at, m.Case) })
}

// cleared says whether a check was done at a place, with or without a result.
func (p *planner) cleared(check string, at evidence.Place) bool {
	return chances.Among(p.m.Used().Cleared, check, at) || chances.Among(p.m.Case.Unclear, check, at)
}

// possible says whether a check exists on this pump and its state allows it.
func (p *planner) possible(c *rules.Check) bool {
	switch {
	case !c.When.Holds(p.m.Case, p.m.Book):
		return false
	case p.shut && p.m.Book.CheckTurns(c):
		return false // what must come out before it turns may not be reached now
	case p.outOfService && p.m.Book.CheckStarts(c), slices.ContainsFunc(p.m.Stops(), func(s *rules.Stop) bool { return p.m.Book.HeldBy(c, s) }):
		return false // a bump is a start
	}
	switch c.Pump {
	case rules.NeedsRunning:
		return p.running
	case rules.NeedsLive:
		return p.live
	case rules.NeedsNotIsolated:
		return p.m.Case.Pump.State != evidence.Isolated && !p.lockNow
	case rules.NeedsIsolated:
		if p.shut {
			return false
		}
	}
	return true
}

// finds gives the causes of the list that a check exposes at a place.
func (p *planner) finds(c *rules.Check, place evidence.Place) []order.Find {
	return slices.DeleteFunc(Exposes(p.m, c, place), func(f order.Find) bool {
		return p.weight[f.Cause] <= 0 || c.Pump != rules.NeedsIsolated && p.inside[p.m.Causes[f.Cause].Cause.ID]
	})
}

func (p *planner) gain(finds []order.Find) float64 {
	g := 0.0
	for _, f := range finds {
		g += p.weight[f.Cause] * f.Sure
	}
	return g
}

func (p *planner) add(key taskKey, t task, s order.Step) int {
	i := len(p.tasks)
	t.taskKey = key
	p.index[key] = i
	p.tasks = append(p.tasks, t)
	p.steps = append(p.steps, s)
	return i
}

func (p *planner) addCheck(c *rules.Check, place evidence.Place, finds []order.Find, first bool) {
	t := task{check: c, first: first}
	var before, watched, putOff []int
	switch {
	case c.Pump == rules.NeedsIsolated:
		t.phase = underIsolation
		before = p.safetySteps(rules.ForIsolation)
	case c.Pump == rules.NeedsRunning:
		t.phase = whileRunning
		before = p.safetySteps(rules.ForRunning)
	case (c.Pump == rules.NeedsNothing || c.Pump == rules.NeedsNotIsolated) && p.running:
		t.phase = whileRunning
		watched = p.safetySteps(rules.ForRunning)
		if c.Pump.UnderIsolation() {
			putOff = p.safetySteps(rules.ForIsolation)
		}
	case p.m.Case.Pump.State == evidence.Isolated:
		t.phase = underIsolation
	default:
		t.phase = beforeIsolation
		before = p.safetySteps(rules.ForStopping)
	}
	before = append(append(before, p.named(c.Safety)...), p.opened(c.Openings, place)...)
	if c.Pump.UnderIsolation() && p.isolates(before) {
		t.phase = underIsolation // its safety steps lock the pump off: not before what needs power or open lines
	}
	i := p.add(taskKey{StepCheck, c.ID, place}, t, order.Step{Minutes: c.Minutes, Before: before, Finds: finds})
	p.watched[i], p.putOff[i] = watched, putOff
}

// isolates says whether one of these steps, or one before it, is of the
// isolation.
func (p *planner) isolates(steps []int) bool {
	return slices.ContainsFunc(inner(steps, p.before), func(i int) bool { return p.tasks[i].guards(rules.ForIsolation) })
}

// before gives what a step needs.
func (p *planner) before(i int) []int { return p.steps[i].Before }

// inner gives some things, and what is got to from them, each once and behind
// what it leads to.
func inner[K comparable](from []K, next func(K) []K) []K {
	var out []K
	seen := map[K]bool{}
	var visit func([]K)
	visit = func(list []K) {
		for _, k := range list {
			if !seen[k] {
				seen[k] = true
				visit(next(k))
				out = append(out, k)
			}
		}
	}
	visit(from)
	return out
}

// safetySteps gives the safety steps of one purpose that still have to be done.
// Those of the stop are none when the pump stands already.
func (p *planner) safetySteps(purpose rules.SafetyFor) []int {
	var ids []string
	for _, s := range p.m.Book.Safety.List {
		if s.For == purpose || purpose == rules.ForIsolation && s.For == rules.ForStopping {
			ids = append(ids, s.ID)
		}
	}
	return p.named(ids)
}

// named gives the steps of safety rules that something names, each once.
func (p *planner) named(ids []string) []int {
	var out []int
	seen := map[int]bool{}
	for _, id := range ids {
		for _, i := range p.addSafety(p.m.Book.Safety.Get(id)) {
			if !seen[i] {
				seen[i] = true
				out = append(out, i)
			}
		}
	}
	return out
}

// addSafety gives the step of one safety rule. When the case says that it is
// done and the book does not want it seen again, it gives what comes before it, so
// that the chain does not break.
func (p *planner) addSafety(s *rules.Safety) []int {
	if s.Turns {
		if _, known := p.m.Book.BeforeTurning(p.m.Case); !known {
			return nil // nothing turns; no check with such a safety step is in the list
		}
	}
	if !s.When.Holds(p.m.Case, p.m.Book) || p.alreadySafe(s) {
		before, known := p.passed[s.ID]
		if !known {
			before = p.named(s.After)
			p.passed[s.ID] = before
		}
		return before
	}
	key := taskKey{StepSafety, s.ID, evidence.Place{}}
	if i, ok := p.index[key]; ok {
		return []int{i}
	}
	before := p.named(s.After)
	if s.Turns {
		before = append(before, p.addBeforeTurning()...)
	}
	return []int{p.add(key, task{safety: s, phase: phaseOf(s.For)}, order.Step{Minutes: s.On(p.takesOver).Minutes, Before: before})}
}

func phaseOf(purpose rules.SafetyFor) phase {
	switch purpose {
	case rules.ForRunning:
		return whileRunning
	case rules.ForStopping:
		return beforeIsolation
	}
	return underIsolation
}

func (p *planner) alreadySafe(s *rules.Safety) bool {
	if s.SkipOnStop && p.atOnce {
		return true
	}
	if s.InFull {
		return p.shut // what cannot be proved waits until something may be opened
	}
	switch s.For {
	case rules.ForStopping:
		return p.m.Case.Pump.State != evidence.Running
	case rules.ForIsolation:
		return p.takesOver && s.TakenOver == nil
	}
	return false
}

// addBeforeTurning gives the steps that must be done before anything turns the
// pump; none while nothing may be opened: then nothing turns it either.
func (p *planner) addBeforeTurning() []int {
	if p.shut {
		return nil
	}
	var out []int
	left, _ := p.m.Book.BeforeTurning(p.m.Case)
	for _, at := range left {
		out = append(out, p.opened([]string{at.ID}, at.Place)...)
	}
	return out
}

// opened gives the steps that open something, or what is opened there in its
// place; none where it is open.
func (p *planner) opened(ids []string, at evidence.Place) []int {
	var out []int
	for _, id := range ids {
		a := p.m.Book.ToOpen(id, at, p.m.Case)
		place := a.At(at)
		if p.m.Book.IsOpen(id, place, p.m.Case.Pump.Open) {
			continue
		}
		i, added := p.index[taskKey{StepOpening, a.ID, place}]
		if !added {
			before := append(append(p.safetySteps(rules.ForIsolation), p.named(a.Safety)...), p.opened(a.Needs, place)...)
			i = p.add(taskKey{StepOpening, a.ID, place}, task{opening: a, phase: underIsolation}, order.Step{Minutes: a.Minutes, Before: before})
		}
		out = append(out, i)
	}
	return out
}
