package engine

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/chances"
	"telltale/engine/noisyor"
	"telltale/engine/work"
	"telltale/evidence"
)

// Without a move nothing moves; with one the answer is the same every time.
func TestFirmness(t *testing.T) {
	book, k := builtInCase(t, triplexRunning+"findings: {wiper-leaks: {again: [2], absent: others}}")
	still := *book
	still.Firm.Spread = 0
	m := chances.New(&still, k)
	w, err := m.Weigh()
	require.NoError(t, err)
	f, _, err := w.Firmness()
	require.NoError(t, err)
	assert.Equal(t, f.Books, f.StaysFirst)
	lead := w.Posterior[w.Lead()]
	assert.InEpsilon(t, lead, f.Low, 1e-9)
	assert.InEpsilon(t, lead, f.High, 1e-9)

	one, again := answerTo(t, triplexRunning+"findings: {wiper-leaks: {again: [2], absent: others}}").Firmness, answerTo(t, triplexRunning+"findings: {wiper-leaks: {again: [2], absent: others}}").Firmness
	assert.Equal(t, one, again)
	assert.Less(t, one.Low, lead)
	assert.Greater(t, one.High, lead)
}

// What was proved speaks like what was seen, and its repair stands behind the
// isolation.
func TestProvedCausesStopAndIsolate(t *testing.T) {
	for cause, stop := range map[string]string{
		"kick": "well-control-first", "reverse-rotation": "reverse-rotation-suspected", "module-cracked: 1": "body-cracked", "crankshaft-cracked": "crankshaft-cracked-proved",
	} {
		r := answerTo(t, triplexRunning+"confirmed: ["+cause+"]")
		require.NotEmpty(t, r.Stop, cause)
		assert.Equal(t, stop, r.Stop[0].ID)
	}
	r := answerTo(t, triplexRunning+"findings: {rod-joint-moved: {present: [2]}}\nconfirmed: [rod-clamp-misfitted: 2]")
	assert.NotZero(t, position(r, work.StepSafety, "lock-power"))
	assert.NotZero(t, position(r, work.StepSafety, "try-start"))
	assert.NotZero(t, position(r, work.StepReturn, "measured-again"))
}

// What is proved away from the pump brings what its own repair needs and no
// more: a line of its own, both, or nothing. Once corrected it brings nothing.
func TestARepairBringsWhatItIsDoneBehind(t *testing.T) {
	for cause, c := range map[string]struct {
		shows           string
		line, isolation bool
	}{
		"gauge-faulty":               {"gauges-disagree: present", true, false}, // nobody shook it to pieces
		"standpipe-valve-leaking":    {"bypass-warm: shared-line", true, false},
		"discharge-line-unsupported": {"line-pulses: present", true, true},
		"relief-valve-leaking":       {"bypass-warm: relief-line", false, true},
		"string-washout":             {"pressure-low: fell-slowly, other-pump: same", false, false},
	} {
		proved := triplexRunning + "findings: {" + c.shows + "}\nruled-out: [dampener-charge-wrong, dampener-bladder-burst]\nconfirmed: [" + cause + "]\n"
		r := answerTo(t, proved)
		assert.Equal(t, c.line, position(r, work.StepSafety, "line-at-zero") > 0, cause)
		assert.Equal(t, c.isolation, position(r, work.StepSafety, "lock-power") > 0, cause)
		if c.line {
			assert.Equal(t, []chances.Safety{{ID: "line-isolated", Title: "Isolate the line that it sits on"}, {ID: "line-at-zero", Title: "Prove that line at zero"}}, r.Confirmed[0].Safety)
		}
		assert.Zero(t, position(answerTo(t, proved+"corrected: ["+cause+"]"), work.StepSafety, "line-at-zero"), cause)
	}
}

// When a stop fires on a running pump, stopping it is the first step.
func TestAStopIsTheFirstStep(t *testing.T) {
	for _, finding := range []string{"rod-broken: {present: [1]}", "oil-mud-spraying: {present: [2]}", "smoke: rods", "turns-wrong-way: present"} {
		r := answerTo(t, triplexRunning+"findings: {"+finding+"}")
		require.NotEmpty(t, r.Steps, finding)
		assert.Equal(t, "stop-pump", r.Steps[0].ID, finding)
	}
}

