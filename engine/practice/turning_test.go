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
	assert.Contains(t, missing(Action{Do: Guard, ID: "bar-by-hand"}), "loose-piece-out")
	parting := missing(Action{Do: Open, ID: "rod-parted", Place: evidence.Place{Cylinder: "3"}})
	require.Contains(t, parting, "loose-piece-out")
	assert.Less(t, slices.Index(parting, "loose-piece-out"), slices.Index(parting, "bar-by-hand"))
	assert.Equal(t, notThis, s.Do(Action{Do: Open, ID: "rod-parted", Place: one}).Cannot)
	assert.Equal(t, spoiled, s.Do(Action{Do: Check, ID: "rod-in-bore", Place: one}).Cannot)
}
