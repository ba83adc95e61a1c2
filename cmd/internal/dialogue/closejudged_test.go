package dialogue

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/prompt"
	"telltale/rules"
)

const ofTheDuplex = "pump: {name: Pump 3, action: duplex-double-acting, piston-rod: 2.5 in}\n"

// jobOver begins the talk over a job on a pump of an invented rig, past the question how
// it stands.
func jobOver(t *testing.T, job string) (*Work, string) {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	dir := folder(t, map[string]string{"pumps/pump-2.yaml": ofThePump, "pumps/pump-3.yaml": ofTheDuplex, "jobs/one.yaml": job})
	path := filepath.Join(dir, "jobs", "one.yaml")
	w, err := NewWork(book, Chosen{File: path, In: dir}, onADay)
	require.NoError(t, err)
	state := "running"
	for _, other := range []string{"isolated", "stopped"} {
		if strings.Contains(job, "state: "+other) {
			state = other
		}
	}
	after(t, w, [2]string{"still " + state, "yes"})
	return w, path
}

// toClose takes the offer to close the job, which every question and step has.
func toClose(t *testing.T, w *Work) {
	t.Helper()
	p, err := w.Prompt()
	require.NoError(t, err)
	for p.ID == "lately" || strings.HasPrefix(p.ID, "straight ") { // a look that could prove it is not made
		p = after(t, w, [2]string{p.ID, "no"})
	}
	require.NotEmpty(t, titleOf(p, closeID), "%v", p)
	require.NoError(t, w.Answer(prompt.Answer{Prompt: p.ID, Rests: p.Rests, Chosen: []string{closeID}}))
}

func titleOf(p prompt.Prompt, id string) string {
	for _, o := range p.Options {
		if o.ID == id {
			return o.Title
		}
	}
	return ""
}

// A job whose cause no check of the pump has proved is closed with what the crew found, and
// with the cause that it takes for it: judged, not proved. Nothing is confirmed by it.
func TestAJobIsClosedAsJudged(t *testing.T) {
	const washout = `job: {pump: pump-2, date: 2026-10-20, hours: 1000 h}
pump: {state: running}
findings: {pressure-low: fell-slowly, other-pump: same}
`
	const oiler = `job: {pump: pump-3, date: 2026-10-20}
pump: {state: running}
findings: {rod-oiler-dry: {present: [left]}, box-hot: {present: [left]}}
`
	for name, c := range map[string]struct {
		job     string
		answers [][2]string // behind the offer to close
		holds   []string
		not     []string
		closed  string
	}{
		"a washout of the string": {
			washout, [][2]string{{"found", "washed pin, 14 stands down"}, {"judged", "Washout in the drill string"}, {"put-right", "two joints laid down"}, {"parts 0", "none"}},
			[]string{"judged: [string-washout]", "found: \"washed pin, 14 stands down\"", "closed: 2026-10-20", "judged, not proved: Washout in the drill string", "put right: two joints laid down"},
			[]string{"confirmed:", "corrected:"},
			"Closed 2026-10-20: judged, not proved: washout in the drill string. The crew found: washed pin, 14 stands down.",
		},
		"a dry oiler, its line new": {
			oiler, [][2]string{{"found", "the line to the oiler was kinked"}, {"judged", "other"}, {"which cause ", "oiler"}, {"which cause oiler", "rod-oiler-failed"}, {"where rod-oiler-failed", "at left"},
				{"put-right", "new line"}, {"job hours", "5120"}, {"parts 0", "part 1"}, {"still good", "none"}},
			[]string{"judged:\n  - rod-oiler-failed: left\n", "found: the line to the oiler was kinked", "changed:\n  - {part: oiler-parts, at: left}", "hours: 5120 h"},
			[]string{"confirmed:"},
			"Closed 2026-10-20: judged, not proved: rod oiler or rod wash not working, left cylinder. The crew found: the line to the oiler was kinked.",
		},
		"in words alone": {
			washout, [][2]string{{"found", "the gauge hose was pinched."}, {"judged", "unknown"}, {"put-right", ""}, {"parts 0", "none"}},
			[]string{"found: the gauge hose was pinched.", "closed: 2026-10-20"}, []string{"judged", "put right"},
			"Closed 2026-10-20: nothing was proved. The crew found: the gauge hose was pinched.",
		},
	} {
		t.Run(name, func(t *testing.T) {
			w, path := jobOver(t, c.job)
			toClose(t, w)
			for _, said := range c.answers {
				p, err := w.Prompt()
				require.NoError(t, err)
				for _, o := range p.Options { // a cause by its title: which number it has is of the book
					if o.Title == said[1] {
						said[1] = o.ID
					}
				}
				after(t, w, said)
			}
			text := textOf(t, path)
			for _, holds := range c.holds {
				assert.Contains(t, text, holds)
			}
			for _, not := range c.not {
				assert.NotContains(t, text, not)
			}
			p, err := w.Prompt()
			require.NoError(t, err)
			for !p.Over() { // what the job changed is offered to the pump's file
				p = after(t, w, [2]string{p.ID, "no"})
			}
			assert.Equal(t, c.closed, w.CloseOut())
		})
	}
}

