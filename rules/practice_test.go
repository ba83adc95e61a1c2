package rules

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func practiceOver(t *testing.T, section string) (*Book, error) {
	t.Helper()
	text := "rulebook: {name: local, version: \"1\"}\npractice: " + section + "\n"
	return LoadOver(fstest.MapFS{"local.yaml": {Data: []byte(text)}}, "local")
}

func TestPracticeIsReadAndLaidOver(t *testing.T) {
	book, err := BuiltIn()
	require.NoError(t, err)
	require.NotNil(t, book.Practice)
	assert.Positive(t, book.Practice.LookMinutes)
	over, err := practiceOver(t, "{told: [5, 2, 1], basis: judgement}")
	require.NoError(t, err)
	assert.Equal(t, [3]int{5, 2, 1}, over.Practice.Told)
	assert.Equal(t, book.Practice.WrongMinutes, over.Practice.WrongMinutes)
}

func TestMistakesInPracticeAreTold(t *testing.T) {
	for section, want := range map[string]string{
		"{told: [5, 2], basis: judgement}":                    "one for each of the 3 levels",
		"{told: [5, 2, 0], basis: judgement}":                 "told",
		"{stands-if: [pump-stuk], basis: judgement}":          "pump-stuk",
		"{common-from: often-enough, basis: judgement}":       "how-common",
		"{look-minutes: -1, basis: judgement}":                "minutes",
		"{told: [5, 2, 1]}":                                   "without a basis",
		"{told: [5, 2, 1], basis: judgement, prize: a medal}": "prize",
	} {
		t.Run(section, func(t *testing.T) {
			_, err := practiceOver(t, section)
			require.Error(t, err, section)
			assert.ErrorContains(t, err, want)
		})
	}
}
