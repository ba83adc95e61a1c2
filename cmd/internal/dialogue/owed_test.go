package dialogue

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/prompt"
)

// closedByOthers is a job whose pump was opened in an earlier talk, all put right.
const closedByOthers = `job: {pump: pump-2, date: 2026-10-20, hours: 1000 h}
pump: {state: isolated, open: [crosshead-cover-off: 2, rod-parted: 2]}
findings: {wiper-leaks: {again: [2]}}
confirmed: [wiper-worn-out: 2]
corrected: [wiper-worn-out: 2]
looked-again: [wiper-worn-out: 2]
root-left: [wiper-worn-out: 2]
`

// bodyOf gives the lines of a prompt as one text.
func bodyOf(p prompt.Prompt) string {
	var out []string
	for _, l := range slices.Concat(p.News, p.Body) {
		out = append(out, l.Text)
	}
	return strings.Join(out, "\n")
}

// A way back to service that was left on it is owed: whoever takes the job up sees which
// steps belong to what was open, all of them come again, and no job is closed before.
func TestTheWayBackIsOwedOverABreak(t *testing.T) {
	w, path := jobOver(t, closedByOthers)
	p, err := w.Prompt()
	require.NoError(t, err)
	for n := 0; !strings.Contains(p.ID, "path-open"); n++ {
		require.Less(t, n, 20, p.ID)
		p = after(t, w, [2]string{p.ID, "done"})
	}
	half := textOf(t, path)
	assert.Contains(t, half, "pump: {state: stopped, closed-again: [rod-parted: 2, rod-space-open: 2, crosshead-cover-off: 2]}")

	again, path := jobOver(t, half)
	p, err = again.Prompt()
	require.NoError(t, err)
	seen := ""
	for n := 0; p.ID != "done"; n++ {
		require.Less(t, n, 40, p.ID)
		seen += p.ID + "\n"
		p = after(t, again, [2]string{p.ID, "done"})
	}
	for _, owed := range []string{"try-start", "joints-torqued", "measured-joined", "barred-over", "path-open", "locks-off", "first-hour", "hours-later"} {
		assert.Contains(t, seen, " "+owed+" ")
	}
	assert.NotEmpty(t, titleOf(p, "close"), bodyOf(p))
	assert.NotContains(t, textOf(t, path), "closed-again")
}

// Others closed the pump and started it: the case says what is owed and to what, the talk
// tells it, and the job stays open until somebody says that each step was done.
func TestAPumpThatOthersStartedOwesItsWayBack(t *testing.T) {
	const owed = "owed on the way back to service: Rod joints made up; Measure what only shows with the rods joined; Bar one full turn by hand;"
	w, path := jobOver(t, strings.Replace(closedByOthers, "state: isolated, open:", "state: running, closed-again:", 1))
	p, err := w.Prompt()
	require.NoError(t, err)
	require.Equal(t, "done", p.ID)
	assert.Contains(t, bodyOf(p), "Not to be closed yet: the way back to service was not gone to its end since this was open: Take the crosshead cover off, cylinder 2; Part the extension rod from the piston rod, cylinder 2.")
	assert.Contains(t, bodyOf(p), "Not to be closed yet: "+owed)
	assert.NotContains(t, bodyOf(p), "closed up.")
	assert.Empty(t, titleOf(p, "close"))
	p = after(t, w, [2]string{"done", goneThroughID})
	assert.NotEmpty(t, titleOf(p, "close"), bodyOf(p))
	assert.NotContains(t, textOf(t, path), "closed-again")
	assert.Contains(t, textOf(t, path), "said: done: ")

	// While something else is looked for it is told as well.
	w, _ = jobOver(t, "job: {pump: pump-2, date: 2026-10-20}\npump: {state: running, closed-again: [rod-parted: 2]}\nfindings: {wiper-leaks: {again: [2]}}\n")
	p, err = w.Prompt()
	require.NoError(t, err)
	assert.Contains(t, bodyOf(p), "The pump is said to run; "+owed)
}

// A pump that stands open by its case and runs, or stands unlocked, says the crew: it is
// asked whether each was closed. Nobody is let go on before.
func TestAPumpThatRunsIsNotOpen(t *testing.T) {
	c := newCrew(t, proved)
	c.talks([]said{
		{"Does it still stand so?", "", "no, it runs"},
		{"By the case this stands open: - Part the extension rod from the piston rod, cylinder 2", "", "no"},
		{"Then it must not run. Keep everybody clear.", "state: isolated, open:", "3"},
		{"Was each of these closed again?", "", "b"},
		{"Does it still stand so?", "", "2"},
		{"Was each of these closed again?", "", "y"},
		{"The pump is said to run; the way back to service was not gone to its end since this was open:", "state: running, closed-again:", "q"},
	})
	assert.Contains(t, c.file(), "said: it runs, and all was closed again")
}
