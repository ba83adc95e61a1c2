package work

import (
	"slices"

	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// Openable lists what can be opened on this pump at a place, or on the way to
// it, and is not open yet, in the order of the book.
func Openable(book *rules.Book, k *evidence.Case, at evidence.Place) []evidence.At {
	var out []evidence.At
	_, known := book.BeforeTurning(k) // else nothing may turn
	for _, a := range book.Openings.List {
		for _, p := range k.Pump.Places(a.Level) {
			if p.Touches(at) && book.ToOpen(a.ID, p, k) == a && book.ExistsAt(a.ID, p, k) && (known || !book.Turns([]string{a.ID}, p, k)) && !book.IsOpen(a.ID, p, k.Pump.Open) {
				out = append(out, evidence.At{ID: a.ID, Place: p})
			}
		}
	}
	return out
}

// Openings gives the steps that open what is wanted, behind the isolation: the
// safety steps that each opening names, what must be opened before it, and
// itself. What is open already is left out. While a stop condition holds every
// opening back there is none.
func Openings(book *rules.Book, k *evidence.Case, wanted []evidence.At) []Step {
	m := chances.Bare(book, k)
	if m.OpensNothing() {
		return nil
	}
	p := newPlanner(m, aim{})
	var opened []int
	for _, at := range wanted {
		opened = append(opened, p.opened([]string{at.ID}, at.Place)...)
	}
	isolates := func(i int) bool { return p.tasks[i].safety != nil && !p.tasks[i].guards(rules.ForNamed) }
	for i := range p.steps { // those of the isolation are done
		p.steps[i].Before = slices.DeleteFunc(p.steps[i].Before, isolates)
	}
	var steps []Step
	for _, i := range slices.DeleteFunc(inner(opened, p.before), isolates) {
		steps = append(steps, p.step(i, found{}))
	}
	return numbered(steps, 0)
}

// Isolation gives the steps that stop and isolate a pump that stands as the case says,
// or that see the isolation of others.
func Isolation(book *rules.Book, k *evidence.Case) []Step {
	p := newPlanner(chances.Bare(book, k), aim{})
	p.stands()
	var steps []Step
	for _, i := range inner(p.safetySteps(rules.ForIsolation), p.before) {
		steps = append(steps, p.step(i, found{}))
	}
	return numbered(steps, 0)
}
