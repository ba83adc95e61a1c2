package noisyor

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// compareSizes are networks from what any program can do to what only a special
// method can: causes, findings that are present, findings that are absent.
var compareSizes = [][3]int{{8, 3, 2}, {12, 4, 2}, {15, 4, 2}, {20, 4, 2}, {50, 8, 6}, {150, 12, 6}}

// comparison is one network as testdata/compare/compare.mjs reads it.
type comparison struct {
	Name        string
	Problem     *Problem
	Posterior   []float64
	NanosPerRun int64
}

// TestWriteComparison writes networks with the posteriors and times of this
// package, for the comparison with general-purpose inference that DEVELOPERS.md
// tells of. It runs only where TELLTALE_COMPARE names a folder to write to.
func TestWriteComparison(t *testing.T) {
	dir := os.Getenv("TELLTALE_COMPARE")
	if dir == "" {
		t.Skip("TELLTALE_COMPARE names no folder")
	}
	for i, size := range compareSizes {
		p := dense(uint64(i+1), size[0], size[1], size[2])
		bench := testing.Benchmark(func(b *testing.B) { benchmarkSolve(b, p) })
		c := comparison{
			Name:    fmt.Sprintf("%d causes, %d present, %d absent", size[0], size[1], size[2]),
			Problem: p, Posterior: solve(t, p).Posterior, NanosPerRun: bench.NsPerOp(),
		}
		text, err := json.Marshal(c)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, fmt.Sprintf("network-%d.json", i+1)), text, 0o644))
	}
}
