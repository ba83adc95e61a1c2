package engine

import (
	"cmp"
	"errors"
	"slices"
	"sort"

	"telltale/engine/noisyor"
	"telltale/engine/order"
	"telltale/evidence"
	"telltale/rules"
)

// mostLooks is how many causes a check names as what it looks for.
const mostLooks = 4

// stops gives the stop conditions that hold: the pump that must be left first,
// then what must not be opened, then what is done at once, and of these the gravest.
func (m *model) stops() []*rules.Stop {
	var out []*rules.Stop
	for _, s := range m.book.Stops.List {
		if s.When.Holds(m.standing(s), m.book) {
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b *rules.Stop) int {
		return cmp.Or(urgency(a)-urgency(b), slices.Index(rules.Signals(), string(a.Signal))-slices.Index(rules.Signals(), string(b.Signal)))
	})
	return out
}

// urgency is the smaller the sooner a stop is read.
func urgency(s *rules.Stop) int {
	switch {
	case s.LeavePump:
		return 0
	case s.OpenNothing: // the pump is open, or about to be opened
		return 1
	case s.By == rules.AtOnce:
		return 2
	}
	return 3
}

// stopsAtOnce says whether the pump runs and one of the stop conditions stops
// it at once.
func (m *model) stopsAtOnce(stops []*rules.Stop) bool {
	return m.k.Pump.State == evidence.Running && slices.ContainsFunc(stops, func(s *rules.Stop) bool { return s.StopPump && s.By == rules.AtOnce })
}

func (m *model) runningAllowed(stops []*rules.Stop) bool {
	if m.k.Pump.State != evidence.Running {
		return false
	}
	for _, s := range stops {
		if s.StopPump || s.LeavePump {
			return false
		}
	}
	return true
}

func (m *model) powerAllowed(stops []*rules.Stop) bool {
	if m.k.Pump.State == evidence.Isolated {
		return false
	}
	for _, s := range stops {
		if s.PowerOff || s.LeavePump {
			return false
		}
	}
	return true
}

// opensNothing says whether a stop condition holds every opening back.
func opensNothing(stops []*rules.Stop) bool {
	return slices.ContainsFunc(stops, func(s *rules.Stop) bool { return s.OpenNothing })
}

// list fills in the ordered list, what is known of its order, its expected
// minutes and the chance that it does not find the trouble.
func (m *model) list(s *noisyor.Solver, w weighed, stops []*rules.Stop, r *Report) error {
	weight := m.behind(w)
	p, sequence := m.plan(weight, stops, nil)
	found, clock := 0.0, 0.0
	miss := make([]float64, len(m.causes))
	for i := range miss {
		miss[i] = 1
	}
	for _, i := range sequence {
		t := p.tasks[i]
		clock += p.steps[i].Minutes
		if t.check != nil {
			for _, f := range p.steps[i].Finds {
				miss[f.Cause] *= 1 - f.Sure
			}
			var err error
			if found, err = m.foundBy(s, w, miss, found); err != nil {
				return err
			}
		}
		step := m.step(t, p.steps, p.tasks, i, weight, found)
		step.MinutesByHere = clock
		r.Steps = append(r.Steps, step)
	}
	r.GoStraight = p.straight(sequence, r)
	back := m.returns(p.tasks, sequence, found)
	var err error
	if r.RunAgain, err = m.runAgain(s, w, weight, append([]float64{}, miss...), stops, back, found); err != nil {
		return err
	}
	for _, step := range back {
		clock += step.Minutes
		step.MinutesByHere = clock
		r.Steps = append(r.Steps, step)
	}
	for i := range r.Steps {
		r.Steps[i].Number = i + 1
	}
	r.ExpectedMinutes = order.MeanTime(&order.Problem{Steps: p.steps, Weight: weight}, sequence)
	r.NotInSteps = 1 - found
	if found > 0 {
		compared := p.compare(sequence)
		r.Order = &compared
	}
	return nil
}

// behind gives, for each open cause, the chance that it is there and shows at
// least one of the findings: what the list of steps is made for. A fault that
// the pump may have besides, and that has nothing to do with the findings,
// does not count. It is exact:
//
//	P(c, c shows some finding | E) = P(c | E) - P(c, c shows none | E)
//	P(c, c shows none | E) = P(not c | E) * q / (1-q') with
//	q = prior * prod over findings of No_cf, q' = prior
//
// because a cause that shows nothing weighs on the rest like one that is not
// there. Without any present finding it is the posterior itself.
func (m *model) behind(w weighed) []float64 {
	silent, present := m.silent()
	out := make([]float64, len(m.causes))
	for i, in := range m.causes {
		switch {
		case m.confirmed[i] || w.Posterior[i] == 0:
		case !present:
			out[i] = w.Posterior[i]
		default:
			notThere := w.Posterior[i] / w.Odds[i]
			out[i] = max(0, w.Posterior[i]-notThere*silent[i]/(1-in.prior))
		}
	}
	return evened(out)
}

