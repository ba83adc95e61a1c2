package engine

import (
	"errors"
	"slices"
	"sort"

	"telltale/engine/noisyor"
	"telltale/engine/order"
	"telltale/evidence"
	"telltale/rules"
)

// Teardown is a plan to open a pump once: everything of the Report, with its
// steps planned for the causes that are looked for, and what has to be at hand
// before the first bolt is loosened.
type Teardown struct {
	*Report
	// For are the causes that are looked for, likeliest first.
	For []TargetReport `json:"for"`
	// Named: the mechanic named the causes; their chances are then not the
	// ranking's but one for each.
	Named bool         `json:"named"`
	Opens []OpenReport `json:"opens"`
	Times TimesReport  `json:"times"`
	Hands int          `json:"hands"`
	Told  []ToldReport `json:"told"`
	Tools []string     `json:"tools"`
	// SiteSteps are the ids of the safety steps for which the site's own
	// isolation procedure has the words: those of the stop and the isolation.
	SiteSteps []string `json:"site_steps"`
	// Spares are the parts from the least chance on; the rest is not worth
	// carrying.
	Spares     []SpareReport `json:"spares"`
	SpareFrom  float64       `json:"spare_from"`
	Consumed   []SpareReport `json:"consumed"` // replaced whenever it was disturbed
	WhileOpen  []ExtraReport `json:"while_open"`
	Readings   []BlankReport `json:"readings"`
	AskInstead []AskReport   `json:"ask_instead"` // results that the crew does not settle itself
}

// TargetReport is a cause that is looked for.
type TargetReport struct {
	Cause string `json:"cause"`
	Where
	Title  string  `json:"title"`
	Chance float64 `json:"chance"`
}

// OpenReport is something that is opened, in the order of the list.
type OpenReport struct {
	ID string `json:"id"`
	Where
	Title   string  `json:"title"`
	Step    int     `json:"step"` // 0: it is open already
	Minutes float64 `json:"minutes"`
	Hands   int     `json:"hands"`
}

// TimesReport is the minutes of the plan. The repair itself is not in it.
type TimesReport struct {
	ToCause  float64 `json:"to_cause_mean"`      // if the list exposes it
	Quickest float64 `json:"to_first_check"`     // end of the first check behind the isolation, or of the first one
	Whole    float64 `json:"whole_list"`         // all checks
	Closing  float64 `json:"closing_and_return"` // closing up and back to service
	// Low and High are the whole job, found at the quickest (only what is open
	// by then is closed) and not found at all, with the rulebook's factors for
	// work that goes well or badly.
	Low  float64 `json:"job_low"`
	High float64 `json:"job_high"`
}

// ToldReport is somebody who must be told.
type ToldReport struct {
	Who string `json:"who"`
	Of  string `json:"of"`
}

// SpareReport is a part with the chance that it is needed.
type SpareReport struct {
	Part   string  `json:"part"`
	Title  string  `json:"title"`
	Chance float64 `json:"chance"`
	// AtMost: the chance is a bound, the sum over the causes.
	AtMost bool     `json:"at_most"`
	Places []string `json:"places"` // where, likeliest first
}

// ExtraReport is a check that the list does not need and that is worth doing
// while the place is open: Chance times ComeBack is more than Minutes.
type ExtraReport struct {
	Check string `json:"check"`
	Where
	Title    string   `json:"title"`
	Chance   float64  `json:"chance"`    // that it exposes a cause, by the ranking
	Minutes  float64  `json:"minutes"`   // now
	ComeBack float64  `json:"come_back"` // minutes of isolating, opening, closing and returning for it alone
	Looks    []string `json:"looks_for"`
}

// BlankReport is a reading to write down.
type BlankReport struct {
	Check string `json:"check"`
	Where
	Title  string   `json:"title"`
	What   string   `json:"what"`
	Limits []string `json:"limits"`
}

// AskReport is a result that the crew does not settle itself.
type AskReport struct {
	If  string `json:"if"`
	Ask string `json:"ask"`
}

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
	t := teardown{model: newModel(book, withFindings), out: noTeardown(r)}
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
		Report: r, For: []TargetReport{}, Opens: []OpenReport{}, Told: []ToldReport{}, Tools: []string{}, SiteSteps: []string{},
		Spares: []SpareReport{}, Consumed: []SpareReport{}, WhileOpen: []ExtraReport{}, Readings: []BlankReport{}, AskInstead: []AskReport{},
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
	t.tools()
	t.siteSteps()
	t.told()
	t.readings()
	t.askInstead()
	t.whileOpen()
	return t.spares()
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
		t.out.For = append(t.out.For, TargetReport{Cause: in.cause.ID, Where: where(in.place), Title: in.cause.Title, Chance: chance})
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
		t.out.Opens = append(t.out.Opens, t.openReport(at.ID, where(at.Place), 0))
	}
	for _, step := range t.out.Steps {
		if step.Kind == StepAccess {
			t.out.Opens = append(t.out.Opens, t.openReport(step.ID, step.Where, step.Number))
		}
	}
	t.out.Hands = 1
	for _, step := range t.out.Steps {
		t.out.Hands = max(t.out.Hands, t.handsOf(step))
	}
	for _, at := range t.opened {
		t.out.Hands = max(t.out.Hands, t.book.Access.Get(at.ID).Hands)
	}
}

