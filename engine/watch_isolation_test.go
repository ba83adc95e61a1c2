package engine

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// Two more looks of the watcher over a list, each by itself: at what a person
// who comes new to a claimed isolation must see before hands go in, and at an
// isolation that does not hold.

// isolationFault gives the first fault of either kind, "" if there is none.
func isolationFault(book *rules.Book, k *evidence.Case, r *Report) string {
	return first(newcomer(book, k, r), leaking(book, r))
}

// handsIn says whether a step opens something or puts hands in.
func handsIn(book *rules.Book, s work.Step) bool {
	return s.Kind == work.StepOpening || s.Kind == work.StepCheck && book.Checks.Get(s.ID).Pump == rules.NeedsIsolated
}

// newcomer wants each step of the isolation that the book keeps for a pump
// which is said to be isolated, in its words for that, before the first hand
// goes in.
func newcomer(book *rules.Book, k *evidence.Case, r *Report) string {
	if k.Pump.State != evidence.Isolated {
		return ""
	}
	seen := map[string]bool{}
	for _, s := range r.Steps {
		if s.Kind == work.StepSafety {
			g := book.Safety.Get(s.ID)
			if g.TakenOver != nil && (s.Title != g.TakenOver.Title || s.Minutes != g.TakenOver.Minutes) {
				return s.ID + " is put as to somebody who isolates the pump"
			}
			seen[s.ID] = true
		}
		if !handsIn(book, s) {
			continue
		}
		for _, g := range book.Safety.List {
			kept := g.For == rules.ForIsolation && (g.InFull || g.TakenOver != nil)
			if kept && !seen[g.ID] && g.When.Holds(k, book) {
				return s.ID + " stands before a newcomer saw " + g.ID
			}
		}
		return ""
	}
	return ""
}

// leaking wants nothing opened, no hand in and nothing closed while a stop that
// says so holds.
func leaking(book *rules.Book, r *Report) string {
	for _, stop := range r.Stop {
		if !book.Stops.Get(stop.ID).OpenNothing {
			continue
		}
		if !r.OpenNothing {
			return stop.ID + " is not said to hold openings back"
		}
		for _, s := range r.Steps {
			if handsIn(book, s) || s.Kind == work.StepReturn {
				return s.ID + " is in the list although " + stop.ID + " holds"
			}
		}
	}
	return ""
}

func stepIDs(r *Report) []string {
	var out []string
	for _, s := range r.Steps {
		out = append(out, s.Kind+" "+s.ID+" "+s.Cylinder)
	}
	return out
}

const isolatedWiper = triplexIsolated + "findings: {wiper-leaks: {again: [2], absent: others}"

// The two looks cry out when the fault is there.
func TestTheWatcherSeesAFalseIsolation(t *testing.T) {
	book, k := builtInCase(t, isolatedWiper+"}")
	r, err := Diagnose(book, k)
	require.NoError(t, err)
	require.Empty(t, isolationFault(book, k, r))
	kept := 0
	for i, s := range r.Steps {
		if s.Kind != work.StepSafety || book.Safety.Get(s.ID).For != rules.ForIsolation {
			continue
		}
		kept++
		less := *r
		less.Steps = append(append([]work.Step{}, r.Steps[:i]...), r.Steps[i+1:]...)
		assert.Contains(t, isolationFault(book, k, &less), s.ID)
		if book.Safety.Get(s.ID).TakenOver != nil {
			less.Steps = append([]work.Step{}, r.Steps...)
			less.Steps[i].Title = book.Safety.Get(s.ID).Title
			assert.Contains(t, isolationFault(book, k, &less), s.ID)
		}
	}
	assert.Equal(t, 10, kept)

	open := r.Steps
	book, k = builtInCase(t, isolatedWiper+", bleed-dribbles: suction}")
	r, err = Diagnose(book, k)
	require.NoError(t, err)
	require.Empty(t, isolationFault(book, k, r))
	r.Steps = open
	assert.Contains(t, isolationFault(book, k, r), "although bleed-keeps-dribbling holds")
}

