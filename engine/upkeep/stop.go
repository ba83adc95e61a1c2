package upkeep

import (
	"cmp"
	"path/filepath"
	"slices"

	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/evidence/rig"
	"telltale/rules"
)

// What a stop is for besides what falls due by the hours.
const (
	DueRepair DueKind = "repair"     // a proved cause of an open job
	DueFind   DueKind = "first-look" // the first check of an open job without a proved cause
)

// Stop is what one crew does on the pumps of a rig in one planned stop. Minutes are the
// rulebook's, judged.
//
// The tasks are chosen one after the other: what an open job cannot leave for longer, then
// what is overdue, then what falls due within the hours ahead. Among the first two it is
// the one that takes the fewest minutes more, so that as many as can be are done; among the
// last the one that spares the most hours of standing overdue a minute. What the next one
// would be does not hang on the hours of the stop, and the choice ends at the first that
// does not fit: more hours never drop what fitted. What still goes into the hours that are
// left (Fills) may give way to something greater in more hours.
type Stop struct {
	Dir     string      `json:"rig"`
	Day     string      `json:"day"`
	Hours   float64     `json:"hours"`
	Ahead   float64     `json:"hours_ahead"` // what falls due within these is looked at
	Minutes float64     `json:"minutes"`     // that the plan takes
	Pumps   []PumpStop  `json:"pumps"`       // the worst first
	Tools   []string    `json:"tools"`
	Parts   []StopPart  `json:"parts"`
	NotNow  []Task      `json:"does_not_fit"` // what must be done first, then by when it is due
	Cannot  []Task      `json:"cannot"`       // as the pump stands, with why
	Arrange []Task      `json:"to_arrange"`   // due, but no work of the crew that the rulebook has minutes for
	Missing []PumpWants `json:"missing"`
	Unread  []Unread    `json:"unread"`
}

// PumpWants is what is missing to tell what is due on a pump.
type PumpWants struct {
	Title string   `json:"title"`
	Wants []string `json:"wants"`
}

// PumpStop is what is done on one pump.
type PumpStop struct {
	Pump    string         `json:"pump"`
	Title   string         `json:"title"`
	File    string         `json:"file"`
	State   string         `json:"state"`
	Open    []Named        `json:"open"` // already
	Stops   []chances.Stop `json:"stop"` // the stop conditions that hold: before everything
	Minutes float64        `json:"minutes"`
	Tasks   []Task         `json:"tasks"` // in the order in which they were chosen
	Steps   []StopStep     `json:"steps"`
}

// Task is one thing that is due, with what it takes.
type Task struct {
	Pump string `json:"pump"`
	Due
	Must    bool    `json:"must"`
	Wait    string  `json:"wait,omitempty"`         // of an open job: how long it can wait
	Minutes float64 `json:"minutes_more,omitempty"` // that the stop takes with it, beside what is done already
	Fills   bool    `json:"fills"`                  // goes into the hours that are left
	Why     string  `json:"why,omitempty"`          // why it cannot be done

	wanted []work.Wanted
	parts  []StopPart
	tier   int
}

// StopPart is a part that is to be at hand.
type StopPart struct {
	Part   string           `json:"part"`
	Title  string           `json:"title"`
	Pump   string           `json:"pump"`
	Chance float64          `json:"chance"` // that it is needed
	Places []evidence.Place `json:"places"`
}

// StopStep is one step of the stop.
type StopStep struct {
	Number  int            `json:"number"` // on this pump
	Kind    string         `json:"kind"`   // safety, opening, check, due, return
	ID      string         `json:"id"`
	Place   evidence.Place `json:"place"`
	Title   string         `json:"title"`
	Do      string         `json:"do"`
	Signal  string         `json:"signal,omitempty"`
	Needs   []string       `json:"needs"` // ids of the safety and opening steps before it
	Tools   []string       `json:"tools"`
	Minutes float64        `json:"minutes"`
}

// pumpStop is the planning of one pump.
type pumpStop struct {
	report  *Report
	model   *chances.Model
	plan    work.PlannedStop
	tasks   []Task
	chosen  []int
	minutes float64
	solo    error // why nothing can be planned on it
}

// MostStop is the longest stop that is planned, in hours.
const MostStop = 1000

