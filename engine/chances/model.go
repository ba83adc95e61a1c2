package chances

import (
	"cmp"
	"math"
	"slices"

	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// Instance is a cause at one of its places, with the chance that it is there by
// itself before anything was found.
type Instance struct {
	Cause *rules.Cause
	Place evidence.Place
	Prior float64
}

// unit is what counts as one finding in the reasons: a sign with one
// answer at one or more places, or a check that found nothing.
type unit struct {
	number  int // in the report's list of findings
	sign    *rules.Sign
	check   *rules.Check // that found nothing; nil for a sign
	work    *rules.Work  // that is said to have cured the trouble, or not; nil for a sign
	answer  evidence.Answer
	kind    string
	places  []evidence.Place
	present []noisyor.Observation
	absent  []noisyor.Observation
	said    []evidence.Finding // the findings behind it
	// measured: it comes from readings; doubt: some of them are near a limit.
	measured, doubt bool
}

// Model is a case laid over a book.
type Model struct {
	Book *rules.Book
	// Case is all that the case says, with its readings turned into findings.
	// What only the weighing may not hear, Used leaves out.
	Case *evidence.Case
	// Causes are the causes that can be on the pump, at each of their places, in
	// the order of the book.
	Causes []Instance
	// Measured is what the readings came to; nil if they were not worked out.
	Measured  *Measured
	ways      []way
	brought   []bool              // by cause: something in the book can bring it on here
	showers   map[string][]Shower // by sign; see Shows
	from      *layout             // that is kept; nil: none is
	numbers   []int               // by way of it, its source here; 0: it is left out
	laid      []noisyor.Source    // see sourceList
	waysTo    [][]int             // by cause, the sources through which others bring it on
	bearing   int                 // how many sources bear on the case; see sortWays
	units     []unit
	room      *[]noisyor.Link // for the links of observations, to be used again; nil: none
	confirmed map[int]bool
	used      *evidence.Case // see Used
	// readUnder are the findings that the readings are by the built-in book
	// beneath a local one.
	readUnder []evidence.Finding
	stops     []*rules.Stop // nil: not looked for yet; see Stops
	budget    *noisyor.Budget
}

// Lay works out the readings of a case, turns them into findings and lays all
// of it over the book. The error is a *source.InputError where a reading and
// the crew's word exclude each other; the Model then goes by the crew's word
// and the ratings, for the stop conditions alone.
func Lay(book *rules.Book, k *evidence.Case) (*Model, error) {
	return layBy(book, k, func(k *evidence.Case) *Model { return New(book, k) })
}

// layBy is Lay with what lays a case without readings over the book.
func layBy(book *rules.Book, k *evidence.Case, lay func(*evidence.Case) *Model) (*Model, error) {
	measured, with, err := measure(book, k)
	m := lay(with).saying(k)
	m.Measured = measured
	m.age()
	if book.Under != nil && err == nil {
		m.readUnder = readings(book.Under, k)
	}
	return m, err
}

// New lays a case without readings over a book.
func New(book *rules.Book, k *evidence.Case) *Model {
	m := &Model{Book: book, Case: k, used: k, confirmed: map[int]bool{}, budget: NewBudget()}
	m.addCauses()
	m.addWays()
	m.sortWays(m.bears())
	m.addCase()
	return m
}

// addCase puts in what the case says, over causes and ways.
func (m *Model) addCase() {
	m.verdicts()
	m.addFindings()
	m.addCleared()
	m.addWorks()
}

func (m *Model) addCauses() {
	for _, c := range m.Book.Causes.List {
		if c.When.Holds(m.Case, m.Book) {
			m.addCause(c)
		}
	}
}

// asIf is the same case with one finding more. Where no cause asks about its sign the
// causes, and what they bring on and show, stay as they are.
func (m *Model) asIf(f evidence.Finding) *Model {
	k := *m.Case
	k.Findings = append(slices.Clone(m.Case.Findings), f)
	if slices.ContainsFunc(m.Book.Causes.List, func(c *rules.Cause) bool { return asksAbout(c, f.Sign) }) {
		return New(m.Book, &k).Within(m.budget)
	}
	out := *m
	out.Case, out.used, out.stops = &k, &k, nil
	u := unit{sign: m.Book.Signs.Get(f.Sign), answer: f.Answer, kind: f.Kind, places: []evidence.Place{f.At}, said: []evidence.Finding{f}}
	out.observeAll(&u, u.said)
	out.units = append(slices.Clip(m.units), u)
	return &out
}

// asksAbout says whether some condition on what a cause is, shows and brings on asks about
// a sign.
func asksAbout(c *rules.Cause, sign string) bool {
	return c.When.AsksAbout(sign) ||
		slices.ContainsFunc(c.Odds, func(o rules.OddsRule) bool { return o.When.AsksAbout(sign) }) ||
		slices.ContainsFunc(c.ShowsWhen, func(over rules.LinksWhen) bool { return over.When.AsksAbout(sign) }) ||
		slices.ContainsFunc(c.Brings, func(b rules.Bring) bool { return b.When.AsksAbout(sign) })
}

// Bare is a case that is not laid over the book: for the stop conditions and the
// words of the book alone.
func Bare(book *rules.Book, k *evidence.Case) *Model {
	if len(k.Others) > 0 {
		k = withKeptOut(book, k)
	}
	return &Model{Book: book, Case: k, used: k}
}

// Standing is the same pump with nothing open, in another state.
func (m *Model) Standing(state evidence.PumpState) *Model {
	out, k := *m, *m.Case
	k.Pump.State, k.Pump.Open = state, nil
	out.Case, out.stops = &k, nil
	return &out
}

// Confirmed says whether a cause was proved.
func (m *Model) Confirmed(cause int) bool { return m.confirmed[cause] }

// Fill puts the figures of the case into a text of the rulebook.
func (m *Model) Fill(text string) string { return m.Book.Fill(m.Case, text) }

// FillAll fills several texts.
func (m *Model) FillAll(texts []string) []string { return m.Book.FillAll(m.Case, texts) }

func (m *Model) addCause(c *rules.Cause) {
	places := m.Case.Pump.Places(c.Level)
	prior := share(oddsTimes(c.Common, m.times(c)), len(places))
	for _, p := range places {
		m.Causes = append(m.Causes, Instance{Cause: c, Place: p, Prior: prior})
	}
}

// times is the product of the odds rules of a cause that hold, within
// mostTimes either way.
func (m *Model) times(c *rules.Cause) float64 {
	times := 1.0
	for _, rule := range c.Odds {
		if rule.When.Holds(m.Case.BeforeTrouble(), m.Book) {
			times = math.Max(1/mostTimes, math.Min(mostTimes, times*rule.Times))
		}
	}
	return times
}

// mostTimes keeps rules that pile up from making a cause certain: only the
// crew's own eyes do that.
const mostTimes = 1e6

// oddsTimes multiplies the odds of p.
func oddsTimes(p, times float64) float64 {
	return p * times / (1 - p + p*times)
}

// share gives each of n places the same chance such that at least one of them
// has it with probability p: 1 - (1-p)^(1/n).
func share(p float64, n int) float64 {
	if n == 1 {
		return p
	}
	return -math.Expm1(math.Log1p(-p) / float64(n))
}

// verdicts puts in what is proved and what is ruled out.
func (m *Model) verdicts() {
	for _, at := range m.Case.RuledOut {
		if i, ok := m.Find(at.ID, at.Place); ok {
			m.ruleOut(i)
		}
	}
	for _, at := range m.Case.Confirmed {
		if i, ok := m.Find(at.ID, at.Place); ok {
			m.confirm(i)
		}
	}
}

// ruleOut takes a cause for not there in any way.
func (m *Model) ruleOut(cause int) {
	m.Causes[cause].Prior = 0
	m.laid = nil
}

// confirm takes a cause for there. One that nothing brings on is there by
// itself; of another the problem says that it is there in some way.
func (m *Model) confirm(cause int) {
	m.confirmed[cause] = true
	if !m.brought[cause] {
		m.Causes[cause].Prior = 1
		m.laid = nil
	}
}

// RuledOut says whether a cause is taken for not there in any way.
func (m *Model) RuledOut(cause int) bool { return m.ruledOut(cause) }

// ruledOut says whether a cause is taken for not there in any way.
func (m *Model) ruledOut(cause int) bool { return m.Causes[cause].Prior == 0 && !m.confirmed[cause] }

// Find gives the number of a cause at a place; false if it cannot be there.
func (m *Model) Find(cause string, place evidence.Place) (int, bool) {
	for i, in := range m.Causes {
		if in.Cause.ID == cause && in.Place == place {
			return i, true
		}
	}
	return 0, false
}

// findingsInOrder gives the findings in the order of the book and of the places:
// no sum, and no choice between equals, leans on the order in which a crew wrote
// them down.
func (m *Model) findingsInOrder() []evidence.Finding {
	out := slices.Clone(m.Case.Findings)
	slices.SortStableFunc(out, func(a, b evidence.Finding) int {
		return cmp.Or(
			cmp.Compare(m.bookOrder(a.Sign), m.bookOrder(b.Sign)), cmp.Compare(a.Answer, b.Answer), cmp.Compare(a.Kind, b.Kind), m.ComparePlaces(a.At, b.At),
		)
	})
	return out
}

func (m *Model) bookOrder(sign string) int {
	return slices.IndexFunc(m.Book.Signs.List, func(s *rules.Sign) bool { return s.ID == sign })
}

// ComparePlaces puts the whole pump first, then the cylinders as the crew names
// them in turn.
func (m *Model) ComparePlaces(a, b evidence.Place) int {
	cylinders := m.Case.Pump.Cylinders
	return cmp.Or(cmp.Compare(slices.Index(cylinders, a.Cylinder), slices.Index(cylinders, b.Cylinder)), cmp.Compare(a.End, b.End))
}

// addFindings makes one unit of each sign and answer.
func (m *Model) addFindings() {
	for _, f := range m.findingsInOrder() {
		sign := m.Book.Signs.Get(f.Sign)
		i := slices.IndexFunc(m.units, func(u unit) bool {
			return u.sign == sign && u.answer == f.Answer && u.kind == f.Kind && u.measured == f.Measured
		})
		if i < 0 {
			i = len(m.units)
			m.units = append(m.units, unit{sign: sign, answer: f.Answer, kind: f.Kind, measured: f.Measured})
		}
		u := &m.units[i]
		u.places = append(u.places, f.At)
		u.said = append(u.said, f)
		u.doubt = u.doubt || f.Measured && inDoubt(f.Chance)
	}
	for i := range m.units {
		m.observeAll(&m.units[i], m.units[i].said)
	}
}

// observeAll turns the findings of a unit into observations.
func (m *Model) observeAll(u *unit, findings []evidence.Finding) {
	for _, f := range findings {
		if f.Measured {
			m.observeMeasured(u, f)
			continue
		}
		o := m.Observe(u.sign, f.Kind, f.Over)
		if f.Answer == evidence.Present {
			u.present = append(u.present, o)
		} else {
			u.absent = append(u.absent, o)
		}
	}
}

// addCleared counts checks that found nothing: each cause that such a check
// would have exposed is less likely by the check's sureness.
func (m *Model) addCleared() {
	cleared := slices.Clone(m.Case.Cleared)
	slices.SortStableFunc(cleared, func(a, b evidence.At) int { return cmp.Or(cmp.Compare(a.ID, b.ID), m.ComparePlaces(a.Place, b.Place)) })
	for _, at := range cleared {
		check := m.Book.Checks.Get(at.ID)
		o := noisyor.Observation{Background: noisyor.Yield{No: 1}}
		for i, in := range m.Causes {
			for _, f := range check.Finds {
				if f.Cause == in.Cause.ID && in.Place.Touches(at.Place) {
					o.Links = append(o.Links, m.linksOf(i, noisyor.Yield{Yes: f.Sure, No: 1 - f.Sure})...)
				}
			}
		}
		m.units = append(m.units, unit{check: check, places: []evidence.Place{at.Place}, absent: []noisyor.Observation{o}})
	}
}

// Observe builds the observation "the sign, of this kind if one is given,
// at one at least of these places".
func (m *Model) Observe(s *rules.Sign, kind string, over []evidence.Place) noisyor.Observation {
	o := noisyor.Observation{Background: noisyor.Yield{Yes: 0, No: 1}}
	for range over {
		o.Background = either(o.Background, backgroundYield(s, kind))
	}
	showers := m.Shows(s.ID)
	if m.room == nil {
		most := 0
		for _, shower := range showers {
			most += len(shower.Sources)
		}
		o.Links = make([]noisyor.Link, 0, most)
	} else {
		o.Links = (*m.room)[len(*m.room):]
	}
	for _, shower := range showers {
		yield := linkYield(s, shower.Link, kind)
		for _, source := range shower.Sources {
			source = m.here(source)
			y, touches := noisyor.Yield{Yes: 0, No: 1}, false
			for _, p := range over {
				if m.Causes[m.CauseOf(source)].Place.Touches(p) {
					y, touches = either(y, yield), true
				}
			}
			if touches {
				o.Links = append(o.Links, noisyor.Link{Source: source, Yield: y})
			}
		}
	}
	if m.room != nil {
		*m.room = append(*m.room, o.Links...)
		o.Links = slices.Clip(o.Links)
	}
	return o
}

// either is the yield of two independent sources together: one at least
// yields what was observed and none contradicts.
func either(a, b noisyor.Yield) noisyor.Yield {
	return noisyor.Yield{Yes: a.Yes*(b.Yes+b.No) + a.No*b.Yes, No: a.No * b.No}
}

// backgroundYield shares the background evenly over the kinds.
func backgroundYield(s *rules.Sign, kind string) noisyor.Yield {
	if kind == "" {
		return noisyor.Yield{Yes: s.Background, No: 1 - s.Background}
	}
	return noisyor.Yield{Yes: s.Background / float64(len(s.Kinds)), No: 1 - s.Background}
}

func linkYield(s *rules.Sign, link rules.Link, kind string) noisyor.Yield {
	y := noisyor.Yield{Yes: link.Total, No: math.Max(0, 1-link.Total)}
	if kind == "" {
		return y
	}
	for i, k := range s.Kinds {
		if k.ID == kind {
			y.Yes = link.Kinds[i]
		}
	}
	return y
}

// observeMeasured turns a finding from readings into an observation of its one
// kind: a source that shows another kind says nothing about it. A chance of
// one half or more is virtual evidence. Below that each source that would
// show the kind goes unseen with the odds of the chance, which is the same
// for one source and keeps the sum of several exact to compute.
func (m *Model) observeMeasured(u *unit, f evidence.Finding) {
	o := m.Observe(u.sign, f.Kind, f.Over)
	if f.Answer == evidence.Present {
		o = each(o, func(_ int, y noisyor.Yield) noisyor.Yield { return noisyor.Yield{Yes: y.Yes, No: 1 - y.Yes} })
		o.Doubt = (1 - f.Chance) / f.Chance
		u.present = append(u.present, o)
		return
	}
	unseen := f.Chance / (1 - f.Chance)
	u.absent = append(u.absent, each(o, func(_ int, y noisyor.Yield) noisyor.Yield {
		return noisyor.Yield{Yes: y.Yes * (1 - unseen), No: 1 - y.Yes + unseen*y.Yes}
	}))
}

// background stands for the background among the sources of an observation.
const background = -1

// each gives an observation with what each of its sources yields changed.
func each(o noisyor.Observation, change func(source int, y noisyor.Yield) noisyor.Yield) noisyor.Observation {
	o.Background, o.Links = change(background, o.Background), slices.Clone(o.Links)
	for i, link := range o.Links {
		o.Links[i].Yield = change(link.Source, link.Yield)
	}
	return o
}

// Problem is the whole case for the solver.
func (m *Model) Problem() *noisyor.Problem { return m.problem(-1) }

// problem leaves out the unit skip; none if it is -1.
func (m *Model) problem(skip int) *noisyor.Problem {
	p := &noisyor.Problem{}
	m.problemInto(p, skip)
	return p
}

// problemInto is problem where one lies that is not wanted any more. What is
// proved, or ruled out, and can be brought on stands behind the findings.
func (m *Model) problemInto(p *noisyor.Problem, skip int) {
	p.Causes, p.Sources, p.About = len(m.Causes), m.sourceList(), nil
	p.Present, p.Absent = p.Present[:0], p.Absent[:0]
	for i, u := range m.units {
		if i != skip {
			p.Present = append(p.Present, u.present...)
			p.Absent = append(p.Absent, u.absent...)
		}
	}
	for i, brought := range m.brought {
		switch {
		case !brought:
		case m.confirmed[i]:
			p.Present = append(p.Present, m.anyOf(func(c int) bool { return c == i }))
		case m.ruledOut(i):
			p.Absent = append(p.Absent, m.anyOf(func(c int) bool { return c == i }))
		}
	}
}
