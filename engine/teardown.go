package engine

import (
	"slices"
	"sort"

	"telltale/engine/figures"
	"telltale/engine/noisyor"
	"telltale/engine/order"
	"telltale/evidence"
	"telltale/rules"
)

// PlanTeardown plans the teardown for the likely causes of the case, or for
// the causes that are named. The errors are those of Diagnose.
func PlanTeardown(book *rules.Book, k *evidence.Case, named []evidence.At) (*Teardown, error) {
	r, err := Diagnose(book, k)
	if err != nil || r.LeavePump {
		return noTeardown(r), err
	}
	_, withFindings, err := measure(book, k)
	if err != nil {
		return noTeardown(r), err
	}
	t := teardown{model: newModel(book, withFindings).saying(k), out: noTeardown(r)}
	t.out.Named, t.out.SpareFrom = len(named) > 0, book.Teardown.PartsFrom
	if t.w, err = t.weigh(&t.solver); err != nil {
		return t.out, err
	}
	t.aim(named)
	if err := t.plan(); err != nil {
		return noTeardown(r), err
	}
	return t.out, nil
}

// noTeardown is a report with an empty plan: its lists are empty, not null.
func noTeardown(r *Report) *Teardown {
	return &Teardown{
		Report: r, For: []TargetReport{}, Opens: []OpenReport{}, Told: []ToldReport{}, Tools: []string{}, RepairTools: []string{}, SiteSteps: []string{},
		Spares: []SpareReport{}, Consumed: []SpareReport{}, WhileOpen: []ExtraReport{}, Worn: []WornReport{}, Readings: []BlankReport{}, AskInstead: []AskReport{},
	}
}

// teardown holds the planning of one teardown.
type teardown struct {
	*model
	out      *Teardown
	solver   noisyor.Solver
	w        weighed
	targets  []int // named causes
	weight   []float64
	planner  *planner
	sequence []int
	miss     []float64 // by cause, the chance that the list misses it
	opened   []evidence.At
	reached  map[evidence.At][]evidence.At // what toReach gave, by part and place
}

// aim sets what the list is made for.
func (t *teardown) aim(named []evidence.At) {
	t.weight = t.behind(t.w)
	if len(named) == 0 {
		return
	}
	for _, at := range named {
		if i, ok := t.find(at.ID, at.Place); ok && !slices.Contains(t.targets, i) {
			t.targets = append(t.targets, i)
		}
	}
	t.weight = make([]float64, len(t.causes))
	for _, i := range t.targets {
		t.weight[i] = 1 / float64(len(t.targets))
	}
}

func (t *teardown) plan() error {
	stops := t.stops()
	t.planner, t.sequence = t.model.plan(t.weight, stops, t.inside())
	t.missed()
	t.opened = t.model.opened(t.planner.tasks, t.sequence)
	if t.out.Named {
		if err := t.relist(stops); err != nil {
			return err
		}
	}
	t.lookedFor()
	t.openings()
	t.times()
	t.siteSteps()
	t.told()
	t.readings()
	t.askInstead()
	t.whileOpen()
	t.worn()
	err := t.spares()
	t.tools()
	return err
}

// inside gives the named causes that a check behind the isolation exposes: who
// names a cause wants the pump opened for it.
func (t *teardown) inside() map[string]bool {
	out := map[string]bool{}
	for _, i := range t.targets {
		id := t.causes[i].cause.ID
		for _, c := range t.book.ChecksFor(id) {
			out[id] = out[id] || c.Pump == rules.NeedsIsolated && c.When.Holds(t.k, t.book)
		}
	}
	return out
}

// missed notes, by cause, the chance that the list misses it.
func (t *teardown) missed() {
	t.miss = make([]float64, len(t.causes))
	for i := range t.miss {
		t.miss[i] = 1
	}
	for _, i := range t.sequence {
		for _, f := range t.planner.steps[i].Finds {
			t.miss[f.Cause] *= 1 - f.Sure
		}
	}
}

