package noisyor

import (
	"errors"
	"math"
	"math/big"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// randomChains draws a network with sources under others, up to four deep. Ruled out and
// proved causes, and sources that are always or never on, are in it.
func randomChains(r *rand.Rand, sources, present, absent int) *Problem {
	p := random(r, sources, present, absent)
	p.Causes = 1 + r.IntN(sources)
	for s := range p.Sources {
		from := &p.Sources[s]
		from.Cause = r.IntN(p.Causes)
		if s > 0 && r.IntN(3) > 0 {
			from.Under = r.IntN(s)
			from.Chance = r.Float64()
			switch r.IntN(12) {
			case 0:
				from.Chance = 0
			case 1:
				from.Chance = 1
			}
		}
	}
	switch r.IntN(4) {
	case 0:
		p.Present = append(p.Present, allOf(p, r.IntN(p.Causes)))
	case 1:
		p.Absent = append(p.Absent, allOf(p, r.IntN(p.Causes)))
	}
	return p
}

// allOf observes whether a cause is there.
func allOf(p *Problem, cause int) Observation {
	o := Observation{Background: Yield{No: 1}}
	for s, from := range p.Sources {
		if from.Cause == cause {
			o.Links = append(o.Links, Link{s, Yield{Yes: 1}})
		}
	}
	return o
}

// askMissed is the evidence of p when checks have exposed no cause that is there and shows
// something; see Asked.Miss.
func askMissed(s *Solver, p *Problem, miss []float64) (float64, error) {
	if err := s.Hold(p); err != nil {
		return 0, err
	}
	return s.Ask(Asked{Miss: append([]float64{}, miss...)})
}

// chainsOf is SolveInto of the problem as it is held, with how the causes came.
func chainsOf(s *Solver, p *Problem, a *Answer) (out Chains, err error) {
	if err = s.Hold(p); err == nil {
		err = s.SolveHeld(p.About, a, &out)
	}
	return out, err
}

// requireChains compares all that is told of p with exact enumeration.
func requireChains(t testing.TB, s *Solver, p *Problem, miss []float64, name any) {
	t.Helper()
	want := enumerate(p, true)
	a, err := s.Solve(p)
	if want.evidence.Sign() == 0 {
		require.ErrorIs(t, err, ErrImpossible, "%v", name)
		return
	}
	require.NoError(t, err)
	require.Less(t, off(a.Evidence, want.evidence), 1e-12, "%v", name)
	for c := range p.Causes {
		require.Less(t, off(a.Posterior[c], want.posterior(c)), 1e-12, "%v cause %d", name, c)
		if odds, finite := want.odds(c); finite {
			require.Less(t, off(a.Odds[c], odds), 1e-12, "%v cause %d", name, c)
		} else {
			require.True(t, math.IsInf(a.Odds[c], 1), "%v cause %d", name, c)
		}
	}
	for i := range p.Sources {
		require.Less(t, off(a.Sources[i], want.given(want.sources[i])), 1e-12, "%v source %d", name, i)
	}
	var again Answer
	got, err := chainsOf(s, p, &again)
	require.NoError(t, err)
	require.InEpsilon(t, a.Evidence, again.Evidence, 1e-12)
	for c := range p.Causes {
		require.Less(t, off(again.Posterior[c], want.posterior(c)), 1e-12, "%v cause %d", name, c)
	}
	for c := range p.Causes {
		require.Less(t, off(got.Alone[c], want.given(want.alone[c])), 1e-12, "%v cause %d", name, c)
		shown := new(big.Rat).Sub(want.evidence, want.hidden[c])
		require.Less(t, off(got.Shown[c], want.given(shown)), 1e-12, "%v cause %d", name, c)
	}
	require.Len(t, got.Roots, len(want.roots))
	last := Share{Cause: -1}
	for _, x := range got.Roots {
		require.True(t, x.Cause > last.Cause || x.Cause == last.Cause && x.Root > last.Root, "in order")
		require.Less(t, off(x.Probability, want.given(want.roots[[2]int{x.Cause, x.Root}])), 1e-12, "%v %v", name, x)
		last = x
	}
	missed, err := askMissed(s, p, miss)
	exact := want.missed(p, miss)
	if exact.Sign() == 0 {
		require.ErrorIs(t, err, ErrImpossible)
		return
	}
	require.NoError(t, err)
	require.Less(t, off(missed, exact), 1e-12, "%v", name)
}

func TestChainsAgreeWithBruteForceInExactArithmetic(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	var s Solver
	for i := range 400 {
		p := randomChains(r, 1+r.IntN(8), r.IntN(5), r.IntN(4))
		miss := make([]float64, p.Causes)
		for c := range miss {
			miss[c] = []float64{0, 1, r.Float64()}[r.IntN(3)]
		}
		requireChains(t, &s, p, miss, i)
	}
}

// The causes keep their numbers; sources and observations are listed in another order.
func TestOrderOfSourcesDoesNotMatter(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 30 {
		p := randomChains(r, 12, 6, 3)
		q, to := reordered(r, p)
		a, err := new(Solver).Solve(p)
		if err != nil {
			continue
		}
		b := solve(t, q)
		require.InEpsilon(t, a.Evidence, b.Evidence, sameSum)
		require.InDeltaSlice(t, a.Posterior, b.Posterior, sameSum)
		x, err := chainsOf(new(Solver), p, &a)
		require.NoError(t, err)
		y, err := chainsOf(new(Solver), q, &b)
		require.NoError(t, err)
		require.InDeltaSlice(t, x.Alone, y.Alone, sameSum)
		require.InDeltaSlice(t, x.Shown, y.Shown, sameSum)
		roots := map[[2]int]float64{}
		for _, share := range y.Roots {
			roots[[2]int{share.Cause, share.Root}] = share.Probability
		}
		for _, share := range x.Roots {
			require.InDelta(t, share.Probability, roots[[2]int{share.Cause, to[share.Root]}], sameSum)
		}
		for s := range p.Sources {
			require.InDelta(t, a.Sources[s], b.Sources[to[s]], sameSum)
		}
	}
}

// reordered is p with its sources listed in another order, to[s] for s, and its
// observations too.
func reordered(r *rand.Rand, p *Problem) (q *Problem, to []int) {
	to = make([]int, len(p.Sources))
	for s := range to {
		to[s] = -1
	}
	q = &Problem{Causes: p.Causes}
	for len(q.Sources) < len(p.Sources) {
		s := r.IntN(len(p.Sources))
		from := p.Sources[s]
		if to[s] >= 0 || from.Under >= 0 && to[from.Under] < 0 {
			continue
		}
		if from.Under >= 0 {
			from.Under = to[from.Under]
		}
		to[s] = len(q.Sources)
		q.Sources = append(q.Sources, from)
	}
	q.Present, q.Absent = rename(p.Present, to), rename(p.Absent, to)
	for _, list := range [][]Observation{q.Present, q.Absent} {
		r.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
	}
	return q, to
}

// Where few observations may be open at once, the causes are worked out one by one.
func TestCausesOneByOneAgree(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 9))
	narrow, failed := Solver{}, 0
	for range 60 {
		p := randomChains(r, 14, 8, 2)
		var wide Solver
		a, err := wide.Solve(p)
		if err != nil {
			continue
		}
		require.NoError(t, wide.prepare(p, false))
		narrow.MaxWidth = max(1, wide.chain.width)
		b, err := narrow.Solve(p)
		require.NoError(t, err)
		failed += narrow.several.afresh
		require.InDeltaSlice(t, a.Posterior, b.Posterior, sameSum)
		_, err = chainsOf(&narrow, p, &b)
		var wider *TooWideError
		require.True(t, err == nil || errors.As(err, &wider), "%v", err)
	}
	require.NotZero(t, failed)
}

