package engine

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// What another job on the same pump says stops this one: nothing is bumped, opened,
// closed up or put back for it, and what that job says is read out (common practice, no
// source).
func TestAnotherJobHoldsThePump(t *testing.T) {
	book := builtIn(t)
	const held = "another-job-holds-the-pump"
	day := time.Date(2026, 10, 26, 0, 0, 0, 0, time.UTC)
	for name, tc := range map[string]struct {
		other  string
		closed bool
		says   string // "": it does not hold
	}{
		"running":                  {other: "pump: {action: triplex-single-acting, state: running}\n"},
		"stopped":                  {other: "pump: {action: triplex-single-acting, state: stopped}\n"},
		"isolated":                 {other: triplexIsolated, says: "says: isolated."},
		"open":                     {other: "pump: {action: triplex-single-acting, state: isolated, open: [crosshead-cover-off: 2]}\n", says: "Open: Take the crosshead cover off (2)"},
		"closed again":             {other: "pump: {action: triplex-single-acting, state: running, closed-again: [crosshead-cover-off: 2]}\n", says: "its way back to service not gone to its end: Take the crosshead cover off (2)"},
		"locked":                   {other: "pump: {action: triplex-single-acting, state: stopped}\nlocks: [{on: drive, by: A. Hand}]\n", says: "Locks hang: drive (A. Hand)"},
		"a lock that is off":       {other: "pump: {action: triplex-single-acting, state: stopped}\nlocks: [{on: drive, by: A. Hand, off-by: A. Hand}]\n"},
		"a bleed":                  {other: "pump: {action: triplex-single-acting, state: stopped}\nstays-open: [{what: discharge bleed}]\n", says: "Stays open: discharge bleed"},
		"no relief":                {other: "pump: {action: triplex-single-acting, state: stopped}\nfindings: {relief-kept-shut: present}\n", says: "Kept out of service: The relief valve does not protect the pump"},
		"past a rating":            {other: "pump: {action: triplex-single-acting, state: stopped}\nmanual: {liner-rated-pressure: 2500 psi, relief-setting: 4000 psi}\n", says: "Kept out of service: "},
		"closed, with a lock":      {closed: true, other: "pump: {action: triplex-single-acting, state: running}\nlocks: [{on: drive, by: A. Hand}]\n", says: "not over by its file though closed 2026-10-27. Locks hang: drive (A. Hand)"},
		"closed, isolated":         {closed: true, other: triplexIsolated},
		"closed, with a stop once": {closed: true, other: "pump: {action: triplex-single-acting, state: running}\nfindings: {relief-kept-shut: present}\n"},
	} {
		t.Run(name, func(t *testing.T) {
			o := parseCase(t, book, tc.other)
			o.File = "rig/jobs/2026-10-26-pump-2-wiper.yaml"
			o.Job = evidence.Job{Pump: "pump-2", Date: day}
			if tc.closed {
				o.Job.Closed = day.AddDate(0, 0, 1)
			}
			for _, mine := range []string{
				"pump: {action: triplex-single-acting, state: running}\n", "pump: {action: triplex-single-acting, state: stopped}\n",
				triplexIsolated, "pump: {action: triplex-single-acting, state: isolated, open: [cylinder-open: 2]}\n",
			} {
				k := parseCase(t, book, mine+"findings: {wiper-leaks: {present: [2]}}\n")
				k.Others = evidence.JobsThatMayHold([]*evidence.Case{o})
				r, err := Diagnose(book, k)
				require.NoError(t, err)
				i := slices.IndexFunc(r.Stop, func(s chances.Stop) bool { return s.ID == held })
				if tc.says == "" {
					assert.Negative(t, i, mine)
					continue
				}
				require.Zero(t, i, "it is read first: %v", r.Stop)
				assert.Contains(t, r.Stop[0].Do[1], "2026-10-26-pump-2-wiper.yaml")
				assert.Contains(t, r.Stop[0].Do[1], tc.says)
				assert.True(t, r.OpenNothing)
				assert.Empty(t, work.Returns(book, k, r.OutOfService), mine)
				for _, step := range r.Steps {
					assert.NotEqual(t, work.StepReturn, step.Kind, step.ID)
					assert.NotEqual(t, work.StepOpening, step.Kind, step.ID)
					if g := book.Safety.Get(step.ID); step.Kind == work.StepSafety {
						assert.False(t, g.Turns, step.ID)
					}
					if c := book.Checks.Get(step.ID); step.Kind == work.StepCheck {
						assert.NotContains(t, []rules.PumpNeed{rules.NeedsRunning, rules.NeedsLive}, c.Pump, step.ID)
					}
				}
			}
		})
	}
}
