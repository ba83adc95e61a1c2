package prove

import (
	"os"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine"
	"telltale/engine/work"
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
	for _, stop := range ofOneCase(book) {
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
		r, err := answers()[p.ID]()
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
			if s.Kind == work.StepCheck {
				assert.True(t, stopped, "%s: %s stands before the stop", p.ID, s.ID)
				assert.NotEqual(t, string(rules.NeedsRunning), s.Pump, "%s: %s", p.ID, s.ID)
			}
		}
		if stopped {
			assert.NotEqual(t, atOnce, agreed, p.ID)
		}
	}
	assert.Len(t, seen, len(ofOneCase(book)))
}

// ofOneCase are the stops that a case can raise that stands alone, as those of the proofs
// do; what another job raises is proved in engine/otherjob_test.go.
func ofOneCase(book *rules.Book) []*rules.Stop {
	return slices.DeleteFunc(slices.Clone(book.Stops.List), func(s *rules.Stop) bool { return s.When.AsksOthers() })
}

// answers gives the answer to each proving case as it is judged, worked out once
// for all tests.
var answers = sync.OnceValue(func() map[string]func() (*engine.Report, error) {
	book, suite, err := readBuiltIn()
	if err != nil {
		return nil
	}
	out := map[string]func() (*engine.Report, error){}
	for _, p := range suite.Proofs {
		out[p.ID] = sync.OnceValues(func() (*engine.Report, error) { return p.answer(book.WithoutFirmness()) })
	}
	return out
})

// everyFourth is the share of the proofs that are held against the whole answer,
// unless TELLTALE_WHOLE=1 asks for all.
const everyFourth = 4

// What a proof is judged by is the whole answer, though it was worked out with
// less.
func TestProofsAreJudgedByTheWholeAnswer(t *testing.T) {
	book, suite := builtInSuite(t)
	for i, p := range suite.Proofs {
		if p.asksWhole() || i%everyFourth != 0 && os.Getenv("TELLTALE_WHOLE") == "" {
			continue
		}
		t.Run(p.ID, func(t *testing.T) {
			whole, err := engine.Diagnose(book.WithoutFirmness(), p.Case)
			require.NoError(t, err)
			judged, err := answers()[p.ID]()
			require.NoError(t, err)
			assert.Equal(t, whole.Stop, judged.Stop)
			assert.Equal(t, stepIDs(whole), stepIDs(judged))
			require.Len(t, judged.Causes, len(whole.Causes))
			for i, c := range whole.Causes {
				assert.Equal(t, c.Cause, judged.Causes[i].Cause)
				assert.Equal(t, c.Place, judged.Causes[i].Place)
				assert.InDelta(t, c.Probability, judged.Causes[i].Probability, 1e-12)
			}
		})
	}
}

// stepIDs names the steps of a list, in order.
func stepIDs(r *engine.Report) (out []string) {
	for _, s := range r.Steps {
		out = append(out, s.Kind+" "+s.ID+" "+s.Place.String())
	}
	return out
}

func builtInSuite(t *testing.T) (*rules.Book, *Suite) {
	t.Helper()
	book, suite, err := readBuiltIn()
	require.NoError(t, err)
	return book, suite
}

func readBuiltIn() (*rules.Book, *Suite, error) {
	book, err := rules.BuiltIn()
	if err != nil {
		return nil, nil, err
	}
	suite, err := Load(book, Dir{Files: rules.BuiltInFiles(), Name: "rules/book"})
	return book, suite, err
}
