package hear

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/rules"
)

// When something inside was seen is written only by the crew's own words; what was seen
// beside moving parts is never called seen at a stop.
func TestWhenItWasSeen(t *testing.T) {
	for sentence, want := range map[string]evidence.Taken{
		"the lower guide of 2 is scored":                                 "",
		"at the last stop the lower guide was scored":                    evidence.AtLastStop,
		"seen yesterday while it stood":                                  evidence.AtLastStop,
		"we saw it when she was down":                                    evidence.AtLastStop,
		"lower guide scored, we had it isolated":                         evidence.AtLastStop,
		"seen at the next stop":                                          "",
		"not at the last stop":                                           "",
		"at yesterday's stop the lower guide was scored":                 evidence.AtLastStop,
		"at the last stop I reached in while it ran":                     "",
		"at the next stop look at the lower guide":                       "",
		"I reached in while it ran and the lower guide is scored":        evidence.WhileRunning,
		"we took the cover off while it was running":                     evidence.WhileRunning,
		"I felt it with my hand with the pump running":                   evidence.WhileRunning,
		"looked in on the run":                                           evidence.WhileRunning,
		"we opened the cover and didn't stop the pump":                   evidence.WhileRunning,
		"it got scored while running":                                    "",
		"it knocks while running, at the last stop the guide was scored": "",
		"I never reached in while it ran":                                "",
	} {
		assert.Equal(t, want, takenIn(sentence), sentence)
	}
}

// Hands inside a running pump are heard where nothing was seen too.
func TestHandsInside(t *testing.T) {
	for story, want := range map[string]bool{
		"I reached in while it ran.":                                    true,
		"She leaks. We had the cover off while she was running. Hot.":   true,
		"He put his hand in with the pump running":                      true,
		"We checked the pressure while it was running":                  false,
		"I felt the crosshead with my hand with the pump running":       false,
		"We had the cover off at the last stop":                         false,
		"We had the cover off. It knocks while it runs.":                false,
		"Nobody had hands in while it ran":                              false,
		"We had the cover off when it was down, it leaked while it ran": false,
	} {
		assert.Equal(t, want, HandsInside(story), story)
	}
}

// Of one story each sentence speaks for itself, and what was once seen while the pump
// ran is nowhere seen at a stop.
func TestEachSentenceSaysWhen(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	for story, want := range map[string]evidence.Taken{
		"It knocks while it runs. The lower guide of 2 is scored, we saw it when it was down.":                                 evidence.AtLastStop,
		"I reached in while it ran and the lower guide of 2 is scored.":                                                        evidence.WhileRunning,
		"The lower guide of 2 is scored, seen when it was down. I reached in while it ran and the lower guide of 2 is scored.": evidence.WhileRunning,
		"At 2.5 thou the lower guide of 2 is scored. I saw no leak when it was down.":                                          "",
	} {
		heard := false
		for _, h := range New(book).Hear(story, layout(triplex)).Heard {
			if h.ID == "guide-wear" && h.Strength != Weak {
				heard = true
				assert.Equal(t, want, h.Taken, story)
			}
		}
		assert.True(t, heard, story)
	}
}

// What was seen at the last stop is as surely heard with the words that say so, at the head
// of a sentence too; what they tell of beside is heard no less.
func TestTheLastStopWeakensNothing(t *testing.T) {
	l := listener(t)
	for _, when := range []string{"at the last stop ", "At the last stop, ", "during our last shutdown ", "last time it was down ", "at yesterday's stop "} {
		for story, want := range map[string]string{"the lower guide of 2 was scored": "guide-wear", "the liner on 3 is cracked": "liner-worn", "the pump moved under lock": "isolation-failed"} {
			bare := l.Hear(story, layout(triplex)).Heard
			got := l.Hear(when+story, layout(triplex)).Heard
			require.Len(t, got, len(bare), when+story)
			assert.Equal(t, want, got[0].ID, when+story)
			assert.Equal(t, bare[0].Strength, got[0].Strength, when+story)
			assert.Equal(t, bare[0].Places, got[0].Places, when+story)
			assert.Equal(t, evidence.AtLastStop, got[0].Taken, when+story)
		}
	}
}
