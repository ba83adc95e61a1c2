package engine

import (
	"cmp"
	"fmt"
	"slices"
	"sync"

	"telltale/engine/figures"
	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// basisLine is printed with every probability.
const basisLine = "Chances rest on the rulebook's judged figures, not on counted failures. They rank; they do not prove."

// Diagnose weighs the case against the book. The error is an
// *ImpossibleError when the book holds the findings to be impossible, a
// *noisyor.TooWideError when the case is past what is computed exactly,
// ErrTooUnlikely, or a *source.InputError when a reading and the crew's word
// exclude each other. With an error the Report holds the stop conditions and
// nothing else: they speak whether or not the rest can be weighed.
func Diagnose(book *rules.Book, k *evidence.Case) (*Report, error) {
	measured, withFindings, err := measure(book, k)
	if err != nil {
		return readingsExclude(book, measured, withFindings, k), err
	}
	m := newModel(book, withFindings).saying(k)
	var s noisyor.Solver
	r := m.header(measured.Ratings)
	if k.Measured.Any() {
		r.Measured = measured
	}
	stops := m.addStops(r)
	r.Haste = m.hasteOfStops(stops)
	if r.LeavePump {
		r.Notes = append(r.Notes, "The pump waits. Causes, steps and questions are held back until the stop condition is over.")
		return r, nil
	}
	stopsOnly := *r
	w, err := m.weigh(&s)
	if err != nil {
		return &stopsOnly, err
	}
	if err := m.answer(&s, w, stops, r); err != nil {
		return &stopsOnly, err
	}
	return r, nil
}

// Outline is Diagnose without what only explains: the stop conditions, the
// causes by their chance, and the steps. It is for trying what an answer would
// change.
func Outline(book *rules.Book, k *evidence.Case) (*Report, error) {
	measured, withFindings, err := measure(book, k)
	if err != nil {
		return readingsExclude(book, measured, withFindings, k), err
	}
	m := newModel(book, withFindings).saying(k)
	var s noisyor.Solver
	r := m.header(measured.Ratings)
	stops := m.addStops(r)
	if r.LeavePump {
		return r, nil
	}
	w, err := m.posterior(&s)
	if err != nil {
		return r, err
	}
	r.Causes = m.causeReports(w)
	return r, m.list(&s, w, stops, r)
}

// addStops puts the stop conditions that hold into the report.
func (m *model) addStops(r *Report) []*rules.Stop {
	stops := m.stops()
	for _, stop := range stops {
		s := StopReport{ID: stop.ID, Signal: string(stop.Signal), By: string(stop.By), Title: m.stopTitle(stop), Do: m.stopDo(stop), FromLocal: stop.FromLocal}
		if m.raisedByLocal(stop) {
			s.Title, s.FromLocal = s.Title+rules.RaisedByLocal, true
		}
		r.Stop = append(r.Stop, s)
		r.LeavePump = r.LeavePump || stop.LeavePump
		r.OpenNothing = r.OpenNothing || stop.OpenNothing
	}
	return stops
}

// raisedByLocal says whether a stop of the built-in book holds by the condition
// of the local book alone.
func (m *model) raisedByLocal(stop *rules.Stop) bool {
	return !stop.When.HoldsAlone(m.standing(stop), m.book)
}

// answer fills in everything that follows from the posterior.
func (m *model) answer(s *noisyor.Solver, w weighed, stops []*rules.Stop, r *Report) (err error) {
	r.Causes = m.causeReports(w)
	r.Confirmed = m.confirmedReports()
	if r.Unexplained, err = m.unexplained(s, w); err != nil {
		return err
	}
	if r.Groups, err = m.groupReports(s, w); err != nil {
		return err
	}
	if r.NoneOfThese, err = m.noneOfThese(s, w); err != nil {
		return err
	}
	r.Closed = len(r.Confirmed) > 0 && len(r.Unexplained) == 0 && !slices.ContainsFunc(r.Confirmed, func(c ConfirmedReport) bool { return !c.LookedAgain })
	if r.Closed && m.k.Pump.State == evidence.Running {
		r.NotInSteps = 0 // there is nothing left to look for
		if r.Haste, err = m.haste(s, w, stops, nil); err != nil {
			return err
		}
	} else if err = m.explain(s, w, stops, r); err != nil {
		return err
	}
	r.Notes = append(r.Notes, m.notes(r)...)
	return nil
}

// explain works out the list of steps and, beside it, how firm the answer is
// and what is worth asking: each takes its third of the time and none needs
// another's result.
func (m *model) explain(s *noisyor.Solver, w weighed, stops []*rules.Stop, r *Report) error {
	m.gatherAll()
	var beside sync.WaitGroup
	var firmErr, askErr error
	beside.Go(func() {
		var own noisyor.Solver
		r.Ask, askErr = m.questions(&own, w, m.runningAllowed(stops), m.powerAllowed(stops))
		r.Haste, firmErr = m.haste(&own, w, stops, r.Ask)
		if firmErr == nil {
			r.Firmness, r.Haste.Doubt, firmErr = m.firmness(&own, w, stops)
		}
	})
	listErr := m.list(s, w, stops, r)
	beside.Wait()
	return cmp.Or(askErr, firmErr, listErr)
}

func (m *model) header(ratings []figures.Rating) *Report {
	p := &m.k.Pump
	r := &Report{
		Schema:   ReportSchema,
		Rulebook: RulebookReport{Name: m.book.Name, Version: m.book.Version, Digest: m.book.Digest, Basis: basisLine},
		Pump: PumpReport{
			Name: p.Name, Action: string(p.Action), Cylinders: p.Cylinders, State: string(p.State), Rotation: string(p.Rotation),
			Liner: text(p.Liner), Stroke: text(p.Stroke), Speed: text(p.Speed), Discharge: text(p.Discharge),
			Open: []string{}, Recent: []string{},
		},
		Locks: lockReports(m.k), StaysOpen: openLines(m.k),
		Stop: []StopReport{}, Beside: m.besideReports(), Contradictions: Contradictions(m.book, m.k), Found: m.found(), Causes: []CauseReport{}, Confirmed: []ConfirmedReport{},
		Unexplained: []UnexplainedReport{}, Groups: []GroupReport{}, Steps: []StepReport{}, Ask: []QuestionReport{}, Notes: []string{},
		Ratings: ratings,
	}
	r.Rulebook.Local = LocalBook(m.book)
	for _, at := range p.Open {
		r.Pump.Open = append(r.Pump.Open, m.book.Openings.Get(at.ID).Title+placesText([]evidence.Place{at.Place}))
	}
	for _, id := range m.k.Recent {
		r.Pump.Recent = append(r.Pump.Recent, m.book.Works.Get(id).Title)
	}
	return r
}

// LocalBook names the local book that was laid over the built-in one; nil if
// there is none.
func LocalBook(book *rules.Book) *LocalReport {
	if book.Local == nil {
		return nil
	}
	return &LocalReport{Name: book.Local.Name, Version: book.Local.Version, Digest: book.Local.Digest}
}

// number numbers the findings in the order of the case file, then the checks
// that found nothing.
func (m *model) number() {
	order := make([]int, len(m.units))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		a, b := &m.units[i], &m.units[j]
		if len(a.said) == 0 || len(b.said) == 0 {
			return cmp.Compare(len(b.said), len(a.said))
		}
		p, q := a.said[0].Pos, b.said[0].Pos
		return cmp.Or(cmp.Compare(p.Line, q.Line), cmp.Compare(p.Col, q.Col))
	})
	for n, i := range order {
		m.units[i].number = n + 1
	}
}

