package wear

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

func BenchmarkFit(b *testing.B) {
	for _, n := range []int{4, 12, 20, 40} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			random := rand.New(rand.NewPCG(1, 2))
			var all []Question
			for range 50 {
				q, _ := world{readings: n, corrections: 2, noise: 1, mistakes: 0.05}.draw(random)
				all = append(all, q)
			}
			i := 0
			for b.Loop() {
				if _, err := Fit(all[i%len(all)]); err != nil {
					b.Fatal(err)
				}
				i++
			}
		})
	}
}
