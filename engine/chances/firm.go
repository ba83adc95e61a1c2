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
	// RootStays is in how many of those books the likeliest root of the cause, or
	// that nothing brought it on, stays the likeliest; nil: nothing can bring it on.
	RootStays *int `json:"root_stays_first,omitempty"`
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
	rivals := w.rivals(lead)
	moved := newMovedBook(w.Model, append([]int{lead}, rivals...))
	budget := &noisyor.Budget{Most: mostFirm}
	trial := Weighed{Model: &moved.model, solver: &noisyor.Solver{Budget: budget}}
	out := &Firmness{Cause: w.Causes[lead].Cause.ID, Place: w.Causes[lead].Place, Spread: w.Book.Firm.Spread}
	var chances []float64
	root, rootStays := likeliestRoot(w.sourceList(), w.Sources, lead), 0
	trial.base = &noisyor.Problem{}
	for tried := range w.Book.Firm.Books {
		if tried > 0 && budget.Done()/tried > budget.Most-budget.Done() {
			break // no other one is to be begun and not ended
		}
		moved.move(random)
		trial.problemInto(trial.base, -1)
		first, err := trial.staysFirst(lead, rivals)
		if err == nil {
			err = doubt.try(&trial)
		}
		if errors.Is(err, noisyor.ErrImpossible) {
			continue
		}
		if budget.Err() != nil {
			break
		}
		if err != nil {
			return nil, nil, err
		}
		chances = append(chances, trial.Posterior[lead])
		if first {
			out.StaysFirst++
		}
		if likeliestRoot(trial.base.Sources, trial.Sources, lead) == root {
			rootStays++
		}
	}
	if w.brought[lead] {
		out.RootStays = &rootStays
	}
	out.Books = len(chances)
	if out.Books == 0 {
		return nil, nil, nil
	}
	slices.Sort(chances)
	out.Low, out.High = quantile(chances, 0.05), quantile(chances, 0.95)
	return out, doubt.report(), nil
}

// rivalShare is the share of the chance of the first cause below which no other
// one is tried against it.
const rivalShare = 1.0 / 64

// rivals are the causes that moved figures can bring past the first one: that
// with a smaller share of its chance could, would take moves of several spreads
// one way.
func (w *Weighed) rivals(lead int) []int {
	var out []int
	for i, p := range w.Posterior {
		if i != lead && w.open(i) && p >= rivalShare*w.Posterior[lead] {
			out = append(out, i)
		}
	}
	return out
}

// staysFirst weighs the first cause, and says whether no rival is likelier. What the ways of a rival come to when they are added up is no less than
// its chance, so that most need not be worked out.
func (w *Weighed) staysFirst(lead int, rivals []int) (bool, error) {
	solver := w.solver
	if err := solver.Hold(w.base); err != nil {
		return false, err
	}
	if err := solver.SolveHeld([]int{lead}, &w.Answer, nil); err != nil {
		return false, err
	}
	sums := w.sums()
	var about []int
	for _, i := range rivals {
		if sums[i] > w.Posterior[lead] {
			about = append(about, i)
		}
	}
	if len(about) == 0 {
		return true, nil
	}
	var a noisyor.Answer
	if err := solver.SolveHeld(about, &a, nil); err != nil {
		return false, err
	}
	return !slices.ContainsFunc(about, func(i int) bool { return a.Posterior[i] > w.Posterior[lead]+1e-9 }), nil
}

