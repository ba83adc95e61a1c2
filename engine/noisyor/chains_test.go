package noisyor

import (
	"math"
	"math/big"
	"math/rand/v2"
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
	got, err := s.Chains(p, &a, nil)
	require.NoError(t, err)
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
	missed, err := s.Missed(p, miss)
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
