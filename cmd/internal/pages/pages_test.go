package pages

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/doc"
	"telltale/engine"
	"telltale/engine/figures"
	"telltale/evidence"
	"telltale/rules"
)

// documents are the pages of a case.
func documents(t *testing.T, book *rules.Book, k *evidence.Case) map[string]*doc.Document {
	t.Helper()
	in := Input{Book: book, Case: k}
	r, err := engine.Diagnose(book, k)
	require.NoError(t, err)
	in.Plan, err = engine.PlanTeardown(book, k, nil)
	require.NoError(t, err)
	in.Measured, err = engine.Measure(book, k)
	require.NoError(t, err)
	in.Turn, err = figures.GuideTurn(book, k)
	require.NoError(t, err)
	return map[string]*doc.Document{"triage": Triage(r, false), "teardown": Teardown(in.Plan), "align": Align(in), "output": Output(in)}
}

// What must be stopped comes before everything else, framed, and what governs
// stands on every page; a page of a pump that must be left has no step.
func TestStopsComeFirstOnEveryPage(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	files, err := filepath.Glob("../../../testdata/cases/*.yaml")
	require.NoError(t, err)
	stopped, left := 0, 0
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		k, err := evidence.ParseCase(file, text, book.Vocabulary())
		require.NoError(t, err)
		r, err := engine.Diagnose(book, k)
		require.NoError(t, err)
		for name, d := range documents(t, book, k) {
			var plain strings.Builder
			require.NoError(t, d.Markdown(&plain))
			assert.Contains(t, plain.String(), Govern, "%s %s", file, name)
			if len(r.Stop) == 0 {
				continue
			}
			stopped++
			panel := d.Sections[0]
			assert.True(t, panel.Panel, "%s %s", file, name)
			require.Len(t, panel.Parts, len(r.Stop))
			for i, stop := range r.Stop {
				assert.Equal(t, stop.Signal, panel.Parts[i].Signal)
				assert.Contains(t, panel.Parts[i].Head, stop.Title)
				assert.Equal(t, doc.Items(stop.Do...), panel.Parts[i].Items)
			}
			if r.LeavePump {
				left++
				for _, s := range d.Sections {
					for _, p := range s.Parts {
						assert.Nil(t, p.Step, "%s %s", file, name)
					}
				}
			}
		}
	}
	assert.Positive(t, stopped)
	assert.Positive(t, left)
}
