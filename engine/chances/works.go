package chances

import (
	"cmp"
	"slices"

	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// What the case says of a work that was done on the trouble: it cured it, or it
// did not. Each cause that is there, in each way in which it came, was put right
// by the work with the chance of puts-right; a work cured the trouble if it put
// one at least right, or by chance. So "it did not help" leaves each such way
// with the rest of that chance, and "it helped" is seen like a sign.

// The answers of a work in the list of findings.
const (
	Cured    = "cured"
	NotCured = "not-cured"
)

// triedWorks are the works of which the case says whether they cured the trouble,
// and that put something right, in the order of the book.
func (m *Model) triedWorks() []evidence.Work {
	var out []evidence.Work
	for _, w := range m.Case.Recent {
		if w.Cured != evidence.NotStated && len(m.Book.Works.Get(w.ID).PutsRight) > 0 {
			out = append(out, w)
		}
	}
	slices.SortStableFunc(out, func(a, b evidence.Work) int {
		return cmp.Or(cmp.Compare(m.workOrder(a), m.workOrder(b)), m.ComparePlaces(a.At, b.At))
	})
	return out
}

func (m *Model) workOrder(w evidence.Work) int {
	return slices.IndexFunc(m.Book.Works.List, func(o *rules.Work) bool { return o.ID == w.ID })
}

// addWorks weighs them.
func (m *Model) addWorks() {
	for _, done := range m.triedWorks() {
		work := m.Book.Works.Get(done.ID)
		o := noisyor.Observation{Background: noisyor.Yield{Yes: work.Background, No: 1 - work.Background}}
		for i, in := range m.Causes {
			for _, f := range work.PutsRight {
				if f.Cause == in.Cause.ID && in.Place.Touches(done.At) {
					o.Links = append(o.Links, m.linksOf(i, noisyor.Yield{Yes: f.Sure, No: 1 - f.Sure})...)
				}
			}
		}
		u := unit{work: work, places: []evidence.Place{done.At}}
		if done.Cured == evidence.Yes {
			u.answer, u.present = evidence.Present, []noisyor.Observation{o}
		} else {
			u.answer, u.absent = evidence.Absent, []noisyor.Observation{o}
		}
		m.units = append(m.units, u)
	}
}
