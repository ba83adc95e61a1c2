package noisyor

import (
	"encoding/binary"
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
		for c := range p.Causes {
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
		p.cause(math.Pow(float64(next())/255, 4))
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
		o := observation()
		if doubt := next(); doubt > 200 {
			o.Doubt = math.Pow(float64(doubt-200)/27, 6)
		}
		p.Present = append(p.Present, o)
	}
	for range absent {
		p.Absent = append(p.Absent, observation())
	}
	return p
}

// FuzzAnyInput reads bytes as raw numbers and indexes, valid or not. The solver must not
// panic, and what it answers must be probabilities.
func FuzzAnyInput(f *testing.F) {
	numbers := func(list ...float64) []byte {
		var out []byte
		for _, x := range list {
			out = binary.LittleEndian.AppendUint64(append(out, 0), math.Float64bits(x))
		}
		return out
	}
	f.Add(byte(1), byte(1), byte(1), numbers(0.5, 0.1, 0.9, 0.2, 0.8, 0.1, 0.9, 0.2, 0.8))
	f.Add(byte(2), byte(3), byte(0), numbers(math.NaN(), math.Inf(1), -1, 0.5, 5e-324, 1e-300, 1e-160))
	f.Add(byte(3), byte(2), byte(1), append([]byte{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17}, numbers(0.5, 0.25, 0.75, 1)...))
	f.Add(byte(3), byte(2), byte(2), numbers(5e-324, 1, 1e-308, 0, 5e-324, 1e-300, 1e-160, 1, 0, 5e-324, 1))
	f.Fuzz(func(t *testing.T, causes, present, absent byte, data []byte) {
		p := anything(int(causes%8), int(present%8), int(absent%8), data)
		s := Solver{MaxWidth: 10}
		a, err := s.Solve(p)
		z, again := s.Evidence(p)
		if (err == nil) != (again == nil) || a.Evidence != z {
			t.Fatalf("Solve gives %g, %v, but Evidence gives %g, %v", a.Evidence, err, z, again)
		}
		if err != nil {
			return
		}
		if !(z >= 0 && z <= 1+1e-9) {
			t.Errorf("evidence %g", z)
		}
		for c := range p.Causes {
			if !(a.Posterior[c] >= 0 && a.Posterior[c] <= 1+1e-12 && a.Odds[c] >= 0) {
				t.Errorf("cause %d: posterior %g, odds %g", c, a.Posterior[c], a.Odds[c])
			}
		}
		requireChances(t, a.Sources)
		chains, err := chainsOf(&s, p, &a)
		if err == nil {
			requireChances(t, chains.Alone)
			requireChances(t, chains.Shown)
			for _, x := range chains.Roots {
				requireChances(t, []float64{x.Probability})
			}
		}
		missed, err := askMissed(&s, p, a.Posterior)
		if err == nil && !(missed >= 0 && missed <= z*(1+1e-9)) {
			t.Errorf("missed %g of %g", missed, z)
		}
	})
}

func requireChances(t *testing.T, list []float64) {
	t.Helper()
	for i, x := range list {
		if !(x >= 0 && x <= 1+1e-12) {
			t.Errorf("number %d is %g", i, x)
		}
	}
}

// anything reads a network from raw numbers; each takes nine bytes, of which the first
// may name a cause. A number is mostly brought into bounds, however small it may be.
func anything(causes, present, absent int, data []byte) *Problem {
	next := func(most float64) (int, float64) {
		if len(data) < 9 {
			return 0, 0.5 * most
		}
		index, x := int(int8(data[0])), math.Float64frombits(binary.LittleEndian.Uint64(data[1:]))
		data = data[9:]
		if index&31 == 31 {
			return index, x
		}
		x = math.Abs(x)
		if !(x <= 1) {
			x = 1 / x
		}
		if math.IsNaN(x) {
			x = 1
		}
		return index & 7, x * most
	}
	yield := func() (int, Yield) {
		cause, yes := next(1)
		_, no := next(1 - yes)
		return cause, Yield{yes, no}
	}
	p := &Problem{}
	for range causes {
		index, chance := next(1)
		p.Sources = append(p.Sources, Source{index & 7, index>>3&7 - 1, chance})
	}
	p.Causes = causes
	observation := func() Observation {
		links, background := yield()
		o := Observation{Background: background}
		for range links & 7 {
			cause, y := yield()
			o.Links = append(o.Links, Link{cause, y})
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
