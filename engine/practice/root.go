package practice

import (
	"cmp"
	"slices"

	"telltale/evidence"
)

// What brought a named failure on, or that there is nothing deeper: what is said
// of it, and from when it counts as shown.

// Nothing stands for "nothing deeper" where a cause is said to have brought
// another one on. It is no id of a book.
const Nothing = "nothing deeper"

// Traced is an answer to what brought a cause on.
type Traced struct {
	Of, To evidence.At
	Right  bool
}

// WithoutRoot are the named causes of which it is still to be said what brought
// them on.
func (s *Session) WithoutRoot() []evidence.At {
	return slices.DeleteFunc(slices.Clone(s.known.Confirmed), func(at evidence.At) bool {
		return !s.World.asksRoot(at.ID) || slices.ContainsFunc(s.traced, func(t Traced) bool { return t.Of == at && t.Right })
	})
}

// Named says whether a hidden cause was named.
func (s *Session) Named(at evidence.At) bool { return has(s.known.Confirmed, at) }

// Traced are the answers so far.
func (s *Session) Traced() []Traced { return s.traced }

func (s *Session) saysRight(of, to evidence.At) bool {
	return slices.Contains(s.traced, Traced{Of: of, To: to, Right: true})
}

// over says whether a trouble is done with: its root was named, and one at least
// of the things that it brought on with it. What stands alone and could have been
// brought on wants the word that there is nothing deeper.
func (s *Session) over(t Trouble) bool {
	switch {
	case !has(s.known.Confirmed, t.Root):
		return false
	case len(t.Failed) > 0:
		return slices.ContainsFunc(t.Failed, func(at evidence.At) bool { return s.saysRight(at, t.Root) })
	}
	return !s.World.asksRoot(t.Root.ID) || s.saysRight(t.Root, evidence.At{ID: Nothing})
}

// cannotRoot says why something cannot be said to have brought a cause on.
func (s *Session) cannotRoot(a Action) string {
	c := s.book.Causes.Get(a.ID)
	switch {
	case !has(s.WithoutRoot(), a.Of) || a.Of == a.at():
		return unknown
	case slices.ContainsFunc(s.traced, func(t Traced) bool { return t.Of == a.Of && t.To == a.at() }):
		return saidTwice
	case a.at() == evidence.At{ID: Nothing}:
		return ""
	case c == nil || !s.placed(c.Level, a.Place) || !c.When.Holds(&s.known, s.book):
		return unknown
	case has(s.known.RuledOut, a.at()):
		return namedTwice
	}
	return ""
}

// RootOffers lists what can be said to have brought a named cause on: nothing
// deeper, then all that brings something on.
func (s *Session) RootOffers(of evidence.At) []Offer {
	var out []Offer
	add := func(id string, places []evidence.Place) {
		o := Offer{ID: id, Title: s.Title(Root, id)}
		for _, p := range places {
			if s.cannotRoot(Action{Do: Root, ID: id, Place: p, Of: of}) == "" {
				o.Places = append(o.Places, p)
			}
		}
		if len(o.Places) > 0 {
			out = append(out, o)
		}
	}
	for _, c := range s.book.Causes.List {
		if len(c.Brings) > 0 {
			add(c.ID, s.known.Pump.Places(c.Level))
		}
	}
	slices.SortStableFunc(out, func(a, b Offer) int { return cmp.Compare(a.Title, b.Title) })
	found := out
	out = nil
	add(Nothing, []evidence.Place{{}})
	return append(out, found...)
}

// trace says what brought a named cause on. A cause that was not named yet is
// named with it.
func (s *Session) trace(a Action) Outcome {
	heads, between, alone := s.World.broughtBy(a.Of)
	var out Outcome
	switch to := a.at(); {
	case a.ID == Nothing:
		open, _ := s.openRoots(a.Of)
		out = Outcome{Right: alone, Back: !alone, Proved: len(open) == 0}
	case s.hides(to):
		out.Proved = has(s.proofs, to)
		if !has(s.known.Confirmed, to) {
			out.Proved = s.confirm(to)
		}
		out.There, out.Right, out.Between = true, has(heads, to), has(between, to)
	default:
		s.known.RuledOut = append(slices.Clip(s.known.RuledOut), to)
	}
	s.traced = append(slices.Clip(s.traced), Traced{Of: a.Of, To: a.at(), Right: out.Right})
	s.endIfSolved()
	return out
}

// roots weighs what may have brought a cause on, likeliest first. There is none
// where the case cannot be weighed.
func (s *Session) roots(k *evidence.Case, of evidence.At) ([]rootChance, error) {
	m, err := s.weigh(k)
	if err != nil {
		return nil, mistake(err)
	}
	return m.roots(of), nil
}

// openRoots are the roots of a named failure that are too likely to be passed
// over: shown already, or to be looked for by a check that can still be done. Where
// there is none, "nothing deeper" counts as shown.
func (s *Session) openRoots(of evidence.At) ([]rootChance, error) {
	shown := s.known
	if len(s.exposed) > 0 {
		shown.Confirmed = slices.Concat(s.known.Confirmed, s.exposed)
	}
	all, err := s.roots(&shown, of)
	return slices.DeleteFunc(all, func(r rootChance) bool {
		return r.ID == Nothing || r.chance < s.book.Practice.RootFrom || !has(shown.Confirmed, r.At) && len(s.checksLeft(r.At)) == 0
	}), err
}

// checksLeft are the checks that can find a cause and can still be done.
func (s *Session) checksLeft(cause evidence.At) []evidence.At {
	return slices.DeleteFunc(s.World.Proofs(cause), func(at evidence.At) bool {
		return s.cannotCheck(Action{Do: Check, ID: at.ID, Place: at.Place}) != ""
	})
}

// likely is the chance from which the tool takes a named root for what brought a
// failure on.
const likely = 0.5

// bestRoot is what the tool says of a named failure as soon as it is shown: the
// named root that probably brought it on, or nothing deeper. guess: what is
// likeliest, shown or not.
func (s *Session) bestRoot(guess bool) (Action, bool, error) {
	for _, of := range s.WithoutRoot() {
		all, err := s.roots(&s.known, of)
		if err != nil {
			return Action{}, false, err
		}
		left, err := s.openRoots(of)
		if err != nil {
			return Action{}, false, err
		}
		for _, r := range all {
			a := Action{Do: Root, ID: r.ID, Place: r.Place, Of: of}
			named := has(s.known.Confirmed, r.At)
			shown := named && r.chance >= likely || len(left) == 0 && (named || r.ID == Nothing)
			if (shown || guess) && s.cannotRoot(a) == "" {
				return a, true, nil
			}
		}
	}
	return Action{}, false, nil
}

// nextLook is a check for the likeliest root that is still to be looked for.
func (s *Session) nextLook() (Action, bool, error) {
	for _, of := range s.WithoutRoot() {
		left, err := s.openRoots(of)
		if err != nil {
			return Action{}, false, err
		}
		for _, r := range left {
			if checks := s.checksLeft(r.At); len(checks) > 0 && !has(s.known.Confirmed, r.At) {
				return Action{Do: Check, ID: checks[0].ID, Place: checks[0].Place}, true, nil
			}
		}
	}
	return Action{}, false, nil
}
