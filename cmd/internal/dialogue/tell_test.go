package dialogue

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// answersToTelling are what a tired hand types until the story is told: always the
// first that is meant, always yes.
var answersToTelling = []struct{ shows, answer string }{
	{"What pump is it?", "1"},
	{"Its name?", ""},
	{"How does it stand now?", "1"},
	{"what is meant?", "1"},
	{"Which is so?", "1"},
	{"Is that right?", "y"},
	{"Anything else?", "n"},
}

// From the first word to the first question, step or stop of use it takes at most
// 25 keys beside the story, Enter counted, and two screens of 24 lines, without a
// pause; where the crew has to pick what is meant, a third of a screen more each.
func TestATalkIsShort(t *testing.T) {
	for name, story := range map[string]string{
		"a leak":       "wiper on two leaks again",
		"nothing done": "wiper on two leaks again. nobody worked on it",
		"work told":    "hiss in 2 on the suction stroke. valves were changed last week",
		"a stop":       "smoke is coming from the gear end",
		"the well":     "we have a pit gain, and the well flows with the pumps off",
	} {
		t.Run(name, func(t *testing.T) {
			c := newCrew(t, "")
			keys, lines, picks := 0, 0, 0
			c.answer = func(screen string) (string, bool) {
				lines += strings.Count(screen, "\n")
				require.NotContains(t, screen, "Enter for more")
				if strings.Contains(screen, "Tell what you saw") {
					return story, true
				}
				picks += strings.Count(strings.Join(strings.Fields(screen), " "), "what is meant?")
				flat := strings.Join(strings.Fields(screen), " ")
				for _, a := range answersToTelling {
					if strings.Contains(flat, a.shows) {
						keys += len(a.answer) + 1
						lines++ // of what is typed
						return a.answer, true
					}
				}
				return "", false
			}
			require.NoError(t, c.sit(80, 24))
			assert.LessOrEqual(t, keys, 25)
			assert.LessOrEqual(t, lines, 48+8*picks, c.all.String())
			t.Logf("%s: keys %d, lines %d, picks %d", name, keys, lines, picks)
		})
	}
}

const leaking = "pump: {action: triplex-single-acting, state: running}\nfindings: {wiper-leaks: {again: [2]}}\nrecent: [mud-changed]\n"

// Told against what the case has: both stand side by side, and the crew says which
// is so.
func TestOppositeAnswersAreSettled(t *testing.T) {
	told := []said{
		{"Does it still stand so?", "", "1"},
		{"Likeliest now", "", "wiper on 2 is dry"},
	}
	for which, c := range map[string]struct{ file, log string }{
		"1": {"wiper-leaks: {absent: [2]}", "told: wiper on 2 is dry"},
		"2": {"wiper-leaks: {again: [2]}", "told, not understood: not taken, against what was in the file: "},
		"d": {"wiper-leaks: {again: [2]}", "told, not understood: not taken, against what was in the file: "},
	} {
		t.Run(which, func(t *testing.T) {
			crew := newCrew(t, leaking)
			crew.talks(append(told[:2:2], []said{
				{"These do not go together. Which is so? 1 told now: No: Wiper or seal of the diaphragm housing leaks: cylinder 2 2 in the file: Wiper or seal of the diaphragm housing leaks (again soon after it was changed): cylinder 2", "again: [2]", which},
				{"Is that right?", "again: [2]", "y"},
				{"Anything else?", "", "n"},
			}...))
			assert.Contains(t, crew.file(), c.file)
			assert.Contains(t, crew.file(), c.log)
		})
	}
}

// What is told twice in one story, once so and once the opposite, is settled too.
func TestAStoryAgainstItself(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\n")
	c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"Tell what you saw", "", "wiper on two leaks again"},
		{"Is that right?", "", "wiper on 2 is dry"},
		{"2 said before: Wiper or seal", "", "2"},
		{"Is that right?", "", "y"},
		{"Anything else?", "wiper-leaks: {again: [2]}", "n"},
	})
}

// Words are taken at every prompt, in the middle of an answer too: that answer is
// asked anew, and no more than what was told is written.
func TestWordsAtAnyPrompt(t *testing.T) {
	c := newCrew(t, leaking)
	c.talks([]said{
		{"Does it still stand so?", "", "the oil is milky"},
		{"Is that right?", "", "y"},
		{"Does it still stand so?", "oil-milky: present", "1"},
		{"Anything else?", "told: the oil is milky", "list"},
		{"What was noticed?", "", "loose guide"},
		{"", "", "1"},
		{"Where?", "", "the rod packing on 3 leaks"},
	})
	assert.NotContains(t, c.file(), "guide")
}

