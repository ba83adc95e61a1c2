package engine

import (
	"errors"
	"math"
	"slices"
	"sort"

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
		return "the rulebook holds what was confirmed and ruled out to be impossible together"
	}
	return "the rulebook holds these findings to be impossible together, with what is confirmed and ruled out; one of them needs another look:\n" +
		(&source.InputError{Problems: e.Problems()}).Error()
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
		where := f.At.String()
		if where != "" {
			where = " (" + where + ")"
		}
		ps.Add(f.Pos, source.Impossible, "%s: %s%s", f.Sign, source.Read(answer), where)
	}
	return ps.All()
}

// ErrTooUnlikely says that the findings together are possible, but less likely
// than a number of the machine can hold.
var ErrTooUnlikely = errors.New("the findings together are less likely than can be computed; leave out those that matter least")

// weighed is the posterior of every cause with what the reasons need.
type weighed struct {
	noisyor.Answer
	without []noisyor.Answer // the same without each unit
}

func (m *model) weigh(s *noisyor.Solver) (weighed, error) {
	w, err := m.posterior(s)
	if err != nil {
		return w, err
	}
	for i := range m.units {
		less, err := s.Solve(m.problem(i))
		if err != nil {
			return weighed{}, err
		}
		w.without = append(w.without, less)
	}
	return w, nil
}

// posterior is weigh without what the reasons need.
func (m *model) posterior(s *noisyor.Solver) (weighed, error) {
	all, err := s.Solve(m.problem(-1))
	if errors.Is(err, noisyor.ErrImpossible) {
		return weighed{}, m.conflict(s)
	}
	if err != nil {
		return weighed{}, err
	}
	if all.Evidence == 0 {
		return weighed{}, ErrTooUnlikely
	}
	return weighed{Answer: all}, nil
}

