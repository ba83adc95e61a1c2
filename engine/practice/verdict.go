package practice

import (
	"slices"

	"telltale/evidence"
)

// Verdict says whether an exercise is passed, and what was missing if not.
type Verdict struct {
	Passed bool
	Ended  bool // everything was named, or the pump was left as it must be
	Faults int  // choices that would have put somebody in danger
	// Unproved are hidden causes that were named before anything showed them.
	Unproved []Unproved
	// Miscorrected are hidden causes that were named with a wrong correction.
	Miscorrected []evidence.At
}

// Unproved is a cause that was named without a proof.
type Unproved struct {
	Cause evidence.At
	// Shows are the checks at their places that would have shown it, Missed
	// those of its checks that were done and showed nothing.
	Shows, Missed []evidence.At
}

// Verdict judges an exercise that is over. It is passed when every hidden
// cause was proved by something that was done, named, and corrected rightly,
// and nobody was put in danger; or when the pump was left as it must be.
func (s *Session) Verdict() Verdict {
	v := Verdict{Ended: good(s.End), Faults: len(s.Faults()), Miscorrected: s.miscorrected}
	for _, c := range s.Journal {
		if c.Do == Name && c.Right && !c.Proved {
			v.Unproved = append(v.Unproved, s.unproved(c.at()))
		}
	}
	v.Passed = v.Ended && v.Faults == 0 && len(v.Unproved)+len(v.Miscorrected) == 0
	return v
}

// proven says whether an exercise ended and nothing was guessed.
func (s *Session) proven() bool {
	v := s.Verdict()
	return v.Ended && len(v.Unproved) == 0
}

// unproved looks for what would have shown a cause, and what did not.
func (s *Session) unproved(cause evidence.At) Unproved {
	u := Unproved{Cause: cause}
	for _, check := range s.World.Proofs(cause) {
		switch {
		case slices.Contains(s.World.Exposes(check.ID, check.Place), cause):
			u.Shows = append(u.Shows, check)
		case has(s.known.Cleared, check) || has(s.known.Unclear, check):
			u.Missed = append(u.Missed, check)
		}
	}
	return u
}

// proved says whether something that was done shows a cause: a check that
// exposed it at its place, or a sign of it that was looked at, that nothing
// else on this pump gives and that is not easily mistaken. What the crew told
// proves nothing.
func (s *Session) proved(cause evidence.At) bool {
	if has(s.exposed, cause) {
		return true
	}
	i := slices.Index(s.World.Hidden, cause)
	for _, c := range s.Journal {
		for _, f := range c.Seen {
			if slices.Contains(s.World.Sign(f.Sign, f.At).By, i) && s.onlyOf(f.Sign, cause.ID) {
				return true
			}
		}
	}
	return false
}

// onlyOf says whether a cause is the only one of this pump that gives a
// sign, which shows without any cause more seldom than is usual.
func (s *Session) onlyOf(sign, cause string) bool {
	if s.book.Signs.Get(sign).Background >= s.book.Scale.Background["usual"] {
		return false
	}
	for _, c := range s.book.Causes.List {
		if c.ID == cause || !c.When.HoldsForPump(&s.World.Pump) {
			continue
		}
		for _, link := range c.LinksFor(&s.known, s.book) {
			if link.Sign == sign && link.Total > 0 {
				return false
			}
		}
	}
	return true
}

// Miscorrect notes that a wrong correction was chosen for a cause that was
// named.
func (s *Session) Miscorrect(cause evidence.At) {
	if s.hides(cause) {
		s.miscorrected = append(s.miscorrected, cause)
	}
}