// A stop that can wait for a safe moment is agreed with the driller first, and
// still nothing is looked at on the running pump. When another stop is at once
// nobody is asked, and it is read first.
func TestAStopAtTheNextSafeMomentIsAgreedFirst(t *testing.T) {
	r := answerTo(t, triplexRunning+"findings: {wash-weak: {present: [2]}}")
	require.Equal(t, "next-safe-moment", r.Stop[0].By)
	assert.Equal(t, "agree-stop", r.Steps[0].ID)
	assert.Equal(t, "stop-pump", r.Steps[1].ID)

	r = answerTo(t, triplexRunning+"findings: {wash-weak: {present: [2]}, turns-wrong-way: present}")
	require.Len(t, r.Stop, 2)
	assert.Equal(t, "at-once", r.Stop[0].By)
	assert.Equal(t, "stop-pump", r.Steps[0].ID)
	assert.Zero(t, position(r, work.StepSafety, "agree-stop"))
}

// Where the stop says to lock the pump off, no check comes before the locks.
func TestALockIsNotPutOffByAStop(t *testing.T) {
	for _, finding := range []string{"rod-broken: {present: [1]}", "smoke: power-end", "oil-mud-spraying: {present: [2]}"} {
		for _, head := range []string{triplexRunning, triplexStopped} {
			r := answerTo(t, head+"findings: {"+finding+"}")
			locked := position(r, work.StepSafety, "try-start")
			require.NotZero(t, locked, finding)
			for _, s := range r.Steps {
				if s.Kind == work.StepCheck {
					assert.Greater(t, s.Number, locked, "%s: %s", finding, s.ID)
				}
			}
		}
	}
}

// A stop speaks even when the rest is past what is computed.
func TestAStopSpeaksWhenNothingCanBeWeighed(t *testing.T) {
	book, k := builtInCase(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {rod-broken: {present: [1]}}")
	for _, s := range book.Signs.List { // everything at once, nowhere in particular
		if s.When.HoldsForPump(&k.Pump) && s.ID != "rod-broken" {
			seen := *k
			seen.Findings = append(slices.Clone(k.Findings), evidence.Finding{Sign: s.ID, Answer: evidence.Present, Over: k.Pump.Places(s.Level)})
			if !chances.New(book, &seen).LeavePump() { // of a pump that is left nothing is weighed
				k = &seen
			}
		}
	}
	r, err := Diagnose(book, k)
	var wide *noisyor.TooWideError
	require.ErrorAs(t, err, &wide)
	require.NotEmpty(t, r.Stop)
	assert.True(t, slices.ContainsFunc(r.Stop, func(s chances.Stop) bool { return s.ID == "broken-rod" }))
	assert.Empty(t, r.Causes)
	assert.Empty(t, r.Steps)
}

// What stands open is closed only behind proved zero pressure.
func TestClosingUpIsProvedToo(t *testing.T) {
	r := answerTo(t, "pump: {action: triplex-single-acting, state: isolated, open: [piston-out: 2]}\nfindings: {counter-wrong: present}")
	zero := position(r, work.StepSafety, "prove-zero")
	require.NotZero(t, zero)
	assert.Less(t, zero, position(r, work.StepReturn, "piston-out"))
}

// A cause confirmed at one cylinder does not explain the other.
func TestUnexplainedIsToldByPlace(t *testing.T) {
	r := answerTo(t, triplexIsolated+"findings: {rod-joint-out-of-line: {present: [2, 3]}}\nconfirmed: [rod-clamp-misfitted: 2]")
	require.Len(t, r.Unexplained, 1)
	assert.Equal(t, "3", r.Unexplained[0].Cylinder)
	assert.Equal(t, "rod-joint-out-of-line", r.Found[r.Unexplained[0].Finding-1].Sign)
}

// A check that works with one source of energy left on stands behind the
// locks of the others.
func TestTheDriveIsLockedBeforeTheChargeSideIsTried(t *testing.T) {
	book, _ := builtInCase(t, triplexRunning)
	step := book.Safety.Get("charge-side-live")
	assert.Contains(t, step.After, "lock-power")
	assert.Contains(t, step.After, "lock-remote-start")
}
