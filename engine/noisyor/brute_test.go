package noisyor

import (
	"math/big"
)

// brute enumerates every state of the causes in exact rational arithmetic: the
// oracle of these tests.
type brute struct {
	evidence *big.Rat
	joint    []*big.Rat
}

func rat(x float64) *big.Rat { return new(big.Rat).SetFloat64(x) }

func bruteForce(p *Problem) brute {
	n := len(p.Prior)
	b := brute{evidence: new(big.Rat)}
	for range n {
		b.joint = append(b.joint, new(big.Rat))
	}
	for state := range 1 << n {
		mass := big.NewRat(1, 1)
		for c := range n {
			q := rat(p.Prior[c])
			if state>>c&1 == 0 {
				q.Sub(big.NewRat(1, 1), q)
			}
			mass.Mul(mass, q)
		}
		for _, o := range p.Present {
			none, allowed := sources(o, state)
			doubted := new(big.Rat).Mul(none, rat(o.Doubt))
			mass.Mul(mass, allowed.Sub(allowed, none).Add(allowed, doubted))
		}
		for _, o := range p.Absent {
			none, _ := sources(o, state)
			mass.Mul(mass, none)
		}
		b.evidence.Add(b.evidence, mass)
		for c := range n {
			if state>>c&1 == 1 {
				b.joint[c].Add(b.joint[c], mass)
			}
		}
	}
	return b
}

// sources multiplies, over the background and the present causes, the mass of
// yielding nothing and the mass of not contradicting.
func sources(o Observation, state int) (none, allowed *big.Rat) {
	none, allowed = rat(o.Background.No), new(big.Rat).Add(rat(o.Background.Yes), rat(o.Background.No))
	for _, l := range o.Links {
		if state>>l.Cause&1 == 1 {
			none.Mul(none, rat(l.No))
			allowed.Mul(allowed, new(big.Rat).Add(rat(l.Yes), rat(l.No)))
		}
	}
	return none, allowed
}

// posterior and odds of the oracle.
func (b brute) posterior(c int) *big.Rat { return new(big.Rat).Quo(b.joint[c], b.evidence) }

func (b brute) odds(c int) (*big.Rat, bool) {
	rest := new(big.Rat).Sub(b.evidence, b.joint[c])
	if rest.Sign() == 0 {
		return nil, false
	}
	return new(big.Rat).Quo(b.joint[c], rest), true
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
