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
	stopNow bool // a stop condition demands that the pump stops at once
	lockNow bool // a stop condition demands that it is locked off at once
	tasks   []task
	steps   []order.Step
	index   map[taskKey]int
	after   map[int][]int // checks that come before a check where both are done in one phase
	needed  map[int][]int // what each step of the sequence needs, as it was ordered
	watched map[int][]int // guards that a check needs only while the pump runs
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
func (m *model) plan(weight []float64, stops []*rules.Stop) ([]task, []order.Step, []int) {
	p := planner{m: m, index: map[taskKey]int{}, after: map[int][]int{}, watched: map[int][]int{}, needed: map[int][]int{}, weight: weight}
	p.running = m.runningAllowed(stops)
	p.live = m.powerAllowed(stops)
	p.lockNow = !p.live && m.k.Pump.State != evidence.Isolated
	p.stopNow = m.k.Pump.State == evidence.Running && !p.running
	p.addChecks()
	p.linkAfter()
	sequence := p.sequence()
	if len(m.confirmed) > 0 || len(m.k.Pump.Open) > 0 {
		sequence = p.withIsolation(sequence) // the repair or the closing up needs it
	}
	for i, before := range p.needed {
		p.steps[i].Before = before
	}
	return p.tasks, p.steps, sequence
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
			first := c.FirstWhen != nil && c.FirstWhen.Holds(p.m.k, p.m.book)
			if cleared[taskKey{StepCheck, c.ID, place}] || !first && (p.answered(c, place) || p.gain(finds) < p.m.book.LeastGain || p.gain(finds) == 0) {
				continue
			}
			p.addCheck(c, place, finds, first)
		}
	}
}

