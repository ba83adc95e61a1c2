package dialogue

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence/record"
	"telltale/rules"
)

// Of a change of the pressure that was told the gauges are asked for, once, behind the
// first question. Where the strokes alone make it, by P (N/N0)^n with n between 1 and 2
// for turbulent flow (API RP 13D, from memory), the figures stand and not the word.
func TestTheGaugesAreAskedFor(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	for answer, holds := range map[string]string{
		"2800 2400 95":             "now:\n      discharge: 2400 psi\n      speed: 95 strokes/min",
		"190 165 bar 95 95":        "before:\n      discharge: 190 bar",
		"2,800 2,700 95 75":        "by the gauges, not as told: ",
		"d":                        gaugesLog,
		"2800, then 2400 now":      "pressure-low",
		"the oil is milky as hell": "pressure-low",
	} {
		t.Run(answer, func(t *testing.T) {
			c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {pressure-low: fell-slowly}\nrecent: [mud-changed]\n")
			asked, done := 0, false
			c.answer = func(screen string) (string, bool) {
				switch flat := strings.Join(strings.Fields(screen), " "); {
				case done && asked > 1:
					return "", false
				case strings.Contains(flat, "What did the gauges say?"):
					asked++
					done = true
					return answer, asked < 2
				case done:
					return "", false
				case strings.Contains(flat, "Does it still stand so?"):
					return "1", true
				case strings.Contains(flat, "d don't know"):
					return "d", true
				}
				return "1", true
			}
			require.NoError(t, c.sit(80, 0))
			assert.True(t, done, c.all.String())
			assert.Contains(t, c.file(), holds)
			if answer == "d" {
				assert.Equal(t, 1, asked)
			}
			_, err := record.Read("case.yaml", []byte(c.file()), book.Vocabulary())
			require.NoError(t, err)
		})
	}
}

// While it is asked when something was taken that needs covers off nobody is told yet to
// stop the pump for it: the answer decides that.
func TestNobodyIsToldToStopBeforeItIsKnownWhenItWasSeen(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {rod-worn: {underside: [2]}}\n")
	c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"COVERS OFF", "", "1"},
		{"", "taken:", "q"},
	})
	assert.NotContains(t, c.all.String(), "Stop the pump now")
	c = newCrew(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {rod-worn: {underside: [2]}}\n")
	c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"COVERS OFF", "", "2"},
		{"STOP FIRST", "taken:", "q"},
	})
}
