package pages

import (
	"strings"
	"testing"

	"github.com/mattn/go-runewidth"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/doc"
	"telltale/engine"
)

// documents are the pages of a case.
func documents(t *testing.T, in Input) map[string]*doc.Document {
	t.Helper()
	r, err := engine.Diagnose(in.Book, in.Case)
	require.NoError(t, err)
	return map[string]*doc.Document{"triage": Triage(r, false), "teardown": Teardown(in.Plan), "align": Align(in), "output": Output(in), "sheet": JobSheet(in)}
}

// What must be stopped comes before everything else, framed, and what governs
// stands on every page; a page of a pump that must be left has no step.
func TestStopsComeFirstOnEveryPage(t *testing.T) {
	stopped, left := 0, 0
	for file, text := range viewCases(t) {
		in := input(t, text)
		stops, leave := in.Plan.Stop, in.Plan.LeavePump
		for name, d := range documents(t, in) {
			for _, width := range []int{doc.LeastWidth, 80, doc.MostWidth} {
				var text strings.Builder
				require.NoError(t, d.Text(&text, width))
				for _, line := range strings.Split(text.String(), "\n") {
					assert.LessOrEqual(t, runewidth.StringWidth(line), width, "%s %s: %q", file, name, line)
				}
				assert.Contains(t, strings.Join(strings.Fields(text.String()), " "), Govern, "%s %s", file, name)
			}
			if len(stops) == 0 {
				continue
			}
			stopped++
			panel := d.Sections[0]
			assert.True(t, panel.Panel, "%s %s", file, name)
			for i, stop := range stops {
				assert.Equal(t, stop.Signal, panel.Parts[i].Signal)
				assert.Contains(t, panel.Parts[i].Head, stop.Title)
				for n, do := range stop.Do {
					assert.Equal(t, do, panel.Parts[i].Items[n].Text)
				}
			}
			for _, s := range d.Sections {
				for _, p := range s.Parts {
					assert.False(t, leave && p.Step != nil, "%s %s has a step at a pump that is to be left", file, name)
				}
			}
			if leave {
				left++
			}
		}
	}
	assert.Positive(t, stopped)
	assert.Positive(t, left)
}
