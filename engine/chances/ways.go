package chances

import (
	"slices"

	"telltale/engine/noisyor"
	"telltale/rules"
)

// A source is one way in which a cause is there: the first len(Causes) sources
// are the causes by themselves, in their order; behind them stand the ways.

// way is a cause that another one brought on.
type way struct {
	cause int // of Model.Causes
	under int // source that brings it on
	head  int // cause by itself at the head of the chain
	often float64
	bring *rules.Bring
}

// Shower is sources that show a sign alike: those of a cause by itself, or those
// that one bring made.
type Shower struct {
	Sources []int
	Link    rules.Link
	// bring is the one that says how the cause shows the sign; nil: the cause
	// itself does.
	bring *rules.Bring
}

// addWays lays out how the causes bring one another on, each chain by itself. A
// bring reaches every place of the other cause that its own place touches.
func (m *Model) addWays() {
	m.brought = make([]bool, len(m.Causes))
	at, brings := map[string][]int{}, map[string][]rules.Bring{}
	for i, in := range m.Causes {
		at[in.Cause.ID] = append(at[in.Cause.ID], i)
	}
	for id, of := range at {
		brings[id] = m.Causes[of[0]].Cause.BringsFor(m.Case.BeforeTrouble(), m.Book)
	}
	var from func(source, cause, head, deep int)
	from = func(source, cause, head, deep int) {
		in := m.Causes[cause]
		list := brings[in.Cause.ID]
		for b := range list {
			for _, to := range at[list[b].Cause] {
				if !in.Place.Touches(m.Causes[to].Place) {
					continue
				}
				m.brought[to] = true
				m.ways = append(m.ways, way{cause: to, under: source, head: head, often: list[b].Often, bring: &list[b]})
				if deep < rules.MostDeep {
					from(len(m.Causes)+len(m.ways)-1, to, head, deep+1)
				}
			}
		}
	}
	for i := range m.Causes {
		from(i, i, i, 1)
	}
}

// bears says, by way, which ways bear on the case, with those above them: they show one
// of its signs, or are of a cause that was proved, ruled out, or that a check would have
// exposed. The others say nothing about it, so that where no cause's whole chance is asked
// they may be left out.
func (m *Model) bears() []bool {
	signs, causes := m.asks()
	bears, shows := make([]bool, len(m.ways)), map[*rules.Bring]bool{}
	for i, w := range m.ways {
		show, known := shows[w.bring]
		if !known {
			show = causes[w.bring.Cause] || m.shows(w, signs)
			shows[w.bring] = show
		}
		if show {
			m.bear(bears, len(m.Causes)+i)
		}
	}
	return bears
}

// bear notes that a source bears on the case, with what it lies under.
func (m *Model) bear(bears []bool, source int) {
	for n := len(m.Causes); source >= n && !bears[source-n]; source = m.ways[source-n].under {
		bears[source-n] = true
	}
}

// sortWays puts first the ways that bear on the case.
func (m *Model) sortWays(bears []bool) {
	n := len(m.Causes)
	sorted, place := make([]way, 0, len(m.ways)), make([]int, len(m.ways))
	for _, first := range []bool{true, false} {
		for i, w := range m.ways {
			if bears[i] == first {
				place[i] = n + len(sorted)
				sorted = append(sorted, w)
			}
		}
		if first {
			m.bearing = n + len(sorted)
		}
	}
	for i := range sorted {
		if under := sorted[i].under; under >= n {
			sorted[i].under = place[under-n]
		}
	}
	m.setWays(sorted)
}

func (m *Model) setWays(ways []way) {
	m.ways, m.waysTo, m.laid = ways, make([][]int, len(m.Causes)), nil
	many, room := make([]int, len(m.Causes)), make([]int, len(ways))
	for _, w := range ways {
		many[w.cause]++
	}
	for cause, n := range many {
		m.waysTo[cause], room = room[:0:n], room[n:]
	}
	for i, w := range ways {
		m.waysTo[w.cause] = append(m.waysTo[w.cause], len(m.Causes)+i)
	}
}

// lean is the model with the ways that bear on the case, those of some causes, and
// what they lie under: for where no other cause's whole chance is asked. The sources
// that bear on the case keep their numbers.
func (m *Model) lean(causes []int) Model {
	out, place := *m, map[int]int{}
	ways := slices.Clone(m.ways[:m.bearing-len(m.Causes)])
	var put func(source int) int
	put = func(source int) int {
		if source < m.bearing {
			return source
		}
		at, done := place[source]
		if !done {
			w := m.ways[source-len(m.Causes)]
			w.under = put(w.under)
			at = len(m.Causes) + len(ways)
			ways, place[source] = append(ways, w), at
		}
		return at
	}
	for _, cause := range causes {
		for _, source := range m.waysTo[cause] {
			put(source)
		}
	}
	out.setWays(ways)
	return out
}

