package dialogue

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

const crackedShaft = `pump: {action: triplex-single-acting, state: isolated, open: [crankcase-cover-off]}
confirmed: [crankshaft-cracked]
corrected: [crankshaft-cracked]
root-left: [crankshaft-cracked]
`

// closes sits with a crew that closes up and answers of the shaft what is given, and
// gives all that was on its screen.
func (c *crew) closes(ofTheShaft string) string {
	c.t.Helper()
	over := false
	c.answer = func(screen string) (string, bool) {
		switch {
		case strings.Contains(screen, "LOOK AGAIN"):
			return ofTheShaft, true
		case strings.Contains(screen, "DONE"):
			over = true
			return "", false
		}
		return "1", true
	}
	require.NoError(c.t, c.sit(80, 0))
	require.True(c.t, over, c.all.String())
	return c.all.String()
}

// A pump with a cracked shaft is closed up in the talk, and stays locked: nobody is
// told to start it, and the case does not say that it runs.
func TestTheTalkDoesNotStartAPumpThatMustNotRun(t *testing.T) {
	c := newCrew(t, crackedShaft)
	all := c.closes("d")
	for _, told := range []string{"Tools, rags and people out", "Put the power-end cover back", "All covers and guards on", "The pump does not run"} {
		assert.Contains(t, all, told)
	}
	for _, starts := range []string{"Locks off", "Helper pumps", "Start slow", "first hour"} {
		assert.NotContains(t, all, starts)
	}
	assert.Equal(t, evidence.Isolated, c.parsed().Pump.State)
	assert.Empty(t, c.parsed().Pump.Open)

	// The new shaft is in and was looked at: the next sitting brings it back.
	all = c.closes("1")
	for _, told := range []string{"Locks off", "Helper pumps", "Start slow"} {
		assert.Contains(t, all, told)
	}
	assert.NotContains(t, c.file(), "state: isolated")
	assert.Equal(t, evidence.Running, c.parsed().Pump.State)
}
