package chances

import (
	"cmp"
	"errors"
	"math"
	"slices"
	"sort"
	"sync"

	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// Bounds of what a reason is worth saying.
const (
	leastReason = 0.5 // decibans; less is noise
	mostReason  = 60  // decibans; certainty is shown as this
)

// ImpossibleError says that the rulebook holds the findings to be impossible
// together. Findings is a smallest set that is impossible on its own.
type ImpossibleError struct {
	Findings []evidence.Finding
	text     *source.Text // in which they stand
}

// Error names each finding in conflict with its place in the case file.
func (e *ImpossibleError) Error() string {
	if len(e.Findings) == 0 {
		return impossibleProofs
	}
	return impossibleFindings + (&source.InputError{Problems: e.Problems()}).Error()
}

// Problems gives each finding in conflict as a mistake with its place.
func (e *ImpossibleError) Problems() []source.Problem {
	var ps source.Problems
	ps.In(e.text)
	for _, f := range e.Findings {
		answer := string(f.Answer)
		if f.Kind != "" {
			answer = f.Kind
		}
		ps.Add(f.Pos, source.Impossible, "%s: %s%s", f.Sign, source.Read(answer), Titled("", f.At))
	}
	return ps.All()
}

// ErrTooUnlikely says that the findings together are possible, but less likely
// than a number of the machine can hold.
var ErrTooUnlikely = errors.New(tooUnlikely)

// Weighed is a case with the chance of every cause. It must not be used by two
// goroutines at once; see Beside.
type Weighed struct {
	*Model
	noisyor.Answer // by Model.Causes
	// Leave: a stop condition demands that the pump waits; nothing is weighed.
	Leave   bool
	without []noisyor.Answer // the answer without each unit, for the reasons
	solver  *noisyor.Solver
	chains  *noisyor.Chains  // how each cause came; nil: not wanted, or it cannot be worked out
	base    *noisyor.Problem // the whole case; see ask
	builtIn *Weighed         // see underAlone; nil: not worked out yet
}

// Beside is the same for another goroutine. From then on both only read the
// model.
func (w *Weighed) Beside() *Weighed {
	w.Shows("") // gathers them
	w.Stops()
	out := *w
	out.solver = w.Model.solver()
	return &out
}

// Weigh gives the chance of every cause, and what the reasons need. The error
// is an *ImpossibleError when the book holds the findings to be impossible, a
// *noisyor.TooWideError when the case is past what is computed exactly, or
// ErrTooUnlikely.
func (m *Model) Weigh() (*Weighed, error) {
	w, err := m.Solve()
	if err != nil {
		return nil, err
	}
	w.without = make([]noisyor.Answer, len(m.units))
	about, errs := w.reasoned(), make([]error, 2)
	lean := m.lean(about)
	lean.sourceList() // both read it
	var beside sync.WaitGroup
	for half := range errs {
		beside.Go(func() {
			solver := m.solver()
			for i := half; i < len(m.units) && errs[half] == nil; i += len(errs) {
				p := lean.problem(i)
				p.About = about
				w.without[i], errs[half] = solver.Solve(p)
			}
		})
	}
	beside.Wait()
	if err := cmp.Or(errs...); err != nil {
		return nil, err
	}
	return w, nil
}

// leastReasoned is the chance from which reasons are given for a cause.
const leastReasoned = 0.01

// reasoned are the causes for which reasons are given.
func (w *Weighed) reasoned() []int {
	out := []int{}
	for i, p := range w.Posterior {
		if p >= leastReasoned {
			out = append(out, i)
		}
	}
	return out
}

// Solve is Weigh without what the reasons need.
func (m *Model) Solve() (*Weighed, error) { return m.SolveWithin(noisyor.DefaultMaxWidth) }

// SolveWithin is Solve that refuses what is wider than so much.
func (m *Model) SolveWithin(width int) (*Weighed, error) {
	w := &Weighed{Model: m, solver: m.solver(), chains: &noisyor.Chains{}}
	w.solver.MaxWidth = width
	if err := w.solveAll(); err != nil {
		return nil, err
	}
	return w, nil
}

// solveAll is solve of all causes, with the errors of Weigh.
func (w *Weighed) solveAll() error { return w.solveSome(nil) }

// solveSome is solve with the errors of Weigh.
func (w *Weighed) solveSome(about []int) error {
	switch err := w.solve(about); {
	case errors.Is(err, noisyor.ErrImpossible):
		return w.conflict(w.solver)
	case err == nil && w.Evidence == 0:
		return ErrTooUnlikely
	default:
		return err
	}
}

// solve works out the chance of some causes, nil: of all, and how they came where room is
// made for that. Of a case that is too wide for it it leaves how they came.
func (w *Weighed) solve(about []int) error {
	solver, err := w.held()
	if err == nil {
		err = solver.SolveHeld(about, &w.Answer, w.chains)
	}
	if TooWide(err) {
		p := *w.base
		p.About, w.chains = about, nil
		err = solver.SolveInto(&p, &w.Answer)
	}
	return err
}

// evidence weighs no more than how likely the findings are.
func (m *Model) evidence(s *noisyor.Solver) (*Weighed, error) {
	w := &Weighed{Model: m, solver: s}
	var err error
	w.Evidence, err = w.ask(noisyor.Asked{})
	return w, err
}

// held has the solver hold the case and gives it.
func (w *Weighed) held() (*noisyor.Solver, error) {
	if w.base == nil {
		w.base = w.Problem()
	}
	if w.solver.Holds(w.base) {
		return w.solver, nil
	}
	return w.solver, w.solver.Hold(w.base)
}

// ask is the probability of the findings with what is asked besides.
func (w *Weighed) ask(q noisyor.Asked) (float64, error) {
	solver, err := w.held()
	if err != nil {
		return 0, err
	}
	return solver.Ask(q)
}

// conflict looks for a smallest impossible set: it drops every unit without
// which the rest stays impossible.
func (m *Model) conflict(s *noisyor.Solver) error {
	keep := m.units
	for i := 0; i < len(keep); {
		trial := *m
		trial.units = slices.Delete(slices.Clone(keep), i, i+1)
		if _, err := s.Evidence(trial.Problem()); errors.Is(err, noisyor.ErrImpossible) {
			keep = trial.units
			continue
		}
		i++
	}
	out := &ImpossibleError{text: m.Case.Text}
	for _, u := range keep {
		out.Findings = append(out.Findings, u.said...)
	}
	return out
}

// ratio is P(what p observes) / P(the findings), 0 when impossible.
func (w *Weighed) ratio(p *noisyor.Problem) (float64, error) {
	return w.share(w.solver.Evidence(p))
}

// share is the part of the findings' probability that some evidence is, 0 when impossible.
func (w *Weighed) share(z float64, err error) (float64, error) {
	if err != nil && !errors.Is(err, noisyor.ErrImpossible) {
		return 0, err
	}
	return math.Min(1, z/w.Evidence), nil
}

// seen says whether anything was seen: a sign, or a cause that something may
// have brought on.
func (m *Model) seen() bool {
	for i := range m.confirmed {
		if m.brought[i] {
			return true
		}
	}
	return slices.ContainsFunc(m.units, func(u unit) bool { return len(u.present) > 0 })
}

// Behind gives, for each open cause, the chance that it is there and that it, or
// what it brought on, shows at least one of the findings: what the list of steps
// is made for. A fault that the pump may have besides, and that has nothing to do
// with the findings, does not count. Without any present finding it is the
// posterior itself. What rounding makes of equal chances is taken away, so that
// sister cylinders are equal and go by number.
func (w *Weighed) Behind() []float64 {
	out, seen := make([]float64, len(w.Causes)), w.seen()
	chains := w.chains
	for i := range w.Causes {
		switch {
		case !w.open(i):
		case !seen || chains == nil:
			out[i] = w.Posterior[i]
		default:
			out[i] = chains.Shown[i]
		}
		out[i] = math.Round(out[i]*1e12) / 1e12
	}
	return out
}

// FoundBy is the chance that the checks done so far have exposed a cause that
// is there and shows, by itself or through what it brought on, one of the
// findings: 1 - P(they expose none such | findings), never less than before.
// miss is, by cause, the chance that the checks miss it; of a cause that came in
// two ways they may expose either.
func (w *Weighed) FoundBy(miss []float64, before float64) (float64, error) {
	z, err := w.ask(noisyor.Asked{Miss: miss})
	if err != nil && !errors.Is(err, noisyor.ErrImpossible) {
		return 0, err
	}
	return max(before, 1-z/w.Evidence), nil
}

// ChanceToFind is the chance that a check at a place exposes causes that are
// there and show a finding, added over the causes.
func (w *Weighed) ChanceToFind(c *rules.Check, place evidence.Place) float64 {
	total, behind := 0.0, w.Behind()
	for _, f := range c.Finds {
		for i, in := range w.Causes {
			if in.Cause.ID == f.Cause && in.Place.Touches(place) {
				total += behind[i] * f.Sure
			}
		}
	}
	return total
}

// Lead is the likeliest cause that is open, of equal ones the first; -1 if there
// is none.
func (w *Weighed) Lead() int { return w.lead(w.Posterior) }

func (m *Model) lead(posterior []float64) int {
	best := -1
	for c, p := range posterior {
		if m.open(c) && (best < 0 || Likelier(p, posterior[best])) {
			best = c
		}
	}
	return best
}

// open says whether a cause is neither proved nor ruled out.
func (m *Model) open(cause int) bool { return !m.confirmed[cause] && !m.ruledOut(cause) }

// Likelier compares chances, or minutes, without what rounding makes of equal
// ones, so that sister cylinders stay in their order.
func Likelier(a, b float64) bool { return math.Round(a*1e12) > math.Round(b*1e12) }

// Reason is a finding's weight of evidence: 10 log10 of the odds with the
// finding over the odds without it, all other findings kept; decibans.
// Weights do not add up to the whole when findings explain each other.
type Reason struct {
	Finding  int     `json:"finding"` // its number
	Decibans float64 `json:"decibans"`
}

// decibans is 10 log10 of the ratio of two odds (Good, Probability and the
// Weighing of Evidence, 1950, from memory), held within mostReason.
func decibans(with, without float64) float64 {
	db := 10 * math.Log10(with/without)
	if math.IsNaN(db) {
		return 0
	}
	return math.Max(-mostReason, math.Min(mostReason, db))
}

// reasons lists the findings for and against one cause, weightiest first; none
// for one of less than leastReasoned.
func (w *Weighed) reasons(cause int) (pro, contra []Reason) {
	pro, contra = []Reason{}, []Reason{}
	if w.Posterior[cause] < leastReasoned {
		return pro, contra
	}
	for i, u := range w.units[:len(w.without)] {
		db := decibans(w.Odds[cause], w.without[i].Odds[cause])
		if db >= leastReason {
			pro = append(pro, Reason{Finding: u.number, Decibans: db})
		}
		if db <= -leastReason {
			contra = append(contra, Reason{Finding: u.number, Decibans: db})
		}
	}
	sort.SliceStable(pro, func(i, j int) bool { return pro[i].Decibans > pro[j].Decibans })
	sort.SliceStable(contra, func(i, j int) bool { return contra[i].Decibans < contra[j].Decibans })
	return pro, contra
}
