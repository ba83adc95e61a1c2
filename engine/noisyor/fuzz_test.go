package noisyor

import (
	"errors"
	"math"
	"testing"
)

// FuzzSolve reads bytes as a small network and compares the answer with enumeration.
func FuzzSolve(f *testing.F) {
	f.Add([]byte{3, 2, 1, 10, 20, 30, 0, 0, 255, 1, 200, 0, 90, 1, 10, 3, 255, 0})
	f.Add([]byte{5, 4, 2, 255, 0, 9, 9, 9, 40, 50, 60, 7, 7, 7, 7, 1, 2, 3, 4, 5, 6, 7, 8})
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, data []byte) {
		p := decode(data)
		var s Solver
		a, err := s.Solve(p)
		want := bruteForce(p)
		if want.evidence.Sign() == 0 {
			if !errors.Is(err, ErrImpossible) {
				t.Fatalf("impossible evidence, but error %v", err)
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if e := off(a.Evidence, want.evidence); e > 1e-12 {
			t.Errorf("evidence off by %g", e)
		}
		for c := range p.Prior {
			if e := off(a.Posterior[c], want.posterior(c)); !(e <= 1e-12) {
				t.Errorf("posterior %d off by %g", c, e)
			}
			odds, finite := want.odds(c)
			if finite && !(off(a.Odds[c], odds) <= 1e-12) || !finite && !math.IsInf(a.Odds[c], 1) {
				t.Errorf("odds %d are %g", c, a.Odds[c])
			}
		}
	})
}

// decode reads a valid network of at most 6 causes and 6 present observations.
func decode(data []byte) *Problem {
	next := func() int {
		if len(data) == 0 {
			return 0
		}
		b := data[0]
		data = data[1:]
		return int(b)
	}
	yield := func() Yield {
		yes, kept := float64(next())/255, next()
		if kept < 200 {
			return sure(yes)
		}
		return Yield{Yes: yes, No: (1 - yes) * float64(kept-200) / 55}
	}
	causes, present, absent := next()%7, next()%7, next()%4
	p := &Problem{}
	for range causes {
		p.Prior = append(p.Prior, math.Pow(float64(next())/255, 4))
	}
	observation := func() Observation {
		o := Observation{Background: yield()}
		links := next()
		for c := range causes {
			if links>>c&1 == 1 {
				o.Links = append(o.Links, Link{c, yield()})
			}
		}
		return o
	}
	for range present {
		p.Present = append(p.Present, observation())
	}
	for range absent {
		p.Absent = append(p.Absent, observation())
	}
	return p
}
