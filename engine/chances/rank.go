package chances

import (
	"math"
	"slices"
	"sort"

	"telltale/engine/figures"
	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// Ranking is the short answer to a case: what stops everything, and the causes
// by their chance.
type Ranking struct {
	Stop      []string `json:"stop"` // ids of the stop conditions, gravest first
	LeavePump bool     `json:"leave_pump"`
	Near      []string `json:"near,omitempty"` // ids of the ratings that the pump is near
	// Haste is how long it can wait; null where the case could not be weighed
	// and no stop condition holds.
	Haste  *RankedHaste  `json:"haste"`
	Causes []RankedCause `json:"causes"`
	// NoneOfThese is the chance that no cause of the rulebook is there.
	NoneOfThese float64 `json:"none_of_these"`
	// FromLocal are the ids of Stop and Causes that, or something of which,
	// come from the local book.
	FromLocal []string `json:"from_local,omitempty"`
}

// RankedHaste is the verdict of Haste alone.
type RankedHaste struct {
	Verdict string `json:"verdict"`
}

// RankedCause is one cause at one place with its chance.
type RankedCause struct {
	Cause string `json:"cause"`
	evidence.Place
	Probability float64 `json:"probability"` // to six digits behind the point
}

// Ranker ranks one case after another and keeps its scratch memory. It must
// not be used by two goroutines at once.
type Ranker struct {
	book    *rules.Book
	layouts *layouts
	solver  noisyor.Solver
}

// NewRanker makes a Ranker for a book.
func NewRanker(book *rules.Book) *Ranker { return &Ranker{book: book, layouts: newLayouts(book)} }

// Rank gives the causes of a case from the least chance on, likeliest first.
// The errors are those of Lay and Weigh; with one the Ranking holds the stop
// conditions alone.
func (r *Ranker) Rank(k *evidence.Case, least float64) (*Ranking, error) {
	out := &Ranking{Stop: []string{}, Causes: []RankedCause{}}
	m, unfit := r.lay(k)
	out.stops(m)
	if unfit != nil || out.LeavePump {
		return out, unfit
	}
	r.solver.Budget = m.Within(NewBudget()).budget
	// What cannot become as likely as that is left out from the start.
	m.takeAll(m.whole())
	w := &Weighed{Model: m, solver: &r.solver}
	if err := w.solveSome([]int{}); err != nil {
		return out, err
	}
	verdict, err := w.hasty()
	if err != nil {
		return out, err
	}
	out.Haste = &RankedHaste{string(verdict)}
	if out.NoneOfThese, err = w.NoneOfThese(); err != nil {
		return out, err
	}
	likely := w.likely(least)
	m.takeAll(likely)
	alike := m.alike(likely)
	if err := r.solver.SolveLonger(m.sourceList(), slices.Compact(slices.Sorted(slices.Values(alike))), &w.Answer); err != nil {
		return out, err
	}
	for n, i := range likely {
		if p := w.Posterior[alike[n]]; p >= least {
			out.Causes = append(out.Causes, RankedCause{Cause: m.Causes[i].Cause.ID, Place: m.Causes[i].Place, Probability: math.Round(p*1e6) / 1e6})
		}
	}
	sort.SliceStable(out.Causes, func(a, b int) bool { return Likelier(out.Causes[a].Probability, out.Causes[b].Probability) })
	for _, c := range out.Causes {
		if r.book.Causes.Get(c.Cause).FromLocal && !slices.Contains(out.FromLocal, c.Cause) {
			out.FromLocal = append(out.FromLocal, c.Cause)
		}
	}
	return out, m.Spent()
}

// whole are the causes of which all ways count in how long it can wait.
func (m *Model) whole() []int {
	var out []int
	for i := range m.Causes {
		if m.known(i) && m.counts(i) {
			out = append(out, i)
		}
	}
	return out
}

// likely are the open causes that may be as likely as least: the chances of all their
// ways, added up, reach it. A way that does not bear on the case is there as often as its
// bring says where the one is that it lies under.
func (w *Weighed) likely(least float64) []int {
	n, ways := len(w.Causes), w.from.ways
	chances := slices.Grow(slices.Clone(w.Sources[:n]), len(ways))
	sums := slices.Clone(chances)
	for i, way := range ways {
		p := chances[way.under] * way.often
		if at := w.numbers[i]; at > 0 {
			p = w.Sources[at]
		}
		chances = append(chances, p)
		sums[way.cause] += p
	}
	out := []int{}
	for i, sum := range sums {
		if sum >= least*(1-1e-9) && w.open(i) {
			out = append(out, i)
		}
	}
	return out
}

// alike gives for each of some causes the first that is as likely: the same one at another
// cylinder, where the case tells neither of the two from the others.
func (m *Model) alike(causes []int) []int {
	told := map[string]bool{}
	tell := func(list []evidence.At) {
		for _, at := range list {
			told[at.Place.Cylinder] = true
		}
	}
	tell(m.Case.Confirmed)
	tell(m.Case.RuledOut)
	for _, u := range m.units {
		for _, place := range u.places {
			told[place.Cylinder] = true
		}
		for _, f := range u.said {
			if len(f.Over) < len(m.Case.Pump.Places(u.sign.Level)) {
				for _, place := range f.Over {
					told[place.Cylinder] = true
				}
			}
		}
	}
	type sister struct {
		cause *rules.Cause
		end   string
	}
	out, first := slices.Clone(causes), map[sister]int{}
	for n, i := range causes {
		in := m.Causes[i]
		of := sister{in.Cause, in.Place.End}
		switch other, known := first[of]; {
		case in.Place.Cylinder == "" || told[in.Place.Cylinder] || m.Measured != nil: // the hours on a part may tell them apart
		case known:
			out[n] = other
		default:
			first[of] = i
		}
	}
	return out
}

// lay is Lay, without the readings where there are none and no rating has a
// figure.
func (r *Ranker) lay(k *evidence.Case) (*Model, error) {
	if k := weighable(r.book, k); k.Measured.Any() || rated(r.book, k) {
		return layBy(r.book, k, r.layouts.lay)
	}
	return r.layouts.lay(weighable(r.book, k)).saying(k), nil
}

// stops fills in what the stop conditions, and the ratings that the pump is
// near, say.
func (out *Ranking) stops(m *Model) {
	if m.Measured != nil {
		for _, rating := range m.Measured.Ratings {
			if rating.Stand == figures.Near {
				out.Near = append(out.Near, rating.Rating)
			}
		}
	}
	out.LeavePump = m.LeavePump()
	for _, stop := range m.Stops() {
		out.Stop = append(out.Stop, stop.ID)
		if stop.FromLocal || m.raisedByLocal(stop) {
			out.FromLocal = append(out.FromLocal, stop.ID)
		}
	}
	if len(out.Stop) > 0 {
		out.Haste = &RankedHaste{m.hurryOfStops().name(m.Book)}
	}
}
