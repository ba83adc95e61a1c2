package engine

import (
	"errors"
	"math"
	"sort"

	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// leastBits is the information below which a question is not worth a breath.
const leastBits = 0.005

// questions lists the signs that nobody answered and that can be answered
// with the pump as it stands, by the information that the answer is expected
// to give about each cause, added over the causes that may be behind the
// findings:
//
//	sum over causes of H(c) - sum over answers a of P(a) H(c | a)
//
// with H the binary entropy in bits (Shannon 1948).
func (m *model) questions(s *noisyor.Solver, w weighed, running, live bool) ([]QuestionReport, error) {
	out := []QuestionReport{}
	about := m.suspects(w)
	base := about.entropy(w.Posterior, 1)
	for _, sign := range m.book.Signs.List {
		if !m.askable(sign, running, live) {
			continue
		}
		for _, place := range m.k.Pump.Places(sign.Level) {
			if m.weighedCase().Settled(sign.ID, place) || !m.reachable(sign, place) || m.settled(sign, place, w) {
				continue
			}
			bits, err := m.bits(s, w, sign, place, about, base)
			if err != nil {
				return nil, err
			}
			if bits < leastBits {
				continue
			}
			q := QuestionReport{Sign: sign.ID, Place: place, Question: sign.Ask, Tell: m.fill(sign.Tell), Kinds: []string{}, Bits: bits, FromLocal: sign.FromLocal}
			for _, k := range sign.Kinds {
				q.Kinds = append(q.Kinds, k.ID)
			}
			out = append(out, q)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Bits > out[j].Bits*(1+1e-9) })
	return out, nil
}

// suspects are the causes that questions are about: those that, if they are
// there, more likely than not show some finding. What the pump may have
// besides is not asked for.
type suspects []int

func (m *model) suspects(w weighed) suspects {
	var out suspects
	for c, weight := range m.behind(w) {
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
func (m *model) askable(s *rules.Sign, running, live bool) bool {
	if s.Reckoned || !s.Fits(m.k) || !s.When.Holds(m.k, m.book) {
		return false
	}
	switch s.Pump {
	case rules.NeedsRunning:
		return running
	case rules.NeedsStopped:
		return m.k.Pump.State != evidence.Running
	case rules.NeedsLive:
		return m.k.Pump.State == evidence.Stopped && live
	case rules.NeedsNotIsolated:
		return m.k.Pump.State != evidence.Isolated
	case rules.NeedsIsolated:
		return m.k.Pump.State == evidence.Isolated
	}
	return true
}

// reachable says whether everything that the sign needs opened is open.
func (m *model) reachable(s *rules.Sign, place evidence.Place) bool {
	for _, id := range s.Openings {
		if !m.book.IsOpen(id, place, m.k.Pump.Open) {
			return false
		}
	}
	return true
}

// settled screens out a sign whose own causes are all as good as decided:
// no answer about it can tell much.
func (m *model) settled(s *rules.Sign, place evidence.Place, w weighed) bool {
	open := 0.0
	for _, sh := range m.shows(s.ID) {
		if m.causes[sh.cause].place.Touches(place) {
			open += entropy(w.Posterior[sh.cause])
		}
	}
	return open < leastBits
}

// bits is the expected information of one question.
func (m *model) bits(s *noisyor.Solver, w weighed, sign *rules.Sign, place evidence.Place, about suspects, base float64) (float64, error) {
	rest := append([]float64(nil), w.Posterior...) // P(c and no answer counted yet)
	restChance := 1.0
	after := 0.0
	count := func(joint []float64, chance float64) {
		if chance <= 0 {
			return
		}
		after += chance * about.entropy(joint, chance)
		restChance -= chance
		for c := range rest {
			rest[c] -= joint[c]
		}
	}
	none, noneChance, err := m.joint(s, w, m.observe(sign, "", []evidence.Place{place}))
	if err != nil {
		return 0, err
	}
	count(none, noneChance)
	for _, kind := range sign.Kinds {
		only := m.observe(sign, kind.ID, []evidence.Place{place})
		atMost, chance, err := m.joint(s, w, kindOrNothing(only))
		if err != nil {
			return 0, err
		}
		for c := range atMost {
			atMost[c] = math.Max(0, atMost[c]-none[c])
		}
		count(atMost, chance-noneChance)
	}
	if restChance > 1e-9 {
		after += restChance * about.entropy(rest, restChance)
	}
	return math.Max(0, base-after), nil
}

// kindOrNothing turns "yields this kind" into "yields this kind or nothing",
// as an observation of which only No counts.
func kindOrNothing(o noisyor.Observation) noisyor.Observation {
	out := noisyor.Observation{Background: noisyor.Yield{No: math.Min(1, o.Background.Yes+o.Background.No)}}
	for _, link := range o.Links {
		link.No = math.Min(1, link.Yes+link.No)
		link.Yes = 0
		out.Links = append(out.Links, link)
	}
	return out
}

// joint is P(cause and nothing yielded | findings) for every cause, and
// P(nothing yielded | findings).
func (m *model) joint(s *noisyor.Solver, w weighed, nothing noisyor.Observation) ([]float64, float64, error) {
	p := m.problem(-1)
	p.Absent = append(p.Absent, nothing)
	a, err := s.Solve(p)
	if errors.Is(err, noisyor.ErrImpossible) {
		return make([]float64, len(m.causes)), 0, nil
	}
	if err != nil {
		return nil, 0, err
	}
	chance := math.Min(1, a.Evidence/w.Evidence)
	joint := make([]float64, len(a.Posterior))
	for c := range joint {
		joint[c] = a.Posterior[c] * chance
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
