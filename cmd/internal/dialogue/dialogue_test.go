package dialogue

import (
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const proved = `pump: {name: Larkspur pump 2, action: triplex-single-acting, state: isolated, open: [crosshead-cover-off: 2, rod-parted: 2]}
findings:
  wiper-leaks: {again: [2], absent: others}   # by the derrickhand
  rod-joint-out-of-line: {present: [2]}
confirmed: [rod-clamp-misfitted: 2]
`

// provedToo is the same with what failed by it put right already; in provedAndRight
// what brought it on is put right too.
var (
	provedToo      = strings.Replace(proved, "confirmed: [rod-clamp-misfitted: 2]\n", "confirmed: [rod-clamp-misfitted: 2, wiper-worn-out: 2]\ncorrected: [wiper-worn-out: 2]\nlooked-again: [wiper-worn-out: 2]\n", 1)
	provedAndRight = strings.ReplaceAll(provedToo, ": [wiper-worn-out: 2]", ": [wiper-worn-out: 2, rod-clamp-misfitted: 2]")
)

// A new case from the first word: each answer is in the file before the next
// question is on the screen.
func TestEveryAnswerIsWrittenBeforeTheNextQuestion(t *testing.T) {
	c := newCrewOnSmallBook(t)
	c.talks([]said{
		{"What pump is it, and how does it stand?", "", "1 2"},
		{"What pump is it?", "", "1"},
		{"Its name?", "", "Larkspur pump 2"},
		{"How does it stand now?", "", "1"},
		{"Tell what you saw, in your own words.", "state: running", "list"},
		{"What was noticed?", "", "zebra"},
		{`No sign of the rulebook has a word of "zebra"`, "", "77"},
		{"There is no number 77 here", "", "the pump is knocking"},
		{"1 Knock", "", "leaking wiper"},
		{"Wiper leaks", "", "1"},
		{"Where?", "name: Larkspur pump 2", "2 9"},
		{`"2 9" is no answer here`, "", "2"},
		{"At cylinder 2, how?", "", "b"},
		{"Where?", "", "2"},
		{"At cylinder 2, how?", "", "1"},
		{"And the others (1, 3)?", "", "1"},
		{"In the last days: was work done on this pump", "wiper-leaks: {again: [2], absent: [1, 3]}", "1"},
		{"What was it?", "", "2 1"},
		{"What passes the wiper", "recent: [piston-changed, wipers-changed]", "b"},
		{"In the last days: was work done on this pump", "again: [2], absent: [1, 3]}", "2"},
		{"What passes the wiper", "", "d"},
		{"Do pistons fail often here", "wiper-passes", "?"},
		{"The answers point to different things", "", "d"},
		{"Does it knock?", "pistons-fail-often: unknown", "d"},
		{"does a rod wander", "knock: {unknown: [2]}", "all of them"},
		{"DANGER: Stop the pump Stop it.", "rod-wobbles: {present: [1, 2, 3]}", "q"},
	})
	assert.Equal(t, `pump:
  action: triplex-single-acting
  state: running
  name: Larkspur pump 2
findings:
  wiper-leaks: {again: [2], absent: [1, 3]}
  wiper-passes: {unknown: [2]}
  pistons-fail-often: unknown
  knock: {unknown: [2]}
  rod-wobbles: {present: [1, 2, 3]}
`, c.file())
}

// A stop interrupts in the middle of an answer, and comes first when the case is
// taken up again.
func TestAStopInterruptsAtOnce(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {wiper-leaks: {again: [2]}}\n")
	rest := c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"In the last days", "", "d"},
		{"report", "", "report"},
		{"What else was noticed?", "", "broken rod"},
		{"Rod broken", "", "1"},
		{"Where?", "", "3"},
		{"STOP FIRST DANGER, AT ONCE: A rod is broken", "rod-broken: {present: [3]}", "b"},
		{"report", "wiper-leaks", "report"},
		{"What else was noticed?", "", "broken rod"},
		{"Rod broken", "", "1"},
		{"Where?", "", "3"},
	})
	assert.Contains(t, rest, "STOP FIRST")
	c.talks([]said{
		{"STOP FIRST DANGER, AT ONCE: A rod is broken", "", "1"},
		{"Findings so far: 2.", "", "1"},
		{"NEXT STEP (3 MIN) DANGER: Stop the pump", `did: "read the stop condition: A rod is broken"`, "n"},
		{"Then nobody goes further", "", "q"},
	})
}

