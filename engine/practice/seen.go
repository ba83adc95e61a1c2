package practice

import (
	"slices"

	"telltale/evidence"
)

// How what is seen comes into the case.

// reveal brings the truth about signs into the case and gives what is new.
func (s *Session) reveal(signs []evidence.At) []evidence.Finding {
	var seen []evidence.Finding
	for _, at := range signs {
		if s.known.Known(at.ID, at.Place) {
			continue
		}
		f := s.World.finding(at.ID, at.Place)
		seen = append(seen, f)
		s.known.Findings = append(narrowed(s.known.Findings, f), f)
	}
	return seen
}

// tellSigns reveals what a check tells. A sign that goes with another one, as
// the behaviour of a knock with the knock, is told together with that one, and
// not at all where that one does not show.
func (s *Session) tellSigns(signs []evidence.At) []evidence.Finding {
	var alone, behind []evidence.At
	for _, at := range signs {
		follows := s.book.Signs.Get(at.ID).Follows
		switch {
		case len(follows) == 0:
			alone = append(alone, at)
		case s.World.showsAny(follows):
			alone = append(alone, s.World.shownOf(follows)...)
			behind = append(behind, at)
		}
	}
	return s.reveal(append(alone, behind...))
}

// narrowed fits a report of "somewhere" to what is now known of one of its
// places.
func narrowed(findings []evidence.Finding, f evidence.Finding) []evidence.Finding {
	var out []evidence.Finding
	for _, old := range findings {
		vague := old.Sign == f.Sign && old.Answer == evidence.Present && len(old.Over) > 1 && slices.Contains(old.Over, f.At)
		if !vague {
			out = append(out, old)
			continue
		}
		if f.Answer == evidence.Present {
			continue // said more exactly now
		}
		old.Over = slices.DeleteFunc(slices.Clone(old.Over), func(p evidence.Place) bool { return p == f.At })
		out = append(out, old)
	}
	return out
}
