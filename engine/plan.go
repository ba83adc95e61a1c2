package engine

import (
	"telltale/engine/order"
	"telltale/evidence"
	"telltale/rules"
)

// task is one safety step, access or check at one place.
type task struct {
	kind   string
	safety *rules.Safety
	access *rules.Access
	check  *rules.Check
	place  evidence.Place
	phase  phase
	first  bool // a rule of the book puts it before the other checks
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
	m       *model
	weight  []float64
	running bool // observations on the running pump are allowed
	live    bool // steps that need power are allowed
	tasks   []task
	steps   []order.Step
	index   map[taskKey]int
}

type taskKey struct {
	kind, id string
	place    evidence.Place
}

// placeAt lifts a place to a level at or above it.
func placeAt(level evidence.Level, p evidence.Place) evidence.Place {
	switch level {
	case evidence.OfPump:
		return evidence.Place{}
	case evidence.OfCylinder:
		return evidence.Place{Cylinder: p.Cylinder}
	}
	return p
}

// plan gives the tasks of the list in order, without the closing up.
func (m *model) plan(w weighed, stops []*rules.Stop) ([]task, []order.Step, []int) {
	p := planner{m: m, index: map[taskKey]int{}}
	p.weigh(w)
	p.running = m.runningAllowed(stops)
	p.live = m.powerAllowed(stops)
	p.addChecks()
	p.linkAfter()
	return p.tasks, p.steps, p.sequence()
}

// weigh takes the posterior as the weight of each open cause.
func (p *planner) weigh(w weighed) {
	p.weight = append([]float64(nil), w.Posterior...)
	for i := range p.weight {
		if p.m.confirmed[i] {
			p.weight[i] = 0
		}
	}
}

func (p *planner) addChecks() {
	cleared := map[taskKey]bool{}
	for _, at := range p.m.k.Cleared {
		cleared[taskKey{StepCheck, at.ID, at.Place}] = true
	}
	for _, c := range p.m.book.Checks.List {
		if !p.possible(c) {
			continue
		}
		for _, place := range p.m.k.Pump.Places(c.Level) {
			finds := p.finds(c, place)
			if cleared[taskKey{StepCheck, c.ID, place}] || p.gain(finds) < p.m.book.LeastGain || p.gain(finds) == 0 {
				continue
			}
			p.addCheck(c, place, finds)
		}
	}
}

// possible says whether a check exists on this pump and its state allows it.
func (p *planner) possible(c *rules.Check) bool {
	if !c.When.Holds(p.m.k, p.m.book) {
		return false
	}
	switch c.Pump {
	case rules.NeedsRunning:
		return p.running
	case rules.NeedsLive:
		return p.live
	}
	for _, id := range c.Access {
		if !p.accessExists(id) {
			return false
		}
	}
	return true
}

func (p *planner) accessExists(id string) bool {
	a := p.m.book.Access.Get(id)
	if !a.When.Holds(p.m.k, p.m.book) {
		return false
	}
	for _, need := range a.Needs {
		if !p.accessExists(need) {
			return false
		}
	}
	return true
}

func (p *planner) finds(c *rules.Check, place evidence.Place) []order.Find {
	var out []order.Find
	for _, f := range c.Finds {
		for i, in := range p.m.causes {
			if in.cause.ID == f.Cause && in.place.Touches(place) && p.weight[i] > 0 {
				out = append(out, order.Find{Cause: i, Sure: f.Sure})
			}
		}
	}
	return out
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
	t.kind, t.place = key.kind, key.place
	p.index[key] = i
	p.tasks = append(p.tasks, t)
	p.steps = append(p.steps, s)
	return i
}

func (p *planner) addCheck(c *rules.Check, place evidence.Place, finds []order.Find) {
	t := task{check: c, first: c.FirstWhen != nil && c.FirstWhen.Holds(p.m.k, p.m.book)}
	var before []int
	switch {
	case c.Pump == rules.NeedsIsolated:
		t.phase = underIsolation
		before = p.guards(rules.ForIsolation)
	case c.Pump == rules.NeedsRunning:
		t.phase = whileRunning
		before = p.guards(rules.ForRunning)
	case c.Pump == rules.NeedsNothing && p.m.k.Pump.State == evidence.Running:
		t.phase = whileRunning
		if p.running {
			before = p.guards(rules.ForRunning)
		}
	case p.m.k.Pump.State == evidence.Isolated:
		t.phase = underIsolation
	default:
		t.phase = beforeIsolation
		before = p.guards(rules.ForStopping)
	}
	for _, id := range c.Safety {
		before = append(before, p.addSafety(p.m.book.Safety.Get(id))...)
	}
	for _, id := range c.Access {
		before = append(before, p.addAccess(p.m.book.Access.Get(id), place)...)
	}
	p.add(taskKey{StepCheck, c.ID, place}, t, order.Step{Minutes: c.Minutes, Before: before, Finds: finds})
}

// guards gives the safety steps of one purpose that still have to be done.
// Stopping guards nothing when the pump stands already.
func (p *planner) guards(purpose rules.SafetyFor) []int {
	var out []int
	for _, s := range p.m.book.Safety.List {
		if s.For == purpose || purpose == rules.ForIsolation && s.For == rules.ForStopping {
			out = append(out, p.addSafety(s)...)
		}
	}
	return out
}

