package noisyor

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// dense draws a network in which every cause is linked to about 30 % of the
// observations, with a background everywhere: the hard case for the order of causes.
func dense(seed uint64, causes, present, absent int) *Problem {
	r := rand.New(rand.NewPCG(seed, 30))
	p := &Problem{Present: make([]Observation, present), Absent: make([]Observation, absent)}
	for range causes {
		p.cause(0.001 + 0.05*r.Float64())
	}
	fill := func(o *Observation) {
		yes := 0.001 + 0.02*r.Float64()
		o.Background = Yield{Yes: yes, No: 1 - yes}
		for c := range causes {
			if r.Float64() < 0.3 {
				yes := 0.05 + 0.9*r.Float64()
				o.Links = append(o.Links, Link{c, Yield{Yes: yes, No: 1 - yes}})
			}
		}
	}
	for i := range p.Present {
		fill(&p.Present[i])
	}
	for i := range p.Absent {
		fill(&p.Absent[i])
	}
	return p
}

func BenchmarkSolve(b *testing.B) {
	for _, present := range []int{4, 8, 12, 16, 20} {
		for _, causes := range []int{50, 150, 500} {
			if present == 20 && causes != 150 {
				continue
			}
			b.Run(fmt.Sprintf("positives=%d/causes=%d", present, causes), func(b *testing.B) {
				benchmarkSolve(b, dense(1, causes, present, 6))
			})
		}
	}
}

func benchmarkSolve(b *testing.B, p *Problem) {
	var s Solver
	var a Answer
	b.ReportAllocs()
	for b.Loop() {
		if err := s.SolveInto(p, &a); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkEvidence(b *testing.B) {
	for _, present := range []int{8, 12, 16} {
		b.Run(fmt.Sprintf("positives=%d/causes=150", present), func(b *testing.B) {
			p := dense(1, 150, present, 6)
			var s Solver
			for b.Loop() {
				if _, err := s.Evidence(p); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