// The pump waits for the well, over a break too, until it is said to be over.
func TestTheWellComesFirst(t *testing.T) {
	c := newCrew(t, "pump: {action: duplex-double-acting, state: running}\nfindings: {pressure-low: steady, pit-gain: present}\n")
	for range 2 {
		c.talks([]said{
			{"STOP FIRST DANGER, AT ONCE: The well may be flowing", "", "1"},
			{"Does it still stand so?", "", "1"},
			{"The pump waits until the stop condition is over. Nothing more is asked now.", "", "q"},
		})
	}
	c.talks([]said{
		{"STOP FIRST", "", "1"},
		{"Does it still stand so?", "", "1"},
		{"it is over, and the person in charge of it says so", "pit-gain: present", "2"},
		{"In the last days", "said to be over: The well may be flowing", "2"},
		{"Likeliest now:", "", "q"},
	})
	assert.NotContains(t, c.file(), "pit-gain")
	assert.Contains(t, c.file(), "pressure-low: steady")
}

// A check that finds the well flowing stops the talk at once: nobody is asked
// for a proof, and the case says so to whoever reads it next.
func TestAFlowingWellNeedsNoProof(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {pressure-low: fell-suddenly}\n")
	c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"In the last days", "", "2"},
		{"? why", "", "no more questions"},
		{"What did the gauges say?", "", "d"},
		{"Stay outside the guards", "", "1"},
		{"Stay clear of pressure", "", "1"},
		{"Mind the classified area", "", "1"},
		{"Pit volume and flow from the well", "", "2"},
		{"STOP FIRST DANGER, AT ONCE: The well may be flowing", "confirmed:", "1"},
		{"The pump waits until the stop condition is over.", "", "2"},
		{"", "said to be over: The well may be flowing", "q"},
	})
	assert.NotContains(t, c.file(), "\nconfirmed:")
}

// From a proved cause through the isolation, the repair and the look again to
// the running pump. What was owed because the rods were parted is not lost when
// they are joined; the case does not call the pump isolated once it is closed.
func TestFromProvedToRunning(t *testing.T) {
	c := newCrew(t, provedToo)
	c.talks(slices.Concat([]said{
		{"yes, it is still isolated; before hands go in that is proved again", "", "1"},
		{"PROVED Rod clamp badly fitted", "", "1"},
	}, takenOver, []said{
		{"Prove zero pressure", "", "who"},
		{"The name or initials", "", "JK"},
		{"who confirms: JK", "", "1"},
		{"Try the start", `by: JK, did: "confirmed: Prove zero pressure"`, "1"},
		{"Secure crosshead and crank against moving", "", "1"},
		{"Fingers out when rods come together", "", "1"},
		{"Only behind the isolation.", "", "1"},
		{"LOOK AGAIN Corrected: Rod clamp badly fitted", "corrected:", "2"},
		{"Only behind the isolation.", "looked at again, NOT right", "1"},
		{"LOOK AGAIN", "corrected:", "1"},
		{"CLOSING UP Measure again what was corrected", "looked-again:", "n"},
		{"Then the pump stays as it is.", "rod-parted: 2", "1"},
		{"Join the extension rod and the piston rod, cylinder 2", "", "1"},
		{"Rod joints made up", "rod-parted: 2", "1"},
		{"Measure what only shows with the rods joined", "", "1"},
		{"Bar one full turn by hand", "", "1"},
		{"Tools, rags and people out", "", "1"},
		{"Close the rod space", "", "1"},
		{"Put the crosshead cover back", "state: isolated", "1"},
		{"All covers and guards on", "state: stopped", "1"},
		{"Open a flow path", "", "1"},
		{"Locks off by their owners", "", "1"},
		{"Helper pumps on first", "", "1"},
		{"Start slow", "", "1"},
		{"Look again in the first hour", "state: stopped", "1"},
		{"Look again at the next planned stop", "", "noted for then"},
		{"DONE", "state: running", "1"},
	}))
	assert.NotContains(t, c.file(), "open:")
	assert.Contains(t, c.file(), "# by the derrickhand")
}

