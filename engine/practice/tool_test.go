package practice

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/rules"
)

// aUserOfTriage goes through an exercise by the list alone, made anew after
// each opening and each result: every step from the top to the first of them.
func aUserOfTriage(t *testing.T, w *World) *Session {
	t.Helper()
	s := Begin(w)
	for range 500 {
		if s.End != Running {
			return s
		}
		if len(s.Exposed()) > 0 {
			at := s.Exposed()[0]
			require.True(t, s.Do(Action{Do: Name, ID: at.ID, Place: at.Place}).Right)
			continue
		}
		root, shown, err := s.bestRoot(false)
		require.NoError(t, err)
		if shown && !s.mustLeave() {
			s.Do(root)
			continue
		}
		r, err := engine.Outline(s.book, s.Case())
		require.NoError(t, err)
		if r.LeavePump {
			s.Do(Action{Do: Leave})
			continue
		}
		if doToOpeningOrCheck(t, s, r.Steps) {
			continue
		}
		// Nothing is left in the list: a root that is still to be looked for, then a guess.
		next, look, err := s.nextLook()
		require.NoError(t, err)
		if look {
			do(t, s, next)
			continue
		}
		next, _, ok, err := s.guess()
		require.NoError(t, err)
		if !ok {
			s.Stop(GaveUp)
			continue
		}
		s.Do(next)
	}
	return s
}

// doToOpeningOrCheck does the steps of a list up to its first opening or check;
// false if there is no check.
func doToOpeningOrCheck(t *testing.T, s *Session, steps []work.Step) bool {
	t.Helper()
	doing := map[string]Doing{work.StepSafety: Safety, work.StepOpening: Open, work.StepCheck: Check}
	checks := 0
	for _, step := range steps {
		if step.Kind == work.StepCheck {
			checks++
		}
	}
	if checks == 0 {
		return false
	}
	for _, step := range steps {
		a := Action{Do: doing[step.Kind], ID: step.ID, Place: step.Place}
		out := s.Do(a)
		for out.Refused != nil { // a look from outside that the list put before the guards of the running pump
			n := out.Refused.Missing[0]
			require.Nil(t, s.Do(Action{Do: n.Do, ID: n.ID, Place: n.Place}).Refused)
			out = s.Do(a)
		}
		if step.Kind != work.StepSafety {
			require.Empty(t, out.Cannot)
			return true
		}
	}
	return false
}

func TestWhoFollowsTheToolHasTheRatioOne(t *testing.T) {
	t.Parallel()
	// On a book of its own: a list that is made anew after each result and one
	// that is made anew after each step can part where minutes are close.
	book := smallBook(t)
	compared, solved, all := 0, 0, 0
	for _, action := range actions {
		for level := CommonFault; level <= TwoFaults; level++ {
			for seed := uint64(0); seed < 12; seed++ {
				s, best := bothWays(t, book, Setup{Seed: seed, Level: level, Action: action})
				all++
				assert.InDelta(t, best.Minutes(), s.Minutes(), 1e-9, "%s level %d seed %d", action, level, seed)
				if good(best.End) {
					solved++
				}
				if r, ok := ratio(s.Minutes(), best.Minutes()); ok && good(s.End) {
					compared++
					assert.InDelta(t, 1, r, 1e-12)
				}
			}
		}
	}
	t.Logf("%d exercises, the tool's own way solves %d", all, solved)
	assert.Greater(t, compared, all/2)
	for _, action := range actions {
		for level := CommonFault; level <= TwoFaults; level++ {
			for seed := range more(1) {
				bothWays(t, builtIn(t), Setup{Seed: seed, Level: level, Action: action})
			}
		}
	}
}

// bothWays goes through a world by the list and as the tool does: both end
// alike, the tool without a fault.
func bothWays(t *testing.T, book *rules.Book, setup Setup) (s, best *Session) {
	t.Helper()
	w, err := Draw(book, setup)
	require.NoError(t, err)
	s = aUserOfTriage(t, w)
	best, err = Replay(w)
	require.NoError(t, err)
	assert.Equal(t, best.End, s.End, "%+v", setup)
	assert.Empty(t, best.Faults(), "%+v", setup)
	return s, best
}

