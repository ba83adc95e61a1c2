package rules

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A look whose result shows what failed says so, and a root that is asked for has a look
// that shows it or clears it: common practice, no source.
func TestWhatALookProves(t *testing.T) {
	book, err := BuiltIn()
	require.NoError(t, err)
	for _, c := range []struct {
		check, result, cause string
		clears               bool
	}{
		{"packing-look", "Worn all round", "packing-worn-out", false},
		{"packing-look", "Hard or burnt", "packing-worn-out", false},
		{"packing-look", "Worn more on one side", "packing-worn-out", false},
		{"rod-oiler-look", "Nothing comes out", "rod-oiler-failed", false},
		{"rod-oiler-look", "It comes out and wets the rod", "rod-oiler-failed", true},
	} {
		check := book.Checks.Get(c.check)
		require.NotNil(t, check, c.check)
		assert.True(t, book.CanProve(check, c.cause), "%s of %s", c.cause, c.check)
		var says []string
		for _, r := range check.Results {
			if r.If == c.result {
				says = r.PointsTo
				if c.clears {
					says = r.Clears
				}
			}
		}
		assert.Contains(t, says, c.cause, "%s: %s", c.check, c.result)
	}
}