// likeliestRoot is the cause through which another one most likely came: itself
// where nothing brought it on, else the head of the chain. The chances are those of
// the sources.
func likeliestRoot(sources []noisyor.Source, chances []float64, cause int) int {
	best := cause
	for i, s := range sources {
		if s.Cause == cause && chances[i] > chances[best] {
			best = i
		}
	}
	for sources[best].Under >= 0 {
		best = sources[best].Under
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
	model  Model
	from   *Model
	spread float64
	signs  []movedSign // in the book's order, not the findings'
	brings []*rules.Bring
}

// movedSign is one sign among the findings with its links.
type movedSign struct {
	from     *rules.Sign
	sign     rules.Sign
	fromShow []Shower
	shows    []Shower
}

// newMovedBook leaves out what bears neither on the case nor on some causes.
func newMovedBook(m *Model, about []int) *movedBook {
	for i, brought := range m.brought {
		if brought && !m.open(i) {
			about = append(about, i)
		}
	}
	out := &movedBook{from: m, spread: m.Book.Firm.Spread, model: m.lean(about)}
	out.model.Causes, out.model.units = slices.Clone(m.Causes), slices.Clone(m.units)
	out.model.showers, out.model.room = map[string][]Shower{}, &[]noisyor.Link{}
	seen := map[*rules.Bring]bool{}
	for _, w := range m.ways {
		if !seen[w.bring] {
			seen[w.bring] = true
			out.brings = append(out.brings, w.bring)
		}
	}
	moved := map[*rules.Sign]*rules.Sign{}
	for _, sign := range m.Book.Signs.List {
		if m.asked(sign) {
			out.signs = append(out.signs, movedSign{from: sign, sign: *sign, fromShow: m.Shows(sign.ID), shows: ownKinds(m.Shows(sign.ID))})
		}
	}
	for i := range out.signs {
		s := &out.signs[i]
		moved[s.from] = &s.sign
		out.model.showers[s.sign.ID] = s.shows
	}
	for i := range out.model.units {
		if u := &out.model.units[i]; u.sign != nil {
			u.sign, u.present, u.absent = moved[u.sign], nil, nil
		}
	}
	return out
}

// ownKinds copies showers with the chances of their kinds.
func ownKinds(shows []Shower) []Shower {
	out := slices.Clone(shows)
	for i := range out {
		out[i].Link.Kinds = slices.Clone(out[i].Link.Kinds)
	}
	return out
}

// move moves every figure from where the book has it. One move is shared by all
// places of a cause, as one figure of the book is.
func (b *movedBook) move(random *rand.Rand) {
	next := func() float64 { return b.spread * random.NormFloat64() }
	by := 0.0
	for i, in := range b.from.Causes {
		if i == 0 || in.Cause != b.from.Causes[i-1].Cause {
			by = next()
		}
		b.model.Causes[i].Prior = shift(in.Prior, by)
	}
	often := make(map[*rules.Bring]float64, len(b.brings))
	for _, bring := range b.brings {
		often[bring] = shift(bring.Often, next())
	}
	for i := range b.model.ways {
		b.model.ways[i].often = often[b.model.ways[i].bring]
	}
	b.model.laid, *b.model.room = b.model.laid[:0], (*b.model.room)[:0]
	for i := range b.signs {
		b.signs[i].move(b.from, next)
	}
	for i := range b.model.units {
		u := &b.model.units[i]
		if u.sign == nil {
			continue // a check that found nothing: nothing of it is moved
		}
		u.present, u.absent = u.present[:0], u.absent[:0]
		b.model.observeAll(u, u.said)
	}
}

// figure is one figure of the book: how often a cause shows the sign, by itself
// or where a bring says so.
type figure struct {
	cause *rules.Cause
	bring *rules.Bring
}

// move moves the background and each figure once, the kinds in proportion.
func (s *movedSign) move(m *Model, next func() float64) {
	s.sign.Background = shift(s.from.Background, next())
	moved := map[figure]float64{}
	for i, sh := range s.fromShow {
		of := figure{m.Causes[m.CauseOf(sh.Sources[0])].Cause, sh.bring}
		total, known := moved[of]
		if !known {
			total = shift(sh.Link.Total, next())
			moved[of] = total
		}
		link := &s.shows[i].Link
		link.Total = total
		for k, chance := range sh.Link.Kinds {
			link.Kinds[k] = chance * total / sh.Link.Total
		}
	}
}

// asked says whether a sign is among the findings.
func (m *Model) asked(sign *rules.Sign) bool {
	return slices.ContainsFunc(m.units, func(u unit) bool { return u.sign == sign })
}
