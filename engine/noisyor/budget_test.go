package noisyor

import (
	"math/rand/v2"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// spent is what working out a problem in every way takes, and whether it was refused.
func spent(t *testing.T, b *Budget, p *Problem) error {
	t.Helper()
	s := Solver{Budget: b}
	if _, err := s.Solve(p); err != nil {
		return err
	}
	if err := s.Hold(p); err != nil {
		return err
	}
	if _, err := s.Ask(Asked{}); err != nil {
		return err
	}
	if _, err := s.AskRoots(Asked{}, make([]float64, 3)); err != nil {
		return err
	}
	var a Answer
	return s.SolveHeld(nil, &a, &Chains{})
}

// What is spent is the same each time: with just that much the problem is answered, and
// with one move less it is refused.
func TestABudgetIsSpentToTheMove(t *testing.T) {
	for seed := range uint64(20) {
		p := randomChains(rand.New(rand.NewPCG(seed, 5)), 12, 3, 2)
		free := &Budget{Most: 1 << 40}
		if err := spent(t, free, p); err != nil {
			require.ErrorIs(t, err, ErrImpossible)
			continue
		}
		require.NoError(t, spent(t, &Budget{Most: free.Done()}, p))
		var wide *TooWideError
		require.ErrorAs(t, spent(t, &Budget{Most: free.Done() - 1}, p), &wide)
		require.Equal(t, free.Done()-1, wide.MaxWork)
		require.ErrorAs(t, spent(t, &Budget{}, p), &wide)
	}
}

// What is past the budget is refused before it is begun, and stays so for every solver
// that shares it.
func TestASpentBudgetStaysSpent(t *testing.T) {
	p := dense(2, 150, 15, 0)
	b := &Budget{Most: 1000}
	s := Solver{Budget: b}
	_, err := s.Evidence(p)
	require.EqualError(t, err, "noisyor: it takes more than 0 million moves")
	require.Empty(t, s.chain.kept, "nothing was laid out for it")
	_, err = (&Solver{Budget: b}).Evidence(dense(2, 2, 1, 0))
	require.Error(t, err)
	_, err = new(Solver).Evidence(p)
	require.NoError(t, err)
}

// Solvers that go side by side spend as much as one after another.
func TestABudgetIsShared(t *testing.T) {
	p := dense(3, 40, 8, 4)
	alone := &Budget{Most: 1 << 40}
	require.NoError(t, spent(t, alone, p))
	together := &Budget{Most: 1 << 40}
	var beside sync.WaitGroup
	for range 4 {
		beside.Go(func() { _ = spent(t, together, p) })
	}
	beside.Wait()
	require.Equal(t, 4*alone.Done(), together.Done())
}