// silent is, for each cause, the mass with which it is there and shows none of
// the findings; present says whether any sign was seen at all.
func (m *model) silent() (mass []float64, present bool) {
	mass = make([]float64, len(m.causes))
	for i, in := range m.causes {
		mass[i] = in.prior
	}
	for _, u := range m.units {
		present = present || len(u.present) > 0
		for _, o := range append(append([]noisyor.Observation{}, u.present...), u.absent...) {
			for _, link := range o.Links {
				mass[link.Cause] *= link.No
			}
		}
	}
	return mass, present
}

// foundBy is the chance that the checks done so far have exposed a cause that
// is there and shows one of the findings: 1 - P(they expose none such |
// findings), never less than before. miss is, by cause, the chance that the
// checks miss it. A cause that was exposed but shows nothing weighs on the
// findings like one that is not there, so its mass is added to that.
func (m *model) foundBy(s *noisyor.Solver, w weighed, miss []float64, before float64) (float64, error) {
	p := m.problem(-1)
	silent, present := m.silent()
	factor := 1.0
	for i, in := range m.causes {
		if miss[i] == 1 {
			continue
		}
		there, not := in.prior*miss[i], 1-in.prior
		if present {
			not += silent[i] * (1 - miss[i])
		}
		factor *= there + not
		p.Prior[i] = there / (there + not)
	}
	z, err := s.Evidence(p)
	if err != nil && !errors.Is(err, noisyor.ErrImpossible) {
		return 0, err
	}
	return max(before, 1-factor*z/w.Evidence), nil
}

func (m *model) step(t task, raw []order.Step, tasks []task, i int, weight []float64, found float64) StepReport {
	r := StepReport{
		Kind: t.kind, Place: t.place, Minutes: raw[i].Minutes, FoundByHere: found, Needs: m.needs(raw, tasks, i),
		Tools: []string{}, Looks: []string{}, Results: []ResultReport{},
	}
	switch {
	case t.safety != nil:
		s := t.safety.On(m.k.Pump.State)
		r.ID, r.Title, r.Do, r.Signal = s.ID, m.fill(s.Title), m.fill(s.Do)+m.listed(s.Lists), string(s.Signal)
		r.FromLocal = s.FromLocal
	case t.opening != nil:
		r.ID, r.Title, r.Do, r.Tools = t.opening.ID, m.fill(t.opening.Title), m.fill(t.opening.Do), m.fillAll(t.opening.Tools)
		r.FromLocal = t.opening.FromLocal
		r.Pump, r.BeforeTurning = string(rules.NeedsIsolated), t.opening.BeforeTurning
	default:
		c := t.check
		r.ID, r.Title, r.Do, r.Tools, r.Pump = c.ID, m.fill(c.Title), m.fill(c.Do), m.fillAll(c.Tools), string(c.Pump)
		r.FromLocal = c.FromLocal
		r.Looks = m.looks(raw[i].Finds, weight)
		for _, result := range c.Results {
			r.Results = append(r.Results, ResultReport{
				If: m.fill(result.If), Then: m.fill(result.Then),
				PointsTo: append([]string{}, result.PointsTo...), Clears: append([]string{}, result.Clears...), Shows: result.Shows, Kind: result.Kind,
			})
		}
	}
	return r
}

// needs lists the safety and opening steps of the list before step i that it
// depends on, directly or through others.
func (m *model) needs(raw []order.Step, tasks []task, i int) []string {
	out := []string{}
	seen := map[int]bool{}
	var visit func(int)
	visit = func(k int) {
		for _, j := range raw[k].Before {
			if seen[j] {
				continue
			}
			seen[j] = true
			visit(j)
			switch {
			case tasks[j].safety != nil:
				out = append(out, tasks[j].safety.ID)
			case tasks[j].opening != nil:
				out = append(out, tasks[j].opening.ID)
			}
		}
	}
	visit(i)
	return out
}

// looks names the likeliest causes that a check exposes.
func (m *model) looks(finds []order.Find, weight []float64) []string {
	sorted := append([]order.Find(nil), finds...)
	sort.SliceStable(sorted, func(a, b int) bool { return weight[sorted[a].Cause] > weight[sorted[b].Cause] })
	out := []string{}
	seen := map[string]bool{}
	for _, f := range sorted {
		title := m.causes[f.Cause].cause.Title
		if weight[f.Cause] < m.book.LeastGain || seen[title] || len(out) == mostLooks {
			continue
		}
		seen[title] = true
		out = append(out, title)
	}
	return out
}

