package practice

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// A sign that goes with another one is told, and offered, only with that one:
// no behaviour of a knock without a knock.
func TestNoBehaviourOfAKnockWithoutAKnock(t *testing.T) {
	book := builtIn(t)
	told := 0
	for _, action := range actions {
		for level := CommonFault; level <= TwoFaults; level++ {
			for seed := uint64(0); seed < 120; seed++ {
				w, err := Draw(book, Setup{Seed: seed, Level: level, Action: action})
				require.NoError(t, err)
				shows := map[string]bool{}
				for _, f := range w.Told {
					shows[f.Sign] = shows[f.Sign] || f.Answer == evidence.Present
				}
				behind := func(id string) bool {
					follows := book.Signs.Get(id).Follows
					for _, other := range follows {
						if shows[other] {
							return true
						}
					}
					return len(follows) == 0
				}
				for _, f := range w.Told {
					if len(book.Signs.Get(f.Sign).Follows) > 0 {
						told++
					}
					assert.True(t, behind(f.Sign), "%s level %d seed %d tells %s", action, level, seed, f.Sign)
				}
				for _, o := range Begin(w).Offers(Look) {
					assert.True(t, behind(o.ID), "%s level %d seed %d offers %s", action, level, seed, o.ID)
				}
			}
		}
	}
	assert.Greater(t, told, 20, "they are still told where they belong")
}

// A test of the knock tells nothing of it where there is none, and with the
// knock itself where there is one.
func TestACheckTellsASignWithWhatItFollows(t *testing.T) {
	w := hiding(t, evidence.Triplex, evidence.At{ID: "too-fast-for-suction"}, evidence.At{})
	w.signs[evidence.At{ID: "knock-when-slower"}] = Sign{Present: true, Kind: "goes-away"}
	slower := Action{Do: Check, ID: "slow-down-test"}
	s := Begin(w)
	do(t, s, slower)
	assert.Empty(t, s.Case().Findings)
	w.signs[evidence.At{ID: "knock"}] = Sign{Present: true, Kind: "every-cylinder"}
	s = Begin(w)
	do(t, s, slower)
	require.Len(t, s.Case().Findings, 2)
	assert.Equal(t, "knock", s.Case().Findings[0].Sign)
	assert.Equal(t, "knock-when-slower", s.Case().Findings[1].Sign)
}
