package noisyor

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestImpossibleEvidence(t *testing.T) {
	contradiction := Observation{Background: Yield{}}
	problems := map[string]*Problem{
		"no source":                flat([]float64{0.5}, Problem{Present: []Observation{{Background: sure(0)}}}),
		"only ruled out causes":    flat([]float64{0, 0}, Problem{Present: []Observation{chance(0, 0.5, 0.5)}}),
		"confirmed and absent":     flat([]float64{1}, Problem{Absent: []Observation{chance(0, 1)}}),
		"background contradicts":   flat([]float64{0.5}, Problem{Present: []Observation{contradiction}}),
		"background always seen":   {Absent: []Observation{{Background: sure(1)}}},
		"confirmed contradicts":    flat([]float64{1}, Problem{Present: []Observation{{Background: sure(0.5), Links: []Link{{0, Yield{}}}}}}),
		"cause needed and refuted": flat([]float64{0.5, 0.5}, Problem{Present: []Observation{chance(0, 1, 1)}, Absent: []Observation{chance(0, 1, 1)}}),
		"two observations, cause refuted": flat([]float64{0.5, 0.5}, Problem{Absent: []Observation{chance(0, 1)},
			Present: []Observation{chance(0, 0.5), chance(0, 0.5, 0.5), chance(0.5, 0.5, 0.5)}}),
	}
	for name, p := range problems {
		t.Run(name, func(t *testing.T) {
			var s Solver
			_, err := s.Solve(p)
			require.ErrorIs(t, err, ErrImpossible)
			_, err = s.Evidence(p)
			require.ErrorIs(t, err, ErrImpossible)
		})
	}
}

func TestNothingObserved(t *testing.T) {
	a := solve(t, flat([]float64{0, 0.25, 1}, Problem{}))
	require.Equal(t, Answer{Evidence: 1, Posterior: []float64{0, 0.25, 1}, Odds: []float64{0, 1.0 / 3, math.Inf(1)}, Sources: []float64{0, 0.25, 1}}, a)
	nothing := solve(t, &Problem{})
	require.Equal(t, 1.0, nothing.Evidence)
	chains, err := chainsOf(new(Solver), &Problem{}, &nothing)
	require.NoError(t, err)
	require.Empty(t, chains.Roots)
}

// Cause 0 is the only source of the observation: it is certain then.
func TestOnlySourceBecomesCertain(t *testing.T) {
	a := requireExact(t, flat([]float64{0.001, 0.5}, Problem{Present: []Observation{chance(0, 0.3)}}))
	require.Equal(t, 1.0, a.Posterior[0])
	require.Equal(t, math.Inf(1), a.Odds[0])
}

func TestBadInputIsRefused(t *testing.T) {
	with := func(y Yield) *Problem {
		return flat([]float64{0.5}, Problem{Present: []Observation{{Background: sure(0.5), Links: []Link{{0, y}}}}})
	}
	back := func(y Yield) *Problem { return &Problem{Absent: []Observation{{Background: y}}} }
	link := func(causes ...int) *Problem {
		o := Observation{Background: sure(0.5)}
		for _, c := range causes {
			o.Links = append(o.Links, Link{c, sure(0.5)})
		}
		return flat([]float64{0.5, 0.5}, Problem{Absent: []Observation{o}})
	}
	nan, inf := math.NaN(), math.Inf(1)
	problems := []*Problem{
		flat([]float64{nan}, Problem{}), flat([]float64{-0.1}, Problem{}), flat([]float64{1.1}, Problem{}), flat([]float64{inf}, Problem{}),
		with(Yield{nan, 0}), with(Yield{0, nan}), with(Yield{-0.1, 0.5}), with(Yield{0.5, -0.1}),
		with(Yield{0.6, 0.5}), with(Yield{inf, 0}), with(Yield{0.5, 0.5 + 1e-11}),
		{Causes: -1}, {Sources: []Source{{0, -1, 0.5}}}, {Causes: 1, Sources: []Source{{-1, -1, 0.5}}}, {Causes: 1, About: []int{1}},
		{Causes: 1, Sources: []Source{{0, 0, 0.5}}}, {Causes: 1, Sources: []Source{{0, -2, 0.5}}}, {Causes: 1, Sources: []Source{{0, 1, 0.5}, {0, -1, 0.5}}},
		back(Yield{nan, 0}), back(Yield{0, nan}), back(Yield{-1, 1}), back(Yield{1, 1}),
		link(-1), link(2), link(1, 1), link(0, 1, 0), link(math.MaxInt), link(math.MinInt),
	}
	for _, p := range problems {
		var s Solver
		_, err := s.Solve(p)
		require.Error(t, err)
		require.NotErrorIs(t, err, ErrImpossible)
		require.NotEmpty(t, err.Error())
		_, err = s.Evidence(p)
		require.Error(t, err)
	}
	requireExact(t, with(Yield{0.5, 0.5 + 1e-13}))
}

