package engine

import (
	"slices"

	"telltale/engine/order"
	"telltale/evidence"
	"telltale/rules"
)

// task is one safety step, opening or check at one place.
type task struct {
	kind    string
	safety  *rules.Safety
	opening *rules.Opening
	check   *rules.Check
	place   evidence.Place
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
	m       *model
	weight  []float64
	running bool // observations on the running pump are allowed
	live    bool // steps that need power are allowed
	stopNow bool // a stop condition stops the pump before anything else
	atOnce  bool // and at once: the driller is not asked for the moment
	lockNow bool // a stop condition demands that it is locked off at once
	shut    bool // a stop condition demands that nothing is opened
	tasks   []task
	steps   []order.Step
	index   map[taskKey]int
	after   map[int][]int   // checks that come before a check where both are done in one phase
	doneIn  map[int]phase   // in which phase each step of the sequence stands; none if a rule puts it first (stop at once, look at the well)
	needed  map[int][]int   // what each step of the sequence needs, as it was ordered
	final   bool            // the last ordering, which is proved
	proof   order.Proof     // of the last ordering
	inside  map[string]bool // causes that are only looked for behind the isolation
	putOff  map[int][]int   // guards that a check needs if it is put off to the time under isolation
	watched map[int][]int   // guards that a check needs only while the pump runs
	never   map[int]bool    // checks that want closed what they must wait for
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

// plan gives the planner with its tasks and the order of the list, without the
// closing up. inside are causes that only checks behind the isolation count
// for, nil being none.
func (m *model) plan(weight []float64, stops []*rules.Stop, inside map[string]bool) (*planner, []int) {
	p := newPlanner(m, weight)
	p.inside = inside
	p.running = m.runningAllowed(stops)
	p.live = m.powerAllowed(stops)
	p.shut = opensNothing(stops)
	p.lockNow = !p.live && m.k.Pump.State != evidence.Isolated
	p.stopNow = m.k.Pump.State == evidence.Running && !p.running
	p.atOnce = m.stopsAtOnce(stops)
	p.addChecks()
	p.linkAfter()
	sequence := p.sequence()
	if m.repairsBehindPump() || len(m.k.Pump.Open) > 0 {
		sequence = p.with(sequence, p.safetySteps(rules.ForIsolation)) // the repair or the closing up needs it
	}
	for _, c := range m.toRepair() {
		if p.shut {
			break // no repair either
		}
		for _, id := range c.Safety {
			sequence = p.with(sequence, p.addSafety(m.book.Safety.Get(id)))
		}
	}
	sequence = p.beforeTurning(sequence)
	for i, before := range p.needed {
		p.steps[i].Before = before
	}
	return p, sequence
}

// toRepair gives the causes that are proved and not corrected, in the order of
// the case.
func (m *model) toRepair() []*rules.Cause {
	var out []*rules.Cause
	for _, at := range m.k.Confirmed {
		corrected := slices.ContainsFunc(m.k.Corrected, func(c evidence.At) bool { return c.ID == at.ID && c.Place == at.Place })
		if !corrected {
			out = append(out, m.book.Causes.Get(at.ID))
		}
	}
	return out
}

// repairsBehindPump says whether something proved is still to be corrected
// behind the isolation of the pump.
func (m *model) repairsBehindPump() bool {
	return slices.ContainsFunc(m.toRepair(), func(c *rules.Cause) bool { return c.Behind == rules.BehindPump })
}

func newPlanner(m *model, weight []float64) *planner {
	return &planner{
		m: m, weight: weight, index: map[taskKey]int{}, after: map[int][]int{}, watched: map[int][]int{}, putOff: map[int][]int{},
		needed: map[int][]int{}, doneIn: map[int]phase{}, never: map[int]bool{},
	}
}

func (p *planner) addChecks() {
	for _, c := range p.m.book.Checks.List {
		if !p.possible(c) {
			continue
		}
		for _, place := range p.m.k.Pump.Places(c.Level) {
			finds := p.finds(c, place)
			first := c.FirstWhen != nil && c.FirstWhen.Holds(p.m.k, p.m.book)
			if p.m.cleared(c.ID, place) || !p.m.canDo(c, place) || !first && (p.answered(c, place) || p.gain(finds) < p.m.book.LeastGain || p.gain(finds) == 0) {
				continue
			}
			p.addCheck(c, place, finds, first)
		}
	}
}

// canDo says whether a check can be done at a place as the pump stands: what
// it needs opened is there, nothing is open that it wants closed, no sign
// spoils it, and it turns nothing that must not turn.
func (m *model) canDo(c *rules.Check, at evidence.Place) bool {
	return !m.book.WantsClosed(c, at, m.k.Pump.Open) && c.FitsAt(at, m.k) && m.book.MayTurn(c, at, m.k) &&
		!slices.ContainsFunc(c.Openings, func(id string) bool { return !m.book.ExistsAt(id, at, m.k) })
}

// possible says whether a check exists on this pump and its state allows it.
func (p *planner) possible(c *rules.Check) bool {
	if !c.When.Holds(p.m.k, p.m.book) || p.shut && p.m.book.CheckTurns(c) {
		return false // what must come out before it turns may not be reached now
	}
	switch c.Pump {
	case rules.NeedsRunning:
		return p.running
	case rules.NeedsLive:
		return p.live
	case rules.NeedsNotIsolated:
		return p.m.k.Pump.State != evidence.Isolated && !p.lockNow
	case rules.NeedsIsolated:
		if p.shut {
			return false
		}
	}
	return true
}

// finds gives the causes of the list that a check exposes at a place.
func (p *planner) finds(c *rules.Check, place evidence.Place) []order.Find {
	return slices.DeleteFunc(p.findsAny(c, place), func(f order.Find) bool {
		return p.weight[f.Cause] <= 0 || c.Pump != rules.NeedsIsolated && p.inside[p.m.causes[f.Cause].cause.ID]
	})
}

// findsAny gives every cause that a check still exposes at a place, with what
// the case answers already taken off.
func (p *planner) findsAny(c *rules.Check, place evidence.Place) []order.Find {
	var out []order.Find
	if p.answered(c, place) {
		return nil
	}
	signs := p.m.signsOf(c, place)
	for _, f := range c.Finds {
		for i, in := range p.m.causes {
			if in.cause.ID != f.Cause || !in.place.Touches(place) {
				continue
			}
			sure := f.Sure
			if of, told := signs[i]; told {
				sure = stillSure(sure, of)
			}
			if sure > 0 {
				out = append(out, order.Find{Cause: i, Sure: sure})
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
	case p.m.k.Pump.State == evidence.Isolated:
		t.phase = underIsolation
	default:
		t.phase = beforeIsolation
		before = p.safetySteps(rules.ForStopping)
	}
	for _, id := range c.Safety {
		before = append(before, p.addSafety(p.m.book.Safety.Get(id))...)
	}
	for _, id := range c.Openings {
		before = append(before, p.addOpening(p.m.book.Openings.Get(id), place)...)
	}
	if c.Pump.UnderIsolation() && p.isolates(before) {
		t.phase = underIsolation // its guards lock the pump off: not before what needs power or open lines
	}
	i := p.add(taskKey{StepCheck, c.ID, place}, t, order.Step{Minutes: c.Minutes, Before: before, Finds: finds})
	p.watched[i], p.putOff[i] = watched, putOff
}

// isolates says whether one of these steps, or one before it, is of the
// isolation.
func (p *planner) isolates(steps []int) bool {
	seen := map[int]bool{}
	for queue := slices.Clone(steps); len(queue) > 0; queue = queue[1:] {
		i := queue[0]
		if s := p.tasks[i].safety; s != nil && s.For == rules.ForIsolation {
			return true
		}
		if !seen[i] {
			seen[i] = true
			queue = append(queue, p.steps[i].Before...)
		}
	}
	return false
}

// guards gives the safety steps of one purpose that still have to be done.
// Stopping guards nothing when the pump stands already.
func (p *planner) safetySteps(purpose rules.SafetyFor) []int {
	var out []int
	for _, s := range p.m.book.Safety.List {
		if s.For == purpose || purpose == rules.ForIsolation && s.For == rules.ForStopping {
			out = append(out, p.addSafety(s)...)
		}
	}
	return out
}

// addSafety gives the step of one safety rule. When the case says that it is
// done and the book does not want it seen again, it gives what comes before it, so
// that the chain does not break.
func (p *planner) addSafety(s *rules.Safety) []int {
	if _, known := p.m.book.BeforeTurning(p.m.k); s.Turns && !known {
		return nil // nothing turns; no check with such a guard is in the list
	}
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
	if s.Turns {
		before = append(before, p.addBeforeTurning()...)
	}
	return []int{p.add(key, task{safety: s, phase: phaseOf(s.For)}, order.Step{Minutes: s.On(p.m.k.Pump.State).Minutes, Before: before})}
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
		return p.m.k.Pump.State != evidence.Running
	case rules.ForIsolation:
		return p.m.k.Pump.State == evidence.Isolated && s.TakenOver == nil
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
	left, _ := p.m.book.BeforeTurning(p.m.k)
	for _, at := range left {
		out = append(out, p.addOpening(p.m.book.Openings.Get(at.ID), at.Place)...)
	}
	return out
}

// addOpening gives the step that opens something, or what is opened there in
// its place; none when it is open.
func (p *planner) addOpening(wanted *rules.Opening, at evidence.Place) []int {
	a := p.m.book.ToOpen(wanted.ID, at, p.m.k)
	place := a.At(at)
	if p.m.book.IsOpen(wanted.ID, place, p.m.k.Pump.Open) {
		return nil
	}
	key := taskKey{StepOpening, a.ID, place}
	if i, ok := p.index[key]; ok {
		return []int{i}
	}
	before := p.safetySteps(rules.ForIsolation)
	for _, id := range a.Safety {
		before = append(before, p.addSafety(p.m.book.Safety.Get(id))...)
	}
	for _, id := range a.Needs {
		before = append(before, p.addOpening(p.m.book.Openings.Get(id), place)...)
	}
	return []int{p.add(key, task{opening: a, phase: underIsolation}, order.Step{Minutes: a.Minutes, Before: before})}
}