// A gauge on a line that the other pump keeps live: the pump is neither stopped
// nor isolated for it, and its own line is shut and proved at zero first.
func TestARepairBehindItsOwnLine(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {gauges-disagree: present}\nconfirmed: [gauge-faulty]\n")
	c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"PROVED Pressure gauge or sensor wrong", "", "correct it now, behind its own line, shut, locked and at zero"},
		{"Isolate the line that it sits on", "", "1"},
		{"Prove that line at zero", "confirmed: Isolate the line", "1"},
		{"The isolation of the pump is not enough for this. Only after: Isolate the line that it sits on; Prove that line at zero.", "state: running", "1"},
		{"LOOK AGAIN Corrected: Pressure gauge", "corrected:", "1"},
		{"DONE", "state: running", "1"},
	})
}

// What a repair needs opened besides comes with its guards and what stands
// before it, is open in the case, and is closed again.
func TestARepairOpensWhatItNeeds(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: isolated}\nfindings: {hiss: {1: suction-stroke}}\nconfirmed: [discharge-valve-cut: 1]\n")
	c.talks(slices.Concat([]said{
		{"Does it still stand so?", "", "1"},
		{"PROVED", "", "1"},
	}, takenOver, []said{
		{"Prove zero pressure", "", "1"},
		{"Try the start", "", "1"},
		{"Secure crosshead and crank", "", "1"},
		{"Only behind the isolation.", "", "3"},
		{"What must be opened?", "", "open the valve pot, cylinder 1"},
		{"Ease every cover as if it were under pressure", "", "1"},
		{"Open the valve pot, cylinder 1", "", "n"},
		{"Only behind the isolation.", "", "1"},
		{"By the case nothing is open there.", "", "2"},
		{"What must be opened?", "", "open the valve pot, cylinder 1"},
		{"Open the valve pot, cylinder 1", "", "1"},
		{"Only behind the isolation.", "open: [valve-pot-open: 1]", "1"},
		{"LOOK AGAIN", "corrected:", "1"},
		{"CLOSING UP", "", "1"},
		{"Tools, rags and people out", "", "1"},
		{"Close the valve pot, cylinder 1", "", "q"},
	}))
}

// Left in the middle of the closing up: the way back begins again, behind an isolation
// that is seen again.
func TestClosingUpTakenUpAgain(t *testing.T) {
	c := newCrew(t, provedAndRight)
	for range 2 {
		c.talks(slices.Concat([]said{{"Does it still stand so?", "", "1"}}, takenOver, []said{
			{"Prove zero pressure", "", "1"}, {"Try the start", "", "1"}, {"Secure crosshead and crank", "", "1"},
			{"CLOSING UP Measure again", "", "1"}, {"Join the extension rod", "", "1"}, {"Rod joints made up", "", "q"},
		}))
	}
	shut := strings.Replace(c.file(), ", open: [crosshead-cover-off: 2, rod-parted: 2]", "", 1)
	shut = strings.Replace(shut, "isolated", "stopped", 1)
	require.NoError(t, os.WriteFile(c.path, []byte(shut), 0o600))
	c.talks([]said{{"Does it still stand so?", "", "1"}, {"Get ready to isolate", "state: stopped", "q"}})
}

