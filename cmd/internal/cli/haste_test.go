package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// oneLine takes the breaks out of a page, so that a sentence is found whole.
func oneLine(text string) string { return strings.Join(strings.Fields(text), " ") }

// Where the verdict is to stop now, each view that lists looks at the running
// pump says what they are for; where a stop condition holds them back, or the
// pump stands, none does.
func TestNobodyKeepsAPumpRunningForALook(t *testing.T) {
	const until = "only for the time until it stands"
	for _, tt := range []struct {
		name, state, finding string
		said                 bool
	}{
		{"a knock once per turn", "running", "knock: once-per-turn", true},
		{"the same, the pump stands", "stopped", "knock: once-per-turn", false},
		{"a crosshead smokes", "running", "smoke: crosshead", false},
		{"a wiper weeps", "running", "wiper-leaks: {first: [2], absent: others}", false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "case.yaml")
			require.NoError(t, os.WriteFile(path, []byte("pump: {action: triplex-single-acting, state: "+tt.state+"}\nfindings: {"+tt.finding+"}\n"), 0o644))
			for _, view := range [][]string{{"triage", "--full"}, {"triage", "--full", "--markdown"}, {"teardown"}, {"sheet", "--markdown"}} {
				out, errOut, code := run(t, append(view, path)...)
				require.Zero(t, code, errOut)
				assert.Equal(t, tt.said, strings.Contains(oneLine(out), until), view)
			}
		})
	}
}

// A case that is closed says how long it can wait like any other.
func TestAClosedCaseSaysHowLongItCanWait(t *testing.T) {
	path := filepath.Join(t.TempDir(), "case.yaml")
	const oil = "[oil-pump-failing]\n"
	require.NoError(t, os.WriteFile(path, []byte("pump: {action: triplex-single-acting, state: running}\nfindings: {oil-pressure-low: gone}\nconfirmed: "+oil+"corrected: "+oil+"looked-again: "+oil), 0o644))
	for _, view := range [][]string{{"triage"}, {"triage", "--full"}, {"triage", "--json"}, {"teardown"}, {"sheet", "--markdown"}, {"output"}, {"align"}} {
		out, errOut, code := run(t, append(view, path)...)
		require.Zero(t, code, errOut)
		assert.Contains(t, oneLine(out), "What was proved is corrected and looked at again.", view)
		assert.NotContains(t, oneLine(out), "No oil pressure", view)
	}
}

// What was proved and explains all that was seen leaves no cause unsure.
func TestNothingIsUnsureOnceTheCauseIsProved(t *testing.T) {
	for confirmed, unsure := range map[string]bool{"": true, "confirmed: [bypass-leaking]\n": false} {
		path := filepath.Join(t.TempDir(), "case.yaml")
		require.NoError(t, os.WriteFile(path, []byte("pump: {action: triplex-single-acting, state: isolated}\nfindings: {pressure-low: steady}\n"+confirmed), 0o644))
		for _, view := range [][]string{{"triage", "--full"}, {"triage", "--full", "--markdown"}, {"teardown"}} {
			out, errOut, code := run(t, append(view, path)...)
			require.Zero(t, code, errOut)
			assert.Equal(t, unsure, strings.Contains(oneLine(out), "Which cause it is stays unsure"), view)
		}
	}
}

// A sign that is there again after its cause was put right stops the pump again.
func TestASignNotedAgainStopsThePumpAgain(t *testing.T) {
	const broken = "[rod-weakened: 2]\n"
	for _, tt := range []struct {
		word string
		stop bool
	}{
		{"present 2", true}, {"absent 2", false}, {"present 3", true},
	} {
		t.Run(tt.word, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "case.yaml")
			require.NoError(t, os.WriteFile(path, []byte("pump: {action: triplex-single-acting, state: isolated}\nfindings: {rod-broken: {present: [2]}}\nconfirmed: "+broken+"corrected: "+broken+"looked-again: "+broken), 0o644))
			out, errOut, code := run(t, append([]string{"note", path, "rod-broken"}, strings.Fields(tt.word)...)...)
			require.Zero(t, code, errOut)
			assert.Equal(t, tt.word == "present 2", strings.Contains(out, "seen again: Rod cracked or broken, cylinder 2 counts as corrected no more"), out)
			out, errOut, code = run(t, "triage", path)
			require.Zero(t, code, errOut)
			assert.Equal(t, tt.stop, strings.Contains(out, "A rod is broken"))
		})
	}
}
