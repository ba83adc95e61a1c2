package engine

import (
	"slices"
	"strings"

	"telltale/evidence"
	"telltale/rules"
)

// What was taken beside moving parts is not weighed and not worked out: it is
// taken out of the case before anything is weighed. The stop conditions and the
// guards still hear all of it.

// BesideReport is something that needs covers off and that was taken beside
// moving parts, so that it is not used.
type BesideReport struct {
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
// conditions, the guards, and what must be out before anything turns the pump.
func (m *model) saying(k *evidence.Case) *model {
	m.beside = m.book.TakenBeside(k)
	if len(m.beside) == 0 {
		return m
	}
	said := *m.k
	said.Measured, said.Cleared = k.Measured, k.Cleared
	said.Findings = slices.Clone(k.Findings)
	for _, f := range m.k.Findings {
		if f.Measured {
			said.Findings = append(said.Findings, f)
		}
	}
	m.weighs, m.k = m.k, &said
	return m
}

// weighedCase is the case without what was taken beside moving parts.
func (m *model) weighedCase() *evidence.Case {
	if m.weighs != nil {
		return m.weighs
	}
	return m.k
}

func (m *model) besideReports() []BesideReport {
	out := []BesideReport{}
	for _, name := range m.beside {
		out = append(out, BesideReport{Name: name, Title: m.book.TakenTitle(name)})
	}
	return out
}

// stopDo gives the words of a stop condition; where it is about what was taken
// beside moving parts, they end with what that is.
func (m *model) stopDo(stop *rules.Stop) []string {
	out := m.fillAll(stop.Do)
	if !stop.When.AsksBeside() {
		return out
	}
	var titles []string
	for _, b := range m.besideReports() {
		title := b.Title
		if !strings.Contains(title, b.Name) {
			title += " (" + b.Name + ")"
		}
		titles = append(titles, title)
	}
	return append(out, "Not used: "+strings.Join(titles, "; ")+".")
}
