package dialogue

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// One answer to a check fills the sign that it is; proof is asked only after a
// check that can prove, with "not proved yet" first.
func TestOneAnswerFillsItsSign(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: isolated, open: [valve-pot-open: 2]}\nrecent: [mud-changed]\nfindings: {hiss: {suction-stroke: [2], absent: [1, 3]}, valve-slam: {present: [2]}, gauge-kick: present}\n")
	var screens []string
	c.answer = func(screen string) (string, bool) {
		flat := strings.Join(strings.Fields(screen), " ")
		switch {
		case len(screens) > 0:
			screens = append(screens, flat)
			return "1", len(screens) < 3
		case strings.Contains(flat, "How did the valve fail?"):
			return "no more questions", true
		case strings.Contains(flat, "What came out?"):
			screens = append(screens, flat)
			return "2", true // a groove cut through
		}
		return "1", true
	}
	require.NoError(t, c.sit(80, 0))
	require.Len(t, screens, 3)
	assert.Contains(t, screens[1], "Does that prove one of these? 1 not proved yet 2 proved: Suction valve or seat cut, cylinder 2 3 proved: Discharge valve or seat cut, cylinder 2 d don't know b back")
	assert.NotContains(t, screens[2], "Was one of these seen?")
	assert.NotContains(t, screens[2], "How did the valve fail?")
	assert.Contains(t, c.file(), "valve-damage: {fluid-cut: [2]}")
	assert.Contains(t, c.file(), "valve-look: {unclear: [2]}")
}

// A reading that needs covers off, on a running pump: when was it taken?
func TestWhenWasItTaken(t *testing.T) {
	text := "pump: {action: triplex-single-acting, state: running}\nfindings: {guide-wear: {lower: [2]}}\n"
	c := newCrew(t, text)
	c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"When was it taken?", "", "1"},
		{"In the last days", "taken: {at-last-stop: [guide-wear]}", "q"},
	})
	c = newCrew(t, text)
	c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"Crosshead guide wiped or scored", "", "2"},
		{"DANGER, AT ONCE: By the case, covers were off", "taken: {while-running: [guide-wear]}", "1"},
		{"", "", "q"},
	})
}

// A check that found nothing beside what it would have shown: which stands?
func TestWhichStands(t *testing.T) {
	text := "pump: {action: triplex-single-acting, state: isolated}\nrecent: [mud-changed]\nfindings: {valve-damage: {fluid-cut: [2]}}\nchecked: {valve-look: {nothing: [2]}}\n"
	c := newCrew(t, text)
	c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"Which stands?", "", "2"},
		{"", "valve-damage: {fluid-cut: [2]}", "q"},
	})
	assert.NotContains(t, c.file(), "valve-look")
	c = newCrew(t, text)
	c.talks([]said{{"Does it still stand so?", "", "1"}, {"Which stands?", "", "1"}, {"", "valve-look: {nothing: [2]}", "q"}})
	assert.Contains(t, c.file(), "valve-damage: {unknown: [2]}", "what the check found stands, so it is not asked again")
}

// An answer that the readings contradict is refused with their place.
func TestWhatReadingsContradictIsNotWritten(t *testing.T) {
	text := "pump: {action: triplex-single-acting, state: isolated, open: [crosshead-cover-off: 2]}\nrecent: [mud-changed]\nfindings: {wiper-leaks: {again: [2]}}\n" +
		"measured: {upper-guide: {2: {resolution: 1 thou, rear: 33 thou, middle: 32 thou, front: 32 thou}}}\n"
	c := newCrew(t, text)
	c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"", "", "report"},
		{"", "", "clearance over the crosshead"},
		{"", "", "1"},
		{"What is the clearance over the whole top", "", "n"},
		{"the readings at line 4 show it", "", "q"},
	})
	assert.Equal(t, text, c.file())
}
