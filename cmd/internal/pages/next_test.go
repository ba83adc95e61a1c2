package pages

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/work"
)

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
