package order

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// BenchmarkSets has up to 2^n sets to weigh: n checks of which none waits for
// another, each cause exposed by up to three of them.
func BenchmarkSets(b *testing.B) {
	for _, n := range []int{12, 16} {
		b.Run(fmt.Sprintf("sets=2^%d", n), func(b *testing.B) {
			r := rand.New(rand.NewPCG(1, 2))
			p := drawShape(r, shape{steps: n, causes: 2 * n, overlap: 3, most: 20})
			b.ReportAllocs()
			for b.Loop() {
				if _, proof, err := Best(p, nil, all(n), Options{MaxSets: 1 << 20}); err != nil || !proof.Exact {
					b.Fatal("not proved", err)
				}
			}
		})
	}
}

// BenchmarkBest orders random lists of doors and checks that share causes.
func BenchmarkBest(b *testing.B) {
	for _, n := range []int{20, 50, 100, 150} {
		for _, maxSets := range []int{1, DefaultMaxSets} {
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