// OfStop plans a stop of so many hours for all pumps of a rig.
func OfStop(book *rules.Book, r *rig.Rig, o Options, hours float64) (*Stop, error) {
	o.Brief = false
	known, err := OfRig(book, r, o)
	if err != nil {
		return nil, err
	}
	out := &Stop{
		Dir: r.Dir, Day: known.Day, Hours: hours, Ahead: book.Due.Ahead.In("h"), Pumps: []PumpStop{}, Tools: []string{}, Parts: []StopPart{},
		NotNow: []Task{}, Cannot: []Task{}, Arrange: []Task{}, Missing: []PumpWants{}, Unread: known.Unread,
	}
	var pumps []*pumpStop
	for _, report := range known.Pumps {
		pumps = append(pumps, out.pump(report))
		if len(report.Missing) > 0 {
			out.Missing = append(out.Missing, PumpWants{report.Title, report.Missing})
		}
	}
	out.choose(pumps, false)
	out.choose(pumps, true)
	for _, p := range pumps {
		out.tell(p)
	}
	slices.Sort(out.Tools)
	out.Tools = slices.Compact(out.Tools)
	slices.SortStableFunc(out.NotNow, func(a, b Task) int { return cmp.Or(cmp.Compare(a.tier, b.tier), cmp.Compare(a.order(), b.order())) })
	return out, nil
}

// pump gathers what is due on one pump, and sorts out what cannot be done on it.
func (s *Stop) pump(r *Report) *pumpStop {
	p := &pumpStop{report: r}
	k := r.standing()
	var err error
	if p.model, err = chances.Lay(r.book, k); err != nil {
		p.solo = err
	}
	p.plan = work.InStop(p.model)
	for _, task := range r.tasks() {
		switch _, can := p.plan.Minutes(task.wanted); {
		case len(task.wanted) == 0:
			s.Arrange = append(s.Arrange, task)
		case p.model.LeavePump():
			task.Why = "a stop condition sends everybody away from this pump"
			s.Cannot = append(s.Cannot, task)
		case p.solo != nil:
			task.Why = "what the job says cannot be used: " + p.solo.Error()
			s.Cannot = append(s.Cannot, task)
		case !can:
			task.Why = "not as the pump stands: a stop condition forbids it, or what is open or found there is in its way"
			s.Cannot = append(s.Cannot, task)
		default:
			p.tasks = append(p.tasks, task)
		}
	}
	return p
}

// standing is the case by which the pump stands: the open job that stops it, else that
// with something open or isolated, else the youngest; without any, the pump that runs.
func (r *Report) standing() *evidence.Case {
	var best *evidence.Case
	weight := func(k *evidence.Case) int {
		i := slices.IndexFunc(r.Open, func(j OpenJob) bool { return j.File == k.File })
		switch {
		case i >= 0 && len(r.Open[i].Stops) > 0:
			return 3
		case len(k.Pump.Open) > 0:
			return 2
		case k.Pump.State == evidence.Isolated:
			return 1
		}
		return 0
	}
	for _, k := range slices.Backward(r.pump.Jobs) {
		if !k.Job.IsClosed() && (best == nil || weight(k) > weight(best)) {
			best = k
		}
	}
	if best == nil {
		return r.current()
	}
	return best
}

// tasks are what is due before the stop after next: what the open jobs want, what is
// overdue, and what falls due within the hours ahead.
func (r *Report) tasks() []Task {
	var out []Task
	for _, k := range slices.Backward(r.pump.Jobs) {
		if !k.Job.IsClosed() {
			out = append(out, r.ofJob(k)...)
		}
	}
	for _, d := range r.Due {
		if !d.Overdue && !d.Soon(r) {
			continue
		}
		t := Task{Pump: r.Title, Due: d, Must: d.Overdue, tier: 2}
		if t.Must {
			t.tier = 1
		}
		r.takes(&t)
		repaired := d.Kind == DuePart && slices.ContainsFunc(out, func(o Task) bool {
			return slices.ContainsFunc(o.parts, func(p StopPart) bool {
				return p.Part == d.ID && p.Chance >= likelyTaken && slices.ContainsFunc(p.Places, d.Place.Touches)
			})
		})
		if !repaired {
			out = append(out, t)
		}
	}
	return out
}

// likelyTaken is the chance from which the minutes of a part count for a repair.
const likelyTaken = 0.5

