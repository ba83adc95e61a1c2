package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/mattn/go-runewidth"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/words"
	"telltale/engine/practice"
	"telltale/evidence"
	"telltale/rules"
)

// Whole exercises through the command itself: a trainee who reads the menus on
// the screen and types the number that stands before what he wants. What an
// exercise draws may change with every change of the rulebook; what he does is
// worked out from the world that the seed draws.

// trainee sits before the command: what it writes comes in pieces, what he
// types goes out line by line.
type trainee struct {
	t     *testing.T
	s     *practice.Session // for the words of things
	typed *io.PipeWriter
	seen  <-chan []byte
	all   bytes.Buffer // everything that was on the screen
	now   string       // what came since the last answer
	err   bytes.Buffer
	code  chan int
}

const screenColumns = 60

// sits starts an exercise in a world, with more options.
func sits(t *testing.T, w *practice.World, options ...string) *trainee {
	t.Helper()
	in, typed := io.Pipe()
	out, screen := io.Pipe()
	seen := make(chan []byte)
	x := &trainee{t: t, s: practice.Begin(w), typed: typed, seen: seen, code: make(chan int, 1)}
	args := append([]string{"practice", "--seed", fmt.Sprint(w.Seed), "--level", fmt.Sprint(w.Level), "--pump", strings.SplitN(string(w.Action), "-", 2)[0], "--width", fmt.Sprint(screenColumns)}, options...)
	go func() {
		code := Main(args, in, screen, &x.err)
		screen.Close()
		x.code <- code
	}()
	go func() {
		defer close(seen)
		for {
			piece := make([]byte, 4096)
			n, err := out.Read(piece)
			if n > 0 {
				seen <- piece[:n]
			}
			if err != nil {
				return
			}
		}
	}()
	t.Cleanup(func() { typed.Close(); out.Close() })
	x.reads()
	return x
}

// reads reads on to the next prompt; false at the end.
func (x *trainee) reads() bool {
	x.t.Helper()
	x.now = ""
	for {
		select {
		case piece, open := <-x.seen:
			if !open {
				return false
			}
			x.all.Write(piece)
			x.now += string(piece)
			if x.now == "> " || strings.HasSuffix(x.now, "\n> ") {
				return true
			}
		case <-time.After(5 * time.Minute):
			require.FailNow(x.t, "nothing more comes", x.now)
		}
	}
}

// types answers the prompt.
func (x *trainee) types(answer string) {
	x.t.Helper()
	_, err := fmt.Fprintln(x.typed, answer)
	require.NoError(x.t, err)
	x.all.WriteByte('\n') // his Enter
	x.reads()
}

var (
	menuLine = regexp.MustCompile(`^ {0,2}(\w{1,3})  (\S.*)$`)
	asideGap = regexp.MustCompile(` {3,}`) // between what stands beside the answers, on one row
)

// menu gives what can be typed at the prompt, by the text behind it.
func (x *trainee) menu() (keys, texts []string) {
	lines := strings.Split(x.now, "\n")
	for _, line := range lines {
		found := menuLine.FindStringSubmatch(line)
		switch {
		case found != nil && (len(keys) > 0 || strings.Trim(found[1], "0123456789") == ""): // cylinders are typed by their own numbers
			for i, part := range asideGap.Split(found[2], -1) {
				key, text := found[1], part
				if i > 0 {
					key, text, _ = strings.Cut(part, "  ")
				}
				keys, texts = append(keys, key), append(texts, text)
			}
		case len(keys) > 0 && strings.HasPrefix(line, "     "):
			texts[len(texts)-1] += " " + strings.TrimSpace(line)
		}
	}
	return keys, texts
}

// chooses types the key of what reads so, turning pages of a long list.
func (x *trainee) chooses(wanted string) {
	x.t.Helper()
	for range 30 {
		keys, texts := x.menu()
		more := ""
		for i, text := range texts {
			if plainText(text) == plainText(wanted) {
				x.types(keys[i])
				return
			}
			if strings.HasPrefix(text, "more (") || text == "from the first again" {
				more = keys[i]
			}
		}
		require.NotEmpty(x.t, more, "%q is not on the screen:\n%s", wanted, x.now)
		x.types(more)
	}
	require.FailNow(x.t, "not in the list", wanted)
}

func plainText(s string) string { return strings.Join(strings.Fields(s), " ") }

var menuOf = map[practice.Doing]string{
	practice.Safety: "do a safety step", practice.Open: "open something", practice.Check: "do a check",
	practice.Name: "name the cause and the correction", practice.Root: "say what brought a named cause on", practice.Leave: "leave the pump to the driller: the well comes first",
}

