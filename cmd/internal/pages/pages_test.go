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
	return map[string]*doc.Document{"triage": Triage(r, false), "teardown": Teardown(in.Plan), "align": Align(in), "output": Output(in), "sheet": JobSheet(in), "handover": HandOver(in)}
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

// A sheet has the heading of the ratings only where something is said of them,
// and the isolation is to be signed in every form.
func TestTheJobSheetsPanelHasNoEmptyHeading(t *testing.T) {
	with, without := 0, 0
	cases := viewCases(t)
	cases["near a rating"] = "pump: {action: triplex-single-acting, state: running, discharge: 2960 psi}\nmanual: {liner-rated-pressure: 3000 psi}\nfindings: {knock: present}\n"
	for file, text := range cases {
		in := input(t, text)
		if in.Plan.LeavePump {
			continue
		}
		lines := RatingLines(in.Plan.Report, false)
		headings := 0
		for _, part := range JobSheet(in).Sections[0].Parts {
			if part.Head == "Ratings" {
				headings++
				assert.Len(t, part.Items, len(lines), file)
			}
			if part.Table != nil {
				var text strings.Builder
				require.NoError(t, (&doc.Document{Sections: []doc.Section{{Parts: []doc.Part{part}}}}).Text(&text, 160))
				assert.Equal(t, len(part.Table.Rows), strings.Count(text.String(), "Initials ____"), "%s: %s", file, text.String())
			}
		}
		assert.Equal(t, min(len(lines), 1), headings, file)
		with, without = with+headings, without+1-headings
	}
	assert.True(t, with > 0 && without > 0, "%d with ratings, %d without", with, without)
}

// A list with no check in it promises to find nothing.
func TestAListWithoutACheckLooksForNothing(t *testing.T) {
	with, without := 0, 0
	for file, text := range viewCases(t) {
		in := input(t, text)
		r, err := engine.Diagnose(in.Book, in.Case)
		require.NoError(t, err)
		if len(r.Steps) == 0 {
			continue
		}
		all := views(t, in, r)
		for name, finds := range map[string]string{"triage": "Chance that this list finds the trouble", "sheet": "When a check shows the cause"} {
			looks := firstCheck(r) != nil
			assert.Equal(t, looks, strings.Contains(all[name], finds), "%s %s", file, name)
			assert.Equal(t, !looks, strings.Contains(all[name], noCheckLeft), "%s %s", file, name)
			if looks {
				with++
			} else {
				without++
			}
		}
	}
	assert.True(t, with > 0 && without > 0, "%d with checks, %d without", with, without)
}
