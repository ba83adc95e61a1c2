package engine

import (
	"errors"
	"slices"
	"sort"

	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// The parts to have at hand: those that the opening uses up, and those that the
// causes may take, with the chance that each is needed.

// spares works out the chance of each part, and what is used up by opening.
func (t *teardown) spares() error {
	for _, part := range t.book.Parts.List {
		if uses := t.usedUp(part.ID); len(uses) > 0 {
			t.out.Consumed = append(t.out.Consumed, SpareReport{Part: part.ID, Title: part.Title, Chance: 1, Places: uses})
			continue
		}
		spare, err := t.spare(part)
		if err != nil {
			return err
		}
		if spare.Chance >= t.out.SpareFrom {
			t.out.Spares = append(t.out.Spares, spare)
		}
	}
	sort.SliceStable(t.out.Spares, func(a, b int) bool { return t.out.Spares[a].Chance > t.out.Spares[b].Chance })
	return nil
}

// usedUp says at which places the opening uses a part up.
func (t *teardown) usedUp(part string) []string {
	var out []string
	for _, at := range t.opened {
		if slices.Contains(t.book.Access.Get(at.ID).Uses, part) {
			out = append(out, at.Place.String())
		}
	}
	sort.Strings(out)
	return out
}

// taking is a cause that may take a part.
type taking struct {
	cause  int
	chance float64
}

func (t *teardown) spare(part *rules.Part) (SpareReport, error) {
	var takers []taking
	for i, in := range t.causes {
		for _, need := range in.cause.Parts {
			counts := in.prior > 0
			if t.out.Named {
				counts = slices.Contains(t.targets, i)
			}
			if need.Part == part.ID && counts {
				takers = append(takers, taking{i, need.Chance})
			}
		}
	}
	out := SpareReport{Part: part.ID, Title: part.Title, Places: t.placesOf(part, takers)}
	if t.out.Named { // the named causes are taken to be there
		none := 1.0
		for _, x := range takers {
			none *= 1 - x.chance
		}
		out.Chance = 1 - none
		return out, nil
	}
	var err error
	out.Chance, out.AtMost, err = t.union(takers)
	return out, err
}

// placesOf names the places where a part may be needed, the likeliest first,
// those that matter; none for a part of the whole pump.
func (t *teardown) placesOf(part *rules.Part, takers []taking) []string {
	chance := map[evidence.Place]float64{}
	for _, x := range takers {
		chance[placeAt(part.Level, t.causes[x.cause].place)] += x.chance * t.w.Posterior[x.cause]
	}
	var places []evidence.Place
	for _, level := range []evidence.Level{evidence.OfPump, evidence.OfCylinder, evidence.OfChamber} {
		for _, p := range t.k.Pump.Places(level) {
			if chance[p] > 0 && !slices.Contains(places, p) {
				places = append(places, p)
			}
		}
	}
	sort.SliceStable(places, func(a, b int) bool { return likelier(chance[places[a]], chance[places[b]]) })
	out := []string{}
	for _, p := range places {
		if p != (evidence.Place{}) && chance[p] >= chance[places[0]]/4 {
			out = append(out, p.String())
		}
	}
	return out
}

// union is the exact chance that one cause at least takes the part; where that
// is too wide to compute, the sum of the chances, which it cannot exceed.
func (t *teardown) union(takers []taking) (chance float64, bound bool, err error) {
	if len(takers) == 0 {
		return 0, false, nil
	}
	o := noisyor.Observation{Background: noisyor.Yield{Yes: 0, No: 1}}
	sum := 0.0
	for _, x := range takers {
		o.Links = append(o.Links, noisyor.Link{Cause: x.cause, Yield: noisyor.Yield{Yes: x.chance, No: 1 - x.chance}})
		sum += x.chance * t.w.Posterior[x.cause]
	}
	p := t.problem(-1)
	p.Present = append(p.Present, o)
	z, err := t.solver.Evidence(p)
	var wide *noisyor.TooWideError
	switch {
	case errors.As(err, &wide):
		return min(1, sum), true, nil
	case errors.Is(err, noisyor.ErrImpossible):
		return 0, false, nil
	case err != nil:
		return 0, false, err
	}
	return min(1, z/t.w.Evidence), false, nil
}
