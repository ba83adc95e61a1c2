package engine

import (
	"errors"
	"math"
	"slices"

	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// How long can it wait? The verdict is the most urgent of two: what the stop
// conditions that hold ask for, and the most urgent wait whose chance reaches
// the book's threshold. That chance is exact under the model: that one cause
// at least of that urgency or a greater one is there and behind the findings.

// hurry is what the verdict of one model rests on.
type hurry struct {
	waits   []rules.Haste // by cause
	chances []float64     // by wait, the most urgent first
	stops   rules.Wait    // the most urgent stop condition; watch if there is none
	leave   bool
	present bool // some sign was seen
	// under: the built-in book beneath a local one makes it more urgent than
	// the local one's chances and the stops.
	under bool
}

// verdict is the most urgent of what the stops say and of what the chances
// reach.
func (h *hurry) verdict(book *rules.Book) rules.Wait {
	out := h.stops
	for i, w := range book.Hurry.Waits[:len(h.chances)] {
		if h.chances[i] >= w.From && h.chances[i] > 0 && w.Wait.Sooner(out) {
			out = w.Wait
		}
	}
	return out
}

// name is the verdict's word.
func (h *hurry) name(book *rules.Book) string {
	if h.leave {
		return WellFirst
	}
	return string(h.verdict(book))
}

// stopWait is the wait that a stop condition gives. What stops a pump at the
// next safe moment keeps one that stands from starting.
func (m *model) stopWait(s *rules.Stop) rules.Wait {
	if s.StopPump && m.k.Pump.State != evidence.Running {
		return rules.StopNow
	}
	if s.Haste != nil && !s.StopPump && !s.LeavePump { // a local book may have it stop the pump
		return s.Haste.Wait
	}
	if s.By == rules.AtOnce {
		return rules.StopNow
	}
	return rules.NextConnection
}

// waits is how long each cause can wait.
func (m *model) waits() []rules.Haste {
	out := make([]rules.Haste, len(m.causes))
	for i, in := range m.causes {
		out[i] = in.cause.HasteAt(in.place, m.k, m.book)
	}
	return out
}

// hurryOf works out what the verdict rests on. evidence is the chance of the
// findings.
func (m *model) hurryOf(s *noisyor.Solver, evidence float64, stops []*rules.Stop, waits []rules.Haste) (*hurry, error) {
	h := m.hurryOfStops(stops)
	if h.leave {
		return h, nil
	}
	h.waits = waits
	var err error
	if h.chances, err = m.chancesOf(s, evidence, h.waits); err != nil {
		return nil, err
	}
	w, err := m.underLocal(s)
	if err == nil && w.Sooner(h.verdict(m.book)) {
		h.stops, h.under = w, true
	}
	return h, err
}

// hurryOfStops is what the stop conditions alone say.
func (m *model) hurryOfStops(stops []*rules.Stop) *hurry {
	h := &hurry{stops: rules.Watch}
	_, h.present = m.silent()
	for _, stop := range stops {
		h.leave = h.leave || stop.LeavePump
		if w := m.stopWait(stop); w.Sooner(h.stops) {
			h.stops = w
		}
	}
	return h
}

// chancesOf gives, for each wait but the least urgent, the chance that a cause
// of that urgency or a greater one is there and behind the findings.
func (m *model) chancesOf(s *noisyor.Solver, evidence float64, waits []rules.Haste) ([]float64, error) {
	var out []float64
	for _, w := range rules.Waits()[:len(rules.Waits())-1] {
		p, err := m.chanceOfSome(s, evidence, func(i int) bool { return !w.Sooner(waits[i].Wait) })
		if err != nil {
			return nil, err
		}
		if len(out) > 0 {
			p = max(p, out[len(out)-1]) // rounding
		}
		out = append(out, p)
	}
	return out, nil
}

// verdictOf is the verdict with the waits and stops of h and the chances of
// this model: the most urgent first, and no further than is needed.
func (m *model) verdictOf(s *noisyor.Solver, evidence float64, h *hurry) (rules.Wait, error) {
	for _, w := range m.book.Hurry.Waits {
		if w.Wait == rules.Watch || !w.Wait.Sooner(h.stops) {
			break
		}
		p, err := m.chanceOfSome(s, evidence, func(i int) bool { return !w.Wait.Sooner(h.waits[i].Wait) })
		if err != nil {
			return "", err
		}
		if p >= w.From && p > 0 {
			return w.Wait, nil
		}
	}
	return h.stops, nil
}

// chanceOfSome is the chance that one at least of the chosen causes is there
// and shows one of the findings. A cause that the case makes likely before any
// finding (proved, or known like the way the pump turns) need not show any.
//
//	1 - P(no chosen cause shows a finding, none of the known ones is there | E)
//
// A chosen cause that shows nothing yields nothing, so its Yes is taken away.
func (m *model) chanceOfSome(s *noisyor.Solver, evidence float64, chosen func(i int) bool) (float64, error) {
	p := m.problem(-1)
	some := false
	for i := range m.causes {
		some = some || chosen(i) && m.counts(i)
	}
	if !some {
		return 0, nil
	}
	for i, o := range p.Present {
		p.Present[i] = noisyor.Observation{Background: o.Background, Doubt: o.Doubt, Links: slices.Clone(o.Links)}
		for j, link := range o.Links {
			if chosen(link.Cause) && m.counts(link.Cause) {
				p.Present[i].Links[j].Yes = 0
			}
		}
	}
	known := noisyor.Observation{Background: noisyor.Yield{No: 1}}
	for i := range m.causes {
		if chosen(i) && m.counts(i) && m.known(i) {
			known.Links = append(known.Links, noisyor.Link{Cause: i, Yield: noisyor.Yield{Yes: 1}})
		}
	}
	if len(known.Links) > 0 {
		p.Absent = append(p.Absent, known)
	}
	z, err := s.Evidence(p)
	if errors.Is(err, noisyor.ErrImpossible) {
		return 1, nil
	}
	if err != nil {
		return 0, err
	}
	return max(0, 1-math.Min(1, z/evidence)), nil
}

// known says whether the case makes a cause likelier than not before any
// finding.
func (m *model) known(i int) bool { return m.causes[i].prior >= 0.5 }

// counts says whether a cause still hurries: not if it is ruled out, nor if it
// was corrected and looked at again.
func (m *model) counts(i int) bool {
	in := m.causes[i]
	return in.prior > 0 && !slices.ContainsFunc(m.k.LookedAgain, func(at evidence.At) bool { return at.ID == in.cause.ID && at.Place == in.place })
}

// hasteOfStops is the verdict by the stop conditions alone, for when nothing
// can be weighed; nil if there is none.
func (m *model) hasteOfStops(stops []*rules.Stop) *HasteReport {
	if len(stops) == 0 {
		return nil
	}
	return m.hasteReport(m.hurryOfStops(stops), stops)
}

// haste is the whole verdict: what it is, why, and what would change it.
func (m *model) haste(s *noisyor.Solver, w weighed, stops []*rules.Stop, asked []QuestionReport) (*HasteReport, error) {
	h, err := m.hurryOf(s, w.Evidence, stops, m.waits())
	if err != nil {
		return nil, err
	}
	r := m.hasteReport(h, stops)
	if h.leave {
		return r, nil
	}
	weight := m.carried(w)
	if err := m.addCauses(s, w, h, weight, r); err != nil {
		return nil, err
	}
	changes := hasteChanges{model: m, solver: s, h: h, weight: weight, stops: stops}
	r.ChangesIf, err = changes.all(asked)
	return r, err
}

// carried is behind, with proved and known causes at their full chance and
// without those that do not count any more.
func (m *model) carried(w weighed) []float64 {
	out := m.behind(w)
	_, present := m.silent()
	for i := range out {
		switch {
		case !m.counts(i):
			out[i] = 0
		case m.known(i):
			out[i] = w.Posterior[i]
		case !present:
			out[i] = 0
		}
	}
	return out
}

// doubt counts how the verdict fares in books whose figures were moved.
type doubt struct {
	book    *rules.Book
	h       *hurry
	verdict rules.Wait
	out     HasteDoubt
	tried   bool
}

// newDoubt is the trial of a verdict. Where a stop condition says stop now no
// figure can change it and nothing is tried.
func newDoubt(book *rules.Book, h *hurry) *doubt {
	return &doubt{book: book, h: h, verdict: h.verdict(book), tried: !h.leave && h.stops != rules.StopNow}
}

// try counts one book.
func (d *doubt) try(s *noisyor.Solver, moved *model, evidence float64) error {
	if !d.tried {
		return nil
	}
	then, err := moved.verdictOf(s, evidence, d.h)
	if err != nil {
		return err
	}
	d.out.Books++
	switch {
	case then == d.verdict:
		d.out.Same++
	case then.Sooner(d.verdict):
		d.out.Sooner++
	default:
		d.out.Later++
	}
	return nil
}

func (d *doubt) report() *HasteDoubt {
	if !d.tried || d.out.Books == 0 {
		return nil
	}
	out := d.out
	out.Unsure = float64(out.Books-out.Same) >= d.book.Hurry.Unsure*float64(out.Books)
	return &out
}
