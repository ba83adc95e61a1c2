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
	under, err := New(m.Book.Under, known(m.Case, m.Book.Under)).evidence(s)
	var wide *noisyor.TooWideError
	if errors.Is(err, noisyor.ErrImpossible) || errors.As(err, &wide) || err == nil && under.Evidence == 0 {
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

// known is a case without what a book has no word for.
func known(k *evidence.Case, book *rules.Book) *evidence.Case {
	out := *k
	out.Findings = slices.DeleteFunc(slices.Clone(k.Findings), func(f evidence.Finding) bool { return book.Signs.Get(f.Sign) == nil })
	check := func(at evidence.At) bool { return book.Checks.Get(at.ID) == nil }
	cause := func(at evidence.At) bool { return book.Causes.Get(at.ID) == nil }
	out.Cleared, out.Unclear = slices.DeleteFunc(slices.Clone(k.Cleared), check), slices.DeleteFunc(slices.Clone(k.Unclear), check)
	for _, list := range []*[]evidence.At{&out.Confirmed, &out.RuledOut, &out.Corrected, &out.LookedAgain} {
		*list = slices.DeleteFunc(slices.Clone(*list), cause)
	}
	return &out
}
