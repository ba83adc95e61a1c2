package practice

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// With a broken rod known, turning by hand waits for the loose piece, parting
// the rod there is no choice, and what needs a whole rod cannot be done.
// Common practice, no source.
func TestABrokenRodIsNotBarred(t *testing.T) {
	book := builtIn(t)
	w := faultless(book, Setup{Level: AnyFault, Action: evidence.Triplex})
	one := evidence.Place{Cylinder: "1"}
	w.signs = map[evidence.At]Sign{{ID: "rod-broken", Place: one}: {Present: true}}
	s := Begin(w)
	s.Do(Action{Do: Look, ID: "rod-broken", Place: one})
	require.True(t, s.known.Shows("rod-broken", ""))
	missing := func(a Action) []string {
		out := s.Do(a)
		require.NotNil(t, out.Refused, a.ID)
		var ids []string
		for _, n := range out.Refused.Missing {
			ids = append(ids, n.ID)
		}
		return ids
	}
	assert.Contains(t, missing(Action{Do: Safety, ID: "bar-by-hand"}), "loose-piece-out")
	parting := missing(Action{Do: Open, ID: "rod-parted", Place: evidence.Place{Cylinder: "3"}})
	require.Contains(t, parting, "loose-piece-out")
	assert.Less(t, slices.Index(parting, "loose-piece-out"), slices.Index(parting, "bar-by-hand"))
	assert.Equal(t, notThis, s.Do(Action{Do: Open, ID: "rod-parted", Place: one}).Cannot)
	assert.Equal(t, spoiled, s.Do(Action{Do: Check, ID: "rod-in-bore", Place: one}).Cannot)
}

// Every cause that can break a rod, with the rod broken and the crew's word for
// it: the tool's own way goes through, no step of it is stopped, and nothing
// turns before the loose piece is out.
func TestTheToolsOwnWayThroughABrokenRod(t *testing.T) {
	t.Parallel()
	book := builtIn(t)
	turned, walked := 0, 0
	for n, action := range actions {
		random := chance(uint64(n), streamWorld)
		for _, c := range book.Causes.List {
			w := faultless(book, Setup{Level: AnyFault, Action: action})
			place := w.Pump.Places(evidence.OfCylinder)[0]
			if c.Level != evidence.OfCylinder || !c.When.HoldsForPump(&w.Pump) {
				continue
			}
			w.hide(evidence.At{ID: c.ID, Place: place})
			breaks := shows(c.LinksFor(w.bare(), book), "rod-broken")
			for _, r := range w.reaches(w.Hidden[0]) {
				if shows(book.Causes.Get(r.at.ID).LinksFor(w.bare(), book), "rod-broken") && r.at.Place == place {
					w.put(r.at, 0, r.bring)
					breaks = true
				}
			}
			if !breaks {
				continue
			}
			w.drawSigns(random)
			w.drawProof(random)
			w.signs[evidence.At{ID: "rod-broken", Place: place}] = Sign{Present: true, By: []int{len(w.Hidden) - 1}}
			w.Told = []evidence.Finding{w.finding("rod-broken", place)}
			s, err := Replay(w)
			require.NoError(t, err, c.ID)
			require.Empty(t, s.Faults())
			walked++
			out := slices.IndexFunc(s.Journal, func(c Choice) bool { return c.ID == "loose-piece-out" && c.Place == place })
			for i, c := range s.Journal {
				if c.Do == Safety && book.Safety.Get(c.ID).Turns {
					turned++
					require.True(t, out >= 0 && out < i, "%s turned by %s before the loose piece is out", w.Hidden[0].ID, c.ID)
				}
			}
		}
	}
	require.Greater(t, walked, 20)
	require.Positive(t, turned)
}

// The rod is measured in its opening with housing and wipers out of it, and
// where nothing may be opened nothing is turned by hand.
func TestWhatComesBeforeMeasuringAndTurning(t *testing.T) {
	one := evidence.Place{Cylinder: "1"}
	s := Begin(hiding(t, evidence.Triplex, evidence.At{ID: "guide-and-crosshead-worn", Place: one}, evidence.At{ID: "rod-centring", Place: one}))
	refused := s.Do(Action{Do: Check, ID: "rod-centring", Place: one}).Refused
	require.NotNil(t, refused)
	var ids []string
	for _, n := range refused.Missing {
		ids = append(ids, n.ID)
	}
	for _, id := range []string{"rod-parted", "diaphragm-housing-off"} {
		assert.Contains(t, ids, id)
	}
	s.known.Findings = append(s.known.Findings, evidence.Finding{Sign: "bleed-dribbles", Answer: evidence.Present, Over: []evidence.Place{{}}})
	s.holdStops()
	assert.Equal(t, heldBack, s.cannot(Action{Do: Safety, ID: "bar-by-hand"}))
}
