package practice

import (
	"math/rand/v2"
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// What the crew reports is drawn from the signs that show without opening
// anything. Level 1: exact, and the sister places were looked at. Level 2: the
// place and the kind, no more. Level 3: only that it is there, somewhere.

// outside says whether a sign is seen without opening, isolating or a test.
func outside(s *rules.Sign) bool {
	if s.Reckoned || len(s.Openings) > 0 {
		return false
	}
	return s.Pump == rules.NeedsRunning || s.Pump == rules.NeedsNothing || s.Pump == rules.NeedsNotIsolated
}

// shownOutside gives the signs that a hidden cause shows outside, in the
// order of the book.
func (w *World) shownOutside() []*rules.Sign {
	var out []*rules.Sign
	for _, s := range w.book.Signs.List {
		if outside(s) && slices.ContainsFunc(w.Pump.Places(s.Level), func(p evidence.Place) bool { return len(w.Sign(s.ID, p).By) > 0 }) {
			out = append(out, s)
		}
	}
	return withWhatTheyFollow(out)
}

// withWhatTheyFollow leaves out the signs that go with another one where no
// such one is among them: nobody tells how a knock behaves that is not there.
func withWhatTheyFollow(signs []*rules.Sign) []*rules.Sign {
	return slices.DeleteFunc(slices.Clone(signs), func(s *rules.Sign) bool { return !goesWith(s, signs) })
}

func goesWith(s *rules.Sign, others []*rules.Sign) bool {
	return len(s.Follows) == 0 || slices.ContainsFunc(others, func(o *rules.Sign) bool { return slices.Contains(s.Follows, o.ID) })
}

// first gives so many signs from the front of a list, each behind one that
// it goes with.
func first(signs []*rules.Sign, n int) []*rules.Sign {
	var out []*rules.Sign
	for left := slices.Clone(signs); len(out) < n; {
		i := slices.IndexFunc(left, func(s *rules.Sign) bool { return goesWith(s, out) })
		if i < 0 {
			break
		}
		out = append(out, left[i])
		left = slices.Delete(left, i, i+1)
	}
	return out
}

// showsAny says whether one of some signs shows anywhere.
func (w *World) showsAny(signs []string) bool { return len(w.shownOf(signs)) > 0 }

// shownOf gives where some signs show.
func (w *World) shownOf(signs []string) []evidence.At {
	var out []evidence.At
	for _, id := range signs {
		for _, p := range w.Pump.Places(w.book.Signs.Get(id).Level) {
			if w.Sign(id, p).Present {
				out = append(out, evidence.At{ID: id, Place: p})
			}
		}
	}
	return out
}

// report draws which of them the crew tells.
func (w *World) report(random *rand.Rand) []evidence.Finding {
	shown := w.shownOutside()
	if w.Level != CommonFault { // a sign of the background is reported like any other
		shown = nil
		for _, s := range w.book.Signs.List {
			if outside(s) && slices.ContainsFunc(w.Pump.Places(s.Level), func(p evidence.Place) bool { return w.Sign(s.ID, p).Present }) {
				shown = append(shown, s)
			}
		}
	}
	random.Shuffle(len(shown), func(i, j int) { shown[i], shown[j] = shown[j], shown[i] })
	var out []evidence.Finding
	for _, s := range first(shown, w.book.Practice.Told[w.Level-1]) {
		out = append(out, w.tell(s)...)
	}
	return out
}

func (w *World) tell(s *rules.Sign) []evidence.Finding {
	places := w.Pump.Places(s.Level)
	if w.Level == TwoFaults {
		return []evidence.Finding{{Sign: s.ID, Answer: evidence.Present, Over: places}}
	}
	var out []evidence.Finding
	for _, p := range places {
		f := w.finding(s.ID, p)
		if f.Answer == evidence.Present || w.Level == CommonFault {
			out = append(out, f)
		}
	}
	return out
}

// finding is the truth about a sign at a place.
func (w *World) finding(sign string, place evidence.Place) evidence.Finding {
	shown := w.Sign(sign, place)
	f := evidence.Finding{Sign: sign, Answer: evidence.Absent, At: place, Over: []evidence.Place{place}}
	if shown.Present {
		f.Answer, f.Kind = evidence.Present, shown.Kind
	}
	return f
}