// conflict looks for a smallest impossible set: it drops every unit without
// which the rest stays impossible.
func (m *model) conflict(s *noisyor.Solver) error {
	keep := m.units
	for i := 0; i < len(keep); {
		rest := append(append([]unit{}, keep[:i]...), keep[i+1:]...)
		trial := *m
		trial.units = rest
		if _, err := s.Evidence(trial.problem(-1)); errors.Is(err, noisyor.ErrImpossible) {
			keep = rest
			continue
		}
		i++
	}
	out := &ImpossibleError{text: m.k.Text}
	for _, u := range keep {
		out.Findings = append(out.Findings, u.said...)
	}
	return out
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

// reasons lists the findings for and against one cause, weightiest first.
func (m *model) reasons(w weighed, cause int) (pro, contra []Reason) {
	for i, u := range m.units[:len(w.without)] {
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

// causeReports lists every cause that is not proved or ruled out, likeliest
// first; equal ones stay in the order of the book.
func (m *model) causeReports(w weighed) []CauseReport {
	out := []CauseReport{}
	for i, in := range m.causes {
		if m.confirmed[i] || in.prior == 0 {
			continue
		}
		c := in.cause
		r := CauseReport{
			Cause: c.ID, Place: in.place, Title: m.fill(c.Title), Group: c.Group, Probability: w.Posterior[i],
			Why: m.fill(c.Why), Repair: m.fill(c.Repair), LookAgain: m.fill(c.LookAgain), Parts: m.partTitles(c), Ruins: m.fill(c.Ruins), Basis: c.Basis,
			FromLocal: c.FromLocal,
		}
		pro, contra := m.reasons(w, i)
		r.For, r.Against = append([]Reason{}, pro...), append([]Reason{}, contra...)
		out = append(out, r)
	}
	sort.SliceStable(out, func(i, j int) bool { return likelier(out[i].Probability, out[j].Probability) })
	return out
}

// among says whether a cause at a place stands in a list.
func among(list []evidence.At, cause string, place evidence.Place) bool {
	return slices.ContainsFunc(list, func(at evidence.At) bool { return at.ID == cause && at.Place == place })
}

func (m *model) confirmedReports() []ConfirmedReport {
	out := []ConfirmedReport{}
	for i, in := range m.causes {
		if m.confirmed[i] {
			c := in.cause
			out = append(out, ConfirmedReport{
				Cause: c.ID, Place: in.place, Title: m.fill(c.Title),
				Behind: string(c.Behind), Safety: m.safetyReports(c.Safety),
				Repair: m.fill(c.Repair), LookAgain: m.fill(c.LookAgain), Parts: m.partTitles(c), Ruins: m.fill(c.Ruins), FromLocal: c.FromLocal,
				Corrected: among(m.k.Corrected, c.ID, in.place), LookedAgain: among(m.k.LookedAgain, c.ID, in.place),
			})
		}
	}
	return out
}

// safetyReports names safety steps that hold on this pump.
func (m *model) safetyReports(ids []string) []SafetyReport {
	out := []SafetyReport{}
	for _, id := range ids {
		if s := m.book.Safety.Get(id); s.When.Holds(m.k, m.book) {
			out = append(out, SafetyReport{ID: id, Title: m.fill(s.Title)})
		}
	}
	return out
}

// unexplained lists the findings that the confirmed causes more likely than
// not did not show: P(no confirmed cause yielded it | all findings) above one
// half.
func (m *model) unexplained(s *noisyor.Solver, w weighed) ([]UnexplainedReport, error) {
	out := []UnexplainedReport{}
	if len(m.confirmed) == 0 {
		return out, nil
	}
	for i, u := range m.units {
		for k := range u.present {
			trial := *m
			trial.units = append([]unit{}, m.units...)
			trial.units[i].present = append([]noisyor.Observation{}, u.present...)
			trial.units[i].present[k] = m.unyielded(u.present[k])
			z, err := s.Evidence(trial.problem(-1))
			if errors.Is(err, noisyor.ErrImpossible) {
				continue // only the confirmed causes can explain it
			}
			if err != nil {
				return nil, err
			}
			if p := z / w.Evidence; p > 0.5 {
				out = append(out, UnexplainedReport{Finding: u.number, Place: u.said[k].At, Probability: math.Min(1, p)})
			}
		}
	}
	return out, nil
}

// unyielded takes from the confirmed causes the credit for an observation.
func (m *model) unyielded(o noisyor.Observation) noisyor.Observation {
	out := noisyor.Observation{Background: o.Background}
	for _, link := range o.Links {
		if m.confirmed[link.Cause] {
			link.Yes = 0
		}
		out.Links = append(out.Links, link)
	}
	return out
}

// groupReports gives for each group the chance that one of its causes at
// least is there. The group is one more OR of its causes, observed present, so
// that small chances lose no digits.
func (m *model) groupReports(s *noisyor.Solver, w weighed) ([]GroupReport, error) {
	out := []GroupReport{}
	for _, g := range m.book.Groups.List {
		o := noisyor.Observation{Background: noisyor.Yield{Yes: 0, No: 1}}
		for i, in := range m.causes {
			if in.cause.Group == g.ID && in.prior > 0 {
				o.Links = append(o.Links, noisyor.Link{Cause: i, Yield: noisyor.Yield{Yes: 1, No: 0}})
			}
		}
		p := m.problem(-1)
		p.Present = append(p.Present, o)
		z, err := s.Evidence(p)
		if err != nil && !errors.Is(err, noisyor.ErrImpossible) {
			return nil, err
		}
		out = append(out, GroupReport{Group: g.ID, Title: g.Title, Probability: math.Min(1, z/w.Evidence)})
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Probability > out[j].Probability })
	return out, nil
}

// noneOfThese is the chance that no cause of the book is there at all.
func (m *model) noneOfThese(s *noisyor.Solver, w weighed) (float64, error) {
	p := m.problem(-1)
	p.Absent = append(p.Absent, nobody(len(m.causes)))
	return ratio(s, p, w)
}

// nobody observes that no cause is there.
func nobody(causes int) noisyor.Observation {
	o := noisyor.Observation{Background: noisyor.Yield{Yes: 0, No: 1}}
	for i := range causes {
		o.Links = append(o.Links, noisyor.Link{Cause: i, Yield: noisyor.Yield{Yes: 1, No: 0}})
	}
	return o
}

// ratio is P(what p observes) / P(what w observes), 0 when impossible.
func ratio(s *noisyor.Solver, p *noisyor.Problem, w weighed) (float64, error) {
	z, err := s.Evidence(p)
	if errors.Is(err, noisyor.ErrImpossible) {
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	return math.Min(1, z/w.Evidence), nil
}

// likelier compares chances, or minutes, without what rounding makes of equal ones,
// so that sister cylinders stay in their order.
func likelier(a, b float64) bool { return math.Round(a*1e12) > math.Round(b*1e12) }

// evened takes away what rounding makes of equal weights, so that the planner
// finds sister cylinders equal too and goes through them by number.
func evened(weight []float64) []float64 {
	for i, w := range weight {
		weight[i] = math.Round(w*1e12) / 1e12
	}
	return weight
}

// partTitles names the parts that a cause takes, those that it takes only at
// times with an "if needed".
func (m *model) partTitles(c *rules.Cause) []string {
	out := []string{}
	for _, p := range c.Parts {
		if !m.book.Parts.Get(p.Part).When.Holds(m.k, m.book) {
			continue // not on this pump
		}
		title := lowerFirst(m.book.Parts.Get(p.Part).Title)
		if p.Chance < 0.5 {
			title += " if needed"
		}
		out = append(out, title)
	}
	return out
}