// does takes one action by the menus; correction is what is chosen behind a
// name, "" the book's own.
func (x *trainee) does(a practice.Action, correction string) {
	x.t.Helper()
	x.chooses(menuOf[a.Do])
	if a.Do == practice.Leave {
		return
	}
	if strings.Contains(plainText(x.now), "Of which one?") {
		x.chooses(words.Titled(x.s.Title(practice.Name, a.Of.ID), a.Of.Place))
	}
	x.chooses(x.s.Title(a.Do, a.ID))
	if strings.Contains(plainText(x.now), ": where?") {
		x.chooses(strings.TrimPrefix(words.Titled("", a.Place), ", "))
	}
	if strings.Contains(plainText(x.now), "What corrects it?") {
		if correction == "" {
			correction = x.s.Repair(a.ID)
		}
		x.chooses(correction)
	}
	if strings.Contains(plainText(x.now), "Shim under both ends of the lower guide, in thou?") {
		x.types(x.shim())
	}
}

var (
	aboveRod = regexp.MustCompile(`above the rod, thou: back (\d+)`)
	belowRod = regexp.MustCompile(`below the rod, thou: back (\d+)`)
)

// shim is half of what the rod reads above less what it reads below: common
// practice, no source.
func (x *trainee) shim() string {
	read := func(r *regexp.Regexp) float64 {
		found := r.FindStringSubmatch(plainText(x.now))
		require.NotNil(x.t, found, x.now)
		n, err := strconv.ParseFloat(found[1], 64)
		require.NoError(x.t, err)
		return n
	}
	return fmt.Sprint((read(aboveRod) - read(belowRod)) / 2)
}

// gets reads to the end and gives the screen as one text, with its code.
func (x *trainee) gets() string {
	x.t.Helper()
	x.typed.Close()
	for x.reads() {
	}
	require.Zero(x.t, <-x.code, x.err.String())
	assert.Empty(x.t, x.err.String())
	for _, line := range strings.Split(x.all.String(), "\n") {
		assert.LessOrEqual(x.t, runewidth.StringWidth(line), screenColumns, "%q", line)
	}
	return plainText(x.all.String())
}

// follows takes the tool's own way.
func (x *trainee) follows(best *practice.Session) {
	x.t.Helper()
	for _, c := range best.Journal {
		x.does(c.Action, "")
	}
}

// drawn gives the first world whose own way by the tool passes and is wanted.
func drawn(t *testing.T, from uint64, level int, action evidence.Action, wanted func(*practice.Session) bool) (*practice.World, *practice.Session) {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	for seed := from; seed < from+200; seed++ {
		w, err := practice.Draw(book, practice.Setup{Seed: seed, Level: level, Action: action})
		require.NoError(t, err)
		if len(w.Hidden) > mostHidden {
			continue
		}
		best, err := practice.Replay(w)
		require.NoError(t, err)
		if best.Verdict().Passed && best.Minutes() > 0 && wanted(best) {
			return w, best
		}
	}
	require.FailNow(t, "no such world in 200 seeds")
	return nil, nil
}

// mostHidden keeps the exercises that a test plays short.
const mostHidden = 3

// alone: one root that has brought nothing on yet.
func alone(s *practice.Session) bool { return len(s.World.Hidden) == 1 && len(s.Traced()) == 0 }

func anyWay(*practice.Session) bool { return true }

func lastRecord(t *testing.T, file string) practice.Record {
	t.Helper()
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	var r practice.Record
	require.NoError(t, json.Unmarshal([]byte(lines[len(lines)-1]), &r))
	return r
}

