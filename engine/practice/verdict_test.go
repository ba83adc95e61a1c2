package practice

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// hiding is a world with one cause and one check that shows it.
func hiding(t *testing.T, action evidence.Action, cause, check evidence.At) *World {
	t.Helper()
	w := faultless(builtIn(t), Setup{Level: AnyFault, Action: action})
	w.hide(cause)
	w.signs = map[evidence.At]Sign{}
	w.expose = map[evidence.At][]int{check: {0}}
	return w
}

// do takes steps that must all be carried out, with what is missing before
// each.
func do(t *testing.T, s *Session, actions ...Action) {
	t.Helper()
	for _, a := range actions {
		missing, cannot := s.blocked(a)
		require.Empty(t, cannot, "%v", a)
		for _, n := range missing {
			require.Nil(t, s.Do(Action{Do: n.Do, ID: n.ID, Place: n.Place}).Refused, "%v before %v", n.ID, a)
		}
		require.Nil(t, s.Do(a).Refused, "%v", a)
	}
}

// A pass needs the proof and the right correction; what was missing is told.
func TestAGuessDoesNotPass(t *testing.T) {
	cause, look := evidence.At{ID: "discharge-valve-cut", Place: one}, evidence.At{ID: "valve-look", Place: one}
	name := Action{Do: Name, ID: cause.ID, Place: one}
	w := hiding(t, evidence.Triplex, cause, look)
	whole := *w.book.Practice
	whole.RootFrom = 1 // no root is worth a look here
	w.book.Practice = &whole
	nothing := func(s *Session) {
		if w.asksRoot(cause.ID) {
			do(t, s, Action{Do: Root, ID: Nothing, Of: cause})
		}
	}

	guess := Begin(w)
	require.True(t, guess.Do(name).Right)
	nothing(guess)
	v := guess.Verdict()
	assert.True(t, v.Ended)
	assert.False(t, v.Passed, "a guess at minute 0")
	assert.Equal(t, []Unproved{{Cause: cause, Shows: []evidence.At{look}}}, v.Unproved)

	elsewhere := Begin(w)
	do(t, elsewhere, Action{Do: Check, ID: "hand-count"}, Action{Do: Check, ID: "gauge-against-crank"}, Action{Do: Check, ID: look.ID, Place: evidence.Place{Cylinder: "2"}}, name)
	nothing(elsewhere)
	v = elsewhere.Verdict()
	assert.False(t, v.Passed, "looked at another cylinder")
	assert.Equal(t, []evidence.At{{ID: "gauge-against-crank"}}, v.Unproved[0].Missed, "done, could find it, and did not show it")

	wrong := Begin(w)
	do(t, wrong, Action{Do: Check, ID: look.ID, Place: one}, name)
	nothing(wrong)
	wrong.Miscorrect(evidence.At{ID: "valve-spring-broken", Place: one})
	assert.True(t, wrong.Verdict().Passed, "the correction of what is not there decides nothing")
	wrong.Miscorrect(cause)
	v = wrong.Verdict()
	assert.False(t, v.Passed, "the wrong correction")
	assert.Empty(t, v.Unproved)
	assert.Equal(t, []evidence.At{cause}, v.Miscorrected)

	r, err := guess.Review()
	require.NoError(t, err)
	assert.False(t, r.Compared, "the minutes of a guess are held against nothing")
	record := guess.RecordOf(r)
	assert.False(t, record.Passed)
	assert.Equal(t, 1, record.Unproved)
}

