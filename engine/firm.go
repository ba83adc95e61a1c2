package engine

import (
	"errors"
	"math"
	"math/rand/v2"
	"sort"

	"telltale/engine/noisyor"
	"telltale/rules"
)

// firmSeed makes the perturbed books the same every time.
const firmSeed = 20_260_101

// most is the greatest chance of a perturbed figure; it stays short of
// certainty like the figures of a book.
const most = 1 - 1e-6

// firmness weighs the case with many books whose priors, links and
// backgrounds are each moved on the log-odds scale by the book's spread times
// a standard normal number, and tells how the first cause fares. The figures
// of a book are judged, so an answer that turns over under such moves is no
// firm answer.
func (m *model) firmness(s *noisyor.Solver, w weighed) (*FirmnessReport, error) {
	lead := m.lead(w.Posterior)
	if lead < 0 || m.book.Firm.Books == 0 {
		return nil, nil
	}
	random := rand.New(rand.NewPCG(firmSeed, firmSeed))
	out := &FirmnessReport{Cause: m.causes[lead].cause.ID, Where: where(m.causes[lead].place), Spread: m.book.Firm.Spread}
	var chances []float64
	for range m.book.Firm.Books {
		a, err := s.Solve(m.perturbed(random).problem(-1))
		if errors.Is(err, noisyor.ErrImpossible) {
			continue
		}
		if err != nil {
			return nil, err
		}
		chances = append(chances, a.Posterior[lead])
		if best := m.lead(a.Posterior); a.Posterior[best] <= a.Posterior[lead]+1e-9 {
			out.StaysFirst++
		}
	}
	out.Books = len(chances)
	if out.Books == 0 {
		return nil, nil
	}
	sort.Float64s(chances)
	out.Low, out.High = quantile(chances, 0.05), quantile(chances, 0.95)
	return out, nil
}

// lead is the likeliest cause that is not confirmed, -1 if there is none.
func (m *model) lead(posterior []float64) int {
	best := -1
	for c, p := range posterior {
		if !m.confirmed[c] && m.causes[c].prior > 0 && (best < 0 || p > posterior[best]) {
			best = c
		}
	}
	return best
}

// quantile is the nearest-rank quantile of sorted numbers.
func quantile(sorted []float64, q float64) float64 {
	return sorted[min(len(sorted)-1, int(math.Round(q*float64(len(sorted)-1))))]
}

// shift moves a chance on the log-odds scale; 0 and 1 stay.
func shift(p, by float64) float64 {
	if p <= 0 || p >= 1 {
		return p
	}
	return min(most, 1/(1+(1-p)/p*math.Exp(-by)))
}

// perturbed is the case laid over a book whose figures are moved. One move is
// shared by all places of a cause, as one figure of the book is.
func (m *model) perturbed(random *rand.Rand) *model {
	move := func() float64 { return m.book.Firm.Spread * random.NormFloat64() }
	out := &model{book: m.book, k: m.k, confirmed: m.confirmed, showings: make(map[string][]showing, len(m.showings))}
	out.causes = append([]instance(nil), m.causes...)
	byCause := map[*rules.Cause]float64{}
	for i := range out.causes {
		in := &out.causes[i]
		by, seen := byCause[in.cause]
		if !seen {
			by = move()
			byCause[in.cause] = by
		}
		in.prior = shift(in.prior, by)
	}
	symptoms := map[*rules.Symptom]*rules.Symptom{}
	for _, symptom := range m.book.Symptoms.List { // in the book's order, not the findings'
		if !m.asked(symptom) {
			continue
		}
		moved := *symptom
		moved.Background = shift(moved.Background, move())
		symptoms[symptom] = &moved
		out.showings[moved.ID] = perturbedLinks(m.shows(moved.ID), m.causes, move)
	}
	for _, u := range m.units {
		v := u
		if u.symptom != nil {
			v = unit{symptom: symptoms[u.symptom], answer: u.answer, kind: u.kind}
			out.observeAll(&v, u.said)
		}
		out.units = append(out.units, v)
	}
	return out
}

// asked says whether a symptom is among the findings.
func (m *model) asked(symptom *rules.Symptom) bool {
	for _, u := range m.units {
		if u.symptom == symptom {
			return true
		}
	}
	return false
}

// perturbedLinks moves each link of one symptom once for each cause, its kinds
// in proportion.
func perturbedLinks(links []showing, causes []instance, move func() float64) []showing {
	out := make([]showing, len(links))
	moved := map[*rules.Cause]rules.Link{}
	for i, sh := range links {
		cause := causes[sh.cause].cause
		link, seen := moved[cause]
		if !seen {
			link = sh.link
			link.Total = shift(link.Total, move())
			link.Kinds = nil
			for _, k := range sh.link.Kinds {
				link.Kinds = append(link.Kinds, k*link.Total/sh.link.Total)
			}
			moved[cause] = link
		}
		out[i] = showing{cause: sh.cause, link: link}
	}
	return out
}
