package chances

import (
	"errors"
	"math"
	"slices"
	"sort"

	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// leastBits is the information below which a question is not worth a breath.
const leastBits = 0.005

// Question is a sign that nobody answered yet and that can be answered with the
// pump as it stands.
type Question struct {
	Sign string `json:"sign"`
	evidence.Place
	Question string   `json:"question"`
	Tell     string   `json:"tell,omitempty"`
	Kinds    []string `json:"kinds"`
	// Bits is the information that the answer is expected to give about what is
	// there by itself at the head of each chain, added over the causes that may be
	// behind the findings.
	Bits float64 `json:"bits"`
	// RootBits is the same about what may have brought on what was proved and was
	// not looked at. Questions that have some lead.
	RootBits float64 `json:"root_bits"`
	// FromLocal: it, or something of it, comes from the local book.
	FromLocal bool `json:"from_local,omitempty"`
}

// Questions lists the signs that nobody answered and that can be answered
// with the pump as it stands, by the information that the answer is expected
// to give about each cause by itself, added over the causes that may be behind
// the findings:
//
//	sum over causes of H(c) - sum over answers a of P(a) H(c | a)
//
// with H the binary entropy of c being there by itself, in bits (Shannon 1948).
// What one cause brings on another follows from that: a question about a failure
// counts by what it says of its roots and of ordinary wear.
func (w *Weighed) Questions() ([]Question, error) {
	out := []Question{}
	about := []suspects{w.suspects(), w.rootsWanted()}
	for _, sign := range w.Book.Signs.List {
		if !w.askable(sign) {
			continue
		}
		for _, place := range w.Case.Pump.Places(sign.Level) {
			if w.Used().Settled(sign.ID, place) || !w.reachable(sign, place) || w.settled(sign, place) {
				continue
			}
			bits, err := w.bits(sign, place, about)
			if err != nil {
				return nil, err
			}
			if bits[0] < leastBits && bits[1] < leastBits {
				continue
			}
			q := Question{Sign: sign.ID, Place: place, Question: sign.Ask, Tell: w.Fill(sign.Tell), Kinds: []string{}, Bits: bits[0], RootBits: bits[1], FromLocal: sign.FromLocal}
			for _, k := range sign.Kinds {
				q.Kinds = append(q.Kinds, k.ID)
			}
			out = append(out, q)
		}
	}
	sort.SliceStable(out, func(i, j int) bool {
		a, b := out[i], out[j]
		if a.aboutRoots() || b.aboutRoots() {
			return a.RootBits > b.RootBits*(1+1e-9)
		}
		return a.Bits > b.Bits*(1+1e-9)
	})
	return out, nil
}

// aboutRoots says whether the answer is worth it for what brought on what was proved.
func (q *Question) aboutRoots() bool { return q.RootBits >= leastBits }

// rootsWanted are what may have brought on what was proved, as far as nobody looked
// at it or the crew left it.
func (w *Weighed) rootsWanted() suspects {
	var out suspects
	for _, c := range w.Proved() {
		for _, root := range c.RootsLeft {
			if i, ok := w.Find(root.Cause, root.Place); ok && !c.RootLeft && !slices.Contains(out, i) {
				out = append(out, i)
			}
		}
	}
	return out
}

// suspects are the causes that questions are about: those that, if they are
// there, more likely than not show some finding. What the pump may have
// besides is not asked for.
type suspects []int

func (w *Weighed) suspects() suspects {
	var out suspects
	for c, weight := range w.Behind() {
		if weight > w.Posterior[c]/2 {
			out = append(out, c)
		}
	}
	return out
}

// entropy is the sum of the binary entropies of the suspects, their joint
// masses with something of the given chance.
func (cs suspects) entropy(joint []float64, chance float64) float64 {
	total := 0.0
	for _, c := range cs {
		total += entropy(math.Max(0, math.Min(1, joint[c]/chance)))
	}
	return total
}

// askable says whether asking for the sign makes sense and the pump's state
// allows looking at it.
func (m *Model) askable(s *rules.Sign) bool {
	if s.Reckoned || !s.Fits(m.Case) || !s.When.Holds(m.Case, m.Book) {
		return false
	}
	switch s.Pump {
	case rules.NeedsRunning:
		return m.RunningAllowed()
	case rules.NeedsStopped:
		return m.Case.Pump.State != evidence.Running
	case rules.NeedsLive:
		return m.Case.Pump.State == evidence.Stopped && m.PowerAllowed()
	case rules.NeedsNotIsolated:
		return m.Case.Pump.State != evidence.Isolated
	case rules.NeedsIsolated:
		return m.Case.Pump.State == evidence.Isolated
	}
	return true
}

// reachable says whether everything that the sign needs opened is open.
func (m *Model) reachable(s *rules.Sign, place evidence.Place) bool {
	return !slices.ContainsFunc(s.Openings, func(id string) bool { return !m.Book.IsOpen(id, place, m.Case.Pump.Open) })
}

// settled screens out a sign whose causes, and what may have brought them on,
// are all as good as decided:
// no answer about it can tell much.
func (w *Weighed) settled(s *rules.Sign, place evidence.Place) bool {
	open, last := 0.0, -1
	for _, shower := range w.Shows(s.ID) {
		for _, source := range shower.Sources {
			if !w.Causes[w.CauseOf(source)].Place.Touches(place) {
				continue
			}
			for ; source >= 0; source = w.under(source) {
				if cause := w.CauseOf(source); cause != last {
					open, last = open+entropy(w.Posterior[cause]), cause
				}
			}
			if open >= leastBits {
				return false
			}
		}
	}
	return true
}

// bits is the expected information of one question, about each set of causes.
func (w *Weighed) bits(sign *rules.Sign, place evidence.Place, about []suspects) ([]float64, error) {
	rest := slices.Clone(w.Sources[:len(w.Causes)]) // P(cause by itself and no answer counted yet)
	restChance := 1.0
	bits := make([]float64, len(about))
	for i, cs := range about {
		bits[i] = cs.entropy(w.Sources, 1)
	}
	less := func(joint []float64, chance float64) {
		for i, cs := range about {
			bits[i] -= chance * cs.entropy(joint, chance)
		}
	}
	count := func(joint []float64, chance float64) {
		if chance <= 0 {
			return
		}
		less(joint, chance)
		restChance -= chance
		for c := range rest {
			rest[c] -= joint[c]
		}
	}
	none, noneChance, err := w.joint(w.Observe(sign, "", []evidence.Place{place}))
	if err != nil {
		return nil, err
	}
	count(none, noneChance)
	for _, kind := range sign.Kinds {
		only := w.Observe(sign, kind.ID, []evidence.Place{place})
		atMost, chance, err := w.joint(kindOrNothing(only))
		if err != nil {
			return nil, err
		}
		for c := range atMost {
			atMost[c] = math.Max(0, atMost[c]-none[c])
		}
		count(atMost, chance-noneChance)
	}
	if restChance > 1e-9 {
		less(rest, restChance)
	}
	for i := range bits {
		bits[i] = math.Max(0, bits[i])
	}
	return bits, nil
}

// kindOrNothing turns "yields this kind" into "yields this kind or nothing",
// as an observation of which only No counts.
func kindOrNothing(o noisyor.Observation) noisyor.Observation {
	return each(o, func(_ int, y noisyor.Yield) noisyor.Yield { return noisyor.Yield{No: math.Min(1, y.Yes+y.No)} })
}

// joint is P(cause by itself and nothing yielded | findings) for every cause, and
// P(nothing yielded | findings).
func (w *Weighed) joint(nothing noisyor.Observation) ([]float64, float64, error) {
	solver, err := w.held()
	if err != nil {
		return nil, 0, err
	}
	joint := make([]float64, len(w.Causes))
	z, err := solver.AskRoots(noisyor.Asked{Absent: []noisyor.Observation{nothing}}, joint)
	if errors.Is(err, noisyor.ErrImpossible) {
		return make([]float64, len(w.Causes)), 0, nil
	}
	if err != nil {
		return nil, 0, err
	}
	chance := math.Min(1, z/w.Evidence)
	for s := range joint {
		joint[s] *= chance
	}
	return joint, chance, nil
}

// entropy is the binary entropy of p in bits.
func entropy(p float64) float64 {
	if p <= 0 || p >= 1 {
		return 0
	}
	return -p*math.Log2(p) - (1-p)*math.Log2(1-p)
}
