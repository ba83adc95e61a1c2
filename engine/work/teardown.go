package work

import (
	"slices"
	"sort"

	"telltale/engine/chances"
	"telltale/engine/figures"
	"telltale/engine/order"
	"telltale/evidence"
	"telltale/rules"
)

// NoTeardown is an empty plan: its lists are empty, not null.
func NoTeardown() *Teardown {
	return &Teardown{
		For: []Target{}, Opens: []Open{}, Told: []Told{}, Tools: []string{}, RepairTools: []string{}, SiteSteps: []string{},
		Spares: []Spare{}, Consumed: []Spare{}, WhileOpen: []Extra{}, Worn: []Worn{}, Readings: []Blank{}, AskInstead: []Referral{},
	}
}

// teardown holds the planning of one teardown.
type teardown struct {
	*chances.Weighed
	*planner
	given   *chances.Weighed // with what is named taken for there
	out     *Teardown
	list    *List
	named   []int           // causes, by number
	roots   map[int]float64 // what may have brought on what is looked for, with the greatest of its shares
	opened  []evidence.At
	reached map[evidence.At][]evidence.At // what toReach gave, by part and place
}

// OpenOnce plans to open the pump once, with the list of the case, or with one
// for the causes that are named; nil if none of these can be on the pump. It
// gives the list that it goes by.
func OpenOnce(list *List, named []evidence.At) (*Teardown, *List, error) {
	t := teardown{Weighed: list.w, given: list.w, out: NoTeardown(), list: list, roots: map[int]float64{}, reached: map[evidence.At][]evidence.At{}}
	t.out.Named, t.out.SpareFrom = len(named) > 0, t.Book.Teardown.PartsFrom
	if t.out.Named {
		if err := t.aimAtNamed(named); err != nil {
			return nil, nil, err
		}
	}
	t.planner = t.list.planner
	t.opened = t.opensBy(t.list.sequence)
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
	return t.out, t.list, err
}

// aimAtNamed makes a list for the causes that are named, each as likely as the
// others: found by here is then the share of them that was exposed. Who names a
// cause wants the pump opened for it: where a check behind the isolation exposes
// it, only such checks count for it. What may have brought a named cause on is
// looked for with its share, given that what is named is there.
func (t *teardown) aimAtNamed(named []evidence.At) error {
	for _, at := range named {
		if i, ok := t.Find(at.ID, at.Place); ok && !slices.Contains(t.named, i) {
			t.named = append(t.named, i)
		}
	}
	if given, err := t.Taking(t.named...); err == nil { // else the findings speak against it: no root is told
		t.given = given
	}
	share, inside := make([]float64, len(t.Causes)), map[string]bool{}
	for _, i := range t.named {
		share[i] = 1 / float64(len(t.named))
		id := t.Causes[i].Cause.ID
		for _, c := range t.Book.ChecksFor(id) {
			inside[id] = inside[id] || c.Pump == rules.NeedsIsolated && c.When.Holds(t.Case, t.Book)
		}
	}
	weight := slices.Clone(share)
	t.findRoots(t.named)
	for i, of := range t.roots {
		weight[i] = max(weight[i], of/float64(len(t.named)))
	}
	p, sequence := plan(t.Model, aim{weight: weight, root: t.given.AsRoots(), inside: inside, keptOut: t.keptOutBy(named)})
	t.list = &List{w: t.Weighed, planner: p, sequence: sequence, miss: p.misses(sequence)}
	finds := func(i int) []order.Find { return Exposes(p.m, p.tasks[i].check, p.tasks[i].place) }
	if _, err := t.list.tell(finds, t.foundNamed(share), make([]float64, len(t.Causes))); err != nil {
		return err
	}
	given := *t.list
	given.w = t.given
	t.list.NotLooked = given.notLooked()
	return nil
}

// keptOutBy says whether a stop condition keeps the pump out of service once what
// is named is proved.
func (t *teardown) keptOutBy(named []evidence.At) bool {
	proved := *t.Case
	proved.Confirmed = slices.Concat(proved.Confirmed, named)
	return chances.Bare(t.Book, &proved).OutOfService()
}

