package work

import (
	"slices"
	"sort"

	"telltale/engine/chances"
	"telltale/engine/order"
	"telltale/evidence"
	"telltale/rules"
)

// mostLooks is how many causes a check names as what it looks for.
const mostLooks = 4

// The kinds of step.
const (
	StepSafety  = "safety"
	StepOpening = "opening"
	StepCheck   = "check"
	StepReturn  = "return"
)

// Step is one step of a list.
type Step struct {
	Number int    `json:"number"`
	Kind   string `json:"kind"`
	ID     string `json:"id"`
	evidence.Place
	Title   string  `json:"title"`
	Pump    string  `json:"pump,omitempty"` // how the pump stands: running, live, stopped, any, isolated
	Minutes float64 `json:"minutes"`
	Signal  string  `json:"signal,omitempty"`
	// Needs are the ids of the safety and opening steps that must stand
	// earlier in the list: of the whole pump or at the same place.
	Needs []string `json:"needs"`
	// BeforeTurning: nothing turns the pump, at any cylinder, before it is done.
	BeforeTurning bool     `json:"before_turning,omitempty"`
	Tools         []string `json:"tools"`
	Do            string   `json:"do"`
	Looks         []string `json:"looks_for"` // the likeliest causes it exposes
	// Settles says what a check is for: failure, what failed; root, what brought
	// it on; both.
	Settles string   `json:"settles,omitempty"`
	Results []Result `json:"results"`
	// FoundByHere is the chance that a cause which is there and shows one of
	// the findings has been exposed by the end of this step.
	FoundByHere float64 `json:"found_by_here"`
	// FailureByHere and RootByHere are the same of what failed and of what
	// brought it on; see Share.
	FailureByHere float64 `json:"failure_found_by_here"`
	RootByHere    float64 `json:"root_found_by_here"`
	// MinutesByHere is the minutes from the start of the list to the end of
	// this step.
	MinutesByHere float64 `json:"minutes_by_here"`
	// Picture is the rulebook's name of the drawing of how it is done.
	Picture rules.Picture `json:"picture,omitempty"`
	// FromLocal: it, or something of it, comes from the local book.
	FromLocal bool `json:"from_local,omitempty"`
}

// Result says what one outcome of a check means and what to do then.
type Result struct {
	If       string   `json:"if"`
	Then     string   `json:"then"`
	PointsTo []string `json:"points_to"`
	Clears   []string `json:"clears"`
	// Shows is the sign that this result is, Kind of which kind.
	Shows string `json:"shows,omitempty"`
	Kind  string `json:"kind,omitempty"`
}

// List is what to do: the steps in their order, and what is known of it.
type List struct {
	Steps []Step
	// ExpectedMinutes is the mean time until a check exposes a cause, over
	// the causes by their probability, given that the list exposes it.
	// Closing up is not in it.
	ExpectedMinutes float64
	// Order says how good the order is; nil if no check is in it.
	Order *Order
	// NotFound is the chance that the trouble is not found by the list.
	NotFound float64
	// RunAgain is what only the running pump shows, if the steps find nothing.
	RunAgain *RunAgain
	// Failure and Root are how much the list finds of what failed, and of what
	// brought it on.
	Failure, Root Share
	// NotLooked are likely roots that the list does not look at.
	NotLooked []NotLooked
	// GoStraight is the look that can prove the likeliest cause at once, where
	// that is likely enough; nil if none is.
	GoStraight *GoStraight
	// OutOfService: the steps end in a pump that does not run.
	OutOfService bool

	w        *chances.Weighed
	planner  *planner
	sequence []int
	miss     []float64 // by cause, the chance that the list misses it
}

// Plan makes the list for a case that was weighed.
func Plan(w *chances.Weighed) (*List, error) {
	p, sequence := plan(w.Model, aimAt(w))
	l := &List{w: w, planner: p, sequence: sequence, miss: p.misses(sequence)}
	by := foundBehind(w, p.root)
	found, err := l.tell(p.listed, by, missNone(w))
	if err != nil {
		return nil, err
	}
	l.NotLooked, l.GoStraight = l.notLooked(), p.straight(sequence, w)
	if l.RunAgain, err = l.runAgain(found); err != nil {
		return nil, err
	}
	return l, w.Spent()
}

// Next gives the steps of Plan alone, without the chance to have found the
// trouble and without the closing up.
func Next(w *chances.Weighed) ([]Step, error) {
	p, sequence := plan(w.Model, aimAt(w))
	var steps []Step
	for _, i := range sequence {
		steps = append(steps, p.step(i, found{}))
	}
	return numbered(steps, 0), w.Spent()
}

// tell fills in the steps with their closing up, the order and the minutes.
// none is what is missed of each cause when all that is looked for is found.
func (l *List) tell(finds func(i int) []order.Find, by foundBy, none []float64) (found, error) {
	steps, found, err := l.planner.told(l.sequence, l.planner.misses(nil), found{}, finds, by)
	if err != nil {
		return found, err
	}
	there, err := by(none, found)
	if err != nil {
		return found, err
	}
	l.shares(found, there)
	l.Steps = numbered(append(steps, lookFirst(l.planner.returns(l.sequence, found), l.w.RootsLeft())...), 0)
	l.ExpectedMinutes = order.MeanTime(l.planner.problem(), l.sequence)
	l.NotFound, l.OutOfService = 1-found.any, l.planner.outOfService
	if found.any > 0 {
		l.Order = l.planner.compare(l.sequence)
	}
	return found, nil
}