// relist replaces the steps of the report by those for the named causes: found
// by here is then the share of the named causes that was exposed.
func (t *teardown) relist(stops []*rules.Stop) error {
	r := *t.out.Report
	r.Steps, r.RunAgain = []StepReport{}, nil
	left := append([]float64{}, t.weight...)
	clock, found := 0.0, 0.0
	for _, i := range t.sequence {
		clock += t.planner.steps[i].Minutes
		if check := t.planner.tasks[i].check; check != nil {
			for _, f := range t.planner.findsAny(check, t.planner.tasks[i].place) {
				left[f.Cause] *= 1 - f.Sure
			}
		}
		found = max(found, 1-total(left))
		step := t.step(t.planner.tasks[i], t.planner.steps, t.planner.tasks, i, t.weight, found)
		step.MinutesByHere = clock
		r.Steps = append(r.Steps, step)
	}
	for _, step := range t.returns(t.planner.tasks, t.sequence, found) {
		clock += step.Minutes
		step.MinutesByHere = clock
		r.Steps = append(r.Steps, step)
	}
	for i := range r.Steps {
		r.Steps[i].Number = i + 1
	}
	r.NotInSteps = 1 - found
	r.ExpectedMinutes = order.MeanTime(&order.Problem{Steps: t.planner.steps, Weight: t.weight}, t.sequence)
	if r.Order = nil; found > 0 {
		compared := t.planner.compare(t.sequence)
		r.Order = &compared
	}
	t.out.Report = &r
	return nil
}

func total(xs []float64) float64 {
	sum := 0.0
	for _, x := range xs {
		sum += x
	}
	return sum
}

// lookedFor lists the causes that the plan is made for.
func (t *teardown) lookedFor() {
	add := func(i int, chance float64) {
		in := t.causes[i]
		t.out.For = append(t.out.For, TargetReport{Cause: in.cause.ID, Place: in.place, Title: in.cause.Title, Chance: chance})
	}
	if t.out.Named {
		for _, i := range t.targets {
			add(i, t.w.Posterior[i])
		}
		return
	}
	var likely []int
	for i := range t.causes {
		if t.weight[i] >= t.book.LeastGain {
			likely = append(likely, i)
		}
	}
	sort.SliceStable(likely, func(a, b int) bool { return likelier(t.w.Posterior[likely[a]], t.w.Posterior[likely[b]]) })
	for _, i := range likely {
		add(i, t.w.Posterior[i])
	}
}

func (t *teardown) openings() {
	for _, at := range t.k.Pump.Open {
		t.out.Opens = append(t.out.Opens, t.openReport(at.ID, at.Place, 0))
	}
	for _, step := range t.out.Steps {
		if step.Kind == StepOpening {
			t.out.Opens = append(t.out.Opens, t.openReport(step.ID, step.Place, step.Number))
		}
	}
	t.out.Hands = 1
	for _, step := range t.out.Steps {
		t.out.Hands = max(t.out.Hands, t.handsOf(step))
	}
	for _, at := range t.opened {
		t.out.Hands = max(t.out.Hands, t.book.Openings.Get(at.ID).Hands)
	}
}

func (t *teardown) openReport(id string, at evidence.Place, step int) OpenReport {
	a := t.book.Openings.Get(id)
	out := OpenReport{ID: id, Place: at, Title: t.fill(a.Title), Step: step, Hands: a.Hands}
	if step > 0 {
		out.Minutes = a.Minutes
	}
	return out
}

// handsOf is how many people a step takes.
func (t *teardown) handsOf(step StepReport) int {
	switch step.Kind {
	case StepCheck:
		return t.book.Checks.Get(step.ID).Hands
	case StepSafety:
		return t.book.Safety.Get(step.ID).Hands
	case StepOpening:
		return t.book.Openings.Get(step.ID).Hands
	case StepReturn:
		if a := t.book.Openings.Get(step.ID); a != nil {
			return a.Hands
		}
	}
	return 1
}

func (t *teardown) times() {
	out := &t.out.Times
	out.ToCause = t.out.ExpectedMinutes
	for _, step := range t.out.Steps {
		switch step.Kind {
		case StepReturn:
			out.Closing += step.Minutes
		case StepCheck:
			out.Whole = step.MinutesByHere
		}
	}
	closing := out.Closing
	if first := t.firstCheck(); first >= 0 {
		out.Quickest, closing = t.out.Steps[first].MinutesByHere, 0
		for _, step := range t.returns(t.planner.tasks, t.sequence[:first+1], 0) {
			closing += step.Minutes // only of what is open by then
		}
	}
	out.Low = t.book.Teardown.MinutesLow * (out.Quickest + closing)
	out.High = t.book.Teardown.MinutesHigh * (out.Whole + out.Closing)
}

// firstCheck is where in the sequence the first check stands that needs the
// isolation, else the first one; -1 if there is none.
func (t *teardown) firstCheck() int {
	first := -1
	for n, i := range t.sequence {
		c := t.planner.tasks[i].check
		if c != nil && c.Pump == rules.NeedsIsolated {
			return n
		}
		if c != nil && first < 0 {
			first = n
		}
	}
	return first
}