// Who does what the tool would do passes on every pump and level: solved, at the
// tool's own minutes, nobody in danger, recorded, and written down as a page.
func TestWhoFollowsTheToolPasses(t *testing.T) {
	t.Parallel()
	file, named, roots := filepath.Join(t.TempDir(), "me.jsonl"), 0, 0
	for _, action := range []evidence.Action{evidence.Triplex, evidence.Duplex} {
		for level := practice.CommonFault; level <= practice.TwoFaults; level++ {
			for _, from := range []uint64{0, 1000} {
				w, best := drawn(t, from, level, action, func(s *practice.Session) bool { return s.End == practice.Solved })
				corrected, known := 0, map[evidence.At]bool{}
				for _, c := range best.Journal {
					at := evidence.At{ID: c.ID, Place: c.Place}
					if (c.Do == practice.Name || c.Do == practice.Root) && c.ID != practice.Nothing && !known[at] {
						corrected++
						known[at] = true
					}
				}
				named += corrected
				html := filepath.Join(t.TempDir(), "review.html")
				x := sits(t, w, "--record", file, "--html", html)
				x.follows(best)
				screen := x.gets()
				assert.Contains(t, screen, "Passed. End: found.")
				assert.Contains(t, screen, "Ratio: 1.00 (1.00 is the tool's own order).")
				assert.NotContains(t, screen, "STOPPED")
				assert.NotContains(t, screen, "Safety faults")
				assert.Contains(t, screen, fmt.Sprintf("Corrections right: %d of %d.", corrected, corrected))
				r := lastRecord(t, file)
				assert.True(t, r.Passed)
				assert.Equal(t, len(w.Troubles()), r.Failures)
				assert.Equal(t, r.RootsAsked, r.RootsRight)
				roots += r.RootsAsked
				assert.Zero(t, r.Faults+r.Unproved)
				assert.InDelta(t, best.Minutes(), r.Minutes, 1e-9)
				assert.InDelta(t, r.BestMinutes, r.Minutes, 1e-9)
				text, err := os.ReadFile(html)
				require.NoError(t, err)
				assert.Contains(t, string(text), "<svg")
				assert.Contains(t, string(text), "The chain of evidence")
			}
		}
	}
	out, errOut, code := run(t, "practice", "--progress", file)
	require.Zero(t, code, errOut)
	assert.Regexp(t, fmt.Sprintf(`all 12/12 12/12 \d+ 1\.00 0 %d/%d .*all 16/16 %d/%d 0`, named, named, roots, roots), plainText(out))
}

// A pot on a running pump is stopped and explained, and fails whatever comes
// after it.
func TestAPotOnARunningPumpFails(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "me.jsonl")
	pot := practice.Action{Do: practice.Open, ID: "valve-pot-open", Place: evidence.Place{Cylinder: "1"}}
	w, best := drawn(t, 0, practice.CommonFault, evidence.Triplex, func(s *practice.Session) bool { return s.World.Pump.State == evidence.Running })
	x := sits(t, w, "--record", file)
	x.does(pot, "")
	told := plainText(x.now)
	assert.Contains(t, told, "STOPPED: THIS IS NOT SAFE YET")
	for _, step := range []string{"Lock every power source off", "Bleed both sides to zero", "Prove zero pressure", "Try the start"} {
		assert.Contains(t, told, step)
	}
	assert.Contains(t, told, "The exercise counts as failed.")
	assert.Contains(t, told, "The pump runs. 0 min spent. Safety faults: 1.")
	x.follows(best)
	screen := x.gets()
	assert.Contains(t, screen, "FAILED, safety faults: 1. End: found.")
	assert.Contains(t, strings.Join(strings.Fields(screen), ""), "Recordedin"+file+".Next:telltalepractice--progress"+file)
	assert.Contains(t, screen, "Open: "+x.s.Title(pot.Do, pot.ID)+", cylinder 1. STOPPED: not safe yet.")
	r := lastRecord(t, file)
	assert.False(t, r.Passed)
	assert.Equal(t, 1, r.Faults)
	assert.InDelta(t, best.Minutes(), r.Minutes, 1e-9, "what was stopped took no time")
}

// A guess at minute 0 with a wrong correction: it ends there, and the review
// says what was missing.
func TestAGuessIsToldWhatWasMissing(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "me.jsonl")
	w, _ := drawn(t, 0, practice.CommonFault, evidence.Duplex, alone)
	x := sits(t, w, "--record", file)
	hidden := w.Hidden[0]
	texts, right := x.s.Corrections(hidden.ID)
	x.does(practice.Action{Do: practice.Name, ID: hidden.ID, Place: hidden.Place}, texts[(right+1)%len(texts)])
	screen := x.gets()
	assert.Contains(t, screen, "It was a guess, and a guess does not pass.")
	assert.Contains(t, screen, "NOT PASSED. End: found.")
	assert.Contains(t, screen, "No proof of: "+plainText(x.s.Title(practice.Name, hidden.ID)))
	assert.Contains(t, screen, "This would have shown it: ")
	assert.Contains(t, screen, "Wrong correction of: "+plainText(x.s.Title(practice.Name, hidden.ID)))
	assert.NotContains(t, screen, "Ratio:")
	r := lastRecord(t, file)
	assert.False(t, r.Passed)
	assert.Equal(t, []int{1, 0, 1}, []int{r.Unproved, r.Corrections, r.CorrectionsAsked})
}

