package dialogue

import (
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/rules"
)

// takenOver is what a crew that comes new to an isolated pump sees for itself
// before zero is proved.
var takenOver = []said{
	{"Take over the isolation from those who made it", "", "1"},
	{"Hang your own lock; see drive locked and clutch air off", "", "1"},
	{"See every start from afar locked", "", "1"},
	{"See suction and discharge lines shut and locked", "", "1"},
	{"See the helper pumps locked", "", "1"},
	{"See both bleeds open and dry", "", "1"},
	{"Only nitrogen ever goes in: never oxygen, never air.", "", "1"},
}

// If somebody notes in between that the pump runs again, what was done to make
// it safe counts no longer.
func TestAnIsolationDoesNotOutliveThePumpsState(t *testing.T) {
	c := newCrew(t, proved)
	edited, letIn := false, false
	c.answer = func(screen string) (string, bool) {
		inside := strings.Contains(screen, "Only behind the isolation.")
		switch {
		case inside && edited:
			letIn = true
		case inside:
			text := strings.Replace(c.file(), ", open: [crosshead-cover-off: 2, rod-parted: 2]", "", 1)
			require.NoError(t, os.WriteFile(c.path, []byte(strings.Replace(text, "isolated", "running", 1)), 0o600))
			edited = true
		}
		return "1", !letIn
	}
	require.NoError(t, c.sit(80, 0))
	require.True(t, letIn)
	after := c.all.String()[strings.Index(c.all.String(), "by somebody else"):]
	for _, s := range c.book.Safety.List {
		if s.For == rules.ForIsolation || s.For == rules.ForStopping {
			assert.Contains(t, after, s.Title)
		}
	}
}

// Who closed the pump up and wants to open it again begins from the start, in
// the same sitting too.
func TestClosedUpIsIsolatedNoMore(t *testing.T) {
	c := newCrew(t, provedToo)
	w := &watcher{t: t, book: c.book}
	reported := false
	n := 0
	c.answer = func(screen string) (string, bool) {
		w.sees(screen, c.parsed())
		n++
		going := n < 100 && (!reported || w.inside == 0)
		switch {
		case strings.Contains(screen, "Open a flow path"):
			return "report", going
		case strings.Contains(screen, "What was noticed?") && !reported:
			reported, w.inside = true, 0
			return "valves fail early", true
		case strings.Contains(screen, "?  why"):
			return "no more questions", going
		case strings.Contains(screen, "What came out?"):
			return "n", going
		}
		return "1", going
	}
	require.NoError(t, c.sit(80, 0))
	assert.True(t, reported)
	assert.Positive(t, w.inside, c.all.String())
	assert.Contains(t, c.file(), "closing up broken off")
}

// A bleed that dribbles is reported where it is seen. Then nothing is opened,
// repaired or closed up, whatever is proved, until it is over; and zero is
// proved anew.
func TestADribblingBleedHoldsTheTalk(t *testing.T) {
	c := newCrew(t, proved)
	c.talks(slices.Concat([]said{
		{"before hands go in that is proved again", "", "1"},
		{"PROVED Rod clamp badly fitted", "", "1"},
	}, takenOver, []said{
		{"Prove zero pressure", "", "1"},
		{"Try the start", "confirmed: Prove zero pressure", "report"},
		{"What was noticed?", "", "bleed dribbling"},
		{"1 A bleed keeps dribbling", "", "1"},
		{"Open nothing to find out.", "", "1"},
		{"STOP FIRST DANGER, AT ONCE: A bleed keeps dribbling", "bleed-dribbles: discharge", "1"},
		{"Nothing is opened, closed up or repaired until this is over", "", "2"},
		{"What was noticed?", "", "b"},
		{"Is it over?", "state: isolated", "1"},
		{"Prove zero pressure", "bleed-dribbles: absent", "a bleed keeps dribbling, or the pressure does not stay at zero"},
		{"Open nothing to find out.", "", "2"},
		{"STOP FIRST DANGER, AT ONCE: A bleed keeps dribbling", "bleed-dribbles: suction", "1"},
		{"Is it over?", "", "1"},
		{"Prove zero pressure", "", "1"},
		{"Try the start", "", "1"},
		{"Secure crosshead and crank", "", "1"},
		{"Fingers out when rods come together", "", "1"},
		{"Only behind the isolation.", "", "q"},
	}))
}

