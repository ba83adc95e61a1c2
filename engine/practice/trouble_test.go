package practice

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// chained is a book of its own in which the turning pump wears the guides, and a
// worn guide shakes the clamp loose; then the wiper leaks for the first time.
func chained(t testing.TB) *rules.Book {
	t.Helper()
	book := smallBook(t)
	book.Causes.Get("turns-in-reverse").Brings = []rules.Bring{{Cause: "guide-worn", Often: 0.3}}
	book.Causes.Get("guide-worn").Brings = []rules.Bring{{Cause: "clamp-loose", Often: 0.5, Shows: []rules.Link{{Sign: "wiper-leaks", Total: 0.9, Kinds: []float64{0, 0.9}}}}}
	book.Causes.Get("clamp-loose").Role = rules.Failure
	return book
}

var one = evidence.Place{Cylinder: "1"}

// chain hides a loose clamp that a worn guide brought on, which the turning pump
// had brought on.
func chain(t testing.TB) *World {
	book := chained(t)
	w := faultless(book, Setup{Level: AnyFault, Action: evidence.Triplex})
	w.hide(evidence.At{ID: "turns-in-reverse"})
	guide := w.put(evidence.At{ID: "guide-worn", Place: one}, 0, &book.Causes.Get("turns-in-reverse").Brings[0])
	w.put(evidence.At{ID: "clamp-loose", Place: one}, guide, &book.Causes.Get("guide-worn").Brings[0])
	w.signs = map[evidence.At]Sign{}
	w.expose = map[evidence.At][]int{{ID: "see-it-turn"}: {0}, {ID: "try-clamp", Place: one}: {1, 2}}
	return w
}

// What one cause brings on, against an enumeration of every outcome: at each of
// three cylinders a guide with 0.3, and behind a worn guide the clamp with 0.5;
// given that one guide at least was worn.
func TestBringsComeAsOftenAsTheBookSays(t *testing.T) {
	w := faultless(chained(t), Setup{Level: AnyFault, Action: evidence.Triplex})
	random := rand.New(rand.NewPCG(3, 1))
	const draws = 20000
	counts := map[[3]int]float64{}
	for range draws {
		w.hide()
		w.begin(random, start{Instance: instance(t, w, "turns-in-reverse")}, true)
		var state [3]int // 1 the guide, 2 the clamp as well
		for _, at := range w.Hidden {
			if at.ID != "turns-in-reverse" {
				state[at.Place.Cylinder[0]-'1']++
			}
		}
		counts[state]++
	}
	chance := [3]float64{0.7, 0.15, 0.15}
	sum, free := 0.0, -1
	for i := range 27 {
		state := [3]int{i / 9, i / 3 % 3, i % 3}
		p := chance[state[0]] * chance[state[1]] * chance[state[2]] / (1 - 0.7*0.7*0.7)
		if i == 0 {
			assert.Zero(t, counts[state])
			continue
		}
		e := draws * p
		sum += (counts[state] - e) * (counts[state] - e) / e
		free++
	}
	require.Equal(t, 25, free)
	assert.Less(t, sum, 52.6, "chi-square with 25 degrees, one in a thousand (table, from memory)")
}

func instance(t *testing.T, w *World, cause string) (in chances.Instance) {
	among, err := w.among()
	require.NoError(t, err)
	for _, s := range among {
		if s.Cause.ID == cause {
			return s.Instance
		}
	}
	t.Fatal(cause)
	return
}

// How a failure shows hangs on what brought it on: by itself the wiper leaks again
// and again, brought on it leaks for the first time.
func TestASignIsDrawnAsTheFailureCame(t *testing.T) {
	w := chain(t)
	random := rand.New(rand.NewPCG(4, 1))
	kinds := func() map[string]int {
		out := map[string]int{}
		for range 2000 {
			w.drawSigns(random)
			out[w.Sign("wiper-leaks", one).Kind]++
		}
		return out
	}
	w.book.Signs.Get("wiper-leaks").Background = 0
	w.sources = w.sources[2:] // the clamp alone, as it was brought on
	w.sources[0].under = -1
	brought := kinds()
	assert.Zero(t, brought["again"])
	assert.InDelta(t, 1800, brought["first"], 60)
	w.sources[0].bring = nil
	own := kinds()
	assert.Zero(t, own["first"])
	assert.InDelta(t, 1200, own["again"], 90)
}

// An exercise is over when what failed and what brought it on are named, in either
// order; the cause between the two is not the last.
func TestTheRootIsNamedToo(t *testing.T) {
	w := chain(t)
	failed := Action{Do: Name, ID: "clamp-loose", Place: one}
	turning := Action{Do: Root, ID: "turns-in-reverse", Of: failed.at()}
	look, try := Action{Do: Check, ID: "see-it-turn"}, Action{Do: Check, ID: "try-clamp", Place: one}

	s := Begin(w)
	do(t, s, look, try, failed)
	assert.Equal(t, Running, s.End, "the failure alone is not all")
	assert.Equal(t, []evidence.At{failed.at()}, s.WithoutRoot())
	out := s.Do(Action{Do: Root, ID: "guide-worn", Place: one, Of: failed.at()})
	assert.True(t, out.There && out.Between && out.Proved)
	assert.False(t, out.Right)
	assert.Equal(t, Running, s.End)
	out = s.Do(turning)
	assert.True(t, out.There && out.Right && out.Proved)
	assert.Equal(t, Solved, s.End)
	assert.True(t, s.Verdict().Passed)

	s = Begin(w)
	do(t, s, look, Action{Do: Name, ID: "turns-in-reverse"}, try, failed)
	assert.Equal(t, Running, s.End)
	do(t, s, turning)
	assert.True(t, s.Verdict().Passed, "the root first is as good")

	s = Begin(w)
	do(t, s, look, try, failed)
	s.Stop(GaveUp)
	v := s.Verdict()
	assert.False(t, v.Passed)
	assert.Equal(t, []Stopped{{Failed: failed.at(), Way: []evidence.At{{ID: "guide-worn", Place: one}, {ID: "turns-in-reverse"}}}}, v.Stopped)

	s = Begin(w)
	do(t, s, try, failed, turning)
	assert.Equal(t, Solved, s.End)
	assert.Len(t, s.Verdict().Unproved, 1, "nothing showed the root")
}