// addSafety gives the step of one safety rule, none when the case says that
// it is done and the book does not want it again.
func (p *planner) addSafety(s *rules.Safety) []int {
	if !s.When.Holds(p.m.k, p.m.book) || p.alreadySafe(s) {
		return nil
	}
	key := taskKey{StepSafety, s.ID, evidence.Place{}}
	if i, ok := p.index[key]; ok {
		return []int{i}
	}
	var before []int
	for _, id := range s.After {
		before = append(before, p.addSafety(p.m.book.Safety.Get(id))...)
	}
	return []int{p.add(key, task{safety: s, phase: phaseOf(s.For)}, order.Step{Minutes: s.Minutes, Before: before})}
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
	if s.Again {
		return false
	}
	switch s.For {
	case rules.ForStopping:
		return p.m.k.Pump.State != evidence.Running
	case rules.ForIsolation:
		return p.m.k.Pump.State == evidence.Isolated
	}
	return false
}

// addAccess gives the step that opens something, none when it is open.
func (p *planner) addAccess(a *rules.Access, at evidence.Place) []int {
	place := placeAt(a.Level, at)
	if p.m.k.Pump.Has(a.ID, place) {
		return nil
	}
	key := taskKey{StepAccess, a.ID, place}
	if i, ok := p.index[key]; ok {
		return []int{i}
	}
	before := p.guards(rules.ForIsolation)
	for _, id := range a.Safety {
		before = append(before, p.addSafety(p.m.book.Safety.Get(id))...)
	}
	for _, id := range a.Needs {
		before = append(before, p.addAccess(p.m.book.Access.Get(id), place)...)
	}
	return []int{p.add(key, task{access: a, phase: underIsolation}, order.Step{Minutes: a.Minutes, Before: before})}
}

// linkAfter puts in which check waits for which at the same place, where both
// are in the list and in the same phase.
func (p *planner) linkAfter() {
	for i, t := range p.tasks {
		if t.check == nil {
			continue
		}
		for _, id := range t.check.AfterIn(p.m.k, p.m.book) {
			for j, earlier := range p.tasks {
				if earlier.check != nil && earlier.check.ID == id && earlier.phase == t.phase && earlier.place.Touches(t.place) {
					p.steps[i].Before = append(p.steps[i].Before, j)
				}
			}
		}
	}
}

// sequence orders the tasks: what a rule of the book puts first, then phase
// by phase.
func (p *planner) sequence() []int {
	problem := &order.Problem{Steps: p.steps, Weight: p.weight}
	if !p.anyFirst() {
		return p.phases(problem)
	}
	least := p.m.book.LeastGain
	first := order.Greedy(problem, nil, p.firstOnly(), least)
	return append(first, order.Greedy(problem, first, p.late(), least)...)
}

// phases orders each phase after the one before, and leaves out an early
// check that costs everybody behind it more than it finds.
func (p *planner) phases(problem *order.Problem) []int {
	early := [][]bool{p.allowed(whileRunning), p.allowed(beforeIsolation)}
	inOrder := func() []int {
		var out []int
		for _, a := range append(early[:2:2], p.late()) {
			out = append(out, order.Greedy(problem, out, a, p.m.book.LeastGain)...)
		}
		return out
	}
	best := inOrder()
	cost := order.Cost(problem, best)
	for _, k := range p.earlyChecks(best) {
		early[p.tasks[k].phase][k] = false
		shorter := inOrder()
		if c := order.Cost(problem, shorter); c < cost {
			best, cost = shorter, c
			continue
		}
		early[p.tasks[k].phase][k] = true
	}
	return best
}

// earlyChecks gives the checks before the isolation, the last one first.
func (p *planner) earlyChecks(sequence []int) []int {
	var out []int
	for _, k := range sequence {
		if p.tasks[k].check != nil && p.tasks[k].phase != underIsolation {
			out = append([]int{k}, out...)
		}
	}
	return out
}

func (p *planner) anyFirst() bool {
	for _, t := range p.tasks {
		if t.first {
			return true
		}
	}
	return false
}

// firstOnly allows the checks that a rule of the book puts first, with all
// safety and access steps.
func (p *planner) firstOnly() []bool {
	out := make([]bool, len(p.tasks))
	for i, t := range p.tasks {
		out[i] = t.check == nil || t.first
	}
	return out
}

// allowed gives the tasks of one phase. Named guards go with what names them.
func (p *planner) allowed(one phase) []bool {
	out := make([]bool, len(p.tasks))
	for i, t := range p.tasks {
		out[i] = t.phase == one || t.safety != nil && t.safety.For == rules.ForNamed
	}
	return out
}

// late gives what can still be done once the pump is isolated: all but what
// needs it running or with power on.
func (p *planner) late() []bool {
	out := make([]bool, len(p.tasks))
	for i, t := range p.tasks {
		out[i] = t.check == nil || t.check.Pump != rules.NeedsRunning && t.check.Pump != rules.NeedsLive
	}
	return out
}
