package chances

import (
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// What was taken beside moving parts is not weighed and not worked out: it is
// taken out of the case before anything is weighed. The stop conditions and the
// safety steps still hear all of it.

// Beside is something that needs covers off and that was taken beside
// moving parts, so that it is not used.
type Beside struct {
	Name  string `json:"name"` // of the sign, the check or the block of readings
	Title string `json:"title"`
}

// weighable gives the case without what was taken beside moving parts.
func weighable(book *rules.Book, k *evidence.Case) *evidence.Case {
	names := book.TakenBeside(k)
	if len(names) == 0 {
		return k
	}
	beside := map[string]bool{}
	for _, name := range names {
		beside[name] = true
	}
	out := *k
	out.Findings = slices.DeleteFunc(slices.Clone(k.Findings), func(f evidence.Finding) bool { return beside[f.Sign] && book.Signs.Get(f.Sign).CoversOff() })
	out.Cleared = slices.DeleteFunc(slices.Clone(k.Cleared), func(at evidence.At) bool { return beside[at.ID] && book.Checks.Get(at.ID).CoversOff() })
	out.Measured = k.Measured.Without(beside)
	return &out
}

// saying lets everything but the weighing hear all that the case says: the stop
// conditions, the safety steps, and what must be out before anything turns the
// pump.
func (m *Model) saying(k *evidence.Case) *Model {
	if len(m.Book.TakenBeside(k)) == 0 {
		return m
	}
	said := *m.used
	said.Measured, said.Cleared = k.Measured, k.Cleared
	said.Findings = slices.Clone(k.Findings)
	for _, f := range m.used.Findings {
		if f.Measured {
			said.Findings = append(said.Findings, f)
		}
	}
	m.Case = &said
	return m
}

// Used is the case without what was taken beside moving parts: what is weighed.
func (m *Model) Used() *evidence.Case { return m.used }

// TakenBeside tells what was taken beside moving parts.
func (m *Model) TakenBeside() []Beside {
	out := []Beside{}
	for _, name := range m.Book.TakenBeside(m.Case) {
		out = append(out, Beside{Name: name, Title: m.Book.TakenTitle(name)})
	}
	return out
}
