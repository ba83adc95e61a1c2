package engine

import (
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// Openable lists what can be opened on this pump at a place, or on the way to
// it, and is not open yet, in the order of the book.
func Openable(book *rules.Book, k *evidence.Case, at evidence.Place) []evidence.At {
	var out []evidence.At
	for _, a := range book.Openings.List {
		for _, p := range k.Pump.Places(a.Level) {
			if p.Touches(at) && book.ToOpen(a.ID, p, k) == a && book.ExistsAt(a.ID, p, k) && mayTurn(book, k, a, p) && !book.IsOpen(a.ID, p, k.Pump.Open) {
				out = append(out, evidence.At{ID: a.ID, Place: p})
			}
		}
	}
	return out
}

// mayTurn says whether an opening turns nothing, or it is known what must be
// opened before.
func mayTurn(book *rules.Book, k *evidence.Case, a *rules.Opening, place evidence.Place) bool {
	_, known := book.BeforeTurning(k)
	return known || !book.Turns([]string{a.ID}, place, k)
}

// Openings gives the steps that open what is wanted, behind the isolation: the
// guards that each opening names, what must be opened before it, and itself.
// What is open already is left out. While a stop condition holds every opening
// back there is none.
func Openings(book *rules.Book, k *evidence.Case, wanted []evidence.At) []StepReport {
	o := openings{model: model{book: book, k: k}}
	if opensNothing(o.stops()) {
		return nil
	}
	for _, at := range wanted {
		o.opening(at)
	}
	return o.steps
}

type openings struct {
	model
	steps []StepReport
}

// opening adds one opening behind what it needs and gives the ids of all that.
func (o *openings) opening(at evidence.At) []string {
	a := o.book.ToOpen(at.ID, at.Place, o.k)
	place := a.At(at.Place)
	if o.book.IsOpen(at.ID, place, o.k.Pump.Open) {
		return nil
	}
	if i := o.has(StepOpening, a.ID, place); i >= 0 {
		return append(slices.Clone(o.steps[i].Needs), a.ID)
	}
	needs := []string{}
	for _, id := range a.Safety {
		needs = append(needs, o.safety(id)...)
	}
	for _, id := range a.Needs {
		needs = append(needs, o.opening(evidence.At{ID: id, Place: place})...)
	}
	o.steps = append(o.steps, StepReport{
		Number: len(o.steps) + 1, Kind: StepOpening, ID: a.ID, Place: place, Title: o.fill(a.Title), Do: o.fill(a.Do),
		Pump: string(rules.NeedsIsolated), BeforeTurning: a.BeforeTurning, Minutes: a.Minutes, Needs: needs, Tools: o.fillAll(a.Tools), Looks: []string{}, Results: []ResultReport{}, FromLocal: a.FromLocal,
	})
	return append(slices.Clone(needs), a.ID)
}

// safety adds a guard that is named, behind the named ones before it; those of
// the isolation are done already.
func (o *openings) safety(id string) []string {
	s := o.book.Safety.Get(id)
	if s.For != rules.ForNamed || !s.When.Holds(o.k, o.book) {
		return nil
	}
	if i := o.has(StepSafety, id, evidence.Place{}); i >= 0 {
		return append(slices.Clone(o.steps[i].Needs), id)
	}
	needs := []string{}
	for _, before := range s.After {
		needs = append(needs, o.safety(before)...)
	}
	if s.Turns {
		left, _ := o.book.BeforeTurning(o.k)
		for _, at := range left {
			needs = append(needs, o.opening(at)...)
		}
	}
	o.steps = append(o.steps, StepReport{
		Number: len(o.steps) + 1, Kind: StepSafety, ID: id, Title: o.fill(s.Title), Do: o.fill(s.Do), Signal: string(s.Signal),
		Minutes: s.Minutes, Needs: needs, Tools: []string{}, Looks: []string{}, Results: []ResultReport{}, FromLocal: s.FromLocal,
	})
	return append(slices.Clone(needs), id)
}

func (o *openings) has(kind, id string, place evidence.Place) int {
	return slices.IndexFunc(o.steps, func(s StepReport) bool { return s.Kind == kind && s.ID == id && s.Place == place })
}
