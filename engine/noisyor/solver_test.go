package noisyor

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// random draws a problem; kinds, certain and ruled-out causes, sure links and
// missing backgrounds are all in it.
func random(r *rand.Rand, causes, present, absent int) *Problem {
	p := &Problem{}
	for range causes {
		prior := r.Float64() * []float64{1, 0.1, 0.001}[r.IntN(3)]
		switch r.IntN(20) {
		case 0:
			prior = 0
		case 1:
			prior = 1
		}
		p.cause(prior)
	}
	one := func() Observation {
		var o Observation
		o.Background = Yield{Yes: 0.02 * r.Float64()}
		if r.IntN(5) == 0 {
			o.Background.Yes = 0
		}
		o.Background.No = 1 - o.Background.Yes - 0.01*float64(r.IntN(2))
		for c := range causes {
			if r.Float64() < 0.4 {
				y := Yield{Yes: r.Float64()}
				switch r.IntN(10) {
				case 0:
					y = Yield{Yes: 1}
				case 1:
					y.No = (1 - y.Yes) * r.Float64()
				case 2:
					y = Yield{No: r.Float64()}
				default:
					y.No = 1 - y.Yes
				}
				o.Links = append(o.Links, Link{Source: c, Yield: y})
			}
		}
		return o
	}
	for range present {
		o := one()
		switch r.IntN(8) {
		case 0:
			o.Doubt = r.Float64()
		case 1:
			o.Doubt = 1 / r.Float64()
		}
		p.Present = append(p.Present, o)
	}
	for range absent {
		p.Absent = append(p.Absent, one())
	}
	return p
}

func TestAgreesWithBruteForceInExactArithmetic(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	var s Solver
	for i := range 150 {
		p := random(r, 1+r.IntN(9), r.IntN(6), r.IntN(4))
		want := bruteForce(p)
		got, err := s.Solve(p)
		if want.evidence.Sign() == 0 {
			require.ErrorIs(t, err, ErrImpossible, "problem %d", i)
			continue
		}
		require.NoError(t, err)
		require.Less(t, off(got.Evidence, want.evidence), 1e-12, "problem %d", i)
		z, err := s.Evidence(p)
		require.NoError(t, err)
		require.Equal(t, got.Evidence, z)
		for c := range p.Causes {
			require.Less(t, off(got.Posterior[c], want.posterior(c)), 1e-12, "problem %d cause %d", i, c)
			if odds, finite := want.odds(c); finite {
				require.Less(t, off(got.Odds[c], odds), 1e-12, "problem %d cause %d", i, c)
			}
		}
	}
}
