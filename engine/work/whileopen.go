package work

import (
	"slices"
	"sort"

	"telltale/engine/chances"
	"telltale/engine/figures"
	"telltale/engine/order"
	"telltale/evidence"
	"telltale/rules"
)

// What else is worth a look while the pump is open: a check whose opening is
// there already costs only its own minutes now, and a whole isolation, opening
// and return if the crew has to come back for it.

// whileOpen lists the checks outside the list for which nothing more is opened:
// those that pay, as the chance that they expose a cause, times the minutes of
// coming back for them, is more than their minutes now; then those that look at a
// root of what is looked for; then the likeliest of the others, from the least
// worth of the book on.
func (t *teardown) whileOpen() {
	if len(t.opened) == 0 || t.OpensNothing() {
		return
	}
	for _, c := range t.Book.Checks.List {
		if !c.Pump.UnderIsolation() || len(c.Openings) == 0 || !c.When.Holds(t.Case, t.Book) {
			continue
		}
		for _, place := range t.Case.Pump.Places(c.Level) {
			if extra, worth := t.extra(c, place); worth {
				t.out.WhileOpen = append(t.out.WhileOpen, extra)
			}
		}
	}
	sort.SliceStable(t.out.WhileOpen, func(a, b int) bool {
		x, y := t.out.WhileOpen[a], t.out.WhileOpen[b]
		if x.wanted() != y.wanted() {
			return x.wanted()
		}
		return chances.Likelier(x.Chance*x.ComeBack-x.Minutes, y.Chance*y.ComeBack-y.Minutes)
	})
	wanted := 0
	for wanted < len(t.out.WhileOpen) && t.out.WhileOpen[wanted].wanted() {
		wanted++
	}
	t.out.WhileOpen = t.out.WhileOpen[:min(len(t.out.WhileOpen), wanted+t.Book.Teardown.MostLooks)]
}

// wanted says whether a look is worth naming whatever else there is.
func (e *Extra) wanted() bool { return e.Pays || e.Root }

func (t *teardown) extra(c *rules.Check, place evidence.Place) (Extra, bool) {
	if t.list.has(c, place) || !t.openingOpen(c, place) || t.Book.WantsClosed(c, place, t.opened) || !canDo(t.Model, c, place) || t.cleared(c.ID, place) || t.Answered(c, place) {
		return Extra{}, false
	}
	finds := slices.DeleteFunc(Exposes(t.Model, c, place), func(f order.Find) bool { return t.Confirmed(f.Cause) })
	left := func(f order.Find) float64 {
		there := t.Posterior[f.Cause]
		if t.roots[f.Cause] > 0 {
			there = t.given.Posterior[f.Cause]
		}
		return there * t.list.miss[f.Cause] * f.Sure
	}
	chance := 0.0
	for _, f := range finds {
		chance += left(f)
	}
	out := Extra{
		Check: c.ID, Place: place, Title: t.Fill(c.Title), Chance: min(1, chance), Minutes: c.Minutes, ComeBack: t.comeBack(c, place),
		Looks: likeliest(finds, 0, left, func(f order.Find) string { return t.Fill(t.Causes[f.Cause].Cause.Title) }),
	}
	saved := out.Chance * out.ComeBack
	out.Pays = saved > out.Minutes
	for _, f := range finds {
		out.Root = out.Root || t.roots[f.Cause] > 0 && !t.LookedAt(f.Cause)
	}
	return out, out.Root || saved > 0 && saved >= t.Book.Teardown.LookWorth*out.Minutes
}

func (t *teardown) openingOpen(c *rules.Check, place evidence.Place) bool {
	return !slices.ContainsFunc(c.Openings, func(id string) bool { return !t.Book.IsOpen(id, place, t.opened) })
}

// comeBack is the minutes of everything but the check itself if it is done
// another day: stopping and isolating, opening, closing and the return to
// service.
func (t *teardown) comeBack(c *rules.Check, place evidence.Place) float64 {
	p := newPlanner(t.Standing(evidence.Running), aim{weight: make([]float64, len(t.Causes))})
	p.addCheck(c, place, nil, false)
	minutes := -c.Minutes
	all := make([]int, len(p.tasks))
	for i, step := range p.steps {
		all[i] = i
		minutes += step.Minutes
	}
	for _, step := range p.returns(all, found{}) {
		minutes += step.Minutes
	}
	return minutes
}

// worn lists the parts past their life by the record that the openings of the
// plan get at and do not replace anyway: the life that is expected, else the
// hours by which half of them have failed.
func (t *teardown) worn() {
	if t.Measured == nil || t.OpensNothing() {
		return
	}
	for i := range t.Measured.Parts {
		rec := &t.Measured.Parts[i]
		part := t.Book.Parts.Get(rec.Part)
		for _, at := range rec.PerPlace {
			life, by := lifeAt(rec, at.Place)
			if life > 0 && at.Running >= life && t.inReach(part, at.Place) && !within(at.Place, t.usedUp(part.ID)) {
				t.out.Worn = append(t.out.Worn, Worn{Part: part.ID, Place: at.Place, Title: part.Title, Hours: at.Running, Life: life, By: by})
			}
		}
	}
}

// lifeAt is how long a part is good for at a place, in hours, and by what; 0
// if the record does not tell.
func lifeAt(rec *figures.Part, place evidence.Place) (hours float64, by string) {
	if rec.Expected != nil {
		return *rec.Expected, "expected-life"
	}
	for _, end := range rec.Ends {
		if here := slices.Contains(end.Places, place); end.Median != nil && (len(end.Places) == 0 || here != end.Others) {
			return end.Median.Value, "median"
		}
	}
	return 0, ""
}

// inReach says whether the plan opens all that a part is behind.
func (t *teardown) inReach(part *rules.Part, place evidence.Place) bool {
	return len(part.ReachedBy) > 0 && !slices.ContainsFunc(part.ReachedBy, func(id string) bool { return !t.Book.IsOpen(id, place, t.opened) })
}