// A sign that only one cause gives and that is not easily mistaken is a proof
// when somebody looked; the crew's word is none.
func TestALookAtWhatOnlyOneCauseGivesProvesIt(t *testing.T) {
	for _, c := range []struct {
		cause, sign string
		kind        string
		proves      bool
	}{
		{"fluid-end-not-square", "facing-joint", "stand-off", true}, // a joint that stands off is nothing else
		{"sandy-mud", "sand-high", "", false},                       // a sand reading is easily wrong
		{"gear-damaged", "knock", "once-per-turn", false},           // so do many others
	} {
		t.Run(c.cause, func(t *testing.T) {
			cause := evidence.At{ID: c.cause}
			w := hiding(t, evidence.Triplex, cause, evidence.At{})
			sign := evidence.At{ID: c.sign}
			w.signs[sign] = Sign{Present: true, Kind: c.kind, By: []int{0}}
			w.Told = nil
			s := Begin(w)
			do(t, s, Action{Do: Look, ID: c.sign}, Action{Do: Name, ID: c.cause})
			assert.Equal(t, c.proves, s.Verdict().Passed, c.cause)
			w.Told = []evidence.Finding{w.finding(c.sign, evidence.Place{})}
			s = Begin(w)
			do(t, s, Action{Do: Name, ID: c.cause})
			assert.False(t, s.Verdict().Passed, "%s: only told", c.cause)
		})
	}
}

// What somebody could have found is drawn: no exercise hides a cause that no
// check of it would show.
func TestEveryHiddenCauseCanBeProved(t *testing.T) {
	book := builtIn(t)
	for seed := uint64(0); seed < 150; seed++ {
		w, err := Draw(book, Setup{Seed: seed, Level: int(seed)%3 + 1})
		require.NoError(t, err)
		for i, at := range w.Hidden {
			shown := false
			for _, hidden := range w.expose {
				for _, j := range hidden {
					shown = shown || i == j
				}
			}
			assert.True(t, shown, "seed %d: %s", seed, at.ID)
		}
	}
}

// Danger alone fails: sums and papers need no guards, and what only comes too
// early is stopped without failing anybody.
func TestOnlyDangerFails(t *testing.T) {
	w := hiding(t, evidence.Triplex, evidence.At{ID: "oil-low"}, evidence.At{})
	one := evidence.Place{Cylinder: "1"}
	s := Begin(w)
	for _, id := range []string{"pressure-reckoned", "part-records", "oil-grade-check", "well-check", "relief-record"} {
		require.Nil(t, s.Do(Action{Do: Check, ID: id}).Refused, id)
	}
	require.Empty(t, s.Faults())
	require.Equal(t, evidence.Running, s.Case().Pump.State)

	require.True(t, s.Do(Action{Do: Check, ID: "hand-count"}).Refused.Danger, "beside the running pump")
	require.True(t, s.Do(Action{Do: Open, ID: "crosshead-cover-off", Place: one}).Refused.Danger, "on the running pump")
	require.Len(t, s.Faults(), 2)

	do(t, s, Action{Do: Open, ID: "crosshead-cover-off", Place: one})
	early := s.Do(Action{Do: Check, ID: "guide-look", Place: evidence.Place{Cylinder: "2"}})
	require.NotNil(t, early.Refused, "its cover is on")
	require.False(t, early.Refused.Danger, "isolated, and only not opened yet: %v", early.Refused.Missing)
	require.Len(t, s.Faults(), 2)

	doubt := Begin(w)
	doubt.known.Findings = append(doubt.known.Findings, evidence.Finding{Sign: "pressure-low", Answer: evidence.Present, Over: []evidence.Place{{}}})
	doubt.holdStops()
	require.True(t, doubt.Do(Action{Do: Open, ID: "crosshead-cover-off", Place: one}).Refused.Danger)
	s2 := Begin(w)
	s2.known.Findings = doubt.known.Findings
	s2.holdStops()
	do(t, s2, Action{Do: Safety, ID: "stay-outside-guards"}, Action{Do: Safety, ID: "stay-clear-of-pressure"}, Action{Do: Safety, ID: "mind-the-area"})
	out := s2.Do(Action{Do: Check, ID: "hand-count"})
	require.NotNil(t, out.Refused)
	require.Equal(t, "well-check", out.Refused.Missing[0].ID)
	require.True(t, out.Refused.Danger, "the well is not looked at: everybody on the rig")
}
