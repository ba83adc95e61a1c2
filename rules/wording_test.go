package rules

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The words that a sentence may have: of what is to be done, and of what describes
// (ASD-STE100, Simplified Technical English, rules on the length of sentences; from
// memory).
const (
	mostWordsOfAStep   = 20
	mostWordsToldOfOne = 25
)

// Every sentence that is to be done is short: checks, openings, safety, closing up,
// shims, and repairs. What only tells may be a little longer.
func TestStepsAreShort(t *testing.T) {
	book, err := BuiltIn()
	require.NoError(t, err)
	short := func(what string, most int, texts ...string) {
		for _, text := range texts {
			for _, s := range Sentences(text) {
				assert.LessOrEqual(t, len(strings.Fields(s)), most, "%s: %s", what, s)
			}
		}
	}
	for _, s := range book.Safety.List {
		short(s.ID, mostWordsOfAStep, s.Do, s.Short)
		if s.TakenOver != nil {
			short(s.ID, mostWordsOfAStep, s.TakenOver.Do)
		}
	}
	for _, o := range book.Openings.List {
		short(o.ID, mostWordsOfAStep, o.Do, o.Close.Do)
	}
	for _, c := range book.Checks.List {
		short(c.ID, mostWordsOfAStep, c.Do)
		for _, r := range c.Results {
			short(c.ID, mostWordsToldOfOne, r.Then)
		}
	}
	for _, r := range book.Returns.List {
		short(r.ID, mostWordsOfAStep, r.Do, r.Short)
	}
	for _, c := range book.Causes.List {
		short(c.ID, mostWordsOfAStep, c.Repair, c.LookAgain)
	}
	for _, p := range book.Procedures.List {
		for _, s := range p.Steps {
			short(p.ID, mostWordsOfAStep, s.Do, s.Caution)
		}
	}
	for _, s := range book.Stops.List {
		short(s.ID, mostWordsOfAStep, s.Do...)
	}
}

func TestSentences(t *testing.T) {
	assert.Equal(t, []string{"Measure it.", "Tighten to 3.5 Nm (manual).", "Right?", "Then go on"}, Sentences("Measure it. Tighten to 3.5 Nm (manual). Right? Then go on"))
	assert.Empty(t, Sentences(""))
}
