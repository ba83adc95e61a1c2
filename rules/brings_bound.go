package rules

import (
	"slices"

	"telltale/evidence"
	"telltale/evidence/source"
)

// MostWays is in how many ways the causes of a book may come on one pump, each
// chain at each place counted by itself. The built-in book has some 1 600; what
// a case takes to weigh grows with them.
const MostWays = 10_000

// waysFit refuses a book whose brings make more ways than MostWays. The rows of
// its brings come to an end.
func (l *loader) waysFit() {
	for _, action := range evidence.Actions() {
		w := wayCount{book: l.book, pump: &BareCase(evidence.Action(action)).Pump, behind: map[string]int{}}
		total, most, at, fromLocal := 0, 0, source.Pos{}, false
		for _, c := range l.book.Causes.List {
			if !c.When.HoldsForPump(w.pump) {
				continue
			}
			n := len(w.pump.Places(c.Level)) * w.of(c)
			total += n
			if local := c.FromLocal; n > 0 && (local && !fromLocal || local == fromLocal && n > most) {
				fromLocal, most, at = local, n, c.Brings[0].Pos
			}
		}
		if total > MostWays {
			l.problems.Add(at, source.TooLarge, "on a %s pump what brings what on makes %d ways in which causes come, each chain at each place counted; at most %d may", action, total, MostWays)
			return
		}
	}
}

// wayCount counts the ways that a cause at one place makes, whatever the
// conditions of its brings say.
type wayCount struct {
	book   *Book
	pump   *evidence.Pump
	behind map[string]int
}

func (w *wayCount) of(c *Cause) int {
	if n, known := w.behind[c.ID]; known {
		return n
	}
	n, from := 0, w.pump.Places(c.Level)[0]
	for i, r := range c.Brings {
		to := w.book.Causes.Get(r.Cause)
		if !to.When.HoldsForPump(w.pump) || slices.ContainsFunc(c.Brings[:i], func(o Bring) bool { return o.Cause == r.Cause }) {
			continue
		}
		n += len(w.pump.Under(from, to.Level)) * (1 + w.of(to))
		n = min(n, 1<<30)
	}
	w.behind[c.ID] = n
	return n
}
