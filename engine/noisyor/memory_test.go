package noisyor

import (
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"
)

// allocated returns the bytes that a fresh solver allocates for p.
func allocated(t *testing.T, p *Problem) uint64 {
	t.Helper()
	var s Solver
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	_, err := s.Solve(p)
	runtime.ReadMemStats(&after)
	require.NoError(t, err)
	return after.TotalAlloc - before.TotalAlloc
}

func TestMemoryAtSixteenObservations(t *testing.T) {
	bytes := allocated(t, dense(1, 150, 16, 6))
	t.Logf("%.1f MB", float64(bytes)/1e6)
	require.Less(t, bytes, uint64(64<<20))
}

func TestMemoryAtTwentyObservations(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a second")
	}
	bytes := allocated(t, dense(1, 150, 20, 6))
	t.Logf("%.1f MB", float64(bytes)/1e6)
	require.Less(t, bytes, uint64(256<<20))
}

func TestMemoryOfAPumpAtSixteenObservations(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some seconds")
	}
	bytes := allocated(t, pumpLike(1, 16, 6))
	t.Logf("%.1f MB", float64(bytes)/1e6)
	require.Less(t, bytes, uint64(64<<20))
}
