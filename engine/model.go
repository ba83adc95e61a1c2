package engine

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// instance is a cause at one of its places.
type instance struct {
	cause *rules.Cause
	place evidence.Place
	prior float64
}

// showing is a link from an instance to a sign.
type showing struct {
	cause int
	link  rules.Link
}

// linkedCause is the instances of a cause, from first on, with their links.
type linkedCause struct {
	first, places int
	links         []rules.Link
}

// unit is what counts as one finding in the reasons: a sign with one
// answer at one or more places, or a check that found nothing.
type unit struct {
	number  int // in the report's list of findings
	sign    *rules.Sign
	check   *rules.Check // that found nothing; nil for a sign
	answer  evidence.Answer
	kind    string
	places  []evidence.Place
	present []noisyor.Observation
	absent  []noisyor.Observation
	said    []evidence.Finding // the findings behind it
	// measured: it comes from readings; doubt: some of them are near a limit.
	measured, doubt bool
}

// model is a case laid over a book.
type model struct {
	book      *rules.Book
	k         *evidence.Case
	causes    []instance
	linked    []linkedCause
	showings  map[string][]showing // by sign, those that were asked for; see shows
	units     []unit
	confirmed map[int]bool
	// weighs is what is weighed of the case where that is not all of it, and
	// beside what is not weighed as it was taken beside moving parts.
	weighs *evidence.Case
	beside []string
}

func newModel(book *rules.Book, k *evidence.Case) *model {
	m := &model{book: book, k: k, showings: map[string][]showing{}, confirmed: map[int]bool{}}
	for _, c := range book.Causes.List {
		if c.When.Holds(k, book) {
			m.addCause(c)
		}
	}
	m.verdicts()
	m.addFindings()
	m.addCleared()
	return m
}

func (m *model) addCause(c *rules.Cause) {
	places := m.k.Pump.Places(c.Level)
	prior := share(oddsTimes(c.Common, m.times(c)), len(places))
	m.linked = append(m.linked, linkedCause{first: len(m.causes), places: len(places), links: c.LinksFor(m.k, m.book)})
	for _, p := range places {
		m.causes = append(m.causes, instance{cause: c, place: p, prior: prior})
	}
}

// shows gives the links of every instance to one sign. A case asks for few
// of them, so they are gathered when they are wanted.
func (m *model) shows(sign string) []showing {
	out, gathered := m.showings[sign]
	if gathered {
		return out
	}
	for _, c := range m.linked {
		for _, link := range c.links {
			if link.Sign != sign {
				continue
			}
			for i := range c.places {
				out = append(out, showing{cause: c.first + i, link: link})
			}
		}
	}
	m.showings[sign] = out
	return out
}

// gatherAll gathers the links of every sign, after which the model is only
// read.
func (m *model) gatherAll() {
	for _, s := range m.book.Signs.List {
		m.shows(s.ID)
	}
}

