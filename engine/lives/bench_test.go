package lives

import (
	"math/rand/v2"
	"testing"
)

func BenchmarkWorstOfThree(b *testing.B) {
	random := rand.New(rand.NewPCG(1, 2))
	r := drawRecord(random, 3, func(place int) float64 { return 150 + 200*float64(place) })
	for b.Loop() {
		_, _ = WorstOf(r, 0.95)
	}
}

func BenchmarkFit(b *testing.B) {
	for b.Loop() {
		_, _ = Fit(nist, 0.95)
	}
}

func BenchmarkShorter(b *testing.B) {
	for b.Loop() {
		_, _ = ChanceShorter(nist, 0, 400, wear)
	}
}

func BenchmarkGroupsOfThree(b *testing.B) {
	random := rand.New(rand.NewPCG(1, 2))
	r := drawRecord(random, 3, func(place int) float64 { return 150 + 200*float64(place) })
	for b.Loop() {
		_, _, _ = Groups(r, 0.95)
	}
}

func BenchmarkFailing(b *testing.B) {
	w, _ := Fit(wornOut, 0.95)
	for b.Loop() {
		_, _ = w.Failing(300, 100)
	}
}

func BenchmarkChangeAt(b *testing.B) {
	w, _ := Fit(wornOut, 0.95)
	for b.Loop() {
		_, _ = w.ChangeAt(5)
	}
}