// ofJob is what an open job wants: the repair of what it proved, else its first check,
// and the first that the stop is wanted for.
func (r *Report) ofJob(k *evidence.Case) []Task {
	i := slices.IndexFunc(r.Open, func(j OpenJob) bool { return j.File == k.File })
	job := r.Open[i]
	task := func(kind DueKind, id, title, do string, place evidence.Place) Task {
		t := Task{Pump: r.Title, Wait: job.Wait, Must: job.Wait != string(rules.Watch), Due: Due{
			Kind: kind, ID: id, Title: title, Place: place, Do: r.book.Fill(k, do), Because: "open job " + filepath.Base(k.File),
		}}
		if !t.Must {
			t.tier = 2
		}
		return t
	}
	var out []Task
	for _, at := range k.Confirmed {
		if slices.ContainsFunc(k.Corrected, func(c evidence.At) bool { return c.ID == at.ID && c.Place == at.Place }) {
			continue
		}
		c := r.book.Causes.Get(at.ID)
		t := task(DueRepair, c.ID, "Correct: "+c.Title, c.Repair, at.Place)
		r.takesRepair(&t, c)
		out = append(out, t)
	}
	if len(k.Confirmed) > 0 {
		return out
	}
	m, err := chances.Lay(r.book, k)
	if err != nil || m.LeavePump() {
		return out
	}
	w, err := m.Solve()
	if err != nil {
		return out
	}
	steps, err := work.Next(w)
	if err != nil {
		return out
	}
	var looks []work.Wanted
	for _, step := range steps {
		c := r.book.Checks.Get(step.ID)
		if step.Kind != work.StepCheck || len(looks) > 0 && c.Pump != rules.NeedsIsolated {
			continue
		}
		looks = append(looks, work.Wanted{Check: c, Place: step.Place})
		if c.Pump == rules.NeedsIsolated {
			break
		}
	}
	if len(looks) > 0 {
		last := looks[len(looks)-1]
		t := task(DueFind, last.Check.ID, last.Check.Title, last.Check.Do, last.Place)
		t.wanted = looks
		out = append(out, t)
	}
	return out
}

// takes says what something that is due takes, by the rulebook; nothing where that has no
// minutes for it.
func (r *Report) takes(t *Task) {
	add := func(c *rules.Check) { t.wanted = append(t.wanted, work.Wanted{Check: c, Place: t.Place, Due: true}) }
	read := func() {
		if c := r.book.Checks.Get(r.book.Trends.Get(t.ID).Check); c != nil {
			t.wanted = append(t.wanted, work.Wanted{Check: c, Place: t.Place})
		}
	}
	switch t.Kind {
	case DueLook:
		add(&rules.Check{Entry: rules.Entry{ID: "look-again-" + t.ID, Title: t.Title}, Pump: rules.NeedsNothing, Minutes: r.book.Due.LookMinutes, Do: t.Do})
	case DueAfter:
		u := r.book.Upkeep.Get(t.ID)
		add(&rules.Check{
			Entry: rules.Entry{ID: u.ID, Title: u.Title, FromLocal: u.FromLocal}, Level: u.Level, Pump: u.Pump,
			Openings: u.Openings, Safety: u.Safety, Minutes: u.Minutes, Tools: u.Tools, Do: u.Do,
		})
	case DueRead, DueRoom:
		read()
	case DueLimit:
		read()
		r.takesPart(t, r.book.Parts.Get(r.book.Trends.Get(t.ID).AtLimit))
	case DuePart:
		r.takesPart(t, r.book.Parts.Get(t.ID))
	}
}

// takesPart adds the change of a part; without minutes in the rulebook it is for the shop.
func (r *Report) takesPart(t *Task, part *rules.Part) {
	if part == nil || part.Minutes == 0 {
		return
	}
	t.wanted = append(t.wanted, work.Wanted{Place: t.Place, Due: true, Check: &rules.Check{
		Entry: rules.Entry{ID: "change-" + part.ID, Title: "Change: " + part.Title, FromLocal: part.FromLocal}, Level: part.Level,
		Pump: rules.NeedsIsolated, Openings: part.ReachedBy, Minutes: part.Minutes, Tools: part.Tools, Do: t.Do,
	}})
	t.parts = append(t.parts, StopPart{part.ID, part.Title, r.Title, 1, []evidence.Place{t.Place}})
}

// takesRepair is what the repair of a cause takes: the parts that it likely takes, and
// what must be open for them.
func (r *Report) takesRepair(t *Task, c *rules.Cause) {
	repair := rules.Check{
		Entry: rules.Entry{ID: "correct-" + c.ID, Title: t.Title, FromLocal: c.FromLocal}, Level: c.Level,
		Pump: rules.NeedsIsolated, Safety: c.Safety, Do: t.Do,
	}
	for n, need := range c.Parts {
		part := r.book.Parts.Get(need.Part)
		if !part.When.HoldsForPump(&r.pump.Pump) || need.Chance < r.book.Teardown.PartsFrom {
			continue
		}
		t.parts = append(t.parts, StopPart{part.ID, part.Title, r.Title, need.Chance, []evidence.Place{t.Place}})
		if n == 0 || need.Chance >= likelyTaken {
			repair.Minutes += part.Minutes
			repair.Openings = append(repair.Openings, part.ReachedBy...)
			repair.Tools = append(repair.Tools, part.Tools...)
		}
	}
	repair.Minutes = cmp.Or(repair.Minutes, r.book.Due.RepairMinutes)
	if c.Behind == rules.BehindNothing && len(repair.Openings) == 0 {
		repair.Pump = rules.NeedsNothing
	}
	t.wanted = append(t.wanted, work.Wanted{Check: &repair, Place: t.Place, Due: true})
}

