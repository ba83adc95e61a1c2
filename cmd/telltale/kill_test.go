package main

import (
	"bytes"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// kills is how often the conversation is killed; TELLTALE_KILLS=1000 makes it a
// thousand times.
func kills() int {
	if n, err := strconv.Atoi(os.Getenv("TELLTALE_KILLS")); err == nil {
		return n
	}
	return 15
}

// timeLeft fails a test that go test is about to end, and says how far it came: what
// it ends at its -timeout says only that.
func timeLeft(t *testing.T, done int) {
	t.Helper()
	if end, bound := t.Deadline(); bound && time.Until(end) < 20*time.Second {
		t.Fatalf("%d of %d kills, nothing lost so far; for more give go test a longer -timeout", done, kills())
	}
}

// The answers of one talk: a new case, a told sign at one cylinder, and the first
// answer to what comes then.
var talk = []string{"1", "Larkspur pump 2", "1", "wiper on 2 leaks again", "y", "", "1", "1", "1", "1", "1", "1"}

// promptCounter counts the prompts that a talk has written.
type promptCounter struct{ seen atomic.Int64 }

func (p *promptCounter) Write(b []byte) (int, error) {
	p.seen.Add(int64(bytes.Count(b, []byte("> "))))
	return len(b), nil
}

// start runs ask in a folder and feeds it an answer at each prompt.
func start(t *testing.T, binary, dir string, answers []string, between func(answered int)) (*exec.Cmd, *promptCounter) {
	t.Helper()
	cmd := exec.Command(binary, "ask", "--width", "80", "case.yaml")
	cmd.Dir = dir
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	prompts := &promptCounter{}
	cmd.Stdout = prompts
	require.NoError(t, cmd.Start())
	go func() {
		for i, answer := range answers {
			for prompts.seen.Load() <= int64(i) {
				time.Sleep(time.Millisecond)
			}
			between(i)
			if _, err := io.WriteString(in, answer+"\n"); err != nil {
				return // killed
			}
		}
		in.Close()
	}()
	return cmd, prompts
}

// However the conversation is killed, the file holds a state of the talk that
// is no older than the last prompt that was seen: no answered question is
// lost, and no half answer is there.
func TestNoAnsweredQuestionIsLost(t *testing.T) {
	binary := built(t)

	// What the file holds before each answer of an undisturbed talk.
	dir := t.TempDir()
	var states []string
	cmd, _ := start(t, binary, dir, talk, func(int) { states = append(states, fileText(dir)) })
	require.NoError(t, cmd.Wait())
	states = append(states, fileText(dir))
	require.Len(t, states, len(talk)+1)

	r := rand.New(rand.NewPCG(uint64(os.Getpid()), 1))
	for n := range kills() {
		timeLeft(t, n)
		dir := t.TempDir()
		cmd, prompts := start(t, binary, dir, talk, func(int) {})
		time.Sleep(time.Duration(r.IntN(600)) * time.Millisecond)
		seen := int(prompts.seen.Load())
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		got := fileText(dir)
		at := slices.Index(states[max(0, seen-1):], got)
		assert.GreaterOrEqual(t, at, 0, "after %d prompts the file holds:\n%s", seen, got)
		leftovers, err := filepath.Glob(filepath.Join(dir, "*"))
		require.NoError(t, err)
		for _, name := range leftovers {
			assert.False(t, strings.HasSuffix(name, ".yaml") && filepath.Base(name) != "case.yaml", name)
		}
	}
}

var moment = regexp.MustCompile(`at: \S+Z`)

// fileText gives the case file without the moments in its log, which are others
// in each talk.
func fileText(dir string) string {
	text, err := os.ReadFile(filepath.Join(dir, "case.yaml"))
	if err != nil {
		return ""
	}
	return moment.ReplaceAllString(string(text), "at: then")
}

// Ctrl-C ends a talk with a true word of what is in the file, and with the exit
// code of a shell: 128 and the number of the signal (POSIX.1-2017, XCU 2.8.2 and
// the usual value).
func TestInterruptedSaysWhatIsWritten(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("a process there cannot be sent an interrupt")
	}
	binary := built(t)
	for name, c := range map[string]struct {
		typed   string
		prompts int
		says    string
		holds   string
	}{
		"before anything":  {"", 1, "Nothing was written: there is no case.yaml yet.", ""},
		"begun":            {"1\n", 2, "Nothing was written: there is no case.yaml yet.", ""},
		"all answered":     {"1\n\n1\n", 4, "Everything that was answered is in case.yaml.", "state: running"},
		"told, not agreed": {"1\n\n1\nwiper on two leaks again\n", 5, "but for the answer that was begun last: that is NOT", "state: running"},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			cmd := exec.Command(binary, "ask", "--width", "80", "case.yaml")
			cmd.Dir = dir
			in, err := cmd.StdinPipe()
			require.NoError(t, err)
			shown := &screen{}
			cmd.Stdout = shown
			require.NoError(t, cmd.Start())
			_, err = io.WriteString(in, c.typed)
			require.NoError(t, err)
			require.Eventually(t, func() bool { return strings.Count(shown.text(), "> ") >= c.prompts }, time.Minute, 5*time.Millisecond)
			require.NoError(t, cmd.Process.Signal(os.Interrupt))
			var ended *exec.ExitError
			require.ErrorAs(t, cmd.Wait(), &ended)
			assert.Equal(t, 130, ended.ExitCode())
			assert.Contains(t, shown.text(), c.says)
			assert.Contains(t, fileText(dir), c.holds)
			assert.NotContains(t, fileText(dir), "wiper")
		})
	}
}

// screen keeps what a process writes while it runs.
type screen struct {
	mu  sync.Mutex
	all bytes.Buffer
}

func (s *screen) Write(b []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.all.Write(b)
}

func (s *screen) text() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.all.String()
}
