package chances

import (
	"slices"
	"strings"

	"telltale/evidence"
	"telltale/rules"
)

// layout is what a book lays out for all cases of which its conditions on causes hold
// alike, on pumps with the same cylinders. It is only read.
type layout struct {
	causes  []Instance
	brought []bool
	ways    []way               // not sorted yet
	showers map[string][]Shower // by sign, with the numbers of these ways
}

// mostLayouts is how many layouts are kept at once; one takes less than a megabyte.
const mostLayouts = 32

// layouts keeps the layouts of a book from one case to the next.
type layouts struct {
	book *rules.Book
	// The conditions on what a cause is, shows and brings on, each once: those that
	// are asked of the case, of the case before the trouble, and of the pump alone.
	now, before, pump []*rules.Condition
	kept              map[string]*layout
}

func newLayouts(book *rules.Book) *layouts {
	l := &layouts{book: book, kept: map[string]*layout{}}
	add := func(to *[]*rules.Condition, c *rules.Condition) {
		same := func(o *rules.Condition) bool { return o.Source == c.Source && o.Or == nil && c.Or == nil }
		if c != nil && !slices.ContainsFunc(*to, same) {
			*to = append(*to, c)
		}
	}
	for _, c := range book.Causes.List {
		add(&l.now, c.When)
		add(&l.pump, c.When)
		for _, o := range c.Odds {
			add(&l.before, o.When)
		}
		for _, over := range c.ShowsWhen {
			add(&l.before, over.When)
		}
		for _, b := range c.Brings {
			add(&l.before, b.When)
		}
	}
	return l
}

// of gives the layout for a case.
func (l *layouts) of(k *evidence.Case) *layout {
	key := l.key(k)
	if laid := l.kept[key]; laid != nil {
		return laid
	}
	m := &Model{Book: l.book, Case: k, used: k}
	m.addCauses()
	m.addWays()
	m.Shows("")
	if len(l.kept) == mostLayouts {
		clear(l.kept)
	}
	l.kept[key] = &layout{m.Causes, m.brought, m.ways, m.showers}
	return l.kept[key]
}

// key tells the cylinders of the pump and which conditions hold.
func (l *layouts) key(k *evidence.Case) string {
	var key strings.Builder
	key.WriteString(string(k.Pump.Action))
	for _, cylinder := range k.Pump.Cylinders {
		key.WriteString("\n" + cylinder)
	}
	key.WriteString("\n")
	say := func(holds bool) {
		if holds {
			key.WriteByte('y')
		} else {
			key.WriteByte('n')
		}
	}
	for _, c := range l.now {
		say(c.Holds(k, l.book))
	}
	before := k.BeforeTrouble()
	for _, c := range l.before {
		say(c.Holds(before, l.book))
	}
	for _, c := range l.pump {
		say(c.HoldsForPump(&k.Pump))
	}
	return key.String()
}

// lay is New with a layout that is kept.
func (l *layouts) lay(k *evidence.Case) *Model {
	laid := l.of(k)
	m := &Model{
		Book: l.book, Case: k, used: k, confirmed: map[int]bool{},
		Causes: slices.Clone(laid.causes), brought: laid.brought, ways: laid.ways, showers: laid.showers,
	}
	signs, causes := m.asks()
	bears := make([]bool, len(m.ways))
	for sign := range signs {
		for _, shower := range laid.showers[sign] {
			for _, source := range shower.Sources {
				m.bear(bears, source)
			}
		}
	}
	for i, w := range m.ways {
		if causes[m.Causes[w.cause].Cause.ID] {
			m.bear(bears, len(m.Causes)+i)
		}
	}
	m.numbers = m.sortWays(bears)
	m.addCase()
	return m
}

// renumbered gives what shows a sign with the numbers that the ways have now.
func (m *Model) renumbered(showers []Shower) []Shower {
	out := slices.Clone(showers)
	for i := range out {
		out[i].Sources = slices.Clone(out[i].Sources)
		for k, source := range out[i].Sources {
			if way := source - len(m.Causes); way >= 0 {
				out[i].Sources[k] = m.numbers[way]
			}
		}
	}
	return out
}
