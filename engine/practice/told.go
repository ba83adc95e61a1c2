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
func outside(s *rules.Symptom) bool {
	if s.Reckoned || len(s.Access) > 0 {
		return false
	}
	return s.Pump == rules.NeedsRunning || s.Pump == rules.NeedsNothing || s.Pump == rules.NeedsNotIsolated
}

// shownOutside gives the symptoms that a hidden cause shows outside, in the
// order of the book.
func (w *World) shownOutside() []*rules.Symptom {
	var out []*rules.Symptom
	for _, s := range w.book.Symptoms.List {
		if outside(s) && slices.ContainsFunc(w.Pump.Places(s.Level), func(p evidence.Place) bool { return len(w.Sign(s.ID, p).By) > 0 }) {
			out = append(out, s)
		}
	}
	return out
}

// report draws which of them the crew tells.
func (w *World) report(random *rand.Rand) []evidence.Finding {
	shown := w.shownOutside()
	if w.Level != CommonFault { // a sign of the background is reported like any other
		shown = nil
		for _, s := range w.book.Symptoms.List {
			if outside(s) && slices.ContainsFunc(w.Pump.Places(s.Level), func(p evidence.Place) bool { return w.Sign(s.ID, p).Present }) {
				shown = append(shown, s)
			}
		}
	}
	random.Shuffle(len(shown), func(i, j int) { shown[i], shown[j] = shown[j], shown[i] })
	shown = shown[:min(len(shown), w.book.Practice.Told[w.Level-1])]
	var out []evidence.Finding
	for _, s := range shown {
		out = append(out, w.tell(s)...)
	}
	return out
}

func (w *World) tell(s *rules.Symptom) []evidence.Finding {
	places := w.Pump.Places(s.Level)
	if w.Level == TwoFaults {
		return []evidence.Finding{{Symptom: s.ID, Answer: evidence.Present, Over: places}}
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

// finding is the truth about a symptom at a place.
func (w *World) finding(symptom string, place evidence.Place) evidence.Finding {
	sign := w.Sign(symptom, place)
	f := evidence.Finding{Symptom: symptom, Answer: evidence.Absent, At: place, Over: []evidence.Place{place}}
	if sign.Present {
		f.Answer, f.Kind = evidence.Present, sign.Kind
	}
	return f
}