// The rod in its opening: the readings, the shim by the rule of the trade, and
// the tool's own that agrees.
func TestTheShimOfARod(t *testing.T) {
	t.Parallel()
	w, way := rodWorld(t)
	x := sits(t, w)
	for _, a := range way {
		x.does(a, "")
	}
	screen := x.gets()
	assert.Contains(t, screen, "Clearance above the rod, thou: back")
	assert.Contains(t, screen, "Right. Half of (above less below) is")
	assert.Contains(t, screen, "Shims right: 1 of 1.")
	assert.NotContains(t, screen, "STOPPED")
	assert.Contains(t, screen, "Passed. End: found.")
}

// getsTo does an action with what must come before it.
func getsTo(s *practice.Session, a practice.Action) ([]practice.Action, practice.Outcome) {
	var way []practice.Action
	if refused := s.Do(a).Refused; refused != nil {
		for _, n := range refused.Missing {
			way = append(way, practice.Action{Do: n.Do, ID: n.ID, Place: n.Place})
		}
	}
	var out practice.Outcome
	way = append(way, a)
	for _, a := range way {
		out = s.Do(a)
	}
	return way, out
}

// looksAt does a check that exposes one of the failures, and names that.
func looksAt(s *practice.Session, book *rules.Book, failed []evidence.At) []practice.Action {
	for _, at := range failed {
		for _, check := range book.ChecksFor(at.ID) {
			place := check.Level.Of(at.Place)
			if !slices.Contains(s.World.Exposes(check.ID, place), at) {
				continue
			}
			way, out := getsTo(s, practice.Action{Do: practice.Check, ID: check.ID, Place: place})
			if out.Refused == nil {
				name := practice.Action{Do: practice.Name, ID: at.ID, Place: at.Place}
				s.Do(name)
				return append(way, name)
			}
		}
	}
	return nil
}

// rodWorld gives a world in which the rod in its opening stands low or high and
// shows the cause, with the way to measure and to name it.
func rodWorld(t *testing.T) (*practice.World, []practice.Action) {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	for seed := uint64(0); seed < 3000; seed++ {
		w, err := practice.Draw(book, practice.Setup{Seed: seed, Level: practice.AnyFault, Action: evidence.Triplex})
		require.NoError(t, err)
		troubles := w.Troubles()
		root := troubles[0].Root
		measure := practice.Action{Do: practice.Check, ID: "rod-centring", Place: root.Place}
		if len(troubles) > 1 || !slices.Contains(w.Exposes(measure.ID, measure.Place), root) {
			continue
		}
		s := practice.Begin(w)
		way, out := getsTo(s, measure)
		if out.Rod == nil || !out.Rod.Low && !out.Rod.High {
			continue
		}
		way = append(way, practice.Action{Do: practice.Name, ID: root.ID, Place: root.Place})
		s.Do(way[len(way)-1])
		if failed := looksAt(s, book, troubles[0].Failed); len(failed) > 0 {
			way = append(way, failed...)
			of := way[len(way)-1]
			way = append(way, practice.Action{Do: practice.Root, ID: root.ID, Place: root.Place, Of: evidence.At{ID: of.ID, Place: of.Place}})
			s.Do(way[len(way)-1])
		}
		if s.End == practice.Solved {
			return w, way
		}
	}
	require.FailNow(t, "no rod stands low or high in 3000 seeds")
	return nil, nil
}

// The input ends in the middle: the result so far, and no error.
func TestAnExerciseThatIsLeftOffHasItsResult(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "me.jsonl")
	w, best := drawn(t, 0, practice.AnyFault, evidence.Duplex, anyWay)
	x := sits(t, w, "--record", file)
	x.does(best.Journal[0].Action, "")
	screen := x.gets()
	assert.Contains(t, screen, "Not solved. End: the input ended.")
	assert.Equal(t, practice.Broken, lastRecord(t, file).End)
}

// The review takes the place of an older page, never of a case given by mistake.
func TestAReviewReplacesOnlyAPage(t *testing.T) {
	t.Chdir(t.TempDir())
	require.NoError(t, os.WriteFile("case.yaml", []byte(goodCase), 0o600))
	out, said, code := run(t, "practice", "--seed", "1", "--html", "case.yaml")
	assert.Equal(t, exitFile, code, out)
	assert.Contains(t, said, "case.yaml is there and is no page; it is left as it is.")
	left, err := os.ReadFile("case.yaml")
	require.NoError(t, err)
	assert.Equal(t, goodCase, string(left))
	for range 2 {
		_, said, code = run(t, "practice", "--seed", "1", "--html", "review.html")
		assert.Equal(t, exitDone, code, said)
	}
}