// answered says whether the findings hold already all that a check would
// tell.
func (p *planner) answered(c *rules.Check, at evidence.Place) bool {
	asked := 0
	for _, id := range c.Answers {
		symptom := p.m.book.Symptoms.Get(id)
		if !symptom.When.Holds(p.m.k, p.m.book) {
			continue
		}
		asked++
		for _, place := range p.m.k.Pump.Under(at, symptom.Level) {
			if !p.m.k.Known(id, place) {
				return false
			}
		}
	}
	return asked > 0
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
	case rules.NeedsNotIsolated:
		return p.m.k.Pump.State != evidence.Isolated && !p.lockNow
	}
	for _, id := range c.Access {
		if !p.m.book.Exists(id, p.m.k) {
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

func (p *planner) addCheck(c *rules.Check, place evidence.Place, finds []order.Find, first bool) {
	t := task{check: c, first: first}
	var before, watched []int
	switch {
	case c.Pump == rules.NeedsIsolated:
		t.phase = underIsolation
		before = p.guards(rules.ForIsolation)
	case c.Pump == rules.NeedsRunning:
		t.phase = whileRunning
		before = p.guards(rules.ForRunning)
	case (c.Pump == rules.NeedsNothing || c.Pump == rules.NeedsNotIsolated) && p.running:
		t.phase = whileRunning
		watched = p.guards(rules.ForRunning)
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
	i := p.add(taskKey{StepCheck, c.ID, place}, t, order.Step{Minutes: c.Minutes, Before: before, Finds: finds})
	p.watched[i] = watched
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

// addSafety gives the step of one safety rule. When the case says that it is
// done and the book does not want it again, it gives what comes before it, so
// that the chain does not break.
func (p *planner) addSafety(s *rules.Safety) []int {
	if !s.When.Holds(p.m.k, p.m.book) || p.alreadySafe(s) {
		var out []int
		for _, id := range s.After {
			out = append(out, p.addSafety(p.m.book.Safety.Get(id))...)
		}
		return out
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
	if s.SkipOnStop && p.stopNow {
		return true
	}
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

// linkAfter notes which check waits for which at the same place. A check that
// is not in the list hands on what it waits for itself.
func (p *planner) linkAfter() {
	for i, t := range p.tasks {
		if t.check == nil {
			continue
		}
		seen := map[string]bool{}
		queue := append([]string{}, t.check.AfterIn(p.m.k, p.m.book)...)
		for len(queue) > 0 {
			id := queue[0]
			queue = queue[1:]
			if seen[id] {
				continue
			}
			seen[id] = true
			queue = append(queue, p.m.book.Checks.Get(id).AfterIn(p.m.k, p.m.book)...)
			for j, earlier := range p.tasks {
				if earlier.check != nil && earlier.check.ID == id && earlier.place.Touches(t.place) {
					p.after[i] = append(p.after[i], j)
				}
			}
		}
	}
}

// sequence orders the tasks: what a rule of the book puts first, then the
// rest, each phase by phase. What the first checks have already ended (the
// running pump, the power) does not come again.
func (p *planner) sequence() []int {
	first := p.mustComeFirst(p.stopAtOnce())
	if p.anyFirst() {
		first = p.inPhases(first, whileRunning, func(i int, _ phase) bool { return p.tasks[i].check == nil || p.tasks[i].first })
	}
	reached := whileRunning
	for _, k := range first {
		if t := p.tasks[k]; t.safety == nil || t.safety.For == rules.ForStopping || t.safety.Again {
			reached = max(reached, t.phase)
		}
	}
	return p.worthIt(first, reached)
}

// mustComeFirst adds the checks that a rule of the book puts first and that
// need nothing opened, whatever they are likely to find: the look at the well
// is not weighed against minutes.
func (p *planner) mustComeFirst(sequence []int) []int {
	var wanted []int
	for _, ph := range []phase{whileRunning, beforeIsolation} {
		for i, t := range p.tasks {
			if t.first && t.phase == ph {
				wanted = append(wanted, i)
			}
		}
	}
	return p.closure(append(append([]int{}, sequence...), wanted...))
}

// withIsolation adds what the isolation still needs at the end.
func (p *planner) withIsolation(sequence []int) []int {
	done := map[int]bool{}
	for _, i := range sequence {
		done[i] = true
	}
	for _, i := range p.closure(p.guards(rules.ForIsolation)) {
		if !done[i] {
			sequence = append(sequence, i)
		}
	}
	return sequence
}

// stopAtOnce gives the steps that stop the pump, or stop it and lock it off,
// when a stop condition demands it: they come before everything.
func (p *planner) stopAtOnce() []int {
	if p.lockNow && len(p.tasks) > 0 {
		stopping := p.guards(rules.ForStopping)
		return p.closure(append(stopping, p.guards(rules.ForIsolation)...))
	}
	if !p.stopNow {
		return nil
	}
	return p.closure(p.guards(rules.ForStopping))
}

// closure gives steps in an order in which each stands behind what it needs,
// what needs the running pump first.
func (p *planner) closure(wanted []int) []int {
	var out []int
	seen := map[int]bool{}
	var visit func(int)
	visit = func(i int) {
		if seen[i] {
			return
		}
		seen[i] = true
		if p.tasks[i].phase == whileRunning {
			p.steps[i].Before = append(p.steps[i].Before, p.watched[i]...)
		}
		for _, j := range p.steps[i].Before {
			visit(j)
		}
		out = append(out, i)
	}
	for _, i := range wanted {
		visit(i)
	}
	return out
}

// inPhases orders what is wanted after a prefix, phase by phase from one on.
func (p *planner) inPhases(prefix []int, from phase, wanted func(int, phase) bool) []int {
	out := append([]int(nil), prefix...)
	for ph := from; ph <= underIsolation; ph++ {
		allowed := p.allowed(ph)
		for i := range allowed {
			allowed[i] = allowed[i] && wanted(i, ph)
		}
		p.waitTogether(ph, allowed, out)
		problem := p.problemIn(ph, allowed, out)
		chosen := order.Greedy(problem, out, allowed, p.m.book.LeastGain)
		for _, i := range chosen {
			p.needed[i] = problem.Steps[i].Before
		}
		out = append(out, chosen...)
	}
	return out
}

// waitTogether holds back what can wait for the isolation while a check that
// comes before it is put off or belongs to a later phase.
func (p *planner) waitTogether(now phase, allowed []bool, done []int) {
	finished := map[int]bool{}
	for _, i := range done {
		finished[i] = true
	}
	late := func(i int) bool { return p.tasks[i].check.Pump.UnderIsolation() }
	for i, earlier := range p.after {
		for _, j := range earlier {
			if allowed[i] && !allowed[j] && !finished[j] && late(i) && (late(j) || p.tasks[j].phase > now) {
				allowed[i] = false
			}
		}
	}
}

// problemIn is the ordering problem of one phase: what a step needs always,
// the guards of the running pump while it runs, and the checks that come
// before another where both can still be done.
func (p *planner) problemIn(now phase, allowed []bool, done []int) *order.Problem {
	finished := make([]bool, len(p.tasks))
	for _, i := range done {
		finished[i] = true
	}
	steps := append([]order.Step(nil), p.steps...)
	for i := range steps {
		if !allowed[i] || finished[i] {
			continue
		}
		before := append([]int(nil), steps[i].Before...)
		if now == whileRunning {
			before = append(before, p.watched[i]...)
		}
		for _, j := range p.after[i] {
			if allowed[j] && !finished[j] {
				before = append(before, j)
			}
		}
		steps[i].Before = before
	}
	return &order.Problem{Steps: steps, Weight: p.weight}
}

// worthIt orders everything, and puts off an early check that costs everybody
// behind it more than it finds: to the time under isolation if it can be done
// then, else for good. What nothing else would find is never left out for
// good.
func (p *planner) worthIt(prefix []int, from phase) []int {
	problem := &order.Problem{Steps: p.steps, Weight: p.weight}
	notEarly := make([]bool, len(p.tasks))
	ordered := func() []int {
		return p.inPhases(prefix, from, func(i int, ph phase) bool { return ph == underIsolation || !notEarly[i] })
	}
	best := ordered()
	cost := order.Cost(problem, best)
	enough := order.Exposed(problem, best) - p.m.book.LeastGain
	for _, k := range p.earlyChecks(best[len(prefix):]) {
		notEarly[k] = true
		shorter := ordered()
		if c := order.Cost(problem, shorter); c < cost && order.Exposed(problem, shorter) >= enough {
			best, cost = shorter, c
			continue
		}
		notEarly[k] = false
	}
	return ordered() // once more, so that what each step needs is noted
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

// allowed gives what can be done in a phase. Named guards go with what names
// them; under isolation all is left but what needs the pump running or the
// power on.
func (p *planner) allowed(now phase) []bool {
	out := make([]bool, len(p.tasks))
	for i, t := range p.tasks {
		switch {
		case t.safety != nil && t.safety.For == rules.ForNamed:
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
