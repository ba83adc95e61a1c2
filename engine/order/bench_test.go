package order

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// BenchmarkAllSets weighs 2^n sets: n checks of which none waits for another,
// each cause exposed by up to three of them.
func BenchmarkAllSets(b *testing.B) {
	for _, n := range []int{12, 16, 18, 20} {
		b.Run(fmt.Sprintf("sets=2^%d", n), func(b *testing.B) {
			r := rand.New(rand.NewPCG(1, 2))
			p := drawShape(r, shape{steps: n, causes: 2 * n, overlap: 3, most: 20})
			steps := upTo(n)
			b.ReportAllocs()
			for b.Loop() {
				if _, ok := newJob(p, steps, p.Weight).allSets(1 << 20); !ok {
					b.Fatal("too many sets")
				}
			}
		})
	}
}

// BenchmarkBest orders random lists of doors and checks that share causes.
func BenchmarkBest(b *testing.B) {
	for _, n := range []int{20, 50, 100, 150} {
		for _, maxSets := range []int{1, 1 << 20} {
			b.Run(fmt.Sprintf("steps=%d/sets=%d", n, maxSets), func(b *testing.B) {
				r := rand.New(rand.NewPCG(1, 2))
				p := drawShape(r, shape{steps: n, causes: n, parents: 1, overlap: 3, doors: .3, most: 20})
				b.ReportAllocs()
				for b.Loop() {
					if _, _, err := Best(p, nil, all(n), Options{MaxSets: maxSets}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