// A line of what was understood is put right: another place, the opposite, or out.
func TestALineIsPutRight(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\n")
	c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"Tell what you saw", "", "wiper on two leaks again"},
		{"Is that right?", "", "the oil is milky"},
		{"2 Oil milky", "", "1"},
		{"What is it instead of: Wiper or seal", "", "4"},
		{"Where?", "", "3"},
		{"2 Wiper or seal of the diaphragm housing leaks (again soon after it was changed): cylinder 3", "", "1"},
		{"What is it instead of: Oil milky", "", "1"},
		{"Is that right?", "", "y"},
		{"Anything else?", "wiper-leaks: {again: [3]}", "n"},
	})
	assert.NotContains(t, c.file(), "oil-milky")
}

// It is put right too when it is of another kind, or of none that was told, when
// nobody knows where, and when nobody knows at all.
func TestALineIsPutRightStepByStep(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\n")
	c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"Tell what you saw", "", "wiper on two leaks again. the oil is milky"},
		{"Is that right?", "", "1"},
		{"5 the same, of another kind", "", "5"},
		{"How?", "", "1"},
		{"2 Wiper or seal of the diaphragm housing leaks (first time after a normal life): cylinder 2", "", "2"},
		{"4 the same at another place", "", "4"},
		{"Where?", "", "5"},
		{"2 Wiper or seal of the diaphragm housing leaks (first time after a normal life)", "", "1"},
		{"3 Not known: Oil milky", "", "3"},
		{"Is that right?", "", "y"},
		{"Anything else?", "wiper-leaks: first", "n"},
	})
	assert.Contains(t, c.file(), "oil-milky: unknown")
}

// Whoever told that nothing was done is not asked what was done, in the next
// sitting neither.
func TestNothingDoneIsNotAskedAgain(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\n")
	rest := c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"Tell what you saw", "", "wiper on two leaks again, nothing was done on it lately"},
		{"Nothing was done on the pump lately.", "", "y"},
		{"Anything else?", untouchedLog, "n"},
	})
	assert.Contains(t, rest, "Likeliest now")
	assert.NotContains(t, rest, "In the last days")
	rest = c.talks([]said{{"Does it still stand so?", "", "1"}})
	assert.NotContains(t, rest, "In the last days")
}

// A pump is handed over on one screen, whatever its case holds.
func TestAHandOverIsOneScreen(t *testing.T) {
	text := "pump: {name: Larkspur pump 1, action: triplex-single-acting, state: isolated, open: [crosshead-cover-off: 1, crosshead-cover-off: 2, crosshead-cover-off: 3, rod-parted: 2, cylinder-open: 1]}\n" +
		"findings: {wiper-leaks: {again: [1, 2, 3]}, oil-milky: present, pressure-low: steady, charge-low: present, liner-wash-muddy: {present: [2]}, knock: once-per-turn}\n" +
		"confirmed: [wiper-worn-out: 2]\nlog:\n" +
		strings.Repeat("  - {at: 2024-02-29T03:00:00Z, by: A. Hand, did: \"told: "+strings.Repeat("the wiper leaks ", 40)+"\"}\n", 9)
	c := newCrew(t, "")
	known := c.book.Signs
	for _, sign := range []string{"charge-low: present, ", "liner-wash-muddy: {present: [2]}, "} { // as far as the book has them
		if id, _, _ := strings.Cut(sign, ":"); known.Get(id) == nil {
			text = strings.Replace(text, sign, "", 1)
		}
	}
	c = newCrew(t, text)
	first := ""
	c.answer = func(screen string) (string, bool) {
		first = screen
		return "q", true
	}
	require.NoError(t, c.sit(80, 24))
	assert.NotContains(t, first, "Enter for more")
	assert.Less(t, strings.Count(first, "\n"), 24, first)
	for _, part := range []string{"Larkspur pump 1: isolated", "Seen: ", "Proved: ", "Open: ", "A. Hand: told: ", "Does it still stand so?"} {
		assert.Contains(t, first, part)
	}
}
