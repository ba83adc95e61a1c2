package engine

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// What speaks for the order of the list, on a running pump that kicks once a
// turn: its own first check first changes nothing; a look inside first costs
// everything that needs the running pump; a look from outside that the list puts
// off costs minutes and nothing else.
func TestTheListAgainstACheckDoneFirst(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	k := &evidence.Case{
		Pump: evidence.Pump{Layout: evidence.Layout{Action: evidence.Triplex, Cylinders: evidence.DefaultCylinders(evidence.Triplex)}, State: evidence.Running, Rotation: evidence.RotationUnknown},
		Findings: []evidence.Finding{
			{Sign: "gauge-kick", Answer: evidence.Present, Over: []evidence.Place{{}}},
			{Sign: "knock", Answer: evidence.Present, Kind: "once-per-turn", Over: []evidence.Place{{}}},
		},
	}
	weighed := func() *chances.Weighed {
		w, err := Weigh(book, k)
		require.NoError(t, err)
		return w
	}
	w := weighed()
	var checks []work.Step
	early := 0
	steps, err := work.Next(w)
	require.NoError(t, err)
	for _, s := range steps {
		if s.Kind == work.StepCheck {
			checks = append(checks, s)
			if s.Pump == string(rules.NeedsRunning) || s.Pump == string(rules.NeedsLive) || s.Pump == string(rules.NeedsNotIsolated) {
				early++
			}
		}
	}
	require.Greater(t, early, 1)

	same := work.WithFirst(w, checks[0].ID, checks[0].Place)
	assert.Equal(t, same.Minutes, same.FirstMinutes)
	assert.Equal(t, same.Share, same.FirstShare)
	assert.Empty(t, same.Lost)
	assert.False(t, same.Useless || same.Rule)

	inside := 0
	for _, c := range checks[1:] {
		out := work.WithFirst(w, c.ID, c.Place)
		require.False(t, out.Useless, c.ID)
		assert.Equal(t, same.Minutes, out.Minutes)
		switch rules.PumpNeed(c.Pump) {
		case rules.NeedsIsolated:
			inside++
			assert.Len(t, out.Lost, early, "%s: what needs the running pump or power comes too late", c.ID)
			assert.Less(t, out.FirstShare, out.Share, c.ID)
		case rules.NeedsRunning:
			assert.Empty(t, out.Lost, c.ID)
			assert.InDelta(t, out.Share, out.FirstShare, 1e-9, c.ID)
			assert.Greater(t, out.FirstMinutes, out.Minutes-1e-9, c.ID)
		}
	}
	assert.Positive(t, inside)

	useless := work.WithFirst(w, "oil-grade-check", evidence.Place{})
	assert.True(t, useless.Useless, "no cause of a knock that kicks is in the oil record")

	k.Findings = append(k.Findings, evidence.Finding{Sign: "pressure-low", Answer: evidence.Present, Over: []evidence.Place{{}}})
	ruled := work.WithFirst(weighed(), "listen-round", evidence.Place{})
	assert.True(t, ruled.Rule, "the look at the well comes first")

	k.Findings = append(k.Findings, evidence.Finding{Sign: "flow-with-pumps-off", Answer: evidence.Present, Over: []evidence.Place{{}}}, evidence.Finding{Sign: "pit-gain", Answer: evidence.Present, Over: []evidence.Place{{}}})
	assert.True(t, weighed().Leave, "a pump that is left has no list")
}