// asks gives the signs that the case answers, and the causes that it settles or
// that a check of it would have exposed.
func (m *Model) asks() (signs, causes map[string]bool) {
	signs, causes = map[string]bool{}, map[string]bool{}
	for _, f := range m.Case.Findings {
		signs[f.Sign] = true
	}
	for _, at := range m.Case.Confirmed {
		causes[at.ID] = true
	}
	for _, at := range m.Case.RuledOut {
		causes[at.ID] = true
	}
	for _, at := range m.Case.Cleared {
		for _, f := range m.Book.Checks.Get(at.ID).Finds {
			causes[f.Cause] = true
		}
	}
	for _, w := range m.triedWorks() {
		for _, f := range m.Book.Works.Get(w.ID).PutsRight {
			causes[f.Cause] = true
		}
	}
	return signs, causes
}

// shows says whether a way may show one of some signs.
func (m *Model) shows(w way, signs map[string]bool) bool {
	one := func(l rules.Link) bool { return signs[l.Sign] }
	c := m.Causes[w.cause].Cause
	return slices.ContainsFunc(w.bring.Shows, one) || slices.ContainsFunc(c.Shows, one) ||
		slices.ContainsFunc(c.ShowsWhen, func(over rules.LinksWhen) bool { return slices.ContainsFunc(over.Links, one) })
}

// sources is how many ways there are in which some cause is there.
func (m *Model) sources() int { return len(m.Causes) + len(m.ways) }

// CauseOf is the cause of a source.
func (m *Model) CauseOf(source int) int {
	if source < len(m.Causes) {
		return source
	}
	return m.ways[source-len(m.Causes)].cause
}

// under is the source that brings one on; -1 if it is there by itself.
func (m *Model) under(source int) int {
	if source < len(m.Causes) {
		return -1
	}
	return m.ways[source-len(m.Causes)].under
}

// WaysOf gives the sources of a cause, the cause by itself first.
func (m *Model) WaysOf(cause int) []int {
	if m.from == nil {
		return append([]int{cause}, m.waysTo[cause]...)
	}
	out := []int{cause}
	for _, source := range m.from.waysTo[cause] {
		if at := m.here(source); at > 0 {
			out = append(out, at)
		}
	}
	return out
}

// ChanceOf is the chance of a source before any finding.
func (m *Model) ChanceOf(source int) float64 {
	p := 1.0
	for ; source >= len(m.Causes); source = m.under(source) {
		p *= m.ways[source-len(m.Causes)].often
	}
	return p * m.Causes[source].Prior
}

// linksOf links all ways of a cause, each with the same yield.
func (m *Model) linksOf(cause int, y noisyor.Yield) []noisyor.Link {
	var out []noisyor.Link
	for _, source := range m.WaysOf(cause) {
		out = append(out, noisyor.Link{Source: source, Yield: y})
	}
	return out
}

// sourceList is every source for the solver. It is laid out once and again when
// a chance was changed.
func (m *Model) sourceList() []noisyor.Source {
	if len(m.laid) == 0 {
		m.laid = slices.Grow(m.laid, m.sources())
		for i, in := range m.Causes {
			m.laid = append(m.laid, noisyor.Source{Cause: i, Under: -1, Chance: in.Prior})
		}
		for _, w := range m.ways {
			m.laid = append(m.laid, noisyor.Source{Cause: w.cause, Under: w.under, Chance: w.often})
		}
	}
	return m.laid
}

// Shows gives what shows a sign; over a layout that is kept, with its numbers (see here). It
// is gathered once for all signs.
func (m *Model) Shows(sign string) []Shower {
	if m.showers == nil {
		m.showers = map[string][]Shower{}
		own := map[*rules.Cause][]rules.Link{}
		for first, after := 0, 0; first < len(m.Causes); first = after {
			c, sources := m.Causes[first].Cause, []int{}
			for after = first; after < len(m.Causes) && m.Causes[after].Cause == c; after++ {
				sources = append(sources, after)
			}
			own[c] = c.LinksFor(m.Case.BeforeTrouble(), m.Book)
			m.addShower(sources, own[c], nil)
		}
		made, order := map[*rules.Bring][]int{}, []*rules.Bring{}
		for i, w := range m.ways {
			if made[w.bring] == nil {
				order = append(order, w.bring)
			}
			made[w.bring] = append(made[w.bring], len(m.Causes)+i)
		}
		for _, bring := range order {
			failure := m.Causes[m.CauseOf(made[bring][0])].Cause
			links := own[failure]
			if len(bring.Shows) > 0 {
				links = bring.Links(failure, m.Case.BeforeTrouble(), m.Book)
			}
			m.addShower(made[bring], links, bring)
		}
	}
	return m.showers[sign]
}

func (m *Model) addShower(sources []int, links []rules.Link, bring *rules.Bring) {
	for _, link := range links {
		says := bring
		if bring != nil && !slices.ContainsFunc(bring.Shows, func(l rules.Link) bool { return l.Sign == link.Sign }) {
			says = nil
		}
		m.showers[link.Sign] = append(m.showers[link.Sign], Shower{sources, link, says})
	}
}