// found lists the findings by their numbers.
func (m *model) found() []Finding {
	m.number()
	out := make([]Finding, len(m.units))
	for i := range m.units {
		u := &m.units[i]
		out[u.number-1] = u.finding()
	}
	return out
}

// finding is a unit as data.
func (u *unit) finding() Finding {
	f := Finding{Number: u.number, Answer: FoundNothing, Kind: u.kind, Places: []evidence.Place{}, Measured: u.measured, InDoubt: u.doubt}
	if u.check != nil {
		f.Check, f.Title = u.check.ID, u.check.Title
	} else {
		f.Sign, f.Title, f.Answer, f.KindTitle = u.sign.ID, u.sign.Title, string(u.answer), u.sign.KindTitle(u.kind)
	}
	for _, p := range u.places {
		if p != (evidence.Place{}) {
			f.Places = append(f.Places, p)
		}
	}
	return f
}

func text(q *evidence.Quantity) string {
	if q == nil {
		return ""
	}
	return q.String()
}

func (m *model) notes(r *Report) []string {
	var out []string
	if len(m.units) == 0 {
		out = append(out, "No finding was given: the ranking only says how common each cause is.")
	}
	out = append(out, m.lockNotes()...)
	if opensNothing(m.stops()) {
		out = append(out, "Nothing is opened while a stop condition says so. Openings, checks with hands in, and closing up are held back.")
	}
	if m.k.Pump.State == evidence.Isolated {
		out = append(out, "The case says that the pump is isolated. Prove it again before hands go in.")
	}
	if len(m.confirmed) > 0 {
		out = append(out, m.whereItStands(r))
	}
	return out
}

// whereItStands says what is left to do about what was proved.
func (m *model) whereItStands(r *Report) string {
	corrected, again := 0, 0
	for _, c := range r.Confirmed {
		if c.Corrected {
			corrected++
		}
		if c.LookedAgain {
			again++
		}
	}
	proved := len(r.Confirmed)
	switch {
	case r.Closed && m.k.Pump.State == evidence.Running:
		return "This case is closed: what was proved is corrected, and was right when it was looked at again. Start a new case for anything new."
	case r.Closed:
		return "What was proved is corrected, and was right when it was looked at again. What is left is to close up and go back to service."
	case again == proved:
		return "What was proved is corrected, and was right when it was looked at again. Look at what is still unexplained."
	case corrected == proved:
		return fmt.Sprintf("%d cause(s) corrected. Look at each again, then at what is still unexplained.", corrected)
	}
	return fmt.Sprintf("%d cause(s) confirmed, %d of them corrected. Correct what is left, measure again, then look at what is still unexplained.", proved, corrected)
}
