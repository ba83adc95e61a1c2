package chances

import (
	"slices"
	"strings"

	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// layout is what a book lays out for all cases of which its conditions on causes hold
// alike, on pumps with the same cylinders. It is only read.
type layout struct {
	causes  []Instance
	brought []bool
	ways    []way               // what brings one on stands before it
	waysTo  [][]int             // see Model
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
	last              *Model // the next one takes its memory
}

func newLayouts(book *rules.Book) *layouts {
	l := &layouts{book: book, kept: map[string]*layout{}, last: &Model{room: &[]noisyor.Link{}}}
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
	m.setWays(m.ways)
	l.kept[key] = &layout{m.Causes, m.brought, m.ways, m.waysTo, m.showers}
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

// lay is New with a layout that is kept and only the ways that bear on the case. The
// Model stands until the next one is laid.
func (l *layouts) lay(k *evidence.Case) *Model {
	laid, was := l.of(k), l.last
	m := &Model{
		Book: l.book, Case: k, used: k, confirmed: map[int]bool{}, from: laid,
		Causes: append(was.Causes[:0], laid.causes...), brought: laid.brought, showers: laid.showers,
		ways: was.ways[:0], laid: was.laid[:0], room: was.room,
		numbers: append(was.numbers[:0], make([]int, len(laid.ways))...),
	}
	*m.room = (*m.room)[:0]
	signs, causes := m.asks()
	bears := make([]bool, len(laid.ways))
	bear := func(source int) {
		for n := len(m.Causes); source >= n && !bears[source-n]; source = laid.ways[source-n].under {
			bears[source-n] = true
		}
	}
	for sign := range signs {
		for _, shower := range laid.showers[sign] {
			for _, source := range shower.Sources {
				bear(source)
			}
		}
	}
	for i, in := range m.Causes {
		if causes[in.Cause.ID] {
			for _, source := range laid.waysTo[i] {
				bear(source)
			}
		}
	}
	for i, bears := range bears {
		if bears {
			m.take(len(m.Causes) + i)
		}
	}
	m.addCase()
	l.last = m
	return m
}

// take puts in a source of the layout that is kept, with what it lies under, and gives
// the one that it is here.
func (m *Model) take(source int) int {
	n := len(m.Causes)
	if source < n {
		return source
	}
	if m.numbers[source-n] == 0 {
		w := m.from.ways[source-n]
		w.under = m.take(w.under)
		m.numbers[source-n] = n + len(m.ways)
		m.ways, m.laid = append(m.ways, w), m.laid[:0]
	}
	return m.numbers[source-n]
}

// takeAll puts in all ways of some causes.
func (m *Model) takeAll(causes []int) {
	for _, cause := range causes {
		for _, source := range m.from.waysTo[cause] {
			m.take(source)
		}
	}
}

// here is the source of this model that one of the layout is; 0 for a way that is left out.
func (m *Model) here(source int) int {
	if n := len(m.Causes); m.from != nil && source >= n {
		return m.numbers[source-n]
	}
	return source
}
