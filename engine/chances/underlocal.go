package chances

import (
	"errors"
	"slices"

	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// A local book weighs otherwise: a cause of its own may explain away what is
// urgent. How long it can wait is no matter of that: the verdict is never less
// urgent than by the built-in book alone.

// underLocal is the verdict of the causes of the built-in book beneath a local
// one; watch where there is none, or where it cannot weigh the case.
func (m *Model) underLocal(s *noisyor.Solver) (rules.Wait, error) {
	if m.Book.Under == nil {
		return rules.Watch, nil
	}
	under, err := New(m.Book.Under, m.asUnder()).Within(m.budget).evidence(s)
	if errors.Is(err, noisyor.ErrImpossible) || TooWide(err) || err == nil && under.Evidence == 0 {
		return rules.Watch, nil
	}
	if err != nil {
		return "", err
	}
	under.stops = []*rules.Stop{} // those of the whole book count
	h, err := under.hurryOf(under.waits())
	if err != nil {
		return "", err
	}
	return h.verdict(under.Book), nil
}

// rootsLeftUnder gives the roots of a proved cause that the built-in book alone
// has looked at and that are not among those known already, with their share by
// that book: no local book that weighs otherwise lets one go unseen. It gives none
// where the built-in book cannot weigh the case.
func (w *Weighed) rootsLeftUnder(cause int, known []Root) []Root {
	var out []Root
	under := w.underAlone()
	if under == nil {
		return out
	}
	i, ok := under.Find(w.Causes[cause].Cause.ID, w.Causes[cause].Place)
	if !ok || !under.confirmed[i] {
		return out
	}
	brought, _ := under.rootsOf(i)
	for _, r := range under.rootsLeft(i, brought) {
		root, ok := w.Find(r.Cause, r.Place)
		if ok && w.open(root) && !w.LookedAt(root) && !slices.ContainsFunc(known, func(k Root) bool { return k.Cause == r.Cause && k.Place == r.Place }) {
			r.Title = w.Fill(w.Causes[root].Cause.Title)
			out = append(out, r)
		}
	}
	return out
}

// underAlone is the case weighed by the built-in book beneath a local one; nil
// where there is none, or where it cannot weigh the case.
func (w *Weighed) underAlone() *Weighed {
	if w.Book.Under == nil || w.builtIn != nil {
		return w.builtIn
	}
	m := New(w.Book.Under, w.asUnder()).Within(w.budget)
	m.Measured = w.Measured
	m.age()
	if under, err := m.Solve(); err == nil {
		w.builtIn = under
	}
	return w.builtIn
}

// asUnder is the case as the built-in book beneath hears it: with its own
// thresholds and its own doubt of a reading.
func (m *Model) asUnder() *evidence.Case {
	k := *m.Case
	k.Findings = slices.DeleteFunc(slices.Clone(k.Findings), func(f evidence.Finding) bool { return f.Measured })
	k.Findings = append(k.Findings, m.readUnder...)
	return weighable(m.Book.Under, known(&k, m.Book.Under))
}

// readings are the findings that the readings of a case are by the built-in book;
// none where it cannot take them.
func readings(book *rules.Book, k *evidence.Case) []evidence.Finding {
	k = known(k, book)
	if !k.Measured.Any() && !rated(book, k) {
		return nil
	}
	_, with, err := measure(book, k)
	if err != nil {
		return nil
	}
	return slices.DeleteFunc(with.Findings, func(f evidence.Finding) bool { return !f.Measured })
}

// known is a case without what a book has no word for.
func known(k *evidence.Case, book *rules.Book) *evidence.Case {
	out := *k
	out.Findings = slices.DeleteFunc(slices.Clone(k.Findings), func(f evidence.Finding) bool { return book.Signs.Get(f.Sign) == nil })
	out.Recent = slices.DeleteFunc(slices.Clone(k.Recent), func(w evidence.Work) bool { return book.Works.Get(w.ID) == nil })
	out.Measured.PartRecords = slices.DeleteFunc(slices.Clone(k.Measured.PartRecords), func(r evidence.PartRecord) bool { return book.Parts.Get(r.Part) == nil })
	check := func(at evidence.At) bool { return book.Checks.Get(at.ID) == nil }
	cause := func(at evidence.At) bool { return book.Causes.Get(at.ID) == nil }
	out.Cleared, out.Unclear = slices.DeleteFunc(slices.Clone(k.Cleared), check), slices.DeleteFunc(slices.Clone(k.Unclear), check)
	for _, list := range []*[]evidence.At{&out.Confirmed, &out.RuledOut, &out.Corrected, &out.LookedAgain} {
		*list = slices.DeleteFunc(slices.Clone(*list), cause)
	}
	return &out
}