// tools lists the tools of the steps and readings, and of what stands open
// already; then those that only the repair takes: to change the parts that are
// laid ready, and to open what these are behind.
func (t *teardown) tools() {
	var plan, repair []string
	for _, step := range t.out.Steps {
		plan = append(plan, step.Tools...)
	}
	for _, r := range t.out.Readings {
		plan = append(plan, t.fillAll(t.book.Checks.Get(r.Check).Tools)...)
	}
	for _, at := range t.k.Pump.Open {
		plan = append(plan, t.fillAll(t.book.Openings.Get(at.ID).Tools)...)
	}
	if t.out.Measured != nil {
		for _, c := range t.out.Measured.Centring {
			for _, p := range c.Procedures {
				plan = append(plan, p.Tools...)
			}
		}
	}
	for _, s := range append(slices.Clone(t.out.Spares), t.out.Consumed...) {
		repair = append(repair, t.fillAll(t.book.Parts.Get(s.Part).Tools)...)
		for _, o := range s.OpenBesides {
			repair = append(repair, t.fillAll(t.book.Openings.Get(o.ID).Tools)...)
		}
	}
	for _, w := range t.out.Worn {
		repair = append(repair, t.fillAll(t.book.Parts.Get(w.Part).Tools)...)
	}
	t.out.Tools = append(t.out.Tools, sorted(plan)...)
	repair = slices.DeleteFunc(repair, func(tool string) bool { return slices.Contains(t.out.Tools, tool) })
	t.out.RepairTools = append(t.out.RepairTools, sorted(repair)...)
}

// sorted gives each name once.
func sorted(names []string) []string {
	sort.Strings(names)
	return slices.Compact(names)
}

func (t *teardown) siteSteps() {
	for _, step := range t.out.Steps {
		if step.Kind != StepSafety {
			continue
		}
		if purpose := t.book.Safety.Get(step.ID).For; purpose == rules.ForStopping || purpose == rules.ForIsolation {
			t.out.SiteSteps = append(t.out.SiteSteps, step.ID)
		}
	}
}

// told lists who must be told: of an opening, or of a cause that is looked
// for.
func (t *teardown) told() {
	for _, who := range t.book.Told.List {
		always := len(who.Opened)+len(who.Causes) == 0
		if (always || anyOpened(t.opened, who.Opened) || t.looksFor(who.Causes)) && who.When.Holds(t.k, t.book) {
			t.out.Told = append(t.out.Told, ToldReport{Who: t.fill(who.Title), Of: t.fill(who.Of)})
		}
	}
}

func (t *teardown) looksFor(causes []string) bool {
	for _, f := range t.out.For {
		if slices.Contains(causes, f.Cause) {
			return true
		}
	}
	return false
}

// readings lists what is to be written down: at the checks, and at the steps
// back to service that repeat one.
func (t *teardown) readings() {
	for _, step := range t.out.Steps {
		back := t.book.Returns.Get(step.ID)
		switch {
		case step.Kind == StepCheck:
			t.reading(step.Number, t.book.Checks.Get(step.ID), step.Place, step.Title)
		case step.Kind == StepReturn && back != nil:
			for _, at := range t.opened {
				for _, id := range back.Repeats {
					if c := t.book.Checks.Get(id); slices.Contains(back.Opened, at.ID) {
						t.reading(step.Number, c, placeAt(c.Level, at.Place), step.Title+": "+t.fill(c.Title))
					}
				}
			}
		}
	}
}

// reading leaves room for the readings of one check, taken at a step.
func (t *teardown) reading(step int, c *rules.Check, at evidence.Place, title string) {
	for _, blank := range c.Read {
		b := BlankReport{Step: step, Check: c.ID, Place: at, Title: title, What: t.fill(blank.What), Limits: []string{}, Gauges: figures.Gauges(t.book.GaugesFor(c.ID))}
		for _, id := range blank.Limits {
			b.Limits = append(b.Limits, t.book.Limits.Get(id).Title+": "+t.fill("{"+id+"}"))
		}
		t.out.Readings = append(t.out.Readings, b)
	}
}

func (t *teardown) askInstead() {
	for _, r := range t.book.Referrals.List {
		if len(r.Opened) == 0 || anyOpened(t.opened, r.Opened) {
			t.out.AskInstead = append(t.out.AskInstead, AskReport{If: t.fill(r.Title), Ask: t.fill(r.Ask)})
		}
	}
}