func (t *teardown) openReport(id string, at Where, step int) OpenReport {
	a := t.book.Access.Get(id)
	out := OpenReport{ID: id, Where: at, Title: t.fill(a.Title), Step: step, Hands: a.Hands}
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
	case StepAccess:
		return t.book.Access.Get(step.ID).Hands
	case StepReturn:
		if a := t.book.Access.Get(step.ID); a != nil {
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

// tools lists the tools of the steps, and those that close what stands open
// already.
func (t *teardown) tools() {
	var all []string
	for _, step := range t.out.Steps {
		all = append(all, step.Tools...)
	}
	for _, at := range t.k.Pump.Open {
		all = append(all, t.fillAll(t.book.Access.Get(at.ID).Tools)...)
	}
	sort.Strings(all)
	t.out.Tools = append(t.out.Tools, slices.Compact(all)...)
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

func (t *teardown) readings() {
	for _, step := range t.out.Steps {
		if step.Kind != StepCheck {
			continue
		}
		for _, blank := range t.book.Checks.Get(step.ID).Read {
			b := BlankReport{Check: step.ID, Where: step.Where, Title: step.Title, What: t.fill(blank.What), Limits: []string{}}
			for _, id := range blank.Limits {
				b.Limits = append(b.Limits, t.book.Limits.Get(id).Title+": "+t.fill("{"+id+"}"))
			}
			t.out.Readings = append(t.out.Readings, b)
		}
	}
}

func (t *teardown) askInstead() {
	for _, r := range t.book.Referrals.List {
		if len(r.Opened) == 0 || anyOpened(t.opened, r.Opened) {
			t.out.AskInstead = append(t.out.AskInstead, AskReport{If: t.fill(r.Title), Ask: t.fill(r.Ask)})
		}
	}
}

// spares works out the chance of each part, and what is used up by opening.
func (t *teardown) spares() error {
	for _, part := range t.book.Parts.List {
		if uses := t.usedUp(part.ID); len(uses) > 0 {
			t.out.Consumed = append(t.out.Consumed, SpareReport{Part: part.ID, Title: part.Title, Chance: 1, Places: uses})
			continue
		}
		spare, err := t.spare(part)
		if err != nil {
			return err
		}
		if spare.Chance >= t.out.SpareFrom {
			t.out.Spares = append(t.out.Spares, spare)
		}
	}
	sort.SliceStable(t.out.Spares, func(a, b int) bool { return t.out.Spares[a].Chance > t.out.Spares[b].Chance })
	return nil
}

// usedUp says at which places the opening uses a part up.
func (t *teardown) usedUp(part string) []string {
	var out []string
	for _, at := range t.opened {
		if slices.Contains(t.book.Access.Get(at.ID).Uses, part) {
			out = append(out, at.Place.String())
		}
	}
	sort.Strings(out)
	return out
}

// taking is a cause that may take a part.
type taking struct {
	cause  int
	chance float64
}

func (t *teardown) spare(part *rules.Part) (SpareReport, error) {
	var takers []taking
	for i, in := range t.causes {
		for _, need := range in.cause.Parts {
			counts := in.prior > 0
			if t.out.Named {
				counts = slices.Contains(t.targets, i)
			}
			if need.Part == part.ID && counts {
				takers = append(takers, taking{i, need.Chance})
			}
		}
	}
	out := SpareReport{Part: part.ID, Title: part.Title, Places: t.placesOf(part, takers)}
	if t.out.Named { // the named causes are taken to be there
		none := 1.0
		for _, x := range takers {
			none *= 1 - x.chance
		}
		out.Chance = 1 - none
		return out, nil
	}
	var err error
	out.Chance, out.AtMost, err = t.union(takers)
	return out, err
}

// placesOf names the places where a part may be needed, the likeliest first,
// those that matter; none for a part of the whole pump.
func (t *teardown) placesOf(part *rules.Part, takers []taking) []string {
	chance := map[evidence.Place]float64{}
	for _, x := range takers {
		chance[placeAt(part.Level, t.causes[x.cause].place)] += x.chance * t.w.Posterior[x.cause]
	}
	var places []evidence.Place
	for _, level := range []evidence.Level{evidence.OfPump, evidence.OfCylinder, evidence.OfChamber} {
		for _, p := range t.k.Pump.Places(level) {
			if chance[p] > 0 && !slices.Contains(places, p) {
				places = append(places, p)
			}
		}
	}
	sort.SliceStable(places, func(a, b int) bool { return likelier(chance[places[a]], chance[places[b]]) })
	out := []string{}
	for _, p := range places {
		if p != (evidence.Place{}) && chance[p] >= chance[places[0]]/4 {
			out = append(out, p.String())
		}
	}
	return out
}

// union is the exact chance that one cause at least takes the part; where that
// is too wide to compute, the sum of the chances, which it cannot exceed.
func (t *teardown) union(takers []taking) (chance float64, bound bool, err error) {
	if len(takers) == 0 {
		return 0, false, nil
	}
	o := noisyor.Observation{Background: noisyor.Yield{Yes: 0, No: 1}}
	sum := 0.0
	for _, x := range takers {
		o.Links = append(o.Links, noisyor.Link{Cause: x.cause, Yield: noisyor.Yield{Yes: x.chance, No: 1 - x.chance}})
		sum += x.chance * t.w.Posterior[x.cause]
	}
	p := t.problem(-1)
	p.Present = append(p.Present, o)
	z, err := t.solver.Evidence(p)
	var wide *noisyor.TooWideError
	switch {
	case errors.As(err, &wide):
		return min(1, sum), true, nil
	case errors.Is(err, noisyor.ErrImpossible):
		return 0, false, nil
	case err != nil:
		return 0, false, err
	}
	return min(1, z/t.w.Evidence), false, nil
}