// offer is a task that may come next, with the minutes that it takes more.
type offer struct {
	pump *pumpStop
	task int
	more float64
}

// choose takes tasks into the stop, the best first. It ends with the first that does not
// fit; filling, it goes on with those that do.
func (s *Stop) choose(pumps []*pumpStop, filling bool) {
	for {
		var best *offer
		for _, p := range pumps {
			for i := range p.tasks {
				if slices.Contains(p.chosen, i) {
					continue
				}
				o := offer{pump: p, task: i}
				var can bool
				o.more, can = p.more(i)
				if can && (!filling || s.fits(o)) && (best == nil || s.better(o, *best)) {
					best = &o
				}
			}
		}
		if best == nil || !s.fits(*best) {
			return
		}
		t := &best.pump.tasks[best.task]
		t.Minutes, t.Fills = best.more, filling
		best.pump.chosen = append(best.pump.chosen, best.task)
		best.pump.minutes += best.more
		s.Minutes += best.more
	}
}

// fits says whether a task goes into the hours that are left.
func (s *Stop) fits(o offer) bool { return s.Minutes+o.more <= 60*s.Hours+1e-6 }

// better says whether one task comes before another.
func (s *Stop) better(a, b offer) bool {
	x, y := &a.pump.tasks[a.task], &b.pump.tasks[b.task]
	if x.tier != y.tier {
		return x.tier < y.tier
	}
	worth := func(t *Task) float64 {
		if t.Must {
			return 1
		}
		if t.Left == nil {
			return s.Ahead // an open job that may wait: as if due now
		}
		return max(0, s.Ahead-*t.Left)
	}
	return worth(x)*b.more > worth(y)*a.more
}

// more is the minutes that a pump's stop takes more with a task.
func (p *pumpStop) more(task int) (float64, bool) {
	minutes, can := p.plan.Minutes(p.wanted(append(slices.Clone(p.chosen), task)))
	return minutes - p.minutes, can
}

// wanted is what some tasks of a pump take together.
func (p *pumpStop) wanted(tasks []int) (out []work.Wanted) {
	for _, i := range tasks {
		out = append(out, p.tasks[i].wanted...)
	}
	return out
}

// tell fills in the steps, tools and parts of one pump, and what does not fit.
func (s *Stop) tell(p *pumpStop) {
	for i := range p.tasks {
		if !slices.Contains(p.chosen, i) {
			t := p.tasks[i]
			t.Minutes, _ = p.more(i)
			s.NotNow = append(s.NotNow, t)
		}
	}
	stops := p.model.ToldStops()
	if len(p.chosen) == 0 && len(stops) == 0 {
		return
	}
	r := p.report
	out := PumpStop{
		Pump: r.Pump, Title: r.Title, File: r.File, State: string(p.model.Case.Pump.State), Open: []Named{}, Stops: stops,
		Minutes: p.minutes, Tasks: []Task{}, Steps: []StopStep{},
	}
	for _, at := range p.model.Case.Pump.Open {
		out.Open = append(out.Open, Named{at.ID, r.book.Openings.Get(at.ID).Title, at.Place})
	}
	for _, i := range p.chosen {
		out.Tasks = append(out.Tasks, p.tasks[i])
		for _, part := range p.tasks[i].parts {
			s.needs(part)
		}
	}
	if len(p.chosen) > 0 {
		for _, step := range p.plan.Steps(p.wanted(p.chosen)) {
			out.Steps = append(out.Steps, StopStep{
				step.Number, step.Kind, step.ID, step.Place, step.Title, step.Do, step.Signal, step.Needs, step.Tools, step.Minutes,
			})
			s.Tools = append(s.Tools, step.Tools...)
			if a := r.book.Openings.Get(step.ID); a != nil && step.Kind == work.StepReturn { // what is closed, whoever opened it
				for _, id := range a.Uses {
					s.needs(StopPart{id, r.book.Parts.Get(id).Title, r.Title, 1, []evidence.Place{step.Place}})
				}
			}
		}
	}
	s.Pumps = append(s.Pumps, out)
}

// needs adds a part to those that are to be at hand, each once a pump with all places.
func (s *Stop) needs(part StopPart) {
	i := slices.IndexFunc(s.Parts, func(p StopPart) bool { return p.Part == part.Part && p.Pump == part.Pump && p.Chance == part.Chance })
	if i < 0 {
		s.Parts = append(s.Parts, part)
		return
	}
	for _, at := range part.Places {
		if !slices.Contains(s.Parts[i].Places, at) {
			s.Parts[i].Places = append(s.Parts[i].Places, at)
		}
	}
}

// Left is the minutes of the stop that nothing fills.
func (s *Stop) Left() float64 { return 60*s.Hours - s.Minutes }
