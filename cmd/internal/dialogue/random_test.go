package dialogue

import (
	"fmt"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/rules"
)

// watcher knows only the rulebook and what stands in the file. It wants every
// step of the isolation confirmed, in this sitting and since the pump was last
// closed up, before anything is offered as opened, looked at inside or
// corrected.
type watcher struct {
	t       testing.TB
	book    *rules.Book
	begun   evidence.PumpState // how the pump stood when the sitting began
	since   []int              // lengths of the log when what was confirmed counted no longer
	was     evidence.PumpState
	inside  int64 // how often hands were let in
	checked int64 // how often a check was offered
}

func (w *watcher) sees(screen string, k *evidence.Case) {
	if k == nil {
		return
	}
	if w.begun == "" {
		w.begun, w.was, w.since = k.Pump.State, k.Pump.State, []int{len(k.Log)}
	}
	for len(w.since) > 1 && len(k.Log) < w.since[len(w.since)-1] {
		w.since = w.since[:len(w.since)-1] // gone back
	}
	if w.was == evidence.Isolated && k.Pump.State != evidence.Isolated && !strings.HasPrefix(lastDone(k), "confirmed: ") {
		w.since = append(w.since, len(k.Log))
	}
	w.was = k.Pump.State
	if w.handsIn(screen) {
		w.inside++
		w.guarded(screen, k)
	}
}

func lastDone(k *evidence.Case) string {
	if len(k.Log) == 0 {
		return ""
	}
	return k.Log[len(k.Log)-1].Did
}

// handsIn says whether the screen offers something to be done inside.
func (w *watcher) handsIn(screen string) bool {
	if strings.Contains(screen, "it is open now") || strings.Contains(screen, "Only behind the isolation.") {
		return true
	}
	if !strings.Contains(screen, "What came out?") {
		return false
	}
	w.checked++
	flat := strings.Join(strings.Fields(screen), " ")
	for _, c := range w.book.Checks.List {
		if c.Pump == rules.NeedsIsolated && strings.Contains(flat, ") "+c.Title) {
			return true
		}
	}
	return false
}

// opensGuarded wants the guards that an opening names confirmed too, and open
// what stands before it.
func (w *watcher) opensGuarded(screen string, k *evidence.Case, confirmed []string) {
	flat := strings.Join(strings.Fields(screen), " ")
	if !strings.Contains(flat, "it is open now") {
		return
	}
	for _, a := range w.book.Openings.List {
		if !strings.Contains(flat, ") "+a.Title) {
			continue
		}
		for _, id := range a.Safety {
			if s := w.book.Safety.Get(id); s.When.Holds(k, w.book) {
				require.Contains(w.t, confirmed, s.Title, screen)
			}
		}
		for _, id := range a.Needs {
			require.True(w.t, slices.ContainsFunc(k.Pump.Open, func(at evidence.At) bool { return at.ID == id }), screen)
		}
	}
}

func (w *watcher) guarded(screen string, k *evidence.Case) {
	require.Equal(w.t, evidence.Isolated, k.Pump.State, screen)
	since := min(w.since[len(w.since)-1], len(k.Log))
	var confirmed []string
	for _, entry := range k.Log[since:] {
		if title, ok := strings.CutPrefix(entry.Did, "confirmed: "); ok {
			confirmed = append(confirmed, title)
		}
	}
	provedBefore := w.begun == evidence.Isolated && len(w.since) == 1
	for _, s := range w.book.Safety.List {
		if s.For == rules.ForIsolation && (s.InFull || !provedBefore) && s.When.Holds(k, w.book) {
			require.Contains(w.t, confirmed, s.Title, screen)
		}
		if s.TakenOver != nil && provedBefore && s.When.Holds(k, w.book) {
			require.Contains(w.t, confirmed, s.TakenOver.Title, screen)
		}
	}
	w.opensGuarded(screen, k, confirmed)
}

var offered = regexp.MustCompile(`(?m)(?:^ {0,2}|   )(\w+)  \S`)

// anyAnswer is something that a tired hand may type: mostly what is offered,
// mostly going on, sometimes a slip.
func anyAnswer(r *rand.Rand, screen string) string {
	var numbers, keys []string
	for _, m := range offered.FindAllStringSubmatch(screen, -1) {
		if _, err := strconv.Atoi(m[1]); err == nil {
			numbers = append(numbers, m[1])
			continue
		}
		keys = append(keys, m[1])
	}
	keys = slices.DeleteFunc(keys, func(k string) bool { return k == "q" })
	switch n := r.IntN(20); {
	case n == 0:
		return []string{"", "77", "leak", "1 2", "1 3 q", "\x1b[A", "knock loud", "-1", "泥"}[r.IntN(9)]
	case n < 4 && len(keys) > 0:
		return keys[r.IntN(len(keys))]
	case strings.Contains(screen, "DANGER") || n < 10:
		return "1"
	case len(numbers) > 0:
		return numbers[r.IntN(len(numbers))]
	}
	return "Larkspur"
}

// randomTalks is how many talks are held; TELLTALE_TALKS=40 makes it forty.
func randomTalks() int {
	if n, err := strconv.Atoi(os.Getenv("TELLTALE_TALKS")); err == nil {
		return n
	}
	return 3
}

const answersOfATalk = 40

// Whatever is answered: the file can be read after every answer, the talk ends,
// nothing is too wide or too long for the screen, and no hand goes in before
// every step of the isolation was confirmed.
func TestRandomTalks(t *testing.T) {
	starts := []string{"", proved, failed}
	for _, action := range evidence.Actions() {
		for _, state := range evidence.PumpStates() {
			for _, sign := range []string{"knock: once-per-turn", "pressure-low: fell-slowly", "crosshead-hot: present"} {
				starts = append(starts, fmt.Sprintf("pump: {action: %s, state: %s}\nfindings:\n  %s\n", action, state, sign))
			}
		}
	}
	var inside, checked atomic.Int64
	t.Run("talks", func(t *testing.T) {
		for seed := range randomTalks() {
			t.Run(strconv.Itoa(seed), func(t *testing.T) {
				t.Parallel()
				r := rand.New(rand.NewPCG(18, uint64(seed)))
				c := newCrew(t, starts[seed%len(starts)])
				for range 2 { // left and taken up again
					w := &watcher{t: t, book: c.book}
					c.chats(r, w)
					inside.Add(w.inside)
					checked.Add(w.checked)
				}
				narrow(t, c.all.String(), 60)
			})
		}
	})
	assert.Positive(t, inside.Load(), "the talks come to openings and inside checks")
	assert.Positive(t, checked.Load())
}

// chats holds one sitting with random answers.
func (c *crew) chats(r *rand.Rand, w *watcher) {
	answered := 0
	c.answer = func(screen string) (string, bool) {
		require.Less(c.t, strings.Count(screen, "\n"), 24, screen)
		w.sees(screen, c.parsed())
		if strings.HasSuffix(screen, "-- Enter for more -- ") {
			return "", true
		}
		answered++
		return anyAnswer(r, screen), answered < answersOfATalk/2
	}
	require.NoError(c.t, c.sit(60, 24))
}
