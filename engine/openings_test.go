package engine

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/work"
	"telltale/evidence"
)

// Whatever is opened of the built-in book stands behind the guards that it
// names and behind what it needs open, each step once; what is open already is
// neither offered nor opened again.
func TestOpeningsStandBehindTheirGuards(t *testing.T) {
	book := builtIn(t)
	for _, action := range evidence.Actions() {
		k, err := evidence.ParseCase("case.yaml", []byte("pump: {action: "+action+", state: isolated}\n"), book.Vocabulary())
		require.NoError(t, err)
		all := work.Openable(book, k, evidence.Place{})
		require.NotEmpty(t, all)
		for _, at := range all {
			done := map[string]bool{}
			steps := work.Openings(book, k, []evidence.At{at})
			for _, s := range steps {
				assert.False(t, done[s.Kind+s.ID], s.ID)
				done[s.Kind+s.ID] = true
				if s.Kind == work.StepSafety {
					continue
				}
				a := book.Openings.Get(s.ID)
				for _, id := range a.Needs {
					assert.True(t, done[work.StepOpening+id], "%s before %s", id, s.ID)
					assert.Contains(t, s.Needs, id)
				}
				for _, id := range a.Safety {
					if guard := book.Safety.Get(id); guard.When.Holds(k, book) {
						assert.True(t, done[work.StepSafety+id], "%s before %s", id, s.ID)
						assert.Contains(t, s.Needs, id)
					}
				}
			}
			require.Equal(t, at.ID, steps[len(steps)-1].ID)
			open := *k
			open.Pump.Open = []evidence.At{at}
			assert.NotContains(t, work.Openable(book, &open, at.Place), at)
			assert.Empty(t, work.Openings(book, &open, []evidence.At{at}))
		}
	}
}

// Whoever opens more for a repair beside a broken rod takes the loose piece out
// first, at whatever cylinder; while nobody knows which rod it is, nothing that
// turns the crank is offered. Common practice, no source.
func TestOpeningsBesideABrokenRod(t *testing.T) {
	book, k := builtInCase(t, triplexIsolated+"findings: {rod-broken: {1: present}}")
	three := evidence.Place{Cylinder: "3"}
	steps := work.Openings(book, k, []evidence.At{{ID: "rod-parted", Place: three}})
	var ids []string
	for _, s := range steps {
		ids = append(ids, s.ID+" "+s.Cylinder)
	}
	require.Contains(t, ids, "loose-piece-out 1")
	assert.Less(t, slices.Index(ids, "loose-piece-out 1"), slices.Index(ids, "bar-by-hand "))
	assert.Less(t, slices.Index(ids, "bar-by-hand "), slices.Index(ids, "rod-parted 3"))
	assert.Contains(t, steps[len(steps)-1].Needs, "loose-piece-out")

	assert.NotContains(t, work.Openable(book, k, evidence.Place{Cylinder: "1"}), evidence.At{ID: "rod-parted", Place: evidence.Place{Cylinder: "1"}})
	assert.NotContains(t, work.Openable(book, k, three), evidence.At{ID: "loose-piece-out", Place: three})
	assert.Contains(t, work.Openable(book, k, three), evidence.At{ID: "rod-parted", Place: three})

	_, vague := builtInCase(t, triplexIsolated+"findings: {rod-broken: present}")
	assert.NotContains(t, work.Openable(book, vague, three), evidence.At{ID: "rod-parted", Place: three})
	assert.Contains(t, work.Openable(book, vague, three), evidence.At{ID: "rod-space-open", Place: three})
}
