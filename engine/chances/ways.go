package chances

import (
	"telltale/engine/noisyor"
	"telltale/rules"
)

// A source is one way in which a cause is there: the first len(Causes) sources
// are the causes by themselves, in their order; behind them stand the ways.

// way is a cause that another one brought on.
type way struct {
	cause int // of Model.Causes
	under int // source that brings it on
	often float64
	bring *rules.Bring
}

// Showing is a link from a source to a sign.
type Showing struct {
	Cause  int // of Model.Causes
	Source int
	Link   rules.Link
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
		brings[id] = m.Causes[of[0]].Cause.BringsFor(m.Case, m.Book)
	}
	var from func(source, cause, deep int)
	from = func(source, cause, deep int) {
		in := m.Causes[cause]
		list := brings[in.Cause.ID]
		for b := range list {
			for _, to := range at[list[b].Cause] {
				if !in.Place.Touches(m.Causes[to].Place) {
					continue
				}
				m.brought[to] = true
				m.ways = append(m.ways, way{cause: to, under: source, often: list[b].Often, bring: &list[b]})
				if deep < rules.MostDeep {
					from(len(m.Causes)+len(m.ways)-1, to, deep+1)
				}
			}
		}
	}
	for i := range m.Causes {
		from(i, i, 1)
	}
}

// sources is how many ways there are in which some cause is there.
func (m *Model) sources() int { return len(m.Causes) + len(m.ways) }

// causeOf is the cause of a source.
func (m *Model) causeOf(source int) int {
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

// linksOf links all ways of a cause, each with the same yield.
func (m *Model) linksOf(cause int, y noisyor.Yield) []noisyor.Link {
	out := []noisyor.Link{{Source: cause, Yield: y}}
	if !m.brought[cause] {
		return out
	}
	for i, w := range m.ways {
		if w.cause == cause {
			out = append(out, noisyor.Link{Source: len(m.Causes) + i, Yield: y})
		}
	}
	return out
}

// Shows gives the links of every source to one sign. A case asks for few of
// them, so they are gathered when they are wanted.
func (m *Model) Shows(sign string) []Showing {
	out, gathered := m.showings[sign]
	if gathered {
		return out
	}
	var own rules.Link
	for i, in := range m.Causes {
		if i == 0 || in.Cause != m.Causes[i-1].Cause {
			own = linkTo(in.Cause.LinksFor(m.Case, m.Book), sign)
		}
		if own.Total > 0 {
			out = append(out, Showing{Cause: i, Source: i, Link: own})
		}
	}
	brought := map[*rules.Bring]rules.Link{}
	for i, w := range m.ways {
		link, known := brought[w.bring]
		if !known {
			link = linkTo(w.bring.Links(m.Causes[w.cause].Cause, m.Case, m.Book), sign)
			brought[w.bring] = link
		}
		if link.Total > 0 {
			sh := Showing{Cause: w.cause, Source: len(m.Causes) + i, Link: link}
			if linkTo(w.bring.Shows, sign).Total > 0 {
				sh.bring = w.bring
			}
			out = append(out, sh)
		}
	}
	m.showings[sign] = out
	return out
}

// linkTo is the link to a sign; of no chance if there is none.
func linkTo(links []rules.Link, sign string) rules.Link {
	for _, l := range links {
		if l.Sign == sign {
			return l
		}
	}
	return rules.Link{}
}