// foundNamed goes by the share of the named causes that was exposed, and for what
// brought them on by the chance that a root of theirs is there, given that they are.
func (t *teardown) foundNamed(share []float64) foundBy {
	return func(miss []float64, before found) (found, error) {
		out := before
		any, failure := 0.0, 0.0
		for i, of := range share {
			any += of * (1 - miss[i])
			if t.Causes[i].Cause.Role != rules.Root {
				failure += of * (1 - miss[i])
			}
		}
		out.any, out.failure = max(before.any, any), max(before.failure, failure)
		var err error
		out.root, err = t.given.FoundBy(onlyOf(miss, func(i int) bool { return t.roots[i] > 0 }), before.root)
		return out, err
	}
}

// findRoots notes what may have brought some causes on, of those that are open.
func (t *teardown) findRoots(of []int) {
	for _, i := range of {
		for _, r := range t.given.RootsOf(i) {
			if root, ok := t.Find(r.Cause, r.Place); ok && !t.Confirmed(root) && !t.RuledOut(root) {
				t.roots[root] = max(t.roots[root], r.Probability)
			}
		}
	}
}

// Teardown is what a plan to open a pump once has besides the list of its
// steps: what has to be at hand before the first bolt is loosened.
type Teardown struct {
	// For are the causes that are looked for, likeliest first.
	For []Target `json:"for"`
	// Named: the mechanic named the causes; their chances are then not the
	// ranking's but one for each.
	Named bool     `json:"named"`
	Opens []Open   `json:"opens"`
	Times Times    `json:"times"`
	Hands int      `json:"hands"`
	Told  []Told   `json:"told"`
	Tools []string `json:"tools"`
	// RepairTools are those that only the repair takes.
	RepairTools []string `json:"repair_tools"`
	// SiteSteps are the ids of the safety steps for which the site's own
	// isolation procedure has the words: those of the stop and the isolation.
	SiteSteps []string `json:"site_steps"`
	// Spares are the parts from the least chance on; the rest is not worth
	// carrying.
	Spares     []Spare    `json:"spares"`
	SpareFrom  float64    `json:"spare_from"`
	Consumed   []Spare    `json:"consumed"` // replaced whenever it was disturbed
	WhileOpen  []Extra    `json:"while_open"`
	Worn       []Worn     `json:"worn"` // parts past their life that are in reach
	Readings   []Blank    `json:"readings"`
	AskInstead []Referral `json:"ask_instead"` // results that the crew does not settle itself
}

// Target is a cause that is looked for.
type Target struct {
	Cause string `json:"cause"`
	evidence.Place
	Title  string  `json:"title"`
	Chance float64 `json:"chance"`
	// Role is failure or root, and BroughtOnBy its likely roots, of a named cause
	// given that it is there.
	Role        string         `json:"role"`
	BroughtOnBy []chances.Root `json:"brought_on_by"`
}

// Open is something that is opened, in the order of the list.
type Open struct {
	ID string `json:"id"`
	evidence.Place
	Title   string  `json:"title"`
	Step    int     `json:"step"` // 0: it is open already
	Minutes float64 `json:"minutes"`
	Hands   int     `json:"hands"`
}

