package wear

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// What the search misses of all sets, with more readings than it weighs whole and with
// three times the misread readings that it is told: at most a hundredth of the weight.
func TestWhatTheSearchMisses(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for range 6 {
		q, _ := world{readings: wholeUpTo + 2, corrections: 2, noise: 1.5, mistakes: 0.15}.draw(random)
		points := pointsOf(q, q.series(0))
		ways, _ := weigh(points, q.Misread)
		s := newSearch(points, q.Misread)
		ref := s.weigh(sumsOf(points, ways[0].misread), ways[0].misread).log
		kept := map[set]bool{}
		for _, w := range ways {
			kept[w.misread] = true
		}
		all, missed := 0.0, 0.0
		for x := range set(1) << len(points) {
			w := math.Exp(s.weigh(sumsOf(points, x), x).log - ref)
			all += w
			if !kept[x] {
				missed += w
			}
		}
		assert.Less(t, missed/all, 0.01)
	}
}

// Up to wholeUpTo readings the sum is whole: what is left out is what was meant to be.
func TestTheWholeSum(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	for range 10 {
		q, _ := world{readings: 9, corrections: 1, noise: 2, mistakes: 0.3}.draw(random)
		points := pointsOf(q, q.series(0))
		s := newSearch(points, q.Misread)
		all := map[set]float64{}
		total := 0.0
		for x := range set(1) << len(points) {
			all[x] = math.Exp(s.weigh(sumsOf(points, x), x).log)
			total += all[x]
		}
		ways, _ := weigh(points, q.Misread)
		sum := 0.0
		for _, w := range ways {
			assert.InDelta(t, all[w.misread]/total, w.chance, leftOut)
			sum += all[w.misread]
		}
		assert.GreaterOrEqual(t, sum/total, 1-leftOut-1e-12)
	}
}
