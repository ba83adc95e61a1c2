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
// It tells too how the verdict fares on how long it can wait.
func (m *model) firmness(s *noisyor.Solver, w weighed, stops []*rules.Stop) (*FirmnessReport, *HasteDoubt, error) {
	lead := m.lead(w.Posterior)
	if lead < 0 || m.book.Firm.Books == 0 {
		return nil, nil, nil
	}
	h, err := m.hurryOf(s, w.Evidence, stops, m.waits())
	if err != nil {
		return nil, nil, err
	}
	doubt := newDoubt(m.book, h)
	random := rand.New(rand.NewPCG(firmSeed, firmSeed))
	moved := newMovedBook(m)
	var a noisyor.Answer
	out := &FirmnessReport{Cause: m.causes[lead].cause.ID, Place: m.causes[lead].place, Spread: m.book.Firm.Spread}
	var chances []float64
	for range m.book.Firm.Books {
		moved.move(random)
		err := s.SolveInto(moved.model.problem(-1), &a)
		if errors.Is(err, noisyor.ErrImpossible) {
			continue
		}
		if err != nil {
			return nil, nil, err
		}
		if err := doubt.try(s, &moved.model, a.Evidence); err != nil {
			return nil, nil, err
		}
		chances = append(chances, a.Posterior[lead])
		if best := m.lead(a.Posterior); a.Posterior[best] <= a.Posterior[lead]+1e-9 {
			out.StaysFirst++
		}
	}
	out.Books = len(chances)
	if out.Books == 0 {
		return nil, nil, nil
	}
	sort.Float64s(chances)
	out.Low, out.High = quantile(chances, 0.05), quantile(chances, 0.95)
	return out, doubt.report(), nil
}

// lead is the likeliest cause that is not confirmed, of equal ones the first, -1
// if there is none.
func (m *model) lead(posterior []float64) int {
	best := -1
	for c, p := range posterior {
		if !m.confirmed[c] && m.causes[c].prior > 0 && (best < 0 || likelier(p, posterior[best])) {
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

// movedBook is the case laid over a book whose figures are moved. It is moved
// again and again in the same memory.
type movedBook struct {
	model  model
	from   *model
	spread float64
	signs  []movedSign // in the book's order, not the findings'
}

// movedSign is one sign among the findings with its links.
type movedSign struct {
	from     *rules.Sign
	sign     rules.Sign
	fromLink []showing
	links    []showing
}

func newMovedBook(m *model) *movedBook {
	out := &movedBook{from: m, spread: m.book.Firm.Spread}
	out.model = model{book: m.book, k: m.k, confirmed: m.confirmed, showings: make(map[string][]showing, len(m.units))}
	out.model.causes = append([]instance(nil), m.causes...)
	out.model.units = append([]unit(nil), m.units...)
	moved := map[*rules.Sign]*rules.Sign{}
	for _, sign := range m.book.Signs.List {
		if m.asked(sign) {
			out.signs = append(out.signs, movedSign{from: sign, sign: *sign, fromLink: m.shows(sign.ID), links: ownLinks(m.shows(sign.ID))})
		}
	}
	for i := range out.signs {
		s := &out.signs[i]
		moved[s.from] = &s.sign
		out.model.showings[s.sign.ID] = s.links
	}
	for i := range out.model.units {
		u := &out.model.units[i]
		u.sign = moved[u.sign]
	}
	return out
}

// ownLinks copies links with the chances of their kinds.
func ownLinks(links []showing) []showing {
	out := append([]showing(nil), links...)
	for i := range out {
		out[i].link.Kinds = append([]float64(nil), out[i].link.Kinds...)
	}
	return out
}

// move moves every figure from where the book has it. One move is shared by all
// places of a cause, as one figure of the book is.
func (b *movedBook) move(random *rand.Rand) {
	next := func() float64 { return b.spread * random.NormFloat64() }
	for _, c := range b.from.linked {
		by := next()
		for i := c.first; i < c.first+c.places; i++ {
			b.model.causes[i].prior = shift(b.from.causes[i].prior, by)
		}
	}
	for i := range b.signs {
		b.signs[i].move(b.from.causes, next)
	}
	for i := range b.model.units {
		u := &b.model.units[i]
		if u.sign == nil {
			continue // a check that found nothing: nothing of it is moved
		}
		u.present, u.absent = nil, nil
		b.model.observeAll(u, u.said)
	}
}

// move moves the background and, once for each cause, its links, the kinds in
// proportion. The links of one cause stand side by side.
func (s *movedSign) move(causes []instance, next func() float64) {
	s.sign.Background = shift(s.from.Background, next())
	for i, sh := range s.fromLink {
		link := &s.links[i].link
		if i > 0 && causes[sh.cause].cause == causes[s.fromLink[i-1].cause].cause {
			link.Total = s.links[i-1].link.Total
			copy(link.Kinds, s.links[i-1].link.Kinds)
			continue
		}
		link.Total = shift(sh.link.Total, next())
		for k, chance := range sh.link.Kinds {
			link.Kinds[k] = chance * link.Total / sh.link.Total
		}
	}
}

// asked says whether a sign is among the findings.
func (m *model) asked(sign *rules.Sign) bool {
	for _, u := range m.units {
		if u.sign == sign {
			return true
		}
	}
	return false
}
