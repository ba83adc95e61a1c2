package practice

import (
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// Verdict says whether an exercise is passed, and what was missing if not.
type Verdict struct {
	Passed bool
	Ended  bool // all that is asked was named, or the pump was left as it must be
	Faults int  // choices that would have put somebody in danger
	// Unproved are hidden causes that were named before anything showed them.
	Unproved []Unproved
	// Miscorrected are hidden causes that were named with a wrong correction.
	Miscorrected []evidence.At
	// Stopped are failures that were named and whose root never was.
	Stopped []Stopped
	// Back are failures of which it was said, before that was looked at, that there
	// is nothing deeper: they came back.
	Back []evidence.At
}

// Stopped is a failure behind which nobody asked on.
type Stopped struct {
	Failed evidence.At
	Way    []evidence.At // what brought it on, step by step up to the root; none: nothing did
}

// Unproved is a cause that was named without a proof, or the word that there is
// nothing deeper behind one.
type Unproved struct {
	Cause   evidence.At
	Nothing bool // it was right that there is nothing deeper, and not shown
	// Shows are the checks at their places that would have shown it, Missed
	// those of its checks that were done and showed nothing.
	Shows, Missed []evidence.At
}

// Verdict judges an exercise that is over. It is passed when of every trouble what
// failed and what brought it on was proved by something that was done, named, and
// corrected rightly, and nobody was put in danger; or when the pump was left as it
// must be. A failure that came back because its root was left is no pass.
func (s *Session) Verdict() Verdict {
	v := Verdict{Ended: good(s.End), Faults: len(s.Faults()), Miscorrected: s.miscorrected}
	named := map[evidence.At]bool{}
	for _, c := range s.Journal {
		switch {
		case c.Do == Root && c.ID == Nothing && !c.Proved && c.Right:
			v.Unproved = append(v.Unproved, s.notLookedFor(c))
		case c.Do == Root && c.Back && !c.Proved:
			v.Back = append(v.Back, c.Of)
		case !c.Right && !c.There || c.ID == Nothing || named[c.at()]:
		case !c.Proved:
			v.Unproved = append(v.Unproved, s.unproved(c.at()))
			named[c.at()] = true
		default:
			named[c.at()] = true
		}
	}
	if v.Ended {
		v.Passed = v.Faults == 0 && len(v.Unproved)+len(v.Miscorrected)+len(v.Back) == 0
		return v
	}
	for _, at := range s.WithoutRoot() {
		v.Stopped = append(v.Stopped, Stopped{Failed: at, Way: s.World.Way(at)})
	}
	return v
}

// notLookedFor gives the checks that would have shown that there is nothing deeper.
func (s *Session) notLookedFor(c Choice) Unproved {
	u := Unproved{Cause: c.Of, Nothing: true}
	then := Session{World: s.World, book: s.book, state: c.before}
	left, _ := then.openRoots(c.Of)
	for _, r := range left {
		if checks := then.checksLeft(r.At); len(checks) > 0 && !has(u.Shows, checks[0]) {
			u.Shows = append(u.Shows, checks[0])
		}
	}
	return u
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
		if !c.When.HoldsForPump(&s.World.Pump) {
			continue
		}
		if c.ID != cause && shows(c.LinksFor(&s.known, s.book), sign) {
			return false
		}
		for _, b := range c.BringsFor(&s.known, s.book) {
			if b.Cause != cause && shows(b.Links(s.book.Causes.Get(b.Cause), &s.known, s.book), sign) {
				return false
			}
		}
	}
	return true
}

func shows(links []rules.Link, sign string) bool {
	return slices.ContainsFunc(links, func(l rules.Link) bool { return l.Sign == sign && l.Total > 0 })
}

// Miscorrect notes that a wrong correction was chosen for a cause that was
// named.
func (s *Session) Miscorrect(cause evidence.At) {
	if s.hides(cause) && !has(s.miscorrected, cause) {
		s.miscorrected = append(s.miscorrected, cause)
	}
}
