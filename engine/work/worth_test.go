package work

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// Every sign of the cause is there or not by itself. A check that is surer than
// they are sees something of its own besides; one that is less sure is blind at
// times. Summed over all that can be there, what it still exposes once some
// signs were looked for in vain is what stillSure says.
func TestStillSureByEnumeration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shows := rapid.SliceOfN(rapid.Float64Range(0.01, 0.9), 1, 5).Draw(t, "how often it shows each sign")
		answered := rapid.IntRange(0, len(shows)).Draw(t, "answered")
		own := rapid.Float64Range(0, 0.9).Draw(t, "what the check sees besides")
		awake := 1.0 // that the check sees what is there
		if rapid.Bool().Draw(t, "less sure than its signs") {
			own, awake = 0, rapid.Float64Range(0.1, 0.99).Draw(t, "awake")
		}
		of := signs{1, 1}
		for i, p := range shows {
			if i < answered {
				of.answered *= 1 - p
			} else {
				of.open *= 1 - p
			}
		}
		sure := awake * (1 - (1-own)*of.answered*of.open)
		exposed, none := 0.0, 0.0 // given that no answered sign shows
		for there := range 1 << (len(shows) + 1) {
			p, seen := 1.0, false
			for i, q := range append(append([]float64{}, shows...), own) {
				if there>>i&1 == 1 {
					p *= q
					seen = seen || i >= answered
				} else {
					p *= 1 - q
				}
			}
			if there&(1<<answered-1) != 0 {
				continue
			}
			none += p
			if seen {
				exposed += p * awake
			}
		}
		assert.InDelta(t, exposed/none, stillSure(sure, of), 1e-9)
	})
}

func TestStillSureAtItsEnds(t *testing.T) {
	assert.Zero(t, stillSure(0.6, signs{0.3, 1}), "all its signs are answered and they show it more surely than the check")
	assert.Zero(t, stillSure(1, signs{0, 1}))
	assert.InDelta(t, 0.6, stillSure(0.6, signs{1, 0.2}), 1e-12, "nothing is answered")
}
