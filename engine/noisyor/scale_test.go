package noisyor

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// forwardOdds works out the odds of the first cause of a ladder by plain recursion over
// its rungs: an oracle for ladders of any length. The masses of the rungs to come are
// brought near one at each rung.
func forwardOdds(p *Problem) float64 {
	last := p.Causes - 1
	// on and off are the masses of the observations after cause c, given its state.
	on, off := 0.7+0.3*p.Present[last+1].Background.Yes, p.Present[last+1].Background.Yes
	for c := last; c > 0; c-- {
		seen := func(silent float64) float64 { // observation c, given cause c and cause c-1
			return 1 - silent*p.Present[c].Background.No
		}
		prior := p.Sources[c].Chance
		newOn := prior*on*seen(0.1*0.3) + (1-prior)*off*seen(0.3)
		newOff := prior*on*seen(0.1) + (1-prior)*off*p.Present[c].Background.Yes
		on, off = newOn/(newOn+newOff), newOff/(newOn+newOff)
	}
	first := p.Present[0].Background
	return p.Sources[0].Chance * on * (0.9 + 0.1*first.Yes) / ((1 - p.Sources[0].Chance) * off * first.Yes)
}

// The evidence of a long ladder is far below the least float64. The posteriors are not.
func TestEvidenceBelowFloat64KeepsPosteriors(t *testing.T) {
	require.InEpsilon(t, forwardOdds(ladder(9)), solve(t, ladder(9)).Odds[0], sameSum)
	a := solve(t, ladder(400))
	require.Zero(t, a.Evidence)
	require.InEpsilon(t, forwardOdds(ladder(400)), a.Odds[0], 1e-11)
	for c := range a.Posterior {
		require.InEpsilon(t, a.Posterior[c]/(1-a.Posterior[c]), a.Odds[c], 1e-6)
	}
}

func TestManyAbsentObservationsDoNotUnderflow(t *testing.T) {
	p := flat([]float64{0.5, 0.5}, Problem{Present: []Observation{chance(0, 0.5, 0.25)}})
	for range 300 {
		p.Absent = append(p.Absent, Observation{Background: Yield{No: 0.01}, Links: []Link{{0, Yield{No: 0.1}}, {1, Yield{No: 0.1}}}})
	}
	a := solve(t, p)
	require.Zero(t, a.Evidence)
	// The two cannot both be present (1e-300 of the rest), so the odds are 2:1.
	require.InEpsilon(t, 2, a.Odds[0], sameSum)
	require.InEpsilon(t, 0.5, a.Odds[1], sameSum)
}

func TestReusedSolverDoesNotAllocate(t *testing.T) {
	var s Solver
	var a Answer
	p := dense(1, 60, 8, 6)
	require.NoError(t, s.SolveInto(p, &a))
	require.Zero(t, testing.AllocsPerRun(20, func() {
		if err := s.SolveInto(p, &a); err != nil {
			panic(err)
		}
	}))
	require.Equal(t, solve(t, p), a)
}

func TestInputErrorTellsThePlace(t *testing.T) {
	p := flat([]float64{0.5, 0.5}, Problem{Absent: []Observation{chance(0.1, 0.5), chance(0.1, 0.5, math.NaN())}})
	var s Solver
	_, err := s.Solve(p)
	var input *InputError
	require.ErrorAs(t, err, &input)
	require.Equal(t, "absent finding 1, source 1", input.Where)
	require.EqualError(t, err, "noisyor: absent finding 1, source 1: a mass is not a number")
}

// pairs links one cause to both observations of every edge.
func pairs(observations int, edges [][2]int) *Problem {
	p := &Problem{Present: make([]Observation, observations)}
	for i := range p.Present {
		p.Present[i].Background = sure(0.1)
	}
	for c, e := range edges {
		p.cause(0.2)
		for _, i := range e {
			p.Present[i].Links = append(p.Present[i].Links, Link{c, sure(0.5)})
		}
	}
	return p
}

// shapes whose least width is known: a path needs 2 observations open at once, a ring 3,
// a star 2, a full graph all, a grid of 5 columns 6.
func TestOrderFindsSmallWidths(t *testing.T) {
	var path, ring, star, full, grid [][2]int
	for i := range 29 {
		path = append(path, [2]int{i, i + 1})
		ring = append(ring, [2]int{i, i + 1})
		star = append(star, [2]int{0, i + 1})
	}
	ring = append(ring, [2]int{29, 0})
	for i := range 8 {
		for j := range i {
			full = append(full, [2]int{i, j})
		}
	}
	for i := range 100 {
		if i%5 < 4 {
			grid = append(grid, [2]int{i, i + 1})
		}
		if i < 95 {
			grid = append(grid, [2]int{i, i + 5})
		}
	}
	shapes := map[string]struct {
		p     *Problem
		width int
	}{
		"path": {pairs(30, path), 2}, "ring": {pairs(30, ring), 3}, "star": {pairs(30, star), 2},
		"full": {pairs(8, full), 8}, "grid": {pairs(100, grid), 6}, "nothing": {pairs(3, nil), 0},
	}
	r := rand.New(rand.NewPCG(4, 4))
	for name, shape := range shapes {
		for range 5 { // whatever the order in which the causes are listed
			s := Solver{MaxWidth: max(1, shape.width)}
			_, err := s.Evidence(shape.p)
			require.NoError(t, err, name)
			if s.MaxWidth--; s.MaxWidth > 0 {
				_, err = s.Evidence(shape.p)
				require.Equal(t, &TooWideError{Width: shape.width, Max: shape.width - 1}, err, name)
			}
			p := *shape.p
			p.Present = rename(p.Present, r.Perm(p.Causes))
			shape.p = &p
		}
	}
}
