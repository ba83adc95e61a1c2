package dialogue

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine"
)

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
		{"In the last days", "wiper-leaks: {again: [2]}", "q"},
	})
}

// What would call for a stop is asked for by itself where it was not well understood:
// nobody agrees to it, or passes it over, unread. What may be meant besides is written
// where it is chosen with the yes, and only there.
func TestWhatMayBeMeantIsChosen(t *testing.T) {
	for answer, written := range map[string]bool{"1": true, "n": false} {
		c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {oil-milky: present}\nrecent: [mud-changed]\n")
		c.talks([]said{
			{"Does it still stand so?", "", "the rod on three is broken"},
			{"One of these would call for a stop. Is it so? (several: 1 2) 1 Rod broken: cylinder 3 (weak:", "", answer},
			{"Is that right?", "", "y"},
		})
		assert.Equal(t, written, strings.Contains(c.file(), "rod-broken: {present: [3]}"), c.file())
	}
	for answer, written := range map[string]bool{"y 2": true, "2 y": true, "y": false} {
		c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\n")
		c.talks([]said{
			{"Does it still stand so?", "", "the oil is milky. and it pushes on every stroke both ways"},
			{"Perhaps; written only if chosen with the yes: 2 ", "", answer},
		})
		assert.Equal(t, written, !strings.Contains(c.file(), "told, not understood: "), c.file())
	}
}

// Of a check that was told as made, what came of it is asked for before anybody is sent
// there again, and not where it was told; with its result it stands as checked. Who does
// not know what came of it may look again.
func TestACheckToldAsMade(t *testing.T) {
	const strainer, valve = "hiss in 2 on the suction stroke. we looked at the suction strainer", "hiss in 2 on the suction stroke. we had the valve cover off and looked at the valves in 2"
	for name, c := range map[string]struct {
		story, answer string
		asked         bool
		checked       string
		when          bool // it is asked when the covers were off
	}{
		"none":      {strainer, "n", true, "suction-strainer-look: nothing", true},
		"unknown":   {strainer, "d", true, "", false},
		"seen":      {strainer, "1", true, "suction-strainer-look: unclear", false},
		"told":      {"we looked at the suction strainer. suction strainer is blocked", "", false, "suction-strainer-look: unclear", true},
		"inside":    {valve, "n", true, "valve-look: {nothing: [2]}", true},
		"at a stop": {valve + " when it was down", "n", true, "valve-look: {nothing: [2]}", false},
	} {
		t.Run(name, func(t *testing.T) {
			crew := newCrew(t, "pump: {action: triplex-single-acting, state: running}\n")
			script := []said{
				{"Does it still stand so?", "", "1"},
				{"Tell what you saw", "", c.story},
				{"Checked: ", "", "y"},
			}
			if c.asked {
				script = append(script, said{"What did you find?", "", c.answer})
			}
			if c.when {
				script = append(script, said{"When was it taken?", "", "1"})
			}
			rest := crew.talks(script)
			assert.NotContains(t, strings.Join(strings.Fields(rest), " "), "You looked at this")
			if c.checked == "" {
				assert.NotContains(t, crew.file(), "checked:")
				return
			}
			assert.Contains(t, crew.file(), c.checked)
			k := crew.parsed()
			report, err := engine.Diagnose(crew.book, k)
			require.NoError(t, err)
			id, _, _ := strings.Cut(c.checked, ":")
			for _, step := range report.Steps {
				assert.False(t, step.Kind == "check" && step.ID == id && (step.Cylinder == "" || step.Cylinder == "2"), "nobody is sent there again")
			}
			assert.Empty(t, crew.book.TakenBeside(k))
		})
	}
}

// A pump without a name is handed over under the name of its file.
func TestAHandOverWithoutAName(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {oil-milky: present}\n")
	c.talks([]said{{"case: running. Findings so far: 1.", "", "q"}})
}

// Words are taken at every prompt, in the middle of an answer too: that answer is
// asked anew, and no more than what was told is written.
func TestWordsAtAnyPrompt(t *testing.T) {
	c := newCrew(t, leaking)
	c.talks([]said{
		{"Does it still stand so?", "", "the oil is milky"},
		{"Is that right?", "", "y"},
		{"Does it still stand so?", "oil-milky: present", "1"},
		{"Go straight there?", "told: the oil is milky", "report"},
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
		{"What is it instead of: Wiper or seal", "", "3"},
		{"Where?", "", "3"},
		{"2 Wiper or seal of the diaphragm housing leaks (again soon after it was changed): cylinder 3", "", "1"},
		{"What is it instead of: Oil milky", "", "1"},
		{"Is that right?", "", "y"},
		{"In the last days", "wiper-leaks: {again: [3]}", "q"},
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
		{"4 the same, of another kind", "", "4"},
		{"How?", "", "1"},
		{"2 Wiper or seal of the diaphragm housing leaks (first time after a normal life): cylinder 2", "", "2"},
		{"3 the same at another place", "", "3"},
		{"Where?", "", "d"},
		{"2 Wiper or seal of the diaphragm housing leaks (first time after a normal life)", "", "1"},
		{"d don't know", "", "d"},
		{"Is that right?", "", "y"},
		{"In the last days", "wiper-leaks: first", "q"},
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
	})
	assert.Contains(t, c.file(), untouchedLog)
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

// Where the pump must stop now, stopping it comes next, and no question of a running
// pump.
func TestStopNowIsFollowedByTheStop(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {knock-at-cylinder: {present: [1]}, knock: once-per-turn}\n")
	rest := c.talks([]said{{"Stop the pump now.", "", "1"}}) // said before it is asked how it stands
	assert.Contains(t, rest, "NEXT STEP")
	k := c.parsed()
	assert.Equal(t, "running", string(k.Pump.State))
}
