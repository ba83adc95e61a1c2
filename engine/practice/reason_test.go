package practice

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// Whatever check is chosen first: where its figure is higher than that of the
// tool's own, the review has the reason.
func TestAHigherFigureThanTheToolsHasItsReason(t *testing.T) {
	book := builtIn(t)
	explained, useless, late := 0, 0, 0
	for seed := uint64(0); seed < 8; seed++ {
		w, err := Draw(book, Setup{Seed: seed, Level: AnyFault, Action: actions[seed%2]})
		require.NoError(t, err)
		s := Begin(w)
		m, err := s.weigh(s.Case())
		require.NoError(t, err)
		listed := map[evidence.At]bool{}
		steps, err := m.list()
		require.NoError(t, err)
		for _, step := range steps {
			listed[evidence.At{ID: step.ID, Place: step.Place}] = true
		}
		for _, o := range s.Offers(Check) {
			j, err := s.judge(Choice{Action: Action{Do: Check, ID: o.ID, Place: o.Places[0]}, before: s.copy()})
			require.NoError(t, err)
			if j.Goal.Do != Check || j.Goal == j.Action || j.Chance <= j.BestChance && j.Chance/j.Minutes <= j.BestChance/j.BestMinutes {
				continue
			}
			require.NotNil(t, j.Reason, "seed %d %s: %v in %v, the tool's %v in %v", seed, o.ID, j.Chance, j.Minutes, j.BestChance, j.BestMinutes)
			explained++
			if j.Reason.Useless {
				useless++
				assert.False(t, listed[j.at()], o.ID)
			}
			late += len(j.Reason.Lost)
		}
	}
	t.Logf("%d explained, %d not in the list, %d checks too late", explained, useless, late)
	assert.Greater(t, explained, 5)
	assert.Greater(t, useless, 0)
	assert.Greater(t, late, 0)
}

// Where the tool is at its wits' end its likeliest cause is a guess, and is
// called one; it passes no more than a trainee's.
func TestTheToolsOwnGuessIsCalledOne(t *testing.T) {
	cause := evidence.At{ID: "oil-low"}
	w := hiding(t, evidence.Triplex, cause, evidence.At{})
	w.Told = []evidence.Finding{{Sign: "oil-level", Answer: evidence.Present, Kind: "low", Over: []evidence.Place{{}}}}
	s, err := Replay(w)
	require.NoError(t, err)
	require.False(t, s.Verdict().Passed)
	require.Equal(t, Name, s.Journal[len(s.Journal)-1].Do)
	for _, c := range s.Journal {
		j, err := s.judge(c)
		require.NoError(t, err)
		assert.Equal(t, c.Do == Name, j.Guess, "%s %s", c.Do, c.ID)
	}
}