// Seen while the pump is being isolated: it does not count as isolated before
// the bleed is dry, zero is proved and the start was tried.
func TestADribblingBleedIsNoIsolation(t *testing.T) {
	c := newCrew(t, strings.Replace(proved, "isolated, open: [crosshead-cover-off: 2, rod-parted: 2]", "stopped", 1))
	c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"PROVED Rod clamp badly fitted", "", "1"},
		{"Get ready to isolate", "", "1"},
		{"Lock every power source off", "", "1"},
		{"Make a start from afar impossible", "", "1"},
		{"Close suction and discharge lines", "", "1"},
		{"Lock off the helper pumps", "", "1"},
		{"Bleed both sides to zero", "", "a bleed keeps dribbling, or the pressure does not stay at zero"},
		{"Open nothing to find out.", "", "2"},
		{"STOP FIRST DANGER, AT ONCE: A bleed keeps dribbling", "", "1"},
		{"Bleed both sides to zero", "state: stopped", "1"},
		{"Remember the gas in the dampener", "", "1"},
		{"Is it over?", "state: stopped", "1"},
		{"Prove zero pressure", "bleed-dribbles: absent", "1"},
		{"Try the start", "state: stopped", "1"},
		{"Secure crosshead and crank", "state: stopped", "1"},
		{"Fingers out when rods come together", "state: isolated", "1"},
		{"Only behind the isolation.", "state: isolated", "q"},
	})
}

// Locks and what stays open are written down where the steps are done, by whom
// and when, if the crew wants; nothing waits for it. At the return to service
// those that hang are named, and are written off as their owners' doing.
func TestLocksAreWrittenDownAsTheyHang(t *testing.T) {
	c := newCrew(t, proved)
	c.talks([]said{
		{"before hands go in that is proved again", "", "1"},
		{"PROVED Rod clamp badly fitted", "", "1"},
		{"Take over the isolation from those who made it", "", "1"},
		{"whose lock hangs here? write it down", "", "whose"},
		{"What does the lock hang on?", "", "1"},
		{"Whose name? Enter writes nothing.", "", ""},
		{"Hang your own lock", "", "whose"},
		{"What does the lock hang on?", "", "1"},
		{"Whose name?", "", "A. Hand"},
		{"Number of its tag", "", "14"},
		{"Hang your own lock", "{on: drive, by: A. Hand, at: 2024-02-29T03:00:00Z, tag: 14}", "who"},
		{"The name or initials", "", "JK"},
		{"Hang your own lock", "", "whose"},
		{"What does the lock hang on?", "", "air compressor"},
		{"Whose name? Enter for JK.", "", ""},
		{"Number of its tag", "", ""},
		{"Hang your own lock", "{on: air compressor, by: JK, at: 2024-02-29T03:00:00Z}", "b"},
		{"Hang your own lock", "tag: 14}", "1"},
		{"See every start from afar locked", "confirmed: Hang your own lock", "1"},
		{"See suction and discharge lines shut and locked", "", "1"},
		{"See the helper pumps locked", "", "1"},
		{"what stays open? write it down", "", "what"},
		{"What stays open?", "", "1"},
		{"Whose name? Enter for JK.", "", ""},
		{"See both bleeds open and dry", "{what: discharge bleed, by: JK, at: 2024-02-29T03:00:00Z}", "q"},
	})
}

