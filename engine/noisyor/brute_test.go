package noisyor

import (
	"math/big"
)

// brute enumerates every state of the sources in exact rational arithmetic: the
// oracle of these tests.
type brute struct {
	evidence *big.Rat
	joint    []*big.Rat // with each cause
	sources  []*big.Rat // with each source
	alone    []*big.Rat // with each cause that nothing brought on
	hidden   []*big.Rat // with nothing shown by each cause
	roots    map[[2]int]*big.Rat
}

func rat(x float64) *big.Rat { return new(big.Rat).SetFloat64(x) }

func rats(n int) []*big.Rat {
	out := make([]*big.Rat, n)
	for i := range out {
		out[i] = new(big.Rat)
	}
	return out
}

// bruteForce is the oracle without hidden, which costs the most.
func bruteForce(p *Problem) brute { return enumerate(p, false) }

func enumerate(p *Problem, hidden bool) brute {
	b := brute{
		evidence: new(big.Rat), joint: rats(p.Causes), sources: rats(len(p.Sources)), alone: rats(p.Causes), hidden: rats(p.Causes),
		roots: map[[2]int]*big.Rat{},
	}
	for state := range 1 << len(p.Sources) {
		if mass := chanceOf(p, state); mass.Sign() > 0 {
			b.count(p, state, mass, hidden)
		}
	}
	return b
}

// chanceOf is the probability that exactly the sources of state are on.
func chanceOf(p *Problem, state int) *big.Rat {
	mass := big.NewRat(1, 1)
	for s, from := range p.Sources {
		on := state>>s&1 == 1
		if from.Under >= 0 && state>>from.Under&1 == 0 {
			if on {
				return new(big.Rat)
			}
			continue
		}
		q := rat(from.Chance)
		if !on {
			q.Sub(big.NewRat(1, 1), q)
		}
		mass.Mul(mass, q)
	}
	return mass
}

// count adds a state of that mass to all that it is part of.
func (b *brute) count(p *Problem, state int, chance *big.Rat, hidden bool) {
	mass := new(big.Rat).Mul(chance, likelihood(p, state, 0))
	b.evidence.Add(b.evidence, mass)
	there, brought := make([]bool, p.Causes), make([]bool, p.Causes)
	silent, roots := make([]int, p.Causes), map[[2]int]bool{}
	for s, from := range p.Sources {
		root := s
		for up := s; up >= 0; up = p.Sources[up].Under {
			root = up
			if state>>s&1 == 1 {
				silent[p.Sources[up].Cause] |= 1 << s
			}
		}
		if from.Under >= 0 {
			key := [2]int{from.Cause, root}
			if b.roots[key] == nil {
				b.roots[key] = new(big.Rat)
			}
			roots[key] = roots[key] || state>>s&1 == 1 || state>>root&1 == 1 && p.Sources[root].Cause == from.Cause
		}
		if state>>s&1 == 0 {
			continue
		}
		there[from.Cause] = true
		brought[from.Cause] = brought[from.Cause] || from.Under >= 0
		b.sources[s].Add(b.sources[s], mass)
	}
	for key, on := range roots {
		if on {
			b.roots[key].Add(b.roots[key], mass)
		}
	}
	for c := range p.Causes {
		if there[c] {
			b.joint[c].Add(b.joint[c], mass)
		}
		if there[c] && !brought[c] {
			b.alone[c].Add(b.alone[c], mass)
		}
		if !hidden {
			continue
		}
		b.hidden[c].Add(b.hidden[c], new(big.Rat).Mul(chance, likelihood(p, state, silent[c])))
	}
}

// likelihood is the probability of all that was observed, and of the sources in silent
// yielding nothing at all, when exactly the sources of state are on.
func likelihood(p *Problem, state, silent int) *big.Rat {
	mass := big.NewRat(1, 1)
	for _, o := range p.Present {
		none, allowed := sources(o, state&^silent)
		doubted := new(big.Rat).Mul(none, rat(o.Doubt))
		mass.Mul(mass, allowed.Sub(allowed, none).Add(allowed, doubted))
		if silent != 0 {
			o.Background = Yield{No: 1}
			none, _ = sources(o, silent)
			mass.Mul(mass, none)
		}
	}
	for _, o := range p.Absent {
		none, _ := sources(o, state)
		mass.Mul(mass, none)
	}
	return mass
}

// sources multiplies, over the background and the sources that are on, the mass of
// yielding nothing and the mass of not contradicting.
func sources(o Observation, state int) (none, allowed *big.Rat) {
	none, allowed = rat(o.Background.No), new(big.Rat).Add(rat(o.Background.Yes), rat(o.Background.No))
	for _, l := range o.Links {
		if state>>l.Source&1 == 1 {
			none.Mul(none, rat(l.No))
			allowed.Mul(allowed, new(big.Rat).Add(rat(l.Yes), rat(l.No)))
		}
	}
	return none, allowed
}

// given is what something weighs over what the evidence does.
func (b brute) given(mass *big.Rat) *big.Rat { return new(big.Rat).Quo(mass, b.evidence) }

// posterior and odds of the oracle.
func (b brute) posterior(c int) *big.Rat { return b.given(b.joint[c]) }

func (b brute) odds(c int) (*big.Rat, bool) {
	rest := new(big.Rat).Sub(b.evidence, b.joint[c])
	if rest.Sign() == 0 {
		return nil, false
	}
	return new(big.Rat).Quo(b.joint[c], rest), true
}

// missed is the mass of the evidence where a source that is on and shows something is
// missed with that chance of its cause (see Asked.Miss).
func (b brute) missed(p *Problem, miss []float64) *big.Rat {
	total, one := new(big.Rat), big.NewRat(1, 1)
	silent := make([]*big.Rat, len(p.Sources))
	for s := len(p.Sources) - 1; s >= 0; s-- {
		silent[s] = big.NewRat(1, 1)
		for _, list := range [][]Observation{p.Present, p.Absent} {
			for _, o := range list {
				none, _ := sources(Observation{Background: Yield{No: 1}, Links: o.Links}, 1<<s)
				silent[s].Mul(silent[s], none)
			}
		}
		for below, from := range p.Sources {
			if from.Under == s {
				t := rat(from.Chance)
				silent[s].Mul(silent[s], new(big.Rat).Add(new(big.Rat).Sub(one, t), new(big.Rat).Mul(t, silent[below])))
			}
		}
	}
	for state := range 1 << len(p.Sources) {
		mass := big.NewRat(1, 1)
		for s, from := range p.Sources {
			t, x := rat(from.Chance), rat(miss[from.Cause])
			on := state>>s&1 == 1
			switch {
			case from.Under >= 0 && state>>from.Under&1 == 0:
				if on {
					mass.SetInt64(0)
				}
			case on:
				mass.Mul(mass, t.Mul(t, x))
			default:
				exposed := new(big.Rat).Sub(one, x)
				exposed.Mul(exposed, t)
				if exposed.Mul(exposed, silent[s]); len(p.Present) == 0 {
					exposed.SetInt64(0)
				}
				mass.Mul(mass, exposed.Add(exposed, new(big.Rat).Sub(one, t)))
			}
		}
		if mass.Sign() > 0 {
			total.Add(total, mass.Mul(mass, likelihood(p, state, 0)))
		}
	}
	return total
}

// off is the relative difference of a float from a rational.
func off(got float64, want *big.Rat) float64 {
	if want.Sign() == 0 {
		return got
	}
	d := new(big.Rat).Sub(rat(got), want)
	f, _ := d.Quo(d, want).Float64()
	if f < 0 {
		return -f
	}
	return f
}
