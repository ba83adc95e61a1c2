package noisyor

import (
	"errors"
	"math/big"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// requireEvidence compares what a question gives with exact enumeration of the problem
// that it makes.
func requireEvidence(t *testing.T, p *Problem, got float64, err error, name any) {
	t.Helper()
	want := enumerate(p, true).evidence
	if want.Sign() == 0 {
		require.ErrorIs(t, err, ErrImpossible, "%v", name)
		return
	}
	require.NoError(t, err, "%v", name)
	exact, _ := new(big.Float).SetRat(want).Float64()
	require.InEpsilon(t, exact, got, sameSum, "%v", name)
}

// mutedIn is p where some sources, with all below them, answer No to everything.
func mutedIn(p *Problem, mute []bool) *Problem {
	out := *p
	quiet := func(list []Observation, yes func(l *Link)) []Observation {
		list = slices.Clone(list)
		for i := range list {
			list[i].Links = slices.Clone(list[i].Links)
			for k := range list[i].Links {
				if l := &list[i].Links[k]; mute[l.Source] {
					yes(l)
				}
			}
		}
		return list
	}
	out.Present = quiet(p.Present, func(l *Link) { l.Yes = 0 })
	return &out
}

// One problem is held, and all questions to it are asked in turn: each must find it as it
// was.
func TestWhatIsAskedOfAHeldProblem(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 7))
	var s Solver
	answered, short := 0, 0
	for trial := range 160 {
		p := randomChains(r, 2+r.IntN(5), r.IntN(4), r.IntN(2))
		besides := randomChains(r, len(p.Sources), 0, 1).Absent
		err := s.Hold(p)
		if errors.Is(err, ErrImpossible) {
			require.Zero(t, enumerate(p, true).evidence.Sign(), "%d", trial)
			continue
		}
		require.NoError(t, err)
		require.True(t, s.Holds(p))
		mute := make([]bool, len(p.Sources))
		for i, from := range p.Sources {
			mute[i] = r.IntN(3) == 0 || from.Under >= 0 && mute[from.Under]
		}
		with := *p
		with.Absent = slices.Concat(p.Absent, besides)
		for range 2 {
			z, err := s.Ask(Asked{})
			requireEvidence(t, p, z, err, trial)
			z, err = s.Ask(Asked{Absent: besides})
			requireEvidence(t, &with, z, err, trial)
			z, err = s.Ask(Asked{Mute: mute})
			requireEvidence(t, mutedIn(p, mute), z, err, trial)
			z, err = s.Ask(Asked{Mute: mute, Absent: besides})
			requireEvidence(t, mutedIn(&with, mute), z, err, trial)

			first := 0 // sources that lie under none
			for first < len(p.Sources) && p.Sources[first].Under < 0 {
				first++
			}
			roots := make([]float64, first)
			z, err = s.AskRoots(Asked{Absent: besides}, roots)
			requireEvidence(t, &with, z, err, trial)
			if plain, failed := new(Solver).Solve(&with); err == nil {
				require.NoError(t, failed)
				require.InDeltaSlice(t, plain.Sources[:first], roots, sameSum, "%d", trial)
				answered++
			}
			if plain, failed := new(Solver).Solve(p); failed == nil {
				var a Answer
				require.NoError(t, s.SolveHeld(nil, &a, nil))
				require.InEpsilon(t, plain.Evidence, a.Evidence, sameSum, "%d", trial)
				require.InDeltaSlice(t, plain.Posterior, a.Posterior, sameSum, "%d", trial)
				require.InDeltaSlice(t, plain.Sources, a.Sources, sameSum, "%d", trial)
			}
			require.True(t, s.Holds(p))
		}
		for _, step := range s.chain.steps {
			if step.gist != nil {
				short++
			}
		}
		requireLonger(t, r, &s, p)
	}
	require.Greater(t, answered, 30)
	require.Greater(t, short, 30, "trees that were worked in by their gist")
}

// requireLonger compares what is worked out with more sources behind those of a problem that
// is held with exact enumeration.
func requireLonger(t *testing.T, r *rand.Rand, s *Solver, p *Problem) {
	t.Helper()
	longer, about := *p, r.Perm(p.Causes)[:1+r.IntN(p.Causes)]
	longer.Sources = slices.Clone(p.Sources)
	for range r.IntN(4) {
		longer.Sources = append(longer.Sources, Source{Cause: r.IntN(p.Causes), Under: r.IntN(1+len(longer.Sources)) - 1, Chance: float64(r.IntN(9)) / 8})
	}
	var a Answer
	require.NoError(t, s.SolveLonger(longer.Sources, about, &a))
	require.False(t, s.Holds(p))
	exact := enumerate(&longer, false)
	for _, c := range about {
		if exact.evidence.Sign() == 0 {
			break
		}
		want, _ := new(big.Rat).Quo(exact.joint[c], exact.evidence).Float64()
		require.InDelta(t, want, a.Posterior[c], sameSum)
	}
	require.EqualError(t, s.SolveLonger(longer.Sources, about, &a), "noisyor: asked: no problem is held")
	require.NoError(t, s.Hold(p))
	require.EqualError(t, s.SolveLonger(p.Sources[1:], about, &a), "noisyor: sources: those of the problem that is held do not stand first")
	longer.Sources = append(longer.Sources, Source{Cause: p.Causes})
	require.ErrorContains(t, s.SolveLonger(longer.Sources, about, &a), "no such cause")
}

func TestQuestionsThatDoNotFit(t *testing.T) {
	p := flat([]float64{0.5, 0.5}, Problem{Present: []Observation{chance(0.1, 0.5)}})
	var s Solver
	_, err := s.Ask(Asked{})
	require.EqualError(t, err, "noisyor: asked: no problem is held")
	require.EqualError(t, s.SolveHeld(nil, &Answer{}, nil), "noisyor: asked: no problem is held")
	require.NoError(t, s.Hold(p))
	for q, want := range map[*Asked]string{
		{Mute: []bool{true}}:                     "noisyor: mute: 1 for 2 sources",
		{Miss: []float64{1}}:                     "noisyor: miss: 1 chances for 2 causes",
		{Miss: []float64{1, 2}}:                  "noisyor: miss 1: 2 is not a probability",
		{Absent: []Observation{chance(0.1, -1)}}: "noisyor: asked absent finding 0, source 0: negative mass (yes -1, no 2)",
		{Absent: []Observation{{Background: Yield{No: 1}, Links: []Link{{Source: 2}}}}}: "noisyor: asked absent finding 0, source 2: no such source",
	} {
		_, err := s.Ask(*q)
		require.EqualError(t, err, want)
	}
	_, err = s.Evidence(p)
	require.NoError(t, err)
	require.False(t, s.Holds(p), "another problem was worked out")
}