func TestOnlyWhatIsAskedAbout(t *testing.T) {
	p := wornPair().problem([]int{grooves, tornAgain}, nil)
	all := solve(t, p)
	p.About = []int{3, 3}
	some := solve(t, p)
	require.Equal(t, []float64{0, 0, 0, all.Posterior[3], 0}, some.Posterior)
	require.Equal(t, []float64{0, 0, 0, all.Odds[3], 0}, some.Odds)
	require.Equal(t, all.Sources, some.Sources)
	var s Solver
	chains, err := chainsOf(&s, p, &some)
	require.NoError(t, err)
	require.Zero(t, chains.Alone[4])
	require.Greater(t, chains.Shown[3], 0.0)
	require.Len(t, chains.Roots, 3)
	for _, about := range [][]int{{-1}, {5}} {
		var bad *InputError
		p.About = about
		_, err := chainsOf(&s, p, &some)
		require.ErrorAs(t, err, &bad)
		_, err = s.Solve(p)
		require.ErrorAs(t, err, &bad)
	}
}

// What was proved of the worn pair: a scored bore is told by what brought it on, and none
// by itself is a chance of its own.
func TestProvedFailureRaisesItsRoots(t *testing.T) {
	p := wornPair().problem([]int{grooves}, nil)
	before := solve(t, p)
	p.Present = append(p.Present, allOf(p, 3))
	var s Solver
	requireChains(t, &s, p, make([]float64, 5), "proved")
	after := solve(t, p)
	require.Equal(t, 1.0, after.Posterior[3])
	for root := range 3 {
		require.Greater(t, after.Posterior[root], before.Posterior[root])
	}
	chains, err := chainsOf(&s, p, &after)
	require.NoError(t, err)
	sum := chains.Alone[3]
	for _, x := range chains.Roots[:3] {
		require.Equal(t, 3, x.Cause)
		sum += x.Probability
	}
	require.Greater(t, sum, 1.0, "two ways at once are counted twice")
	require.InDelta(t, 1, sum, 0.05)
}

