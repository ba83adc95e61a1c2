package engine

import (
	"testing"

	"telltale/engine/work"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// 29 CFR 1910.147(d), "shall be done in the following sequence": (1)
// preparation, (2) orderly shutdown, (3) isolation of every energy-isolating
// device, (4) lock or tag, (5) stored energy relieved and restrained, (6)
// isolation verified before work starts. The rule itself leaves out oil and
// gas well drilling and servicing ((a)(1)(ii)(E)); it serves as a good
// sequence, and local rules and the site's procedure govern.
func TestTheIsolationFollowsTheFederalSequence(t *testing.T) {
	sequence := [][]string{
		{"prepare-isolation"},
		{"stop-pump"},
		{"close-lines", "lock-power", "lock-remote-start", "lock-helpers"}, // (3) and (4)
		{"bleed-pressure", "remember-dampener"},                            // (5)
		{"prove-zero", "try-start"},                                        // (6)
		// The running gear is restrained once the start has been tried: a
		// locked shaft would hide a failed isolation.
		{"block-movement"},
	}
	r := answerTo(t, triplexRunning+"findings: {rod-worn: {underside: [2]}}\ntaken: at-last-stop")
	last := 0
	for _, stage := range sequence {
		least, most := len(r.Steps)+1, 0
		for _, id := range stage {
			at := position(r, work.StepSafety, id)
			require.NotZero(t, at, "%s is in the list", id)
			least, most = min(least, at), max(most, at)
		}
		assert.Greater(t, least, last, "%v comes after the stage before it", stage)
		last = most
	}
	for _, s := range r.Steps {
		if s.Kind == work.StepOpening || s.Kind == work.StepCheck && s.Pump == "isolated" {
			assert.Greater(t, s.Number, last, "%s", s.ID)
		}
	}
}

// A pump that is isolated already is proved again, not isolated again.
func TestAnIsolatedPumpIsProvedAgain(t *testing.T) {
	r := answerTo(t, triplexIsolated+"findings: {rod-worn: {underside: [2]}}")
	assert.NotZero(t, position(r, work.StepSafety, "prove-zero"))
	assert.NotZero(t, position(r, work.StepSafety, "try-start"))
	assert.Zero(t, position(r, work.StepSafety, "agree-stop"))
	assert.Zero(t, position(r, work.StepSafety, "stop-pump"))
}