// A cause away from the pump is put right without the isolation; one that was
// proved by mistake is taken back.
func TestProvedButNotInThePump(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {pressure-low: fell-slowly}\nconfirmed: [string-washout]\n")
	c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"PROVED Washout in the drill string", "", "4"},
		{"LOOK AGAIN", "corrected without touching the pump", "1"},
		{"Found, corrected, looked at again", "looked-again:", "q"},
	})
	c = newCrew(t, proved)
	c.talks([]said{{"Does it still stand so?", "", "1"}, {"What now?", "", "9"}, {`"9" is no answer here`, "", "3"}, {"In the last days", "not proved after all", "2"}, {"Likeliest now", "", "q"}})
	assert.NotContains(t, c.file(), "\nconfirmed:")
}

// The result of a check that proves nothing is followed up: the signs that it
// shows go into the case.
func TestResultsLeadOn(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {gauge-kick: present}\n")
	c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"In the last days", "", "2"},
		{"? why", "", "no more questions"},
		{"Stay outside the guards", "", "1"},
		{"Stay clear of pressure", "", "1"},
		{"Mind the classified area", "", "1"},
		{"Wash at the back of each liner, cylinder 1", "", "n"},
		{"Wash at the back of each liner, cylinder 2", "", "n"},
		{"Wash at the back of each liner, cylinder 3", "", "n"},
		{"Round with the listening rod", "", "2"},
		{"on which stroke does this chamber hiss?", "listen-round: unclear", "3"}, // hearing proves nothing: no question of proof
		{"At cylinder 3, how?", "", "2"},
		{"And the others", "", "1"},
		{"", "hiss: {suction-stroke: [3], absent: [1, 2]}", "q"},
	})
}

// Back gives the file back byte for byte, as often as it was answered.
func TestBackRestoresTheFile(t *testing.T) {
	start := "pump: {action: triplex-single-acting,   state: running}  # sic\nfindings:\n    wiper-leaks: {again: [2], absent: others}\n"
	c := newCrew(t, start)
	answers := []string{"d", "1", "1", "1", "1", "1", "1"}
	texts, n, undone := []string{}, 0, 0
	c.answer = func(screen string) (string, bool) {
		switch {
		case strings.Contains(screen, "Does it still stand so?"):
			return "1", true
		case n < len(answers):
			if len(texts) == 0 || texts[len(texts)-1] != c.file() {
				texts = append(texts, c.file())
			}
			n++
			return answers[n-1], true
		case strings.Contains(screen, "nothing to go back to"):
			return "", false
		}
		if now := c.file(); len(texts) > 0 && now == texts[len(texts)-1] {
			texts = texts[:len(texts)-1]
			undone++
		}
		return "b", true
	}
	require.NoError(t, c.sit(80, 0))
	assert.Empty(t, texts, "each state came back, the first last")
	assert.GreaterOrEqual(t, undone, 4)
	assert.Equal(t, start, c.file())
}

// Somebody edits the file while a question is open: his words stand, the answer
// is not written and is asked for again.
func TestAHandEditInBetween(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\nrecent: [mud-changed]\nfindings:\n  wiper-leaks: {again: [2]}\n")
	n := 0
	c.answer = func(screen string) (string, bool) {
		n++
		switch n {
		case 1:
			return "1", true
		case 2:
			require.NoError(t, os.WriteFile(c.path, []byte(c.file()+"  sand-high: present   # the mud man\n"), 0o600))
			return "d", true
		case 3:
			assert.Contains(t, strings.Join(strings.Fields(screen), " "), "Your last answer was NOT written; please answer again.")
			assert.NotContains(t, c.file(), "unknown")
			return "d", true
		case 4:
			assert.Contains(t, c.file(), "unknown")
			assert.Contains(t, c.file(), "  sand-high: present   # the mud man\n")
			return "b", true
		}
		assert.NotContains(t, c.file(), "unknown")
		assert.Contains(t, c.file(), "# the mud man")
		return "", false
	}
	require.NoError(t, c.sit(80, 0))
	assert.Equal(t, 5, n)

	n = 0
	c.answer = func(string) (string, bool) {
		if n++; n == 2 {
			require.NoError(t, os.WriteFile(c.path, []byte("pump: [\n"), 0o600))
		}
		return "1", n < 9
	}
	require.Error(t, c.sit(80, 0), "what cannot be read is not written over")
	assert.Equal(t, "pump: [\n", c.file())
}

