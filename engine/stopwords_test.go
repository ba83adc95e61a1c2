package engine

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/rules"
)

const lockOnARunningPump = "lock-on-a-running-pump"

// A pump that stands is not told to be stopped: the first words of a stop condition
// fit how it stands.
func TestAStandingPumpIsNotToldToStop(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	for _, stop := range book.Stops.List {
		if stop.ID == lockOnARunningPump { // of a pump that stands it says nothing, see below
			continue
		}
		if strings.HasPrefix(stop.Do[0], "Stop the pump") {
			assert.True(t, strings.HasPrefix(stop.Standing, "Keep the pump stopped."), stop.ID)
		}
	}
	locked := "findings: {wiper-leaks: {present: [2]}}\nlocks: [{on: drive, by: A. Hand, at: '06:10'}]\nstays-open: [{what: discharge bleed, by: A. Hand, at: '06:20'}]\n"
	for _, state := range evidence.PumpStates() {
		r, err := Outline(book, parseCase(t, book, "pump: {action: triplex-single-acting, state: "+state+"}\n"+locked))
		require.NoError(t, err)
		assert.Equal(t, state == string(evidence.Running), slices.Contains(stopIDs(r.Stop), lockOnARunningPump), state)
	}
	first := func(state string) string {
		text := "pump: {action: triplex-single-acting, state: " + state + "}\nfindings: {rod-broken: {present: [3]}}\n"
		k := parseCase(t, book, text)
		r, err := Outline(book, k)
		require.NoError(t, err)
		return r.Stop[0].Do[0]
	}
	assert.Contains(t, first("running"), "Stop the pump now.")
	for _, state := range []string{"stopped", "isolated"} {
		assert.Equal(t, "Keep the pump stopped. Start it for nothing.", first(state))
	}
}