// returns lists the closing up: what was opened, the last opened first, then
// the book's steps back to service. While nothing may be opened, no hand goes
// in to close either: then there is none.
func (m *model) returns(tasks []task, sequence []int, found float64) []StepReport {
	if opensNothing(m.stops()) {
		return nil
	}
	opened := m.opened(tasks, sequence)
	isolated := len(opened) > 0 || m.k.Pump.State == evidence.Isolated || anyIsolation(tasks, sequence)
	if !isolated {
		return nil
	}
	due := m.returnsDue(opened)
	var out []StepReport
	done := 0
	for _, at := range m.closings(opened, due) {
		a := m.book.Openings.Get(at.ID)
		for ; done < m.dueBefore(a.ID, opened, due); done++ { // what the book puts earlier comes earlier
			out = append(out, m.returnStep(due[done], found))
		}
		out = append(out, StepReport{
			Kind: StepReturn, ID: a.ID, Place: at.Place, Title: m.fill(a.Close.Title),
			Minutes: a.Close.Minutes, Do: m.fill(a.Close.Do), FoundByHere: found,
			Needs: []string{}, Tools: []string{}, Looks: []string{}, Results: []ResultReport{}, FromLocal: a.FromLocal,
		})
	}
	for _, r := range due[done:] {
		out = append(out, m.returnStep(r, found))
	}
	return out
}

// closings gives in which order things are closed: the last opened first, but
// everything that waits for none of the steps back to service before what
// waits for one, at all cylinders, and so on: one look inside, one measuring
// and one turn by hand serve for all.
func (m *model) closings(opened []evidence.At, due []*rules.Return) []evidence.At {
	last := slices.Clone(opened)
	slices.Reverse(last)
	behind := map[string]int{}
	for _, at := range opened {
		behind[at.ID] = m.dueBefore(at.ID, opened, due)
	}
	sort.SliceStable(last, func(a, b int) bool { return behind[last[a].ID] < behind[last[b].ID] })
	var out []evidence.At
	var visit func(evidence.At)
	visit = func(at evidence.At) {
		if slices.Contains(out, at) {
			return
		}
		for _, inner := range m.inside(at.ID, last) {
			if inner.Place.Touches(at.Place) {
				visit(inner)
			}
		}
		out = append(out, at)
	}
	for _, at := range last {
		visit(at)
	}
	return out
}

// inside gives what was opened behind an opening, or what stands for it.
func (m *model) inside(id string, opened []evidence.At) []evidence.At {
	var out []evidence.At
	for _, at := range opened {
		if slices.ContainsFunc(m.book.Openings.Get(at.ID).Needs, m.book.Openings.Get(id).Opens) {
			out = append(out, at)
		}
	}
	return out
}

// dueBefore counts the steps back to service that stand before something is
// closed: up to the last one that names it, or names what is closed before it.
func (m *model) dueBefore(id string, opened []evidence.At, due []*rules.Return) int {
	closed := map[string]bool{}
	for queue := []string{id}; len(queue) > 0; queue = queue[1:] {
		if !closed[queue[0]] {
			closed[queue[0]] = true
			for _, at := range m.inside(queue[0], opened) {
				queue = append(queue, at.ID)
			}
		}
	}
	for k := len(due); k > 0; k-- {
		if slices.ContainsFunc(due[k-1].Before, func(before string) bool { return closed[before] }) {
			return k
		}
	}
	return 0
}

// returnsDue gives the book's return steps that this list needs.
func (m *model) returnsDue(opened []evidence.At) []*rules.Return {
	var out []*rules.Return
	for _, r := range m.book.Returns.List {
		if r.When.Holds(m.k, m.book) && (len(r.Opened) == 0 || anyOpened(opened, r.Opened)) {
			out = append(out, r)
		}
	}
	return out
}

func (m *model) returnStep(r *rules.Return, found float64) StepReport {
	return StepReport{
		Kind: StepReturn, ID: r.ID, Title: m.fill(r.Title), Minutes: r.Minutes, Do: ReturnDo(m.book, m.k, r), FoundByHere: found,
		Needs: []string{}, Tools: []string{}, Looks: []string{}, Results: []ResultReport{}, FromLocal: r.FromLocal,
	}
}

// opened is what stands open already and what the list opens, in order.
func (m *model) opened(tasks []task, sequence []int) []evidence.At {
	out := append([]evidence.At{}, m.k.Pump.Open...)
	for _, i := range sequence {
		if a := tasks[i].opening; a != nil {
			out = append(out, evidence.At{ID: a.ID, Place: tasks[i].place})
		}
	}
	return out
}

func anyIsolation(tasks []task, sequence []int) bool {
	for _, i := range sequence {
		if s := tasks[i].safety; s != nil && s.For == rules.ForIsolation {
			return true
		}
	}
	return false
}

func anyOpened(opened []evidence.At, ids []string) bool {
	for _, at := range opened {
		for _, id := range ids {
			if at.ID == id {
				return true
			}
		}
	}
	return false
}
