package rules

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A form asks for what the book has, each thing once, and never goes back to a running
// pump once hands were in; a local book adds to it and takes nothing away.
func TestFormsOfALocalBook(t *testing.T) {
	form := func(asks string) string {
		return "forms:\n  ours: {title: Ours, use: For us., basis: judgement, asks: [" + asks + "]}\n"
	}
	for name, c := range map[string]struct{ text, wrong string }{
		"unknown sign":      {form("{title: A, signs: [knocks]}"), "did you mean knock?"},
		"unknown readings":  {form("{readings: rod-in-openings}"), "did you mean rod-in-opening?"},
		"twice":             {form("{title: A, signs: [knock]}, {title: B, signs: [knock]}"), "the form ours asks for knock twice"},
		"two things":        {form("{title: A, signs: [knock], checks: [well-check]}"), "one piece of a form asks for one thing"},
		"nothing":           {form("{title: A}"), "one piece of a form asks for one thing"},
		"back to running":   {form("{readings: upper-guide}, {title: A, signs: [knock]}"), "after what needs the isolation"},
		"a title taken":     {"forms:\n  valves: {asks: [], basis: judgement}\n", "asks"},
		"a guard and lines": {"forms:\n  valves: {safety: [lift-heavy-parts], asks: [{title: Ours, signs: [cover-leaks]}], basis: judgement}\n", ""},
		"a form of its own": {form("{title: A, signs: [knock]}, {readings: upper-guide}"), ""},
	} {
		t.Run(name, func(t *testing.T) {
			book, err := over(c.text)
			if c.wrong != "" {
				require.ErrorContains(t, err, c.wrong)
				return
			}
			require.NoError(t, err)
			builtIn, err := BuiltIn()
			require.NoError(t, err)
			for _, f := range builtIn.Forms.List {
				assert.GreaterOrEqual(t, len(book.Forms.Get(f.ID).Asks), len(f.Asks))
			}
		})
	}
}