// At the return to service.
func TestLocksComeOffByTheirOwners(t *testing.T) {
	c := newCrew(t, strings.Replace(provedAndRight, ", open: [crosshead-cover-off: 2, rod-parted: 2]", "", 1)+
		"locks: [{on: drive, by: A. Hand, tag: 14}, {on: drive, by: B. Mate}]\nstays-open: [{what: discharge bleed}]\n")
	last := ""
	c.answer = func(screen string) (string, bool) {
		flat := strings.Join(strings.Fields(screen), " ")
		switch {
		case strings.Contains(flat, "Open a flow path") && strings.Contains(c.file(), "[{what: discharge bleed}]"):
			require.Contains(t, flat, "By the case these stand open: discharge bleed.")
			return "write", true
		case strings.Contains(flat, "Who shut it?"):
			return "B. Mate", true
		case strings.Contains(flat, "Locks off by their owners") && !strings.Contains(c.file(), "off-by"):
			require.Contains(t, flat, "By the case these locks hang: drive: A. Hand's lock, tag 14; drive: B. Mate's lock. Each waits for its owner.")
			return "write", true
		case strings.Contains(flat, "each taken off by its owner?"):
			return "2", true
		case strings.Contains(flat, "Locks off by their owners"):
			last = flat
			return "q", true
		}
		return "1", true
	}
	require.NoError(t, c.sit(80, 0))
	assert.Contains(t, last, "By the case these locks hang: drive: A. Hand's lock, tag 14. Each waits for its owner.")
	assert.Contains(t, c.file(), "{on: drive, by: B. Mate, off-by: B. Mate, off-at: 2024-02-29T03:00:00Z}")
	assert.Contains(t, c.file(), "{what: discharge bleed, shut-by: B. Mate, shut-at: 2024-02-29T03:00:00Z}")
}

// isolating are the steps from the first on, up to the proof of zero.
var isolating = []said{
	{"Get ready to isolate", "", "1"},
	{"Lock every power source off", "", "1"},
	{"Make a start from afar impossible", "", "1"},
	{"Close suction and discharge lines", "", "1"},
	{"Lock off the helper pumps", "", "1"},
	{"Bleed both sides to zero", "", "1"},
	{"Remember the gas in the dampener", "", "1"},
	{"Prove zero pressure", "", "1"},
}

// The start was tried and the pump moved: that is an answer of the step, said by itself or
// behind a "no". It is written, and the stop of a failed isolation is read out next. Once
// that is over nothing of the isolation is taken over from before.
func TestThePumpMovedWhenItsStartWasTried(t *testing.T) {
	failed := []said{
		{"STOP FIRST DANGER, AT ONCE: The isolation failed; the pump can move", "isolation-failed: present", "1"},
		{"Nothing is opened, closed up or repaired until this is over", `did: "does not hold: Try the start: The pump moved or could start behind its locks"`, "d"},
		{"Is it over?", "isolation-failed: present", "1"},
	}
	shut := strings.Replace(proved, ", open: [crosshead-cover-off: 2, rod-parted: 2]", "", 1)
	for name, of := range map[string]struct {
		start  string
		moved  []said
		before []said // the steps up to the trying of the start
		after  []said
	}{
		"said by itself, on a pump that was isolated": {
			shut, []said{{"1 done, and it holds 2 The pump moved or could start behind its locks", "", "2"}}, takenOver, isolating,
		},
		"behind a no, while something is open": {
			proved, []said{
				{"Try the start", "", "no"},
				{"You said no: Try the start Was it done, and does it not hold?", "", "b"},
				{"Try the start", "", "n"},
				{"2 it is not done yet, or cannot be", "", "1"},
			}, takenOver, append([]said{{"Something stands open: keep clear of it", "state: isolated", "1"}}, takenOver[1:]...),
		},
		"while it is being isolated": {
			strings.Replace(shut, "isolated", "stopped", 1), []said{{"Try the start", "", "2"}}, isolating, isolating,
		},
	} {
		t.Run(name, func(t *testing.T) {
			c := newCrew(t, of.start)
			before := of.before
			if before[0].shows == takenOver[0].shows {
				before = append(slices.Clone(before), said{"Prove zero pressure", "", "1"})
			}
			c.talks(slices.Concat([]said{{"Does it still stand so?", "", "1"}, {"PROVED", "", "1"}}, before, of.moved, failed, of.after, []said{{"", "isolation-failed: absent", "q"}}))
			if strings.Contains(of.start, "open:") {
				return
			}
			assert.Contains(t, c.file(), "state: stopped", "nothing holds that was done before")
		})
	}
}

// Who only has not tried the start yet says so, and nothing is written.
func TestTheStartNotTriedYet(t *testing.T) {
	c := newCrew(t, proved)
	c.talks(slices.Concat([]said{{"Does it still stand so?", "", "1"}, {"PROVED", "", "1"}}, takenOver, []said{
		{"Prove zero pressure", "", "1"},
		{"Try the start", "", "not done"},
		{"Was it done, and does it not hold?", "", "2"},
		{"Then nobody goes further. What stands behind this step waits", "", "q"},
	}))
	assert.NotContains(t, c.file(), "isolation-failed")
}
