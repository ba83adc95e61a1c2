package noisyor

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// close to rounding: the same sums, taken in another order.
const sameSum = 1e-12

// Every pin count of the kernels comes up: up to eight observations, linked densely.
func TestDenseLinksAgreeWithEnumeration(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for range 40 {
		p := random(r, 2+r.IntN(5), 5+r.IntN(4), r.IntN(3))
		for i := range p.Present {
			p.Present[i].Background = sure(0.01 * r.Float64())
			links := p.Present[i].Links[:0]
			for c := range p.Causes {
				if r.IntN(10) < 8 {
					links = append(links, Link{c, Yield{Yes: r.Float64() / 2, No: r.Float64() / 2}})
				}
			}
			p.Present[i].Links = links
		}
		if bruteForce(p).evidence.Sign() > 0 {
			requireExact(t, p)
		}
	}
}

func TestDrawnNetworksAgreeWithEnumeration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		want := bruteForce(p)
		var s Solver
		a, err := s.Solve(p)
		if want.evidence.Sign() == 0 {
			require.ErrorIs(t, err, ErrImpossible)
			return
		}
		require.NoError(t, err)
		require.Less(t, off(a.Evidence, want.evidence), sameSum)
		for c := range p.Causes {
			require.Less(t, off(a.Posterior[c], want.posterior(c)), sameSum)
		}
	})
}

// drawProblem draws a small network whose masses are often 0 or 1.
func drawProblem(t *rapid.T) *Problem {
	mass := rapid.OneOf(rapid.SampledFrom([]float64{0, 1, 0.5, 1e-3, 1e-9}), rapid.Float64Range(1e-15, 1))
	yield := rapid.Custom(func(t *rapid.T) Yield {
		yes := mass.Draw(t, "yes")
		return Yield{Yes: yes, No: (1 - yes) * rapid.SampledFrom([]float64{1, 1, 1, 0.5, 0}).Draw(t, "kept")}
	})
	causes := rapid.IntRange(0, 6).Draw(t, "causes")
	observation := rapid.Custom(func(t *rapid.T) Observation {
		o := Observation{Background: yield.Draw(t, "background")}
		for c := range causes {
			if rapid.Bool().Draw(t, "linked") {
				o.Links = append(o.Links, Link{c, yield.Draw(t, "link")})
			}
		}
		return o
	})
	return flat(rapid.SliceOfN(mass, causes, causes).Draw(t, "prior"), Problem{
		Present: rapid.SliceOfN(observation, 0, 5).Draw(t, "present"),
		Absent:  rapid.SliceOfN(observation, 0, 3).Draw(t, "absent"),
	})
}

func TestOrderOfCausesDoesNotMatter(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 1))
	for range 20 {
		p := coarse(r, 25, 7, 4, true)
		to := r.Perm(p.Causes)
		moved := flat(make([]float64, p.Causes), Problem{Present: rename(p.Present, to), Absent: rename(p.Absent, to)})
		for c := range p.Causes {
			prior := p.Sources[c].Chance
			moved.Sources[to[c]].Chance = prior
		}
		a, b := solve(t, p), solve(t, moved)
		require.InEpsilon(t, a.Evidence, b.Evidence, sameSum)
		for c := range p.Causes {
			require.InEpsilon(t, a.Posterior[c], b.Posterior[to[c]], sameSum)
			require.InEpsilon(t, a.Odds[c], b.Odds[to[c]], sameSum)
		}
	}
}

// rename returns observations with cause c called to[c].
func rename(observations []Observation, to []int) []Observation {
	out := slices.Clone(observations)
	for i := range out {
		out[i].Links = slices.Clone(out[i].Links)
		for l := range out[i].Links {
			out[i].Links[l].Source = to[out[i].Links[l].Source]
		}
	}
	return out
}

func TestOrderOfObservationsAndLinksDoesNotMatter(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 2))
	for range 20 {
		p := coarse(r, 25, 7, 4, true)
		a := solve(t, p)
		for _, list := range [][]Observation{p.Present, p.Absent} {
			r.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
			for _, o := range list {
				r.Shuffle(len(o.Links), func(i, j int) { o.Links[i], o.Links[j] = o.Links[j], o.Links[i] })
			}
		}
		b := solve(t, p)
		require.InEpsilon(t, a.Evidence, b.Evidence, sameSum)
		require.InEpsilonSlice(t, a.Posterior, b.Posterior, sameSum)
	}
}

