package practice

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/rules"
)

// A bleed that dribbles is never drawn: it would only hold the work up. Where it
// is known all the same, nothing is opened and no hand goes in.
func TestADribblingBleedHoldsTheExercise(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	w := faultless(book, Setup{Action: evidence.Triplex})
	s := Begin(w)
	open := Action{Do: Open, ID: "crosshead-cover-off", Place: evidence.Place{Cylinder: "1"}}
	look := Action{Do: Check, ID: "line-supports"}
	assert.Empty(t, s.cannot(open))
	assert.Empty(t, s.cannot(look))
	s.known.Findings = append(s.known.Findings, evidence.Finding{Sign: "bleed-dribbles", Answer: evidence.Present, Over: []evidence.Place{{}}})
	s.holdStops()
	assert.Equal(t, heldBack, s.cannot(open))
	assert.Equal(t, heldBack, s.cannot(look))
	assert.False(t, book.Given("bleed-dribbles"))
}
