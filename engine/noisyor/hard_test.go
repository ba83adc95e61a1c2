package noisyor

import (
	"math"
	"math/bits"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// rare draws a network in which everything observed is improbable.
func rare(r *rand.Rand, causes, present int, prior, background float64) *Problem {
	p := &Problem{}
	for range causes {
		p.cause(prior * (0.5 + r.Float64()))
	}
	for range present {
		o := Observation{Background: sure(background * (0.5 + r.Float64()))}
		for c := range causes {
			if r.Float64() < 0.3 {
				o.Links = append(o.Links, Link{c, sure(0.1 + 0.8*r.Float64())})
			}
		}
		p.Present = append(p.Present, o)
	}
	return p
}

func TestTinyEvidenceKeepsItsDigits(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 1))
	for range 10 {
		p := rare(r, 7, 8, 1e-9, 1e-8)
		o := chance(0.5, 0, 0, 0, 0, 0, 0, 0)
		o.Background.No = 1e-12
		for l := range o.Links {
			o.Links[l].No = 0.01 + 0.9*r.Float64()
		}
		p.Absent = []Observation{o}
		a := requireExact(t, p)
		require.Less(t, a.Evidence, 1e-30)
		require.Greater(t, a.Evidence, 0.0)
	}
}

// floatQuickscore is inclusion-exclusion in float64, as it must not be done: the posterior
// of every cause of a problem without absent observations.
func floatQuickscore(p *Problem) []float64 {
	evidence, joint := 0.0, make([]float64, p.Causes)
	on, both := make([]float64, p.Causes), make([]float64, p.Causes)
	for subset := range uint(1) << len(p.Present) {
		term := 1 - 2*float64(bits.OnesCount(subset)&1)
		for c, from := range p.Sources {
			on[c] = from.Chance
		}
		for i, o := range p.Present {
			if subset>>i&1 == 0 {
				continue
			}
			term *= o.Background.No
			for _, l := range o.Links {
				on[l.Source] *= l.No
			}
		}
		for c := range p.Causes {
			prior := p.Sources[c].Chance
			both[c] = 1 - prior + on[c]
			term *= both[c]
		}
		evidence += term
		for c := range joint {
			joint[c] += term / both[c] * on[c]
		}
	}
	for c := range joint {
		joint[c] /= evidence
	}
	return joint
}

// The negative control: on evidence of small chances, inclusion-exclusion in float64 is
// off by more than 1e-3 or leaves [0,1], and the solver is right to 1e-12.
func TestInclusionExclusionCancelsAndTheSolverDoesNot(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	p := rare(r, 9, 10, 1e-4, 1e-4)
	a := requireExact(t, p)
	worst := 0.0
	for c, x := range floatQuickscore(p) {
		worst = max(worst, math.Abs(x-a.Posterior[c]))
	}
	require.Greater(t, worst, 1e-3)
}

// On evidence of large chances the control is right, so it fails above for the reason
// given and not through a mistake.
func TestInclusionExclusionIsRightWhereNothingCancels(t *testing.T) {
	r := rand.New(rand.NewPCG(12, 9))
	p := rare(r, 9, 5, 0.3, 0.3)
	a := requireExact(t, p)
	require.InEpsilonSlice(t, floatQuickscore(p), a.Posterior, 1e-9)
}