func TestUnlinkedCauseKeepsItsPrior(t *testing.T) {
	p := coarse(rand.New(rand.NewPCG(3, 3)), 20, 6, 3, true)
	a := solve(t, p)
	p.cause(0.125)
	b := solve(t, p)
	require.InEpsilon(t, 0.125, b.Posterior[20], 1e-15)
	require.InEpsilon(t, 1.0/7, b.Odds[20], 1e-15)
	require.InEpsilonSlice(t, a.Posterior, b.Posterior[:20], sameSum)
}

// An observation that does not contradict adds nothing when summed out:
// P(c, E, f seen) + P(c, E, f not seen) = P(c, E).
func TestSeenAndNotSeenAddUp(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 20 {
		p := coarse(r, 20, 6, 3, true)
		f := coarse(r, 20, 1, 0, false).Present[0]
		seen, not := *p, *p
		seen.Present = append(slices.Clone(p.Present), f)
		not.Absent = append(slices.Clone(p.Absent), f)
		a, s, n := solve(t, p), solve(t, &seen), solve(t, &not)
		require.InEpsilon(t, a.Evidence, s.Evidence+n.Evidence, sameSum)
		for c := range p.Causes {
			sum := s.Evidence*s.Posterior[c] + n.Evidence*n.Posterior[c]
			require.InEpsilon(t, a.Evidence*a.Posterior[c], sum, sameSum)
		}
	}
}

// A link to an absent observation multiplies the odds of its cause by No, whatever else
// was seen, and so never raises them.
func TestLinkToAbsentObservationLowersItsCause(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 5))
	for range 20 {
		p := coarse(r, 20, 6, 3, true)
		f := coarse(r, 20, 1, 0, true).Present[0]
		f.Links = slices.DeleteFunc(f.Links, func(l Link) bool { return l.Source == 4 })
		p.Absent = append(p.Absent, f)
		without := solve(t, p)
		link := Link{4, Yield{Yes: 0.25, No: 0.625}}
		p.Absent[3].Links = append(slices.Clone(f.Links), link)
		with := solve(t, p)
		require.InEpsilon(t, without.Odds[4]*link.No, with.Odds[4], sameSum)
		require.Less(t, with.Posterior[4], without.Posterior[4])
	}
}

// Without present observations an absent one raises nothing.
func TestAbsentObservationAloneRaisesNoCause(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 6))
	p := coarse(r, 20, 0, 3, true)
	before := solve(t, p)
	f := coarse(r, 20, 1, 0, true).Present[0]
	p.Absent = append(p.Absent, f)
	after := solve(t, p)
	for _, l := range f.Links {
		require.InEpsilon(t, before.Odds[l.Source]*l.No, after.Odds[l.Source], sameSum)
	}
	require.Equal(t, before.Posterior[unlinkedIn(f, 20)], after.Posterior[unlinkedIn(f, 20)])
}

// unlinkedIn is the first cause that o has no link to.
func unlinkedIn(o Observation, causes int) int {
	for c := range causes {
		if !slices.ContainsFunc(o.Links, func(l Link) bool { return l.Source == c }) {
			return c
		}
	}
	panic("all linked")
}

// With one present, an absent observation can raise a cause that it speaks against, by
// speaking against its rival more.
func TestAbsentObservationRaisesTheCauseItSpeaksLessAgainst(t *testing.T) {
	p := flat([]float64{0.1, 0.1}, Problem{Present: []Observation{chance(0, 0.5, 0.5)}})
	before := solve(t, p)
	p.Absent = []Observation{chance(0, 0.1, 0.9)}
	after := requireExact(t, p)
	require.Greater(t, after.Posterior[0], before.Posterior[0])
	require.Less(t, after.Posterior[1], before.Posterior[1])
}

// P(c, E) is also prior times the evidence once c is confirmed. With 800 causes and 16
// observations the states no longer fit whole, so that parts are run again.
func TestPosteriorFromEvidenceWithConfirmedCause(t *testing.T) {
	p := dense(5, 800, 16, 6)
	var s Solver
	a, err := s.Solve(p)
	require.NoError(t, err)
	require.Greater(t, s.chain.sizes[len(s.chain.steps)], 2*wholeLimit, "parts of parts are run again")
	for _, c := range []int{0, 181, 399} {
		prior := p.Sources[c].Chance
		p.Sources[c].Chance = 1
		with, err := s.Evidence(p)
		require.NoError(t, err)
		p.Sources[c].Chance = 0
		without, err := s.Evidence(p)
		require.NoError(t, err)
		p.Sources[c].Chance = prior
		require.InEpsilon(t, prior*with/a.Evidence, a.Posterior[c], sameSum)
		require.InEpsilon(t, prior*with/((1-prior)*without), a.Odds[c], sameSum)
	}
}
