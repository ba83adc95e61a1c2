package engine

import (
	"slices"
	"sort"

	"telltale/engine/order"
	"telltale/evidence"
	"telltale/rules"
)

// What else is worth a look while the pump is open: a check whose access is
// there already costs only its own minutes now, and a whole isolation, opening
// and return if the crew has to come back for it.

// whileOpen lists the checks outside the list that are worth doing: the chance
// that they expose a cause, times the minutes of coming back for them, is more
// than their minutes now.
func (t *teardown) whileOpen() {
	if len(t.opened) == 0 || t.out.OpenNothing {
		return
	}
	for _, c := range t.book.Checks.List {
		if !c.Pump.UnderIsolation() || len(c.Access) == 0 || !c.When.Holds(t.k, t.book) {
			continue
		}
		for _, place := range t.k.Pump.Places(c.Level) {
			if extra, worth := t.extra(c, place); worth {
				t.out.WhileOpen = append(t.out.WhileOpen, extra)
			}
		}
	}
	sort.SliceStable(t.out.WhileOpen, func(a, b int) bool {
		x, y := t.out.WhileOpen[a], t.out.WhileOpen[b]
		return x.Chance*x.ComeBack-x.Minutes > y.Chance*y.ComeBack-y.Minutes
	})
}

func (t *teardown) extra(c *rules.Check, place evidence.Place) (ExtraReport, bool) {
	if t.inList(c, place) || !t.accessOpen(c, place) || t.book.WantsClosed(c, place, t.opened) || !t.canDo(c, place) || t.cleared(c.ID, place) || t.planner.answered(c, place) {
		return ExtraReport{}, false
	}
	finds := slices.DeleteFunc(t.planner.findsAny(c, place), func(f order.Find) bool { return t.confirmed[f.Cause] })
	chance := 0.0
	for _, f := range finds {
		chance += t.w.Posterior[f.Cause] * t.miss[f.Cause] * f.Sure
	}
	out := ExtraReport{
		Check: c.ID, Where: where(place), Title: t.fill(c.Title), Chance: min(1, chance),
		Minutes: c.Minutes, ComeBack: t.comeBack(c, place), Looks: t.looks(finds, t.w.Posterior),
	}
	return out, out.Chance*out.ComeBack > out.Minutes
}

func (t *teardown) inList(c *rules.Check, place evidence.Place) bool {
	for _, i := range t.sequence {
		if t.planner.tasks[i].check == c && t.planner.tasks[i].place == place {
			return true
		}
	}
	return false
}

func (t *teardown) accessOpen(c *rules.Check, place evidence.Place) bool {
	return !slices.ContainsFunc(c.Access, func(id string) bool { return !t.book.IsOpen(id, place, t.opened) })
}

// comeBack is the minutes of everything but the check itself if it is done
// another day: stopping and isolating, opening, closing and the return to
// service.
func (t *teardown) comeBack(c *rules.Check, place evidence.Place) float64 {
	later := *t.model
	k := *t.k
	k.Pump.State, k.Pump.Open = evidence.Running, nil
	later.k = &k
	p := newPlanner(&later, make([]float64, len(t.causes)))
	p.addCheck(c, place, nil, false)
	minutes := -c.Minutes
	all := make([]int, len(p.tasks))
	for i, step := range p.steps {
		all[i] = i
		minutes += step.Minutes
	}
	for _, step := range later.returns(p.tasks, all, 0) {
		minutes += step.Minutes
	}
	return minutes
}