func TestTooWideIsRefused(t *testing.T) {
	var s Solver
	_, err := s.Solve(dense(2, 150, 24, 0))
	var wide *TooWideError
	require.ErrorAs(t, err, &wide)
	require.Equal(t, DefaultMaxWidth, wide.Max)
	require.Greater(t, wide.Width, DefaultMaxWidth)
	s.MaxWidth = 5
	_, err = s.Evidence(dense(2, 50, 6, 0))
	require.ErrorAs(t, err, &wide)
	require.Equal(t, TooWideError{Width: 6, Max: 5}, *wide)
	require.EqualError(t, err, "noisyor: 6 findings must be held open at once, the limit is 5")
	s.MaxWidth = 6
	_, err = s.Evidence(dense(2, 50, 6, 0))
	require.NoError(t, err)
}

// ladder is a chain of causes, each of which shows in its own observation and the next:
// many observations, but only two of them open at once.
func ladder(causes int) *Problem {
	p := &Problem{Present: make([]Observation, causes+1)}
	for i := range p.Present {
		p.Present[i].Background = sure(1e-5)
	}
	for c := range causes {
		p.cause(0.01)
		p.Present[c].Links = append(p.Present[c].Links, Link{c, sure(0.9)})
		p.Present[c+1].Links = append(p.Present[c+1].Links, Link{c, sure(0.7)})
	}
	return p
}

func TestWidthCountsNotTheNumberOfObservations(t *testing.T) {
	requireExact(t, ladder(9))
	s := Solver{MaxWidth: 2}
	_, err := s.Solve(ladder(50))
	require.NoError(t, err)
}

func TestSolverIsReusable(t *testing.T) {
	var s Solver
	problems := []*Problem{dense(1, 50, 8, 3), feverAlone(), ladder(30), dense(2, 90, 4, 0), {}, dense(3, 20, 10, 9)}
	for range 2 {
		for _, p := range problems {
			got, err := s.Solve(p)
			require.NoError(t, err)
			require.Equal(t, solve(t, p), got)
		}
		_, err := s.Solve(&Problem{Present: []Observation{{Background: sure(0)}}})
		require.ErrorIs(t, err, ErrImpossible)
	}
}

func TestBadInputOfTheOtherCalls(t *testing.T) {
	var s Solver
	var bad *InputError
	p := wornPair().problem([]int{leak}, nil)
	for _, miss := range [][]float64{nil, make([]float64, 4), {0, 0, 0, 0, -0.1}, {0, 0, 0, 0, 1.1}, {math.NaN(), 0, 0, 0, 0}} {
		_, err := askMissed(&s, p, miss)
		require.ErrorAs(t, err, &bad)
	}
	wrong := &Problem{Causes: 1, Sources: []Source{{1, -1, 0.5}}}
	_, err := chainsOf(&s, wrong, &Answer{})
	require.ErrorAs(t, err, &bad)
	_, err = askMissed(&s, wrong, []float64{1})
	require.ErrorAs(t, err, &bad)
	_, err = chainsOf(&s, &Problem{Present: []Observation{{Background: sure(0)}}}, &Answer{})
	require.ErrorIs(t, err, ErrImpossible)
}
