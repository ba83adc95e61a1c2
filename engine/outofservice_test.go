package engine

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// A pump that must not run again is closed up and ends with its locks on; it goes
// back to service only once what kept it out was put right and looked at again
// (common practice, no source).
func TestAPumpThatMustNotRunIsNotStarted(t *testing.T) {
	book := builtIn(t)
	for name, tc := range map[string]struct {
		text, stop string
		runs       bool
	}{
		"cracked shaft": {
			stop: "crankshaft-cracked-proved",
			text: "pump: {action: triplex-single-acting, state: isolated, open: [crankcase-cover-off]}\nconfirmed: [crankshaft-cracked]\n",
		},
		"cracked shaft, the pump runs": {
			stop: "crankshaft-cracked-proved", text: triplexRunning + "confirmed: [crankshaft-cracked]\n",
		},
		"taken out of service, which corrects no shaft": {
			stop: "crankshaft-cracked-proved", text: triplexIsolated + "confirmed: [crankshaft-cracked]\ncorrected: [crankshaft-cracked]\n",
		},
		"a new shaft, looked at": {
			runs: true, text: triplexIsolated + "confirmed: [crankshaft-cracked]\ncorrected: [crankshaft-cracked]\nlooked-again: [crankshaft-cracked]\n",
		},
		"a wet line in the body": {
			stop: "body-cracked", text: triplexIsolated + "findings: {body-wet-line: {present: [1]}}\n",
		},
		"a cracked module": {
			stop: "body-cracked", text: "pump: {action: triplex-single-acting, state: isolated, open: [cylinder-open: 2]}\nconfirmed: [module-cracked: 2]\n",
		},
		"a relief valve that is set too high": {
			stop: "nothing-limits-pressure", text: triplexIsolated + "confirmed: [relief-set-high]\n",
		},
		"one that is set above the liner's rating": {
			stop: "relief-set-too-high", text: "pump: {action: triplex-single-acting, state: isolated}\nmanual: {liner-rated-pressure: 2500 psi, relief-setting: 4000 psi}\n",
		},
		"a worn piston": {
			runs: true, text: "pump: {action: triplex-single-acting, state: isolated, open: [cylinder-open: 2]}\nconfirmed: [piston-worn: 2]\n",
		},
	} {
		t.Run(name, func(t *testing.T) {
			plan, err := PlanTeardown(book, parseCase(t, book, tc.text), nil)
			require.NoError(t, err)
			assert.Equal(t, !tc.runs, plan.OutOfService)
			if tc.stop != "" {
				assert.True(t, slices.ContainsFunc(plan.Stop, func(s chances.Stop) bool { return s.ID == tc.stop }), "%v", plan.Stop)
			}
			endsAs(t, book, plan.Steps, tc.runs)
		})
	}
}

// Who names a cracked shaft gets a plan that ends in a pump that does not run.
func TestThePlanForACrackedShaftStartsNothing(t *testing.T) {
	book := builtIn(t)
	for cause, runs := range map[string]bool{"crankshaft-cracked": false, "main-bearing-worn": true} {
		at := []evidence.At{{ID: cause}}
		plan, err := PlanTeardown(book, parseCase(t, book, triplexRunning+"findings: {rumble: present}\n"), at)
		require.NoError(t, err)
		assert.Equal(t, !runs, plan.OutOfService, cause)
		endsAs(t, book, plan.Steps, runs)
	}
}

// endsAs says that a list ends in a pump that runs, or in one that does not, with
// no step before that starts it or takes a lock off.
func endsAs(t *testing.T, book *rules.Book, steps []work.Step, runs bool) {
	t.Helper()
	var back []string
	for _, s := range steps {
		if r := book.Returns.Get(s.ID); r != nil && s.Kind == work.StepReturn {
			back = append(back, s.ID)
		}
	}
	require.NotEmpty(t, back)
	assert.Contains(t, back, "tools-out")
	assert.Contains(t, back, "covers-on")
	if runs {
		assert.Contains(t, back, "slow-start")
		assert.Contains(t, back, "locks-off")
		assert.NotContains(t, back, "does-not-run")
		return
	}
	assert.Equal(t, "does-not-run", back[len(back)-1])
	for _, starts := range []string{"barred-over", "gas-charged", "path-open", "chambers-filled", "locks-off", "helpers-on", "rotation-proved", "slow-start", "first-hour", "hours-later"} {
		assert.NotContains(t, back, starts)
	}
}

// Nothing starts or bumps a pump that a stop keeps out of service, or beside whose
// moving parts hands may be: a bump is a start (common practice, no source).
func TestNothingBumpsAPumpThatAStopKeepsOutOfService(t *testing.T) {
	book := builtIn(t)
	bumps := func(steps []work.Step) bool {
		return slices.ContainsFunc(steps, func(s work.Step) bool {
			if s.Kind == work.StepCheck {
				c := book.Checks.Get(s.ID)
				turns := slices.ContainsFunc(c.Safety, func(id string) bool { return book.Safety.Get(id).Turns })
				return turns && (c.Pump == rules.NeedsLive || c.Pump == rules.NeedsRunning)
			}
			return s.ID == "bump-clear"
		})
	}
	reverse := "recent: [drive-or-wiring-worked-on]\nfindings: {crosshead-hot: {present: [1, 2, 3]}, knock: every-cylinder%s}\n"
	for name, held := range map[string]struct{ pump, text, finding, stop string }{
		"nothing holds it":           {},
		"relief set too high":        {"", "manual: {relief-setting: 3000 psi, line-rated-pressure: 2000 psi}\n", "", "relief-set-too-high"},
		"above the relief's setting": {", discharge: 2800 psi", "manual: {relief-setting: 2000 psi}\n", "", "over-relief-setting"},
		"a cracked shaft":            {"", "confirmed: [crankshaft-cracked]\n", "", "crankshaft-cracked-proved"},
		"a wet line in the body":     {"", "", ", body-wet-line: {present: [1]}", "body-cracked"},
		"hands inside while it ran":  {"", "taken: while-running\n", ", guide-wear: {lower: [2]}", "taken-beside-moving-parts"},
	} {
		for _, state := range []string{"stopped", "running"} {
			t.Run(name+", "+state, func(t *testing.T) {
				k := parseCase(t, book, "pump: {action: triplex-single-acting, state: "+state+held.pump+"}\n"+held.text+fmt.Sprintf(reverse, held.finding))
				r, err := Diagnose(book, k)
				require.NoError(t, err)
				assert.Equal(t, held.stop == "", bumps(r.Steps), "the list")
				if held.stop != "" {
					assert.True(t, slices.ContainsFunc(r.Stop, func(s chances.Stop) bool { return s.ID == held.stop }), "%v", r.Stop)
					assert.False(t, r.GoStraight != nil && r.GoStraight.Check == "rotation-bump", "the short way")
				}
				plan, err := PlanTeardown(book, k, []evidence.At{{ID: "reverse-rotation"}})
				require.NoError(t, err)
				assert.Equal(t, held.stop == "", bumps(plan.Steps), "the plan")
			})
		}
	}
}
