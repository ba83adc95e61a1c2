package noisyor

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// pumpLike draws a network laid out like a pump of three cylinders: 150 causes, 50 of
// which (the roots) bring about five of the others on, and half of the others one more;
// 300 links in all. A cause of a cylinder touches signs there and of the whole pump.
func pumpLike(seed uint64, present, absent int) *Problem { return pumpWith(seed, present, absent, 1) }

// pumpWith has so many times the links from causes to signs.
func pumpWith(seed uint64, present, absent int, times float64) *Problem {
	r := rand.New(rand.NewPCG(seed, 300))
	const causes, roots, whole = 150, 50, 3
	place := func(c int) int { return []int{0, 0, 1, 1, 2, 2, whole, whole, whole, whole}[c%10] }
	at := func(sign int) int { return sign % 4 } // a quarter of the signs at each place
	signs := present + absent
	b := &brings{background: make([]float64, signs)}
	for c := range causes {
		b.prior = append(b.prior, 0.001+0.03*r.Float64())
		shows := map[int]float64{}
		for sign := range signs {
			touches := 0.3 // its own place
			switch {
			case place(c) == whole && at(sign) != whole:
				touches = 0.1
			case at(sign) == whole:
				touches = 0.2
			case at(sign) != place(c):
				touches = 0
			}
			if r.Float64() < touches*times {
				shows[sign] = 0.05 + 0.9*r.Float64()
			}
		}
		b.shows, b.brings = append(b.shows, shows), append(b.brings, map[int]float64{})
	}
	bring := func(c, from int) {
		for {
			d := from + r.IntN(causes-from)
			if d > c && b.brings[c][d] == 0 && (place(c) == whole || place(d) == place(c) || place(d) == whole && r.IntN(3) == 0) {
				b.brings[c][d] = 0.05 + 0.6*r.Float64()
				return
			}
		}
	}
	for k := range 300 {
		if k < 250 {
			bring(k%roots, roots)
		} else {
			bring(roots+k-250, roots+60)
		}
	}
	var seen, not []int
	for sign := range signs {
		b.background[sign] = 0.001 + 0.02*r.Float64()
		if sign < present {
			seen = append(seen, sign)
		} else {
			not = append(not, sign)
		}
	}
	return b.problem(seen, not)
}

func BenchmarkPump(b *testing.B) {
	for _, present := range []int{4, 8, 12, 16} {
		p := pumpLike(1, present, 6)
		for _, about := range []struct {
			name   string
			causes []int
		}{{"none", []int{}}, {"ten", []int{55, 65, 75, 85, 95, 105, 115, 125, 135, 145}}, {"all", nil}} {
			b.Run(fmt.Sprintf("positives=%d/about=%s", present, about.name), func(b *testing.B) {
				q := *p
				q.About = about.causes
				benchmarkSolve(b, &q)
			})
		}
		b.Run(fmt.Sprintf("positives=%d/chains", present), func(b *testing.B) {
			var s Solver
			a := solve(b, p)
			for b.Loop() {
				if _, err := chainsOf(&s, p, &a); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(fmt.Sprintf("positives=%d/evidence", present), func(b *testing.B) {
			var s Solver
			for b.Loop() {
				if _, err := s.Evidence(p); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// The same with links to three in ten of the signs.
func BenchmarkDensePump(b *testing.B) {
	for _, present := range []int{8, 12} {
		b.Run(fmt.Sprintf("positives=%d", present), func(b *testing.B) { benchmarkSolve(b, pumpWith(1, present, 6, 2.5)) })
	}
}

// The shape that the numbers in doc.go are for.
func TestPumpShape(t *testing.T) {
	p := pumpLike(1, 12, 6)
	links := 0
	for _, o := range p.Present {
		links += len(o.Links)
	}
	several, ways := 0, make([]int, p.Causes)
	for _, from := range p.Sources {
		if ways[from.Cause]++; ways[from.Cause] == 2 {
			several++
		}
	}
	require.Equal(t, 580, len(p.Sources))
	require.Equal(t, 97, several)
	require.InDelta(t, 0.12*12, float64(links)/float64(len(p.Sources)), 0.05)
}