// Where something stands against closing it is said, and the way back to service is
// offered.
func TestAJobThatCannotBeClosedSaysWhy(t *testing.T) {
	w, path := jobOver(t, `job: {pump: pump-3, date: 2026-10-20}
pump: {state: isolated, open: [box-open: left]}
findings: {packing-leaks: {present: [left]}}
`)
	p, err := w.Prompt()
	require.NoError(t, err)
	for n := 0; titleOf(p, closeID) == ""; n++ { // the short look of whoever comes new
		require.Less(t, n, 40, "%v", p)
		require.NotEmpty(t, p.Options)
		p = after(t, w, [2]string{p.ID, p.Options[0].ID})
	}
	before := textOf(t, path)
	toClose(t, w)
	p, err = w.Prompt()
	require.NoError(t, err)
	require.Equal(t, "not-yet", p.ID)
	assert.Contains(t, p.Body[0].Text, "Not to be closed yet: opened and not closed again: ")
	assert.Equal(t, before, textOf(t, path))
	p = after(t, w, [2]string{"not-yet", "close-up"})
	for strings.HasPrefix(p.ID, "step safety ") { // hands go in to close it
		p = after(t, w, [2]string{p.ID, "done"})
	}
	assert.Equal(t, prompt.Lines(prompt.Head, "closing up"), p.Body[:1])
}

// A case that stands alone has no closing.
func TestACaseAloneIsNotClosed(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "case.yaml")
	require.NoError(t, os.WriteFile(path, []byte("pump: {action: triplex-single-acting, state: running}\nfindings: {pressure-low: fell-slowly, other-pump: same}\n"), 0o600))
	w, err := NewWork(book, Chosen{File: path}, onADay)
	require.NoError(t, err)
	p := after(t, w, [2]string{"still running", "yes"})
	assert.Empty(t, titleOf(p, closeID))
}

// What has almost no chance is not offered to be taken for the cause: a search that found
// nothing ends without one.
func TestAlmostNoChanceIsNotJudged(t *testing.T) {
	w, _ := jobOver(t, "job: {pump: pump-2, date: 2026-10-20}\npump: {state: running}\nfindings: {gauges-disagree: present}\n")
	toClose(t, w)
	p := after(t, w, [2]string{"found", "nothing"})
	require.Equal(t, "judged", p.ID)
	likely := 0
	for _, c := range w.Report().Causes {
		if c.Probability >= 0.05 {
			likely++
		}
	}
	require.Less(t, likely, 5)
	assert.Len(t, p.Options, likely+len([]string{"other", "unknown"}), "%v", p.Options)
}