// Times is the minutes of the plan. The repair itself is not in it.
type Times struct {
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

// Told is somebody who must be told.
type Told struct {
	Who string `json:"who"`
	Of  string `json:"of"`
}

// Spare is a part with the chance that it is needed.
type Spare struct {
	Part   string           `json:"part"`
	Title  string           `json:"title"`
	Chance float64          `json:"chance"` // that a cause which is proved, named or behind a finding takes it
	Places []evidence.Place `json:"places"` // where, likeliest first
	// OpenBesides is what the plan does not open and must be opened to fit it.
	OpenBesides []Besides `json:"open_besides"`
}

// Besides is something that the plan does not open and a part needs
// open.
type Besides struct {
	ID string `json:"id"`
	evidence.Place
	Title   string  `json:"title"`
	Minutes float64 `json:"minutes"` // to open it and to close it
	Hands   int     `json:"hands"`
}

// Worn is a part past its life by the record that the plan's openings
// already get at.
type Worn struct {
	Part string `json:"part"`
	evidence.Place
	Title string  `json:"title"`
	Hours float64 `json:"hours"` // that it has run
	Life  float64 `json:"life"`  // hours that it is good for
	By    string  `json:"by"`    // expected-life; median: half of them have failed by then, by the record
}

// Extra is a check that the list does not need and for which nothing
// more is opened.
type Extra struct {
	Check string `json:"check"`
	evidence.Place
	Title    string  `json:"title"`
	Chance   float64 `json:"chance"`    // that it exposes a cause, by the ranking; a root of what is named, given that this is there
	Minutes  float64 `json:"minutes"`   // now
	ComeBack float64 `json:"come_back"` // minutes of isolating, opening, closing and returning for it alone
	// Pays: Chance times ComeBack is more than Minutes.
	Pays bool `json:"pays"`
	// Root: it looks at a likely root of what is looked for.
	Root  bool     `json:"root"`
	Looks []string `json:"looks_for"`
}

// Blank is a reading to write down.
type Blank struct {
	Step  int    `json:"step"` // the step at which it is taken
	Check string `json:"check"`
	evidence.Place
	Title  string   `json:"title"`
	What   string   `json:"what"`
	Limits []string `json:"limits"`
	// Gauges are what the reading can be taken with.
	Gauges []figures.Gauge `json:"gauges"`
}

// Referral is a result that the crew does not settle itself.
type Referral struct {
	If  string `json:"if"`
	Ask string `json:"ask"`
}

// lookedFor lists the causes that the plan is made for.
func (t *teardown) lookedFor() {
	of := t.named
	if !t.out.Named {
		for i := range t.Causes {
			if t.weight[i] >= t.Book.LeastGain {
				of = append(of, i)
			}
		}
		sort.SliceStable(of, func(a, b int) bool { return chances.Likelier(t.Posterior[of[a]], t.Posterior[of[b]]) })
	}
	for _, i := range of {
		in := t.Causes[i]
		t.out.For = append(t.out.For, Target{
			Cause: in.Cause.ID, Place: in.Place, Title: in.Cause.Title, Chance: t.Posterior[i], Role: string(in.Cause.Role), BroughtOnBy: t.given.RootsOf(i),
		})
	}
	if !t.out.Named {
		for i := range t.Causes {
			if t.Confirmed(i) {
				of = append(of, i)
			}
		}
		t.findRoots(of)
	}
}

func (t *teardown) openings() {
	for _, at := range t.Case.Pump.Open {
		t.out.Opens = append(t.out.Opens, t.openReport(at.ID, at.Place, 0))
	}
	for _, step := range t.list.Steps {
		if step.Kind == StepOpening {
			t.out.Opens = append(t.out.Opens, t.openReport(step.ID, step.Place, step.Number))
		}
	}
	t.out.Hands = 1
	for _, step := range t.list.Steps {
		t.out.Hands = max(t.out.Hands, t.handsOf(step))
	}
	for _, at := range t.opened {
		t.out.Hands = max(t.out.Hands, t.Book.Openings.Get(at.ID).Hands)
	}
}

func (t *teardown) openReport(id string, at evidence.Place, step int) Open {
	a := t.Book.Openings.Get(id)
	out := Open{ID: id, Place: at, Title: t.Fill(a.Title), Step: step, Hands: a.Hands}
	if step > 0 {
		out.Minutes = a.Minutes
	}
	return out
}

// handsOf is how many people a step takes.
func (t *teardown) handsOf(step Step) int {
	switch step.Kind {
	case StepCheck:
		return t.Book.Checks.Get(step.ID).Hands
	case StepSafety:
		return t.Book.Safety.Get(step.ID).Hands
	case StepOpening:
		return t.Book.Openings.Get(step.ID).Hands
	case StepReturn:
		if a := t.Book.Openings.Get(step.ID); a != nil {
			return a.Hands
		}
	}
	return 1
}

func (t *teardown) times() {
	out := &t.out.Times
	out.ToCause = t.list.ExpectedMinutes
	for _, step := range t.list.Steps {
		switch step.Kind {
		case StepReturn:
			out.Closing += step.Minutes
		case StepCheck:
			out.Whole = step.MinutesByHere
		}
	}
	closing := out.Closing
	if first := t.firstCheck(); first >= 0 {
		out.Quickest, closing = t.list.Steps[first].MinutesByHere, 0
		for _, step := range t.returns(t.list.sequence[:first+1], found{}) {
			closing += step.Minutes // only of what is open by then
		}
	}
	out.Low = t.Book.Teardown.MinutesLow * (out.Quickest + closing)
	out.High = t.Book.Teardown.MinutesHigh * (out.Whole + out.Closing)
}

// firstCheck is where in the sequence the first check stands that needs the
// isolation, else the first one; -1 if there is none.
func (t *teardown) firstCheck() int {
	first := -1
	for n, i := range t.list.sequence {
		c := t.tasks[i].check
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
	for _, step := range t.list.Steps {
		plan = append(plan, step.Tools...)
	}
	for _, r := range t.out.Readings {
		plan = append(plan, t.FillAll(t.Book.Checks.Get(r.Check).Tools)...)
	}
	for _, at := range t.Case.Pump.Open {
		plan = append(plan, t.FillAll(t.Book.Openings.Get(at.ID).Tools)...)
	}
	if t.Measured != nil {
		for _, c := range t.Measured.Centring {
			for _, p := range c.Procedures {
				plan = append(plan, p.Tools...)
			}
		}
	}
	for _, s := range append(slices.Clone(t.out.Spares), t.out.Consumed...) {
		repair = append(repair, t.FillAll(t.Book.Parts.Get(s.Part).Tools)...)
		for _, o := range s.OpenBesides {
			repair = append(repair, t.FillAll(t.Book.Openings.Get(o.ID).Tools)...)
		}
	}
	for _, w := range t.out.Worn {
		repair = append(repair, t.FillAll(t.Book.Parts.Get(w.Part).Tools)...)
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
	for _, step := range t.list.Steps {
		if step.Kind != StepSafety {
			continue
		}
		if purpose := t.Book.Safety.Get(step.ID).For; purpose == rules.ForStopping || purpose == rules.ForIsolation {
			t.out.SiteSteps = append(t.out.SiteSteps, step.ID)
		}
	}
}

// told lists who must be told: of an opening, or of a cause that is looked
// for.
func (t *teardown) told() {
	for _, who := range t.Book.Told.List {
		always := len(who.Opened)+len(who.Causes) == 0
		if (always || anyOpened(t.opened, who.Opened) || t.looksFor(who.Causes)) && who.When.Holds(t.Case, t.Book) {
			t.out.Told = append(t.out.Told, Told{Who: t.Fill(who.Title), Of: t.Fill(who.Of)})
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
	for _, step := range t.list.Steps {
		back := t.Book.Returns.Get(step.ID)
		switch {
		case step.Kind == StepCheck:
			t.reading(step.Number, t.Book.Checks.Get(step.ID), step.Place, step.Title)
		case step.Kind == StepReturn && back != nil:
			for _, at := range t.opened {
				for _, id := range back.Repeats {
					if c := t.Book.Checks.Get(id); slices.Contains(back.Opened, at.ID) {
						t.reading(step.Number, c, c.Level.Of(at.Place), step.Title+": "+t.Fill(c.Title))
					}
				}
			}
		}
	}
}

// reading leaves room for the readings of one check, taken at a step.
func (t *teardown) reading(step int, c *rules.Check, at evidence.Place, title string) {
	for _, blank := range c.Read {
		b := Blank{Step: step, Check: c.ID, Place: at, Title: title, What: t.Fill(blank.What), Limits: []string{}, Gauges: figures.Gauges(t.Book.GaugesFor(c.ID))}
		for _, id := range blank.Limits {
			b.Limits = append(b.Limits, t.Book.Limits.Get(id).Title+": "+t.Fill("{"+id+"}"))
		}
		t.out.Readings = append(t.out.Readings, b)
	}
}

func (t *teardown) askInstead() {
	for _, r := range t.Book.Referrals.List {
		if len(r.Opened) == 0 || anyOpened(t.opened, r.Opened) {
			t.out.AskInstead = append(t.out.AskInstead, Referral{If: t.Fill(r.Title), Ask: t.Fill(r.Ask)})
		}
	}
}
