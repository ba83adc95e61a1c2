package engine

import (
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// A stop condition is over once what raised it was corrected and was right when
// it was looked at again: the sign in the case is from before. Guards, openings
// and the return to service go on hearing all that the case says.

// standing is the case that a stop condition is held against: without causes
// that were put right, and without the signs that they account for. A stop that
// leaves the pump to the well hears each sign until it is answered, and one that
// hears what was taken beside moving parts hears the whole case. A local book's
// causes end no stop of the built-in book.
func (m *model) standing(stop *rules.Stop) *evidence.Case {
	if len(m.k.LookedAgain) == 0 || stop.When.AsksBeside() {
		return m.k
	}
	book := m.book
	if book.Under != nil && book.Under.Stops.Get(stop.ID) != nil {
		book = book.Under
	}
	right := func(at evidence.At) bool {
		return among(m.k.LookedAgain, at.ID, at.Place) && book.Causes.Get(at.ID) != nil
	}
	out := *m.k
	out.Confirmed = slices.DeleteFunc(slices.Clone(m.k.Confirmed), right)
	if stop.LeavePump {
		return &out
	}
	done := slices.DeleteFunc(slices.Clone(m.k.Confirmed), func(at evidence.At) bool { return !right(at) })
	out.Findings = slices.DeleteFunc(slices.Clone(m.k.Findings), func(f evidence.Finding) bool {
		return f.Answer == evidence.Present && accountsFor(book, m.k, done, f) && !accountsFor(m.book, m.k, out.Confirmed, f)
	})
	return &out
}

// accountsFor says whether one of the causes shows a finding, of its kind, where
// it was seen.
func accountsFor(book *rules.Book, k *evidence.Case, causes []evidence.At, f evidence.Finding) bool {
	return slices.ContainsFunc(causes, func(at evidence.At) bool {
		return slices.ContainsFunc(f.Over, at.Place.Touches) && book.Causes.Get(at.ID).CanShow(f.Sign, f.Kind, k, book)
	})
}

// SeenAgain gives what was right when it was looked at again and accounts for a
// sign that is there now, of this kind if one is named, at the places; at all of
// them when none is named. It is not put right.
func SeenAgain(book *rules.Book, k *evidence.Case, sign, kind string, places []evidence.Place) []evidence.At {
	return slices.DeleteFunc(slices.Clone(k.LookedAgain), func(at evidence.At) bool {
		here := len(places) == 0 || slices.ContainsFunc(places, at.Place.Touches)
		return !here || !book.Causes.Get(at.ID).CanShow(sign, kind, k, book)
	})
}