// told tells the steps of a sequence without the closing up. What is missed of
// each cause, and what was found, is counted on from before; finds is what each
// check exposes.
func (p *planner) told(sequence []int, miss []float64, found found, finds func(i int) []order.Find, by foundBy) ([]Step, found, error) {
	steps := []Step{}
	for _, i := range sequence {
		if p.tasks[i].check != nil {
			for _, f := range finds(i) {
				miss[f.Cause] *= 1 - f.Sure
			}
			var err error
			if found, err = by(miss, found); err != nil {
				return nil, found, err
			}
		}
		steps = append(steps, p.step(i, found))
	}
	return steps, found, nil
}

// listed is what a check is in the list for.
func (p *planner) listed(i int) []order.Find { return p.steps[i].Finds }

// numbered numbers steps and adds their minutes up, from some minutes on.
func numbered(steps []Step, clock float64) []Step {
	for i := range steps {
		clock += steps[i].Minutes
		steps[i].Number, steps[i].MinutesByHere = i+1, clock
	}
	return steps
}

// misses gives, by cause, the chance that the checks of a sequence miss it.
func (p *planner) misses(sequence []int) []float64 {
	miss := make([]float64, len(p.m.Causes))
	for i := range miss {
		miss[i] = 1
	}
	for _, i := range sequence {
		for _, f := range p.steps[i].Finds {
			miss[f.Cause] *= 1 - f.Sure
		}
	}
	return miss
}

// problem is the ordering problem of the whole list.
func (p *planner) problem() *order.Problem {
	return p.problemOf(p.steps)
}

func (p *planner) problemOf(steps []order.Step) *order.Problem {
	return &order.Problem{Steps: steps, Weight: p.weight, Spend: p.m.Spend}
}

// step tells one task.
func (p *planner) step(i int, found found) Step {
	t, fill := p.tasks[i], p.m.Fill
	r := Step{
		Kind: t.kind, ID: t.id, Place: t.place, Minutes: p.steps[i].Minutes, Needs: p.needs(i),
		Tools: []string{}, Looks: []string{}, Results: []Result{},
	}
	found.fill(&r)
	switch {
	case t.safety != nil:
		s := t.safety.On(p.takesOver)
		r.Title, r.Do, r.Signal, r.FromLocal = fill(s.Title), fill(s.Do)+lists(p.m.Case, s.Lists), string(s.Signal), s.FromLocal
	case t.opening != nil:
		a := t.opening
		r.Title, r.Do, r.Tools, r.FromLocal = fill(a.Title), fill(a.Do), p.m.FillAll(a.Tools), a.FromLocal
		r.Pump, r.BeforeTurning, r.Picture = string(rules.NeedsIsolated), a.BeforeTurning, a.Picture
	default:
		c := t.check
		r.Title, r.Do, r.Tools, r.Pump, r.FromLocal = fill(c.Title), fill(c.Do), p.m.FillAll(c.Tools), string(c.Pump), c.FromLocal
		r.Looks, r.Settles, r.Picture = p.looks(p.steps[i].Finds), p.settles(p.steps[i].Finds), c.Picture
		for _, result := range c.Results {
			r.Results = append(r.Results, Result{
				If: fill(result.If), Then: fill(result.Then),
				PointsTo: append([]string{}, result.PointsTo...), Clears: append([]string{}, result.Clears...), Shows: result.Shows, Kind: result.Kind,
			})
		}
	}
	return r
}

// needs lists the safety and opening steps of the list before step i that it
// depends on, directly or through others.
func (p *planner) needs(i int) []string {
	out := []string{}
	for _, j := range inner(p.steps[i].Before, p.before) {
		if p.tasks[j].check == nil {
			out = append(out, p.tasks[j].id)
		}
	}
	return out
}

// looks names the causes that a check exposes and that are worth a step, the
// likeliest first.
func (p *planner) looks(finds []order.Find) []string {
	return likeliest(finds, p.m.Book.LeastGain, func(f order.Find) float64 { return p.weight[f.Cause] }, func(f order.Find) string { return p.m.Causes[f.Cause].Cause.Title })
}

// likeliest names causes from some chance on, the likeliest first, each once and
// mostLooks at most.
func likeliest(finds []order.Find, least float64, chance func(order.Find) float64, title func(order.Find) string) []string {
	sorted := slices.Clone(finds)
	sort.SliceStable(sorted, func(a, b int) bool { return chances.Likelier(chance(sorted[a]), chance(sorted[b])) })
	out := []string{}
	for _, f := range sorted {
		if c := chance(f); c > 0 && c >= least && len(out) < mostLooks && !slices.Contains(out, title(f)) {
			out = append(out, title(f))
		}
	}
	return out
}

// opensBy is what stands open already and what a sequence opens, in order.
func (p *planner) opensBy(sequence []int) []evidence.At {
	out := slices.Clone(p.m.Case.Pump.Open)
	for _, i := range sequence {
		if t := p.tasks[i]; t.opening != nil {
			out = append(out, evidence.At{ID: t.id, Place: t.place})
		}
	}
	return out
}
