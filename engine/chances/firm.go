package chances

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"

	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// firmSeed makes the perturbed books the same every time.
const firmSeed = 20_260_101

// most is the greatest chance of a perturbed figure; it stays short of
// certainty like the figures of a book.
const most = 1 - 1e-6

// Firmness says what becomes of the first cause when every figure of the
// rulebook is moved at random.
type Firmness struct {
	Cause string `json:"cause"`
	evidence.Place
	Books      int     `json:"books"`       // perturbed books
	Spread     float64 `json:"spread"`      // standard deviation on the log-odds scale
	StaysFirst int     `json:"stays_first"` // of those books
	// Low and High are the 5 % and 95 % points of its probability.
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Firmness weighs the case with many books whose priors, links and
// backgrounds are each moved on the log-odds scale by the book's spread times
// a standard normal number, and tells how the first cause fares, and the
// verdict on how long it can wait. The figures of a book are judged, so an
// answer that turns over under such moves is no firm answer. Both are nil where
// there is no open cause or no such book can be weighed.
func (w *Weighed) Firmness() (*Firmness, *HasteDoubt, error) {
	lead := w.Lead()
	if lead < 0 || w.Book.Firm.Books == 0 {
		return nil, nil, nil
	}
	h, err := w.hurryOf(w.waits())
	if err != nil {
		return nil, nil, err
	}
	doubt := newDoubt(w.Book, h)
	random := rand.New(rand.NewPCG(firmSeed, firmSeed))
	moved := newMovedBook(w.Model)
	trial := Weighed{Model: &moved.model, solver: w.solver}
	out := &Firmness{Cause: w.Causes[lead].Cause.ID, Place: w.Causes[lead].Place, Spread: w.Book.Firm.Spread}
	var chances []float64
	for range w.Book.Firm.Books {
		moved.move(random)
		err := w.solver.SolveInto(trial.Problem(), &trial.Answer)
		if errors.Is(err, noisyor.ErrImpossible) {
			continue
		}
		if err != nil {
			return nil, nil, err
		}
		if err := doubt.try(&trial); err != nil {
			return nil, nil, err
		}
		chances = append(chances, trial.Posterior[lead])
		if trial.Posterior[trial.Lead()] <= trial.Posterior[lead]+1e-9 {
			out.StaysFirst++
		}
	}
	out.Books = len(chances)
	if out.Books == 0 {
		return nil, nil, nil
	}
	slices.Sort(chances)
	out.Low, out.High = quantile(chances, 0.05), quantile(chances, 0.95)
	return out, doubt.report(), nil
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
	model  Model
	from   *Model
	spread float64
	signs  []movedSign // in the book's order, not the findings'
}

// movedSign is one sign among the findings with its links.
type movedSign struct {
	from     *rules.Sign
	sign     rules.Sign
	fromLink []Showing
	links    []Showing
}

func newMovedBook(m *Model) *movedBook {
	out := &movedBook{from: m, spread: m.Book.Firm.Spread}
	out.model = Model{
		Book: m.Book, Case: m.Case, Causes: slices.Clone(m.Causes), units: slices.Clone(m.units), confirmed: m.confirmed,
		showings: make(map[string][]Showing, len(m.units)),
	}
	moved := map[*rules.Sign]*rules.Sign{}
	for _, sign := range m.Book.Signs.List {
		if m.asked(sign) {
			out.signs = append(out.signs, movedSign{from: sign, sign: *sign, fromLink: m.Shows(sign.ID), links: ownLinks(m.Shows(sign.ID))})
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
func ownLinks(links []Showing) []Showing {
	out := append([]Showing(nil), links...)
	for i := range out {
		out[i].Link.Kinds = append([]float64(nil), out[i].Link.Kinds...)
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
			b.model.Causes[i].Prior = shift(b.from.Causes[i].Prior, by)
		}
	}
	for i := range b.signs {
		b.signs[i].move(b.from.Causes, next)
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
func (s *movedSign) move(causes []Instance, next func() float64) {
	s.sign.Background = shift(s.from.Background, next())
	for i, sh := range s.fromLink {
		link := &s.links[i].Link
		if i > 0 && causes[sh.Cause].Cause == causes[s.fromLink[i-1].Cause].Cause {
			link.Total = s.links[i-1].Link.Total
			copy(link.Kinds, s.links[i-1].Link.Kinds)
			continue
		}
		link.Total = shift(sh.Link.Total, next())
		for k, chance := range sh.Link.Kinds {
			link.Kinds[k] = chance * link.Total / sh.Link.Total
		}
	}
}

// asked says whether a sign is among the findings.
func (m *Model) asked(sign *rules.Sign) bool {
	return slices.ContainsFunc(m.units, func(u unit) bool { return u.sign == sign })
}
