package noisyor

import (
	"math/big"
	"math/bits"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// quickscore is inclusion-exclusion over the present observations (Heckerman 1989; from
// memory), which shares nothing with the solver. It works in big floating point, wide
// enough that every operation is exact.
type quickscore struct {
	p     *Problem
	prec  uint
	exact bool
}

func (q *quickscore) num(x float64) *big.Float { return new(big.Float).SetPrec(q.prec).SetFloat64(x) }

// note remembers whether the last operation on z was rounded.
func (q *quickscore) note(z *big.Float) *big.Float {
	q.exact = q.exact && z.Acc() == big.Exact
	return z
}

func (q *quickscore) mul(a, b *big.Float) *big.Float {
	return q.note(new(big.Float).SetPrec(q.prec).Mul(a, b))
}

func (q *quickscore) add(a, b *big.Float) *big.Float {
	return q.note(new(big.Float).SetPrec(q.prec).Add(a, b))
}

// run returns the evidence and, for every cause, the evidence with the cause present.
func (q *quickscore) run() (evidence *big.Float, joint []*big.Float) {
	n := q.p.Causes
	evidence = q.num(0)
	for range n {
		joint = append(joint, q.num(0))
	}
	for subset := range uint(1) << len(q.p.Present) {
		rest, on, both := q.term(subset)
		before := []*big.Float{rest}
		for c := range n {
			before = append(before, q.mul(before[c], both[c]))
		}
		sign := q.num(1 - 2*float64(bits.OnesCount(subset)&1))
		evidence = q.add(evidence, q.mul(sign, before[n]))
		after := sign
		for c := n - 1; c >= 0; c-- {
			joint[c] = q.add(joint[c], q.mul(q.mul(before[c], on[c]), after))
			after = q.mul(after, both[c])
		}
	}
	return evidence, joint
}

// term returns the factors of one subset of the present observations: that of the
// backgrounds, that of every cause present, and that of every cause present or not.
func (q *quickscore) term(subset uint) (rest *big.Float, on, both []*big.Float) {
	rest = q.num(1)
	for c := range q.p.Causes {
		prior := q.p.Sources[c].Chance
		on = append(on, q.num(prior))
	}
	fold := func(o *Observation, silent bool) {
		mass := func(y Yield) *big.Float {
			if silent {
				return q.num(y.No)
			}
			return q.add(q.num(y.Yes), q.num(y.No))
		}
		rest = q.mul(rest, mass(o.Background))
		for _, l := range o.Links {
			on[l.Source] = q.mul(on[l.Source], mass(l.Yield))
		}
	}
	for i := range q.p.Absent {
		fold(&q.p.Absent[i], true)
	}
	for i := range q.p.Present {
		fold(&q.p.Present[i], subset>>i&1 == 1)
	}
	for c := range q.p.Causes {
		prior := q.p.Sources[c].Chance
		both = append(both, q.add(on[c], q.add(q.num(1), q.num(-prior))))
	}
	return rest, on, both
}

// coarse draws a network in 1024ths, so that exact arithmetic stays short.
func coarse(r *rand.Rand, causes, present, absent int, kinds bool) *Problem {
	draw := func(from, to int) float64 { return float64(from+r.IntN(to-from)) / 1024 }
	observation := func() Observation {
		yes := draw(0, 40)
		o := Observation{Background: sure(yes)}
		for c := range causes {
			if r.IntN(10) >= 3 {
				continue
			}
			y := sure(draw(10, 1000))
			if kinds && r.IntN(4) == 0 {
				y.No /= 2
			}
			o.Links = append(o.Links, Link{c, y})
		}
		return o
	}
	p := &Problem{}
	for range causes {
		p.cause(draw(1, 100))
	}
	for range present {
		p.Present = append(p.Present, observation())
	}
	for range absent {
		p.Absent = append(p.Absent, observation())
	}
	return p
}

// requireQuickscore compares the solver with exact inclusion-exclusion.
func requireQuickscore(t *testing.T, p *Problem) {
	t.Helper()
	q := &quickscore{p: p, prec: 40000, exact: true}
	evidence, joint := q.run()
	require.True(t, q.exact, "the oracle rounded")
	a := solve(t, p)
	want, _ := evidence.Rat(nil)
	require.Less(t, off(a.Evidence, want), 1e-12)
	for c := range joint {
		present, _ := joint[c].Rat(nil)
		absent, _ := q.add(evidence, new(big.Float).Neg(joint[c])).Rat(nil)
		require.Less(t, ratioError(a.Posterior[c], present, want), 1e-12, "posterior of cause %d", c)
		require.Less(t, ratioError(a.Odds[c], present, absent), 1e-12, "odds of cause %d", c)
	}
}

// ratioError is the relative difference of got from a/b, without reducing a fraction
// of many thousand digits.
func ratioError(got float64, a, b *big.Rat) float64 {
	x := new(big.Float).SetPrec(300).SetRat(a)
	x.Quo(x, new(big.Float).SetPrec(300).SetRat(b))
	d := new(big.Float).Sub(new(big.Float).SetPrec(300).SetFloat64(got), x)
	f, _ := d.Quo(d, x).Abs(d).Float64()
	return f
}

func TestSixtyCausesAgainstInclusionExclusion(t *testing.T) {
	r := rand.New(rand.NewPCG(60, 8))
	requireQuickscore(t, coarse(r, 60, 8, 6, false))
	requireQuickscore(t, coarse(r, 60, 8, 6, true))
}

func TestManyObservationsAgainstInclusionExclusion(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a second")
	}
	r := rand.New(rand.NewPCG(20, 11))
	requireQuickscore(t, coarse(r, 20, 11, 3, true))
}
