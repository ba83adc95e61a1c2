package prove

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine"
	"telltale/evidence"
	"telltale/rules"
)

// Each stop of the built-in book is proved both ways: a case in which it holds
// and one in which a part of its condition is missing.
func TestEveryStopIsProvedBothWays(t *testing.T) {
	book, suite := builtInSuite(t)
	holds, not := map[string]bool{}, map[string]bool{}
	for _, p := range suite.Proofs {
		for _, e := range p.Expect {
			holds[e.id] = holds[e.id] || e.what == "stop"
			not[e.id] = not[e.id] || e.what == "no-stop"
		}
	}
	for _, stop := range book.Stops.List {
		assert.True(t, holds[stop.ID], "no proving case in which %s holds", stop.ID)
		assert.True(t, not[stop.ID], "no proving case in which %s does not hold", stop.ID)
	}
}

// Under a stop that ends the running pump no check stands beside it while it
// runs, whatever the case; the driller is asked for the moment unless the stop
// is at once.
func TestNothingIsLookedAtBesideAPumpThatMustStop(t *testing.T) {
	book, suite := builtInSuite(t)
	seen := map[string]bool{}
	for _, p := range suite.Proofs {
		r, err := engine.Diagnose(book, p.Case)
		require.NoError(t, err, p.ID)
		ends, atOnce := false, false
		for _, s := range r.Stop {
			stop := book.Stops.Get(s.ID)
			ends, atOnce = ends || stop.StopPump, atOnce || stop.StopPump && stop.By == rules.AtOnce
			seen[s.ID] = true
		}
		if !ends || p.Case.Pump.State != evidence.Running || r.LeavePump {
			continue
		}
		stopped, agreed := false, false
		for _, s := range r.Steps {
			stopped = stopped || s.ID == "stop-pump"
			agreed = agreed || s.ID == "agree-stop"
			if s.Kind == engine.StepCheck {
				assert.True(t, stopped, "%s: %s stands before the stop", p.ID, s.ID)
				assert.NotEqual(t, string(rules.NeedsRunning), s.Pump, "%s: %s", p.ID, s.ID)
			}
		}
		if stopped {
			assert.NotEqual(t, atOnce, agreed, p.ID)
		}
	}
	assert.Len(t, seen, len(book.Stops.List))
}

func builtInSuite(t *testing.T) (*rules.Book, *Suite) {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	suite, err := Load(book, Dir{Files: rules.BuiltInFiles(), Name: "rules/book"})
	require.NoError(t, err)
	return book, suite
}
