package pages

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/work"
)

// What a stop has done at once is said next, though a graver one that can wait
// stands over it; what a local book wants at once is not said before a graver one.
func TestWhichStopIsSaidNext(t *testing.T) {
	stop := func(signal, by, do string, local bool) chances.Stop {
		return chances.Stop{Signal: signal, By: by, Do: []string{do, "More."}, FromLocal: local}
	}
	waits, now := stop("danger", "next-safe-moment", "Agree.", false), stop("warning", "at-once", "Stop.", false)
	for name, c := range map[string]struct {
		stops []chances.Stop
		want  string
	}{
		"one that waits":                          {[]chances.Stop{waits}, "Agree."},
		"a warning at once":                       {[]chances.Stop{waits, now}, "Stop."},
		"a local one at once behind a graver one": {[]chances.Stop{waits, stop("caution", "at-once", "Carry on.", true)}, "Agree."},
		"a local one before":                      {[]chances.Stop{stop("danger", "at-once", "Stand back.", true), now}, "Stand back."},
	} {
		t.Run(name, func(t *testing.T) {
			assert.Equal(t, c.want+" Read all of the stop box before anything else.", nextLine(&engine.Report{Stop: c.stops}))
		})
	}
}

// What was proved is corrected before something less likely is looked for; once
// it is corrected nobody is told to do so again.
func TestWhatWasProvedIsCorrectedFirst(t *testing.T) {
	steps := []work.Step{{Kind: work.StepSafety, Title: "Get ready to isolate", Do: "Take the permit.", Minutes: 5}}
	proved := chances.Confirmed{Title: "Gauge wrong"}
	for name, c := range map[string]struct {
		confirmed []chances.Confirmed
		steps     []work.Step
		want      string
	}{
		"proved":             {[]chances.Confirmed{proved}, steps, "Correct what was proved: Gauge wrong. Step 1: Get ready to isolate (5 min). Take the permit."},
		"proved, no steps":   {[]chances.Confirmed{proved}, nil, "Correct what was proved: Gauge wrong."},
		"corrected":          {[]chances.Confirmed{{Title: "Gauge wrong", Corrected: true}}, steps, "Step 1: Get ready to isolate (5 min). Take the permit."},
		"nothing was proved": {nil, steps, "Step 1: Get ready to isolate (5 min). Take the permit."},
	} {
		t.Run(name, func(t *testing.T) {
			assert.Equal(t, c.want, nextLine(&engine.Report{Confirmed: c.confirmed, Steps: c.steps}), name)
		})
	}
}
