package order

import (
	"math/bits"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// The counter against listing the sets.
func TestCounter(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 3))
	for i := range 200 {
		n := 1 + i%12
		p := drawShape(r, shape{steps: n, causes: 1, parents: i % 4, overlap: 1, most: 9})
		j := newJob(p, upTo(n), p.Weight)
		before, after := make([]uint64, n), make([]uint64, n)
		for u := range n {
			for _, v := range j.before[u].members() {
				before[u] |= 1 << v
				after[v] |= 1 << u
			}
		}
		want := 0
		for s := range uint64(1) << n {
			closed := true
			for rest := s; rest != 0; rest &= rest - 1 {
				closed = closed && before[bits.TrailingZeros64(rest)]&^s == 0
			}
			if closed {
				want++
			}
		}
		c := counter{before: before, after: after, limit: 1 << 20, budget: 20_000}
		require.InDelta(t, want, c.count(^uint64(0)>>(64-n)), 0)
		c.limit = float64(want) - 1
		require.Greater(t, c.count(^uint64(0)>>(64-n)), c.limit)
	}
}
