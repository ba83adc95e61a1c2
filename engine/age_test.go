package engine

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// pistonOf is how the piston of cylinder 2 is told, of which the record has lives
// of about 300 hours, so many hours after it was fitted last.
func pistonOf(t *testing.T, hours int, changes string) (byItself, chance float64) {
	t.Helper()
	book := builtIn(t)
	text := fmt.Sprintf(`pump: {action: triplex-single-acting, state: running}
findings: {mud-in-wash: {2: present, absent: others}}
parts:
  piston: {from: 1000 h, to: %d h, changed-at: %s}
`, 2215+hours, changes)
	k, err := evidence.ParseCase("case.yaml", []byte(text), book.Vocabulary())
	require.NoError(t, err)
	r, err := Diagnose(book, k)
	require.NoError(t, err)
	for _, c := range r.Causes {
		if c.Cause == "piston-worn" && c.Cylinder == "2" {
			return c.ByItself, c.Probability
		}
	}
	t.Fatal("the piston is not told")
	return 0, 0
}

const wearsOut = "{1: [1000 h, 1290 h, 1610 h, 1900 h, 2205 h], 2: [1000 h, 1310 h, 1595 h, 1920 h, 2215 h], 3: [1000 h, 1280 h, 1600 h, 1895 h, 2210 h]}"

// Common practice, no source: a piston that is bad after a day did not wear out, and
// one that is past its usual life needs no other reason.
func TestAYoungPistonDidNotDieOfAge(t *testing.T) {
	young, _ := pistonOf(t, 30, wearsOut)
	old, _ := pistonOf(t, 330, wearsOut)
	none, _ := pistonOf(t, 30, "{2: [2215 h]}") // too short a record to tell
	assert.Less(t, young, none/2, "young")
	assert.Greater(t, old, none, "old")
}

// Lives of which the record cannot tell whether they end by age move nothing: the
// last hours of a part do not matter then.
func TestHoursSayNothingWherePartsEndAtAnyAge(t *testing.T) {
	const anyAge = "{1: [1000 h, 1020 h, 1500 h, 1530 h, 2205 h], 2: [1000 h, 1400 h, 1450 h, 2215 h], 3: [1000 h, 1100 h, 1900 h, 1960 h]}"
	young, chanceYoung := pistonOf(t, 30, anyAge)
	old, chanceOld := pistonOf(t, 60, anyAge)
	assert.InDelta(t, young, old, 0.02)
	assert.InDelta(t, chanceYoung, chanceOld, 0.02)
}
