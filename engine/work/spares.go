package work

import (
	"maps"
	"slices"
	"sort"

	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// The parts to have at hand: those that the opening uses up, and those that the
// causes may take, with the chance that each is needed and with what must be
// opened for it besides.

// spares works out the chance of each part, and what is used up by opening.
func (t *teardown) spares() error {
	for _, part := range t.Book.Parts.List {
		if !part.When.Holds(t.Case, t.Book) {
			continue
		}
		uses := t.usedUp(part.ID)
		if len(uses) > 0 {
			t.out.Consumed = append(t.out.Consumed, Spare{Part: part.ID, Title: part.Title, Chance: 1, Places: uses, OpenBesides: []Besides{}})
		}
		spare, certain, err := t.spare(part, uses)
		if err != nil {
			return err
		}
		if certain || spare.Chance >= t.out.SpareFrom {
			t.out.Spares = append(t.out.Spares, spare)
		}
	}
	sort.SliceStable(t.out.Spares, func(a, b int) bool { return chances.Likelier(t.out.Spares[a].Chance, t.out.Spares[b].Chance) })
	return nil
}

// usedUp says at which places the opening uses a part up, in the order of the
// pump.
func (t *teardown) usedUp(part string) []evidence.Place {
	var out []evidence.Place
	for _, at := range t.opened {
		if slices.Contains(t.Book.Openings.Get(at.ID).Uses, part) {
			out = append(out, at.Place)
		}
	}
	slices.SortStableFunc(out, t.ComparePlaces)
	return out
}

// taking is a cause that may take a part.
type taking struct {
	cause  int
	chance float64 // if the cause is there and is corrected
	proved bool    // by the case, or taken to be there: the mechanic named it
	rooted bool    // it may have brought on what was named
}

// spare works out one part, beside the places where the opening uses it up.
// certain says that a cause that is proved takes it: the ranking names it
// there, so it is listed however small its chance.
func (t *teardown) spare(part *rules.Part, used []evidence.Place) (out Spare, certain bool, err error) {
	takers, worn := t.takers(part, used), t.shownWorn(part, used)
	if len(takers)+len(worn) == 0 {
		return Spare{Part: part.ID, Title: part.Title, Places: []evidence.Place{}, OpenBesides: []Besides{}}, false, nil
	}
	none, miss := 1.0, t.misses(nil)
	for _, x := range takers {
		if x.proved {
			none *= 1 - x.chance
			certain = certain || t.Confirmed(x.cause) && t.names(x.cause, part.ID)
			continue
		}
		miss[x.cause] = 1 - x.chance
	}
	for _, chance := range worn {
		none *= 1 - chance
	}
	found, err := t.given.FoundBy(miss, 0)
	places := t.placesOf(part, takers, worn)
	out = Spare{Part: part.ID, Title: part.Title, Chance: 1 - none*(1-found), Places: places, OpenBesides: t.besides(part, places)}
	return out, certain, err
}

// shownWorn gives the places where a finding shows the part itself worn, or one
// that it is used up for, with the chance that it is changed for that, whatever
// the cause; none where a cause was corrected since.
func (t *teardown) shownWorn(part *rules.Part, used []evidence.Place) map[evidence.Place]float64 {
	out := map[evidence.Place]float64{}
	for _, f := range t.Case.Findings {
		corrected := slices.ContainsFunc(t.Case.Corrected, func(at evidence.At) bool { return at.Place.Touches(f.At) })
		if f.Answer != evidence.Present || len(f.Over) != 1 || corrected || within(f.At, used) {
			continue
		}
		for _, shown := range t.Book.Parts.List {
			for _, s := range shown.ShownBy {
				if s.Sign == f.Sign && (shown == part || shown.When.Holds(t.Case, t.Book) && t.usesOnTheWay(shown.ID, f.At, part.ID)) {
					out[f.At] = max(out[f.At], s.Chance)
				}
			}
		}
	}
	return out
}

// names says whether a cause takes a part itself.
func (t *teardown) names(cause int, part string) bool {
	return slices.ContainsFunc(t.Causes[cause].Cause.Parts, func(n rules.PartNeed) bool { return n.Part == part })
}

// takers gives the causes that may take a part: those that are proved and not
// corrected yet, those that are named, what may have brought these on, and else
// those that may be behind a finding. A fault that the pump may have besides takes
// nothing.
func (t *teardown) takers(part *rules.Part, used []evidence.Place) []taking {
	var out []taking
	for i, in := range t.Causes {
		x := taking{cause: i, chance: t.takes(i, part.ID)}
		x.proved, x.rooted = t.Confirmed(i) || slices.Contains(t.named, i), t.out.Named && t.roots[i] > 0
		switch {
		case x.chance == 0 || t.replaced(part, in.Place, used):
		case t.Confirmed(i) && chances.Among(t.Case.Corrected, in.Cause.ID, in.Place):
		case x.proved || x.rooted || !t.out.Named && in.Prior > 0:
			out = append(out, x)
		}
	}
	return out
}

// takes is the chance that correcting a cause takes a part: because it is
// worn out, or because what is opened to change another part uses it up.
func (t *teardown) takes(cause int, part string) float64 {
	in, none := t.Causes[cause], 1.0
	for _, need := range in.Cause.Parts {
		if need.Part == part || t.usesOnTheWay(need.Part, in.Place, part) {
			none *= 1 - need.Chance
		}
	}
	return 1 - none
}

// usesOnTheWay says whether what must be opened besides to change one part
// uses up another.
func (t *teardown) usesOnTheWay(changed string, at evidence.Place, used string) bool {
	part := t.Book.Parts.Get(changed)
	for _, place := range t.Case.Pump.Under(at, part.Level) {
		if slices.ContainsFunc(t.toReach(part, place), func(at evidence.At) bool { return slices.Contains(t.Book.Openings.Get(at.ID).Uses, used) }) {
			return true
		}
	}
	return false
}

// replaced says whether a part is new anyway wherever a cause could take it.
func (t *teardown) replaced(part *rules.Part, at evidence.Place, used []evidence.Place) bool {
	return !slices.ContainsFunc(t.Case.Pump.Under(at, part.Level), func(p evidence.Place) bool { return !within(p, used) })
}

// within says whether a place lies in one of several.
func within(p evidence.Place, wide []evidence.Place) bool {
	return slices.ContainsFunc(wide, func(w evidence.Place) bool {
		return w.Cylinder == "" || w == p || w == evidence.Place{Cylinder: p.Cylinder}
	})
}

// toReach gives what must be opened to change a part at a place and is not
// opened by the plan, in the order of opening.
func (t *teardown) toReach(part *rules.Part, place evidence.Place) []evidence.At {
	key := evidence.At{ID: part.ID, Place: place}
	if out, known := t.reached[key]; known {
		return out
	}
	shut := func(id string) bool { return !t.Book.IsOpen(id, place, t.opened) && t.Book.ExistsAt(id, place, t.Case) }
	needs := func(id string) []string {
		if !shut(id) {
			return nil
		}
		return t.Book.ToOpen(id, place, t.Case).Needs
	}
	var out []evidence.At
	for _, id := range inner(part.ReachedBy, needs) {
		a := t.Book.ToOpen(id, place, t.Case)
		if at := (evidence.At{ID: a.ID, Place: a.At(place)}); shut(id) && !slices.Contains(out, at) {
			out = append(out, at)
		}
	}
	t.reached[key] = out
	return out
}

// besides lists what must be opened besides to change a part at the places
// where it may be needed, with the minutes of opening and closing it.
func (t *teardown) besides(part *rules.Part, places []evidence.Place) []Besides {
	if part.Level == evidence.OfPump {
		places = []evidence.Place{{}}
	}
	out := []Besides{}
	var listed []evidence.At
	for _, place := range places {
		for _, at := range t.toReach(part, place) {
			if slices.Contains(listed, at) {
				continue
			}
			listed = append(listed, at)
			a := t.Book.Openings.Get(at.ID)
			out = append(out, Besides{ID: at.ID, Place: at.Place, Title: t.Fill(a.Title), Minutes: a.Minutes + a.Close.Minutes, Hands: a.Hands})
		}
	}
	return out
}

// placesOf names the places where a part may be needed, the likeliest first,
// those that matter; none for a part of the whole pump.
func (t *teardown) placesOf(part *rules.Part, takers []taking, worn map[evidence.Place]float64) []evidence.Place {
	chance := maps.Clone(worn)
	for _, x := range takers {
		there := t.weight[x.cause]
		if x.proved {
			there = 1
		} else if x.rooted {
			there = t.roots[x.cause]
		}
		chance[part.Level.Of(t.Causes[x.cause].Place)] += x.chance * there
	}
	var places []evidence.Place
	for _, level := range []evidence.Level{evidence.OfCylinder, evidence.OfChamber} {
		for _, p := range t.Case.Pump.Places(level) {
			if chance[p] > 0 && !slices.Contains(places, p) {
				places = append(places, p)
			}
		}
	}
	sort.SliceStable(places, func(a, b int) bool { return chances.Likelier(chance[places[a]], chance[places[b]]) })
	out := []evidence.Place{}
	for _, p := range places {
		if chance[p] >= chance[places[0]]/4 {
			out = append(out, p)
		}
	}
	return out
}
