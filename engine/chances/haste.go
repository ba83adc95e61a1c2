package chances

import (
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
	seen    bool // some sign was seen
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
func (m *Model) stopWait(s *rules.Stop) rules.Wait {
	if s.StopPump && m.Case.Pump.State != evidence.Running {
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
func (m *Model) waits() []rules.Haste {
	out := make([]rules.Haste, len(m.Causes))
	for i, in := range m.Causes {
		out[i] = in.Cause.HasteAt(in.Place, m.Case, m.Book)
	}
	return out
}

// hurryOf works out what the verdict rests on.
func (w *Weighed) hurryOf(waits []rules.Haste) (*hurry, error) {
	h := w.hurryOfStops()
	if h.leave {
		return h, nil
	}
	h.waits = waits
	var err error
	if h.chances, err = w.chancesOf(h.waits); err != nil {
		return nil, err
	}
	under, err := w.underLocal(w.solver)
	if err == nil && under.Sooner(h.verdict(w.Book)) {
		h.stops, h.under = under, true
	}
	return h, err
}

// hasty is the verdict alone.
func (w *Weighed) hasty() (rules.Wait, error) {
	h := w.hurryOfStops()
	h.waits = w.waits()
	verdict, err := w.verdictOf(h)
	if err != nil {
		return "", err
	}
	under, err := w.underLocal(w.solver)
	if under.Sooner(verdict) {
		verdict = under
	}
	return verdict, err
}

// hurryOfStops is what the stop conditions alone say.
func (m *Model) hurryOfStops() *hurry {
	h := &hurry{stops: rules.Watch, seen: m.seen()}
	for _, stop := range m.Stops() {
		h.leave = h.leave || stop.LeavePump
		if w := m.stopWait(stop); w.Sooner(h.stops) {
			h.stops = w
		}
	}
	return h
}

// chancesOf gives, for each wait but the least urgent, the chance that a cause
// of that urgency or a greater one is there and behind the findings.
func (w *Weighed) chancesOf(waits []rules.Haste) ([]float64, error) {
	var out []float64
	for _, wait := range rules.Waits()[:len(rules.Waits())-1] {
		p, err := w.chanceOfSome(func(i int) bool { return !wait.Sooner(waits[i].Wait) })
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
func (w *Weighed) verdictOf(h *hurry) (rules.Wait, error) {
	sums := w.sums()
	for _, words := range w.Book.Hurry.Waits {
		if words.Wait == rules.Watch || !words.Wait.Sooner(h.stops) {
			break
		}
		chosen := func(i int) bool { return !words.Wait.Sooner(h.waits[i].Wait) }
		if w.atMost(sums, chosen) < words.From {
			continue
		}
		p, err := w.chanceOfSome(chosen)
		if err != nil {
			return "", err
		}
		if p >= words.From && p > 0 {
			return words.Wait, nil
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
// A chosen cause that shows nothing, by itself or through what it brought on,
// yields nothing, so the Yes of all that is taken away.
func (w *Weighed) chanceOfSome(chosen func(i int) bool) (float64, error) {
	mute, known, some := make([]bool, w.sources()), noisyor.Observation{Background: noisyor.Yield{No: 1}}, false
	for i := range w.Causes {
		mute[i] = chosen(i) && w.counts(i)
		some = some || mute[i]
	}
	if !some {
		return 0, nil
	}
	for i, way := range w.ways {
		mute[len(w.Causes)+i] = mute[way.under] || mute[way.cause]
	}
	for i := range w.Causes {
		if mute[i] && w.known(i) {
			known.Links = append(known.Links, w.linksOf(i, noisyor.Yield{Yes: 1})...)
		}
	}
	z, err := w.share(w.ask(noisyor.Asked{Mute: mute, Absent: []noisyor.Observation{known}}))
	return max(0, 1-z), err
}

// sums are, by cause, the chances of all ways in which it is there, added up.
func (w *Weighed) sums() []float64 {
	out := make([]float64, len(w.Causes))
	for source, p := range w.Sources {
		out[w.CauseOf(source)] += p
	}
	return out
}

// atMost is never less than chanceOfSome but for rounding: the sums of the chosen causes,
// added up.
func (w *Weighed) atMost(sums []float64, chosen func(i int) bool) float64 {
	total := 1e-9
	for i, p := range sums {
		if p > 0 && chosen(i) && w.counts(i) {
			total += p
		}
	}
	return total
}

// known says whether the case makes a cause likelier than not before any
// finding.
func (m *Model) known(i int) bool { return m.confirmed[i] || m.Causes[i].Prior >= 0.5 }

// counts says whether a cause still hurries: not if it is ruled out, nor if it
// was corrected and looked at again.
func (m *Model) counts(i int) bool {
	in := m.Causes[i]
	return !m.ruledOut(i) && !Among(m.Case.LookedAgain, in.Cause.ID, in.Place)
}

// HasteOfStops is the verdict by the stop conditions alone, for when nothing
// can be weighed; nil if there is none.
func (m *Model) HasteOfStops() *Haste {
	if len(m.Stops()) == 0 {
		return nil
	}
	return m.hasteReport(m.hurryOfStops())
}

// Haste is the whole verdict: what it is, why, and what would change it, also
// by an answer to one of the first questions asked.
func (w *Weighed) Haste(asked []Question) (*Haste, error) {
	h, err := w.hurryOf(w.waits())
	if err != nil {
		return nil, err
	}
	r := w.hasteReport(h)
	if h.leave {
		return r, nil
	}
	changes := hasteChanges{Weighed: w, h: h, weight: w.carried()}
	if err := w.addCauses(h, changes.weight, r); err != nil {
		return nil, err
	}
	r.ChangesIf, err = changes.all(asked)
	return r, err
}

// carried is Behind, with proved and known causes at their full chance and
// without those that do not count any more.
func (w *Weighed) carried() []float64 {
	out, seen := w.Behind(), w.seen()
	for i := range out {
		switch {
		case !w.counts(i):
			out[i] = 0
		case w.known(i):
			out[i] = w.Posterior[i]
		case !seen:
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
func (d *doubt) try(moved *Weighed) error {
	if !d.tried {
		return nil
	}
	then, err := moved.verdictOf(d.h)
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
