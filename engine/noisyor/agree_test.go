package noisyor

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// solve is Solve with a fresh Solver on a problem that must have an answer.
func solve(t testing.TB, p *Problem) Answer {
	t.Helper()
	var s Solver
	a, err := s.Solve(p)
	require.NoError(t, err)
	return a
}

// requireExact compares an answer with exact enumeration to 1e-12 relative.
func requireExact(t testing.TB, p *Problem) Answer {
	t.Helper()
	a, want := solve(t, p), bruteForce(p)
	require.Less(t, off(a.Evidence, want.evidence), 1e-12)
	for c := range p.Causes {
		require.Less(t, off(a.Posterior[c], want.posterior(c)), 1e-12, "posterior of cause %d", c)
		odds, finite := want.odds(c)
		if !finite {
			require.Equal(t, math.Inf(1), a.Odds[c], "odds of cause %d", c)
			continue
		}
		require.Less(t, off(a.Odds[c], odds), 1e-12, "odds of cause %d", c)
	}
	return a
}

// sure is a yield without a contradiction.
func sure(yes float64) Yield { return Yield{Yes: yes, No: 1 - yes} }

// chance lists the chance that each cause alone brings the observation about.
func chance(background float64, causes ...float64) Observation {
	o := Observation{Background: sure(background)}
	for c, yes := range causes {
		o.Links = append(o.Links, Link{c, sure(yes)})
	}
	return o
}

// flat fills p with causes that are there by themselves only.
func flat(prior []float64, p Problem) *Problem {
	for _, chance := range prior {
		p.cause(chance)
	}
	return &p
}

// cause adds a cause that is there by itself only.
func (p *Problem) cause(prior float64) {
	p.Sources = append(p.Sources, Source{p.Causes, -1, prior})
	p.Causes++
}
