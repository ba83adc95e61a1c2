package chances

import (
	"cmp"
	"slices"

	"telltale/evidence"
)

// Finding is one finding as it was understood: a sign with one answer at the
// places where it was given, a check that found nothing, or a work that cured the
// trouble or did not. What follows from it points to its number; a view puts it into words.
type Finding struct {
	Number int    `json:"number"` // its place in the list of findings, from 1
	Sign   string `json:"sign,omitempty"`
	Check  string `json:"check,omitempty"`
	Work   string `json:"work,omitempty"`
	Title  string `json:"title"` // of the sign, check or work
	// Answer is present or absent; nothing: the check found nothing; cured or
	// not-cured: the work.
	Answer string `json:"answer"`
	// Kind is the kind of the sign, and KindTitle what it is called.
	Kind      string           `json:"kind,omitempty"`
	KindTitle string           `json:"kind_title,omitempty"`
	Places    []evidence.Place `json:"places"` // none: the whole pump
	// Measured: it comes from readings; InDoubt: one of them is near its
	// threshold.
	Measured bool `json:"measured"`
	InDoubt  bool `json:"in_doubt"`
}

// FoundNothing is the answer of a check that found nothing.
const FoundNothing = "nothing"

// Findings lists what is weighed, in the order of the case file, then the
// checks that found nothing and the works. What follows from a finding goes by its number in
// this list.
func (m *Model) Findings() []Finding {
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
	out := make([]Finding, 0, len(m.units))
	for n, i := range order {
		m.units[i].number = n + 1
		out = append(out, m.units[i].finding())
	}
	return out
}

// finding is a unit as data.
func (u *unit) finding() Finding {
	f := Finding{Number: u.number, Answer: FoundNothing, Kind: u.kind, Places: []evidence.Place{}, Measured: u.measured, InDoubt: u.doubt}
	switch {
	case u.check != nil:
		f.Check, f.Title = u.check.ID, u.check.Title
	case u.work != nil:
		f.Work, f.Title, f.Answer = u.work.ID, u.work.Title, Cured
		if u.answer == evidence.Absent {
			f.Answer = NotCured
		}
	default:
		f.Sign, f.Title, f.Answer, f.KindTitle = u.sign.ID, u.sign.Title, string(u.answer), u.sign.KindTitle(u.kind)
	}
	for _, p := range u.places {
		if p != (evidence.Place{}) {
			f.Places = append(f.Places, p)
		}
	}
	return f
}