// times is the product of the odds rules of a cause that hold, within
// mostTimes either way.
func (m *model) times(c *rules.Cause) float64 {
	times := 1.0
	for _, rule := range c.Odds {
		if rule.When.Holds(m.k, m.book) {
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
func (m *model) verdicts() {
	for _, at := range m.k.RuledOut {
		if i, ok := m.find(at.ID, at.Place); ok {
			m.causes[i].prior = 0
		}
	}
	for _, at := range m.k.Confirmed {
		if i, ok := m.find(at.ID, at.Place); ok {
			m.causes[i].prior = 1
			m.confirmed[i] = true
		}
	}
}

func (m *model) find(cause string, place evidence.Place) (int, bool) {
	for i, in := range m.causes {
		if in.cause.ID == cause && in.place == place {
			return i, true
		}
	}
	return 0, false
}

// findingsInOrder gives the findings in the order of the book and of the places:
// no sum, and no choice between equals, leans on the order in which a crew wrote
// them down.
func (m *model) findingsInOrder() []evidence.Finding {
	out := slices.Clone(m.k.Findings)
	slices.SortStableFunc(out, func(a, b evidence.Finding) int {
		return cmp.Or(
			cmp.Compare(m.bookOrder(a.Sign), m.bookOrder(b.Sign)), cmp.Compare(a.Answer, b.Answer), cmp.Compare(a.Kind, b.Kind), m.comparePlaces(a.At, b.At),
		)
	})
	return out
}

func (m *model) bookOrder(sign string) int {
	return slices.IndexFunc(m.book.Signs.List, func(s *rules.Sign) bool { return s.ID == sign })
}

// comparePlaces puts the whole pump first, then the cylinders as the crew names
// them in turn.
func (m *model) comparePlaces(a, b evidence.Place) int {
	cylinders := m.k.Pump.Cylinders
	return cmp.Or(cmp.Compare(slices.Index(cylinders, a.Cylinder), slices.Index(cylinders, b.Cylinder)), cmp.Compare(a.End, b.End))
}

// addFindings makes one unit of each sign and answer.
func (m *model) addFindings() {
	index := map[string]int{}
	for _, f := range m.findingsInOrder() {
		key := f.Sign + "\x00" + string(f.Answer) + "\x00" + f.Kind + "\x00" + strconv.FormatBool(f.Measured)
		i, ok := index[key]
		if !ok {
			i = len(m.units)
			index[key] = i
			m.units = append(m.units, unit{sign: m.book.Signs.Get(f.Sign), answer: f.Answer, kind: f.Kind, measured: f.Measured})
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
func (m *model) observeAll(u *unit, findings []evidence.Finding) {
	for _, f := range findings {
		if f.Measured {
			m.observeMeasured(u, f)
			continue
		}
		o := m.observe(u.sign, f.Kind, f.Over)
		if f.Answer == evidence.Present {
			u.present = append(u.present, o)
		} else {
			u.absent = append(u.absent, o)
		}
	}
}

// lowerFirst starts a title small, unless it starts with a short form (SPM).
func lowerFirst(s string) string {
	runes := []rune(s)
	if len(runes) == 0 || len(runes) > 1 && unicode.IsUpper(runes[1]) {
		return s
	}
	runes[0] = unicode.ToLower(runes[0])
	return string(runes)
}

func placesText(places []evidence.Place) string {
	var names []string
	for _, p := range places {
		if p != (evidence.Place{}) {
			names = append(names, p.String())
		}
	}
	if len(names) == 0 {
		return ""
	}
	return " (" + strings.Join(names, ", ") + ")"
}

func (m *model) clearedInOrder() []evidence.At {
	out := slices.Clone(m.k.Cleared)
	slices.SortStableFunc(out, func(a, b evidence.At) int { return cmp.Or(cmp.Compare(a.ID, b.ID), m.comparePlaces(a.Place, b.Place)) })
	return out
}

// addCleared counts checks that found nothing: each cause that such a check
// would have exposed is less likely by the check's sureness.
func (m *model) addCleared() {
	for _, at := range m.clearedInOrder() {
		check := m.book.Checks.Get(at.ID)
		o := noisyor.Observation{Background: noisyor.Yield{Yes: 0, No: 1}}
		for i, in := range m.causes {
			for _, f := range check.Finds {
				if f.Cause == in.cause.ID && in.place.Touches(at.Place) {
					o.Links = append(o.Links, noisyor.Link{Cause: i, Yield: noisyor.Yield{Yes: f.Sure, No: 1 - f.Sure}})
				}
			}
		}
		m.units = append(m.units, unit{
			check:  check,
			places: []evidence.Place{at.Place},
			absent: []noisyor.Observation{o},
		})
	}
}

// observe builds the observation "the sign, of this kind if one is given,
// at one at least of these places".
func (m *model) observe(s *rules.Sign, kind string, over []evidence.Place) noisyor.Observation {
	o := noisyor.Observation{Background: noisyor.Yield{Yes: 0, No: 1}}
	for range over {
		o.Background = either(o.Background, backgroundYield(s, kind))
	}
	links := m.shows(s.ID)
	o.Links = make([]noisyor.Link, 0, len(links))
	for _, sh := range links {
		y, touches := noisyor.Yield{Yes: 0, No: 1}, false
		for _, p := range over {
			if m.causes[sh.cause].place.Touches(p) {
				y, touches = either(y, linkYield(s, sh.link, kind)), true
			}
		}
		if touches {
			o.Links = append(o.Links, noisyor.Link{Cause: sh.cause, Yield: y})
		}
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

// problem is the whole case for the solver, without the unit skip (-1: all).
func (m *model) problem(skip int) *noisyor.Problem {
	p := &noisyor.Problem{Prior: make([]float64, len(m.causes))}
	for i, in := range m.causes {
		p.Prior[i] = in.prior
	}
	for i, u := range m.units {
		if i != skip {
			p.Present = append(p.Present, u.present...)
			p.Absent = append(p.Absent, u.absent...)
		}
	}
	return p
}