// proving returns how probable source root is, without and with cause c proved.
func proving(t *testing.T, p *Problem, c, root int) (before, after float64) {
	t.Helper()
	q := *p
	q.Present = append(slices.Clone(p.Present), allOf(p, c))
	a, b := solve(t, p), solve(t, &q)
	return a.Sources[root], b.Sources[root]
}

// A proved failure never lowers a root that can bring it on while nothing else was seen
// but what the failure itself shows, whatever was not seen: the root speaks for the failure
// and for nothing else.
func TestProvedFailureNeverLowersARootThatShowsNothingElse(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 3))
	checked := 0
	for range 300 {
		p := randomChains(r, 10, 0, 3)
		c := r.IntN(p.Causes)
		o := allOf(p, c)
		o.Background = sure(0.01 + 0.5*r.Float64())
		for i := range o.Links {
			o.Links[i].Yield = sure(r.Float64())
		}
		p.Present = append(p.Present[:0], o)
		for s, from := range p.Sources {
			root := s
			for p.Sources[root].Under >= 0 {
				root = p.Sources[root].Under
			}
			if from.Cause != c || root == s {
				continue
			}
			if _, err := new(Solver).Solve(&Problem{Causes: p.Causes, Sources: p.Sources, Present: []Observation{o, allOf(p, c)}, Absent: p.Absent}); err != nil {
				continue
			}
			before, after := proving(t, p, c, root)
			require.GreaterOrEqual(t, after, before*(1-sameSum))
			checked++
		}
	}
	require.Greater(t, checked, 100)
}

// It may lower one that explains by itself what was seen: the failure explains it too.
func TestProvedFailureCanLowerARootThatShowsTheSame(t *testing.T) {
	p := &Problem{Causes: 2, Sources: []Source{{0, -1, 0.1}, {1, 0, 0.05}, {1, -1, 0.1}}}
	p.Present = []Observation{{Background: sure(0.001), Links: []Link{{0, sure(0.9)}, {1, sure(0.9)}, {2, sure(0.9)}}}}
	before, after := proving(t, p, 1, 0)
	require.Less(t, after, before)
	requireChains(t, new(Solver), p, []float64{0.5, 0.5}, "shared sign")
}