// Put right alone the failure comes back, and that is no pass; it costs the repair
// again.
func TestAFailurePutRightAloneComesBack(t *testing.T) {
	w := chain(t)
	failed := Action{Do: Name, ID: "clamp-loose", Place: one}
	s := Begin(w)
	do(t, s, Action{Do: Check, ID: "try-clamp", Place: one}, failed)
	before := s.Minutes()
	out := s.Do(Action{Do: Root, ID: Nothing, Of: failed.at()})
	assert.True(t, out.Back)
	assert.False(t, out.Right || out.Proved, "the guide was shown by the same check, and is the likeliest by far")
	assert.InDelta(t, w.book.Practice.WrongMinutes, s.Minutes()-before, 1e-9)
	assert.Equal(t, saidTwice, s.Do(Action{Do: Root, ID: Nothing, Of: failed.at()}).Cannot)
	do(t, s, Action{Do: Root, ID: "turns-in-reverse", Of: failed.at()})
	v := s.Verdict()
	assert.Equal(t, []evidence.At{failed.at()}, v.Back)
	assert.False(t, v.Passed)
}

// A failure that came by itself: nothing deeper is right, and shown once what may
// have brought it on was looked for.
func TestNothingDeeperWantsItsLook(t *testing.T) {
	book := chained(t)
	w := faultless(book, Setup{Level: AnyFault, Action: evidence.Triplex})
	failed := evidence.At{ID: "clamp-loose", Place: one}
	w.hide(failed)
	w.signs, w.expose = map[evidence.At]Sign{}, map[evidence.At][]int{{ID: "try-clamp", Place: one}: {0}}
	w.Told = []evidence.Finding{{Sign: "rod-wobbles", Answer: evidence.Present, At: one, Over: []evidence.Place{one}}} // speaks for the turning
	nothing := Action{Do: Root, ID: Nothing, Of: failed}

	s := Begin(w)
	w.sources[0].bring = nil
	do(t, s, Action{Do: Name, ID: failed.ID, Place: one})
	do(t, s, nothing)
	require.Equal(t, Solved, s.End)
	v := s.Verdict()
	require.Len(t, v.Unproved, 2, "neither was shown")
	assert.True(t, v.Unproved[1].Nothing)
	assert.Contains(t, v.Unproved[1].Shows, evidence.At{ID: "see-it-turn"})

	s = Begin(w)
	do(t, s, Action{Do: Check, ID: "see-it-turn"}, Action{Do: Check, ID: "try-clamp", Place: one}, Action{Do: Name, ID: failed.ID, Place: one}, nothing)
	assert.True(t, s.Verdict().Passed)
}

// What the tool takes a root's chance for is what the engine says of the case.
func TestRootsAreWeighedAsInTheReport(t *testing.T) {
	s := Begin(chain(t))
	do(t, s, Action{Do: Check, ID: "try-clamp", Place: one}, Action{Do: Name, ID: "clamp-loose", Place: one})
	all, err := s.roots(&s.known, evidence.At{ID: "clamp-loose", Place: one})
	require.NoError(t, err)
	r, err := engine.Diagnose(s.book.WithoutFirmness(), s.Case())
	require.NoError(t, err)
	require.NotEmpty(t, r.Troubles)
	for _, root := range r.Troubles[0].BroughtOnBy {
		for _, own := range all {
			if own.ID == root.Cause && own.Place == root.Place {
				assert.InDelta(t, root.Probability, own.chance, 1e-12)
			}
		}
	}
	assert.Len(t, r.Troubles[0].BroughtOnBy, len(all)-1)
}

// The tool's own way through chains and through failures by themselves: it ends in
// order, stops at no failure where it can look on, and is never in danger.
func TestTheToolSolvesRootsToo(t *testing.T) {
	book := chained(t)
	solved, all := map[bool]int{}, map[bool]int{}
	for _, action := range actions {
		for level := CommonFault; level <= TwoFaults; level++ {
			for seed := uint64(0); seed < 40; seed++ {
				w, err := Draw(book, Setup{Seed: seed, Level: level, Action: action})
				require.NoError(t, err)
				s, err := Replay(w)
				require.NoError(t, err, "%s level %d seed %d", action, level, seed)
				require.Empty(t, s.Faults())
				r, err := s.Review()
				require.NoError(t, err)
				for _, j := range r.Judged {
					assert.True(t, j.Same, "%s %s", j.Do, j.ID)
				}
				chain := len(w.Troubles()[0].Failed) > 0
				all[chain]++
				if s.Verdict().Passed {
					solved[chain]++
				}
			}
		}
	}
	t.Logf("passed %v of %v", solved, all)
	for _, chain := range []bool{false, true} {
		assert.Greater(t, all[chain], 40)
		assert.Greater(t, solved[chain], all[chain]*2/3)
	}
}
