package pages

import (
	"testing"

	"telltale/engine/chances"

	"github.com/stretchr/testify/assert"
)

// Where no one cause reaches the line of the rulebook, the page says what all of
// them come to together; a proved cause or a stop condition needs no sum.
func TestWhatTheVerdictWasTakenFrom(t *testing.T) {
	shares := []chances.HasteChance{{Wait: "stop-now", Chance: 0.28, From: 0.15}, {Wait: "next-connection", Chance: 0.5, From: 0.25}}
	for name, c := range map[string]struct {
		because []chances.HasteReason
		want    string
	}{
		"several together":     {[]chances.HasteReason{{Cause: "a", Chance: 0.11}, {Cause: "b", Chance: 0.08}}, "That one at least of all causes that wait no longer is there: unlikely, 30 %. The rulebook says so from 15 % on."},
		"one alone reaches it": {[]chances.HasteReason{{Cause: "a", Chance: 0.2}}, ""},
		"a stop condition":     {[]chances.HasteReason{{Stop: "s", Chance: 1}}, ""},
		"proved":               {[]chances.HasteReason{{Cause: "a", Chance: 0.1}, {Cause: "b", Chance: 1, Proved: true}}, ""},
		"nothing":              {nil, ""},
	} {
		t.Run(name, func(t *testing.T) {
			assert.Equal(t, c.want, hasteTogether(&chances.Haste{Verdict: "stop-now", Because: c.because, Chances: shares}), name)
		})
	}
}
