package noisyor

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// settled returns priors that switch the causes of state on and the others off.
func settled(causes, state int) []float64 {
	prior := make([]float64, causes)
	for c := range prior {
		prior[c] = float64(state >> c & 1)
	}
	return prior
}

// requireTable checks the probability of one observation for every state of its causes;
// bit c of the index says whether cause c is present.
func requireTable(t *testing.T, o Observation, causes int, table []float64) {
	t.Helper()
	var s Solver
	for state, want := range table {
		p := flat(settled(causes, state), Problem{Present: []Observation{o}})
		got, err := s.Evidence(p)
		if want == 0 {
			require.ErrorIs(t, err, ErrImpossible)
			continue
		}
		require.NoError(t, err)
		require.InEpsilon(t, want, got, 1e-12, "state %b", state)
	}
}

// The fever table: Russell and Norvig, Artificial Intelligence: A Modern Approach,
// section on noisy-OR relations. Cold, flu, malaria fail to cause fever with .6, .2, .1.
func TestFeverTable(t *testing.T) {
	requireTable(t, chance(0, 0.4, 0.8, 0.9), 3, []float64{0, 0.4, 0.8, 0.88, 0.9, 0.94, 0.98, 0.988})
}

// Strengths .7, .6, .8 without a background. The table is the formula
// 1 - product of (1 - strength), worked out by hand.
func TestTableOfThreeStrengths(t *testing.T) {
	requireTable(t, chance(0, 0.7, 0.6, 0.8), 3, []float64{0, 0.7, 0.6, 0.88, 0.8, 0.94, 0.92, 0.976})
}

// Background .1, strengths .8 and .6. The table is the leaky formula
// 1 - (1 - background) * product of (1 - strength) (Pearl 1988, Probabilistic Reasoning
// in Intelligent Systems, noisy-OR section; cited from memory), worked out by hand.
func TestTableWithBackground(t *testing.T) {
	requireTable(t, chance(0.1, 0.8, 0.6), 2, []float64{0.1, 0.82, 0.64, 0.928})
}

func feverAlone() *Problem {
	return flat([]float64{0.1, 0.1, 0.1}, Problem{Present: []Observation{chance(0, 0.4, 0.8, 0.9)}})
}

// The fever table with priors of .1 each. The fractions are calculated from the table
// by enumeration of the eight states.
func TestFeverPosteriors(t *testing.T) {
	a := requireExact(t, feverAlone())
	require.InEpsilon(t, 3067.0/15625, a.Evidence, 1e-14)
	require.InEpsilon(t, 6221.0/24536, a.Posterior[0], 1e-14)
	require.InEpsilon(t, 2579.0/6134, a.Posterior[1], 1e-14)
	require.InEpsilon(t, 2849.0/6134, a.Posterior[2], 1e-14)
}

// The same with fever looked for and not found: prior odds 1/9 times .6, .2, .1.
func TestFeverAbsent(t *testing.T) {
	p := feverAlone()
	p.Present, p.Absent = nil, p.Present
	a := requireExact(t, p)
	for c, want := range []float64{1.0 / 16, 1.0 / 46, 1.0 / 91} {
		require.InEpsilon(t, want, a.Posterior[c], 1e-14)
	}
}

// Weight of evidence in decibans, 10 log10 of posterior odds over prior odds (Good 1950,
// Probability and the Weighing of Evidence; from memory). The values are calculated
// from the fractions of TestFeverPosteriors.
func TestFeverWeightOfEvidence(t *testing.T) {
	a := solve(t, feverAlone())
	for c, want := range []float64{4.852958, 8.148542, 8.923996} {
		require.InDelta(t, want, 10*math.Log10(a.Odds[c]*9), 1e-6)
	}
}

// A heart condition with prior 1/5 and a death in bed seen with 2/3 given the condition
// and 1/4 without: factor 8/3, odds 1:4 become 2:3 (Turing about 1941, The Applications
// of Probability to Cryptography; numbers from memory, arithmetic checked).
func TestFactorOfOneObservation(t *testing.T) {
	p := flat([]float64{0.2}, Problem{Present: []Observation{chance(0.25, 5.0/9)}})
	a := requireExact(t, p)
	require.InEpsilon(t, 2.0/3, a.Odds[0], 1e-14)
	require.InEpsilon(t, 0.4, a.Posterior[0], 1e-14)
	require.InDelta(t, 4.2597, 10*math.Log10(a.Odds[0]*4), 1e-4) // decibans of 8/3
}

// widgets is a machine that is bad with prior 1/11, and widgets drawn from it: a bad
// machine makes one in three defective, a good one one in six. The defects of a good
// machine are the background; strength 1/5 on top gives 1 - (5/6)(4/5) = 1/3.
func widgets(defective, sound int) *Problem {
	p := flat([]float64{1.0 / 11}, Problem{})
	for range defective {
		p.Present = append(p.Present, chance(1.0/6, 0.2))
	}
	for range sound {
		p.Absent = append(p.Absent, chance(1.0/6, 0.2))
	}
	return p
}

// Each defective widget is worth 10 log10(2) = 3.01 decibans for the bad machine, each
// sound one 10 log10(4/5) = -0.97, from -10 before the first (Jaynes 2003, Probability
// Theory: The Logic of Science, chapter 4; numbers from memory, arithmetic checked).
func TestWidgetsInDecibans(t *testing.T) {
	for _, draw := range []struct {
		defective, sound int
		decibans         float64
	}{{0, 0, -10}, {1, 0, -6.9897}, {0, 1, -10.9691}, {3, 0, -0.9691}, {5, 5, 0.2060}, {20, 0, 50.2060}} {
		p := widgets(draw.defective, draw.sound)
		a := requireExact(t, p)
		require.InDelta(t, draw.decibans, 10*math.Log10(a.Odds[0]), 1e-4)
	}
	require.InEpsilon(t, 4.0/9, solve(t, widgets(3, 0)).Posterior[0], 1e-14)
}

// The certain OR of the chest clinic network (Lauritzen and Spiegelhalter 1988, Local
// Computations with Probabilities on Graphical Structures): tuberculosis .0104, lung
// cancer .055, either .064828; the X-ray is positive with .98 given either and .05 given
// neither, in all .11029004. The first two are summed over visit to Asia and smoking,
// and all are calculated from the tables of the paper. With strength 1 the posteriors
// given either are prior over evidence. The rest of that network is not a noisy OR.
func TestCertainOr(t *testing.T) {
	p := flat([]float64{0.0104, 0.055}, Problem{Present: []Observation{chance(0, 1, 1)}})
	a := requireExact(t, p)
	require.InEpsilon(t, 0.064828, a.Evidence, 1e-12)
	require.InEpsilon(t, 0.0104/0.064828, a.Posterior[0], 1e-12)
	require.InEpsilon(t, 0.055/0.064828, a.Posterior[1], 1e-12)
	neither := requireExact(t, &Problem{Causes: p.Causes, Sources: p.Sources, Absent: p.Present})
	require.InEpsilon(t, 0.11029004, 0.98*a.Evidence+0.05*neither.Evidence, 1e-12)
}