// Answers that cannot be true together end no talk: the last is taken back, or
// any of them is put right.
func TestAnImpossibleCaseIsPutRight(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {gauge-kick: present}\nruled-out: [sandy-mud]\n")
	c.book.Signs.Get("sand-high").Background = 0 // in this book sand has its one cause or does not show
	c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"In the last days", "", "2"},
		{"? why", "", "report"},
		{"What else", "", "sand content"},
		{"Sand content high", "", "1"},
		{"Is the sand content above", "", "yes"},
		{"It goes no further like this:", "sand-high: present", "b"},
		{"? why", "", "report"},
		{"What else", "", "sand content"},
		{"Sand content high", "", "1"},
		{"Is the sand content above", "", "yes"},
		{"It goes no further like this:", "sand-high: present", "q"},
	})
	c.talks([]said{
		{"Does it still stand so?", "", "1"},
		{"It goes no further like this:", "", "b"},
		{"There is nothing to go back to in this sitting.", "", "report"},
		{"Which sign?", "", "sand content"},
		{"Sand content high (answered; to put it right)", "", "1"},
		{"Is the sand content above", "", "no"},
		{"In the last days", "sand-high: absent", "q"},
	})
}

// Signs are found by words, also with another ending, the usual ones first; one
// that only makes sense after another is offered without words only once that
// shows.
func TestSignsAreFoundByWords(t *testing.T) {
	c := newCrew(t, "")
	found := func(findings, words string) (ids []string) {
		s := NewState()
		r, err := (&Talk{Book: c.book, File: "case.yaml", Now: noon}).round([]byte("pump: {action: triplex-single-acting, state: running}\n"+findings), &s)
		require.NoError(t, err)
		for _, s := range r.reportable(words) {
			ids = append(ids, s.ID)
		}
		return ids
	}
	quiet, knocks := "findings: {pressure-low: steady}", "findings: {knock: irregular}"
	assert.Equal(t, "wiper-leaks", found("", "wiper leak")[0])
	assert.Equal(t, found("", "wiper leak"), found("", "leaking wipers"))
	assert.NotEmpty(t, found("", "wiper zebra"), "one of the words")
	assert.Empty(t, found("", "zebra"))
	assert.NotContains(t, found(quiet, ""), "knock-when-slower")
	assert.Contains(t, found(knocks, ""), "knock-when-slower")
	assert.Equal(t, "knock", found(quiet, "knock")[0])
	assert.Contains(t, found(quiet, "knock"), "knock-when-slower")
}

// A sign that is answered at some places is asked at the others; each answer of before
// is put right by itself, and the others stand.
func TestAnAnswerAtOnePlaceIsPutRight(t *testing.T) {
	c := newCrew(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {knock: irregular, wiper-leaks: {again: [2]}}\nrecent: [mud-changed]\n")
	for _, to := range []struct{ was, answer, file string }{
		{"again soon after it was changed", "no", "wiper-leaks: {absent: [2]}"},
		{"no", "1", "wiper-leaks: {again: [2]}"},
	} {
		c.talks([]said{
			{"Does it still stand so?", "", "1"},
			{"report", "", "report"},
			{"What", "", "wiper leaks"},
			{"Wiper or seal of the diaphragm housing leaks", "", "1"},
			{"d don't know 5 put right: cylinder 2, " + to.was, "", "5"},
			{"Cylinder 2: ", "", to.answer},
			{"", to.file, "q"},
		})
	}
}
