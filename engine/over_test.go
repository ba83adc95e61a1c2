package engine

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// A local book's cause that was put right ends no stop of the built-in book:
// only what the built-in book itself holds behind the sign does.
func TestALocalCauseEndsNoBuiltInStop(t *testing.T) {
	book, err := loadLocal(`rulebook: {name: rig, version: "1"}
causes:
  relief-pin-painted: {title: Painted, group: discharge, role: root, of: pump, how-common: rare, shows: {relief-kept-shut: often}, why: a, repair: b, look-again: c, parts: {relief-pin: often}, haste: {wait: watch, because: e, basis: judgement}, basis: judgement}
`)
	require.NoError(t, err)
	stops := func(cause, checked string) []string {
		k, err := evidence.ParseCase("case.yaml", []byte("pump: {action: triplex-single-acting, state: stopped}\nfindings: {relief-kept-shut: present}\nconfirmed: ["+cause+"]\ncorrected: ["+cause+"]\nlooked-again: ["+checked+"]\n"), book.Vocabulary())
		require.NoError(t, err)
		r, err := Diagnose(book, k)
		require.NoError(t, err)
		return stopIDs(r.Stop)
	}
	assert.Contains(t, stops("relief-pin-painted", "relief-pin-painted"), "nothing-limits-pressure")
	assert.Contains(t, stops("relief-fouled", ""), "nothing-limits-pressure")
	assert.NotContains(t, stops("relief-fouled", "relief-fouled"), "nothing-limits-pressure")
}

// With something open the first words are that nothing more is opened.
func TestWhatMustNotBeOpenedIsReadFirst(t *testing.T) {
	r := answerTo(t, "pump: {action: triplex-single-acting, state: isolated}\nfindings: {relief-valve-found: wrong-pin, bleed-dribbles: present}")
	require.Len(t, r.Stop, 2)
	assert.Equal(t, "bleed-keeps-dribbling", r.Stop[0].ID)
}

// No verdict sends anybody to start a pump that is locked off and open.
func TestAnIsolatedPumpIsClosedUpBeforeItRuns(t *testing.T) {
	for _, finding := range []string{"wiper-leaks: {first: [2], absent: others}", "hiss: {2: discharge-stroke, absent: others}", "knock: absent"} {
		says := func(state string) string {
			return answerTo(t, "pump: {action: triplex-single-acting, state: "+state+"}\nfindings: {"+finding+"}").Haste.Says
		}
		assert.Contains(t, says("isolated"), "each takes off his own lock", finding)
		assert.NotContains(t, says("stopped"), "lock", finding)
	}
	stop := answerTo(t, "pump: {action: triplex-single-acting, state: isolated}\nfindings: {body-wet-line: {present: [2]}}")
	assert.Equal(t, "Do not start the pump before this is cleared up.", stop.Haste.Says)
}

// A local book may have the pump stopped where the built-in one has it slowed;
// then it does not wait.
func TestALocalBookMayStopWhatIsOnlySlowed(t *testing.T) {
	const text = "pump: {action: triplex-single-acting, state: running, speed: 125 strokes/min}\nmanual: {speed-most: 120 strokes/min}\nfindings: {knock: absent}\n"
	assert.Equal(t, "planned-stop", answerTo(t, text).Haste.Verdict)
	book, err := loadLocal("rulebook: {name: rig, version: \"1\"}\nstops: {over-speed: {stop-pump: true, basis: judgement}}\n")
	require.NoError(t, err)
	k, err := evidence.ParseCase("case.yaml", []byte(text), book.Vocabulary())
	require.NoError(t, err)
	r, err := Diagnose(book, k)
	require.NoError(t, err)
	assert.Equal(t, "stop-now", r.Haste.Verdict)
}