// A whole review: who takes the tool's own step each time has no other choice
// beside his, and the chain adds up to the way from prior to posterior.
func TestReviewOfTheToolsOwnWay(t *testing.T) {
	t.Parallel()
	book := builtIn(t)
	for seed := range more(3) {
		w, err := Draw(book, Setup{Seed: seed, Level: int(seed)%3 + 1})
		require.NoError(t, err)
		s, err := Replay(w)
		require.NoError(t, err)
		r, err := s.Review()
		require.NoError(t, err)
		if r.Compared {
			assert.InDelta(t, 1, r.Ratio, 1e-12)
		}
		for _, j := range r.Judged {
			assert.True(t, j.Same, "%s %s", j.Do, j.ID)
			if j.Do == Check {
				assert.InDelta(t, j.BestChance, j.Chance, 1e-12)
				assert.Equal(t, s.book.Checks.Get(j.ID).Minutes, j.Minutes, "nothing is missing before it")
			}
		}
		for _, c := range r.Chains {
			known := s.known
			known.Unclear = nil
			odds, chance, err := s.oddsOf(&known, c.Cause)
			require.NoError(t, err)
			sum := 0.0
			for _, l := range c.Links {
				sum += l.Decibans
			}
			start := c.Start / (1 - c.Start)
			assert.InDelta(t, decibans(odds, start), sum, 1e-6)
			if n := len(c.Links); n > 0 {
				assert.InDelta(t, chance, c.Links[n-1].Chance, 1e-9)
			}
		}
	}
}

// The outlook and the list are those of Diagnose.
func TestNextStepsAreThoseOfTheReport(t *testing.T) {
	book := builtIn(t)
	for seed := uint64(0); seed < 12; seed++ {
		w, err := Draw(book, Setup{Seed: seed, Level: int(seed)%3 + 1})
		require.NoError(t, err)
		s := Begin(w)
		r, err := engine.Diagnose(book.WithoutFirmness(), s.Case())
		require.NoError(t, err)
		m, err := s.weigh(s.Case())
		require.NoError(t, err)
		steps, err := m.list()
		require.NoError(t, err)
		for i, step := range steps {
			assert.Equal(t, []string{r.Steps[i].Kind, r.Steps[i].ID, r.Steps[i].Cylinder, r.Steps[i].End}, []string{step.Kind, step.ID, step.Cylinder, step.End})
		}
		o, err := engine.Weigh(book, s.Case())
		require.NoError(t, err)
		if r.LeavePump {
			assert.True(t, o.Leave)
			continue
		}
		best := 0.0
		for _, p := range o.Posterior {
			best = max(best, p)
		}
		assert.InDelta(t, r.Causes[0].Probability, best, 1e-12)
	}
}

// Looking back ends when what it may take is spent: the choices that were not reached say
// that they were not weighed.
func TestLookingBackEnds(t *testing.T) {
	w, err := Draw(builtIn(t), Setup{Seed: 1, Level: 2})
	require.NoError(t, err)
	s, err := Replay(w)
	require.NoError(t, err)
	unweighed := func(most int) (n int) {
		budget := &chances.Budget{Most: most}
		review, err := s.reviewWithin(budget)
		require.NoError(t, err)
		require.Len(t, review.Judged, len(s.Journal))
		for _, j := range review.Judged {
			if j.Unweighed {
				n++
			}
		}
		return n
	}
	assert.Zero(t, unweighed(mostBack))
	for most := mostBack / 8; most > 0; most /= 2 { // wherever it ends
		unweighed(most)
	}
	assert.Greater(t, unweighed(1), len(s.Journal)/2)
	_, err = s.weigh(s.Case())
	require.NoError(t, err, "what comes after has its own")
}