// Common practice, no source: who comes new to a pump that others have isolated
// hangs his own lock and sees for himself drive, clutch air, starts from afar,
// lines, helper pumps, bleeds and the gas in the dampener; then zero is proved,
// the start tried and the running gear secured. In short: the list is shorter
// than that of the isolation itself.
func TestANewcomerSeesTheIsolationForHimself(t *testing.T) {
	whole := answerTo(t, triplexRunning+"findings: {rod-worn: {underside: [2]}}")
	for _, action := range evidence.Actions() {
		place := map[string]string{"triplex-single-acting": "2", "duplex-double-acting": "left"}[action]
		r := answerTo(t, "pump: {action: "+action+", state: isolated}\nfindings: {rod-worn: {underside: ["+place+"]}}")
		last := 0
		for _, want := range []struct{ id, says string }{
			{"prepare-isolation", "by whom"}, {"lock-power", "your own lock"}, {"lock-power", "drive engine"}, {"lock-power", "clutch air"},
			{"lock-power", "hose"}, {"lock-remote-start", "console"}, {"close-lines", "shut"}, {"lock-helpers", "charge pump"},
			{"bleed-pressure", "dry"}, {"remember-dampener", "does not prove"}, {"prove-zero", "no flow"}, {"try-start", "Press start"}, {"block-movement", "block"},
		} {
			at := position(r, work.StepSafety, want.id)
			require.NotZero(t, at, want.id)
			assert.Contains(t, r.Steps[at-1].Do, want.says, want.id)
			assert.GreaterOrEqual(t, at, last, want.id)
			last = at
			if again := position(whole, work.StepSafety, want.id); want.id != "prove-zero" && want.id != "try-start" && want.id != "block-movement" {
				assert.LessOrEqual(t, r.Steps[at-1].Minutes, whole.Steps[again-1].Minutes, "%s is the short form", want.id)
			}
		}
		for _, s := range r.Steps {
			if s.Kind == work.StepOpening || s.Kind == work.StepCheck && s.Pump == "isolated" {
				assert.Greater(t, s.Number, last, s.ID)
			}
		}
	}
}

// A bleed that keeps dribbling holds back every opening, every hand and every
// extra look, in the plan of a teardown too, and says so first; once it has
// stopped the list is the one without it.
func TestADribblingBleedStopsEveryOpening(t *testing.T) {
	for _, open := range []string{"", ", open: [crosshead-cover-off: 2]"} {
		for _, state := range []string{"isolated" + open, "stopped", "running"} {
			for _, kind := range []string{"present", "discharge", "suction", "gauge"} {
				head := "pump: {action: triplex-single-acting, state: " + state + "}\nfindings: {wiper-leaks: {again: [2], absent: others}, bleed-dribbles: "
				book, k := builtInCase(t, head+kind+"}\nconfirmed: [rod-clamp-misfitted: 2]")
				r, err := Diagnose(book, k)
				require.NoError(t, err)
				assert.Equal(t, "bleed-keeps-dribbling", r.Stop[0].ID)
				assert.Empty(t, isolationFault(book, k, r), "%s %s", state, kind)
				assert.Empty(t, unsafe(book, k, r), "%s %s", state, kind)
				assert.Empty(t, work.Openings(book, k, []evidence.At{{ID: "cylinder-open", Place: evidence.Place{Cylinder: "2"}}}))
				for _, named := range [][]evidence.At{nil, {{ID: "piston-worn", Place: evidence.Place{Cylinder: "2"}}}} {
					plan, err := PlanTeardown(book, k, named)
					require.NoError(t, err)
					assert.Empty(t, isolationFault(book, k, plan.Report), "%s %s", state, kind)
					assert.Empty(t, plan.WhileOpen)
				}
				dry, kDry := builtInCase(t, head+"absent}")
				without, kWithout := builtInCase(t, head+"unknown}")
				after, err := Diagnose(dry, kDry)
				require.NoError(t, err)
				before, err := Diagnose(without, kWithout)
				require.NoError(t, err)
				assert.False(t, after.OpenNothing)
				assert.Equal(t, stepIDs(before), stepIDs(after))
				assert.NotZero(t, position(after, work.StepCheck, "face-feeler"))
			}
		}
	}
}
