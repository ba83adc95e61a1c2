package record

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// When something was taken that needs covers off: said by name or of all, kept
// when the pump runs again, and taken back only for what is taken anew.
func TestWhenItWasTaken(t *testing.T) {
	words := words()
	words.CoversOff = map[string]bool{"rod-marked": true, "gauge-face": true, "upper-guide": true}
	at := func(cylinder string) evidence.Place { return evidence.Place{Cylinder: cylinder} }
	const stands = "pump: {action: triplex-single-acting, state: isolated}\n"
	const runs = "pump: {action: triplex-single-acting, state: running}\n"
	for name, c := range map[string]struct {
		text string
		edit Edit
		want map[string]evidence.Taken
	}{
		"one by name":           {runs, SetTaken(evidence.AtLastStop, "rod-marked"), map[string]evidence.Taken{"rod-marked": evidence.AtLastStop}},
		"all":                   {runs + "taken: {while-running: [rod-marked]}\n", SetTaken(evidence.AtLastStop), map[string]evidence.Taken{"others": evidence.AtLastStop}},
		"one beside others":     {runs + "taken: at-last-stop\n", SetTaken(evidence.WhileRunning, "rod-marked"), map[string]evidence.Taken{"others": evidence.AtLastStop, "rod-marked": evidence.WhileRunning}},
		"taken back":            {runs + "taken: {while-running: [rod-marked]}\n", SetTaken("", "rod-marked"), nil},
		"runs again":            {stands + "findings: {rod-marked: {present: [2]}, knock: once}\nchecked: {gauge-face: {nothing: [1]}}\n", SetPump("state", "running"), map[string]evidence.Taken{"rod-marked": evidence.AtLastStop, "gauge-face": evidence.AtLastStop}},
		"ran before":            {runs + "findings: {rod-marked: {present: [2]}}\n", SetPump("state", "running"), nil},
		"said before it stood":  {stands + "findings: {rod-marked: {present: [2]}}\ntaken: {while-running: [rod-marked]}\n", SetPump("state", "running"), map[string]evidence.Taken{"rod-marked": evidence.WhileRunning}},
		"looked at anew":        {stands + "findings: {rod-marked: {present: [2]}}\ntaken: {while-running: [rod-marked]}\n", SetFinding("rod-marked", "absent", at("2")), map[string]evidence.Taken{"rod-marked": evidence.AtLastStop}},
		"looked at elsewhere":   {stands + "findings: {rod-marked: {present: [2]}}\ntaken: {while-running: [rod-marked]}\n", SetFinding("rod-marked", "absent", at("1")), map[string]evidence.Taken{"rod-marked": evidence.WhileRunning}},
		"looked at as it runs":  {runs + "findings: {rod-marked: {present: [2]}}\ntaken: while-running\n", SetFinding("rod-marked", "absent", at("2")), map[string]evidence.Taken{"others": evidence.WhileRunning}},
		"gauged anew elsewhere": {stands + "measured: {upper-guide: {2: {resolution: 1 thou, rear: 20 thou}, 1: {resolution: 1 thou, rear: 21 thou}}}\ntaken: while-running\n", SetMeasured("22 thou", "upper-guide", "2", "rear"), map[string]evidence.Taken{"others": evidence.WhileRunning}},
	} {
		t.Run(name, func(t *testing.T) {
			text, k, err := Apply("case.yaml", []byte(c.text), words, c.edit)
			require.NoError(t, err, c.text)
			if len(c.want) == 0 {
				assert.Empty(t, k.Taken, string(text))
				return
			}
			assert.Equal(t, c.want, k.Taken, string(text))
		})
	}
	_, _, err := Apply("case.yaml", []byte(runs), words, SetTaken(evidence.AtLastStop, "knock"))
	var refused *RefusedError
	assert.ErrorAs(t, err, &refused)
}
