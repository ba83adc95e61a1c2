package noisyor

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// brings is a network as a book tells it: causes with the signs that they show and the
// causes that they bring on, each with its chance.
type brings struct {
	prior      []float64
	shows      []map[int]float64 // by cause, the chance to show a sign
	brings     []map[int]float64 // by cause, the chance to bring a later one on
	background []float64         // by sign
}

// problem lays every way in which a cause can come out as a source.
func (b *brings) problem(present, absent []int) *Problem {
	p := &Problem{Causes: len(b.prior)}
	var add func(cause, under int, chance float64)
	add = func(cause, under int, chance float64) {
		s := len(p.Sources)
		p.Sources = append(p.Sources, Source{cause, under, chance})
		for brought := range b.prior {
			if chance := b.brings[cause][brought]; chance > 0 {
				add(brought, s, chance)
			}
		}
	}
	for c, prior := range b.prior {
		add(c, -1, prior)
	}
	for _, sign := range present {
		p.Present = append(p.Present, b.observe(p, sign))
	}
	for _, sign := range absent {
		p.Absent = append(p.Absent, b.observe(p, sign))
	}
	return p
}

func (b *brings) observe(p *Problem, sign int) Observation {
	o := Observation{Background: sure(b.background[sign])}
	for s, from := range p.Sources {
		if chance := b.shows[from.Cause][sign]; chance > 0 {
			o.Links = append(o.Links, Link{s, sure(chance)})
		}
	}
	return o
}

// The signs of the worn pair.
const (
	leak = iota
	grooves
	weak
	shinyBelow
	shinyAside
	tornAgain
	grit
)

// wornPair is three causes (a low guide, a loose clamp, dirt) each of which can bring on
// two others (a scored bore, a worn seal). The numbers are invented.
func wornPair() *brings {
	return &brings{
		prior: []float64{0.015, 0.008, 0.015, 0.01, 0.03}, // guide, clamp, dirt, bore, seal
		shows: []map[int]float64{
			{shinyBelow: 0.6, tornAgain: 0.6}, {shinyAside: 0.4, tornAgain: 0.5}, {grit: 0.9},
			{leak: 0.8, grooves: 0.9}, {leak: 0.8, weak: 0.6},
		},
		brings:     []map[int]float64{{3: 0.3, 4: 0.6}, {3: 0.2, 4: 0.5}, {3: 0.5, 4: 0.6}, nil, nil},
		background: []float64{leak: 0.01, grooves: 0.005, weak: 0.02, shinyBelow: 0.02, shinyAside: 0.01, tornAgain: 0.02, grit: 0.02},
	}
}

// The posteriors of the worn pair were worked out by a separate program, in another
// language, which enumerates all states in rational arithmetic; rounded to six digits.
func TestWornPair(t *testing.T) {
	for _, row := range []struct {
		present, absent                []int
		guide, clamp, dirt, bore, seal float64
	}{
		{[]int{grooves}, nil, .165158, .061628, .265944, .812064, .307666},
		{[]int{grooves, tornAgain}, nil, .686823, .218007, .065724, .962447, .560487},
		{[]int{leak, grooves}, []int{grit}, .291903, .105713, .048582, .984287, .309325},
		{[]int{leak, weak}, []int{grooves}, .154402, .077975, .118064, .024457, .990268},
		{[]int{grooves, shinyBelow, tornAgain}, []int{grit}, .986691, .024851, .003431, .986496, .612758},
	} {
		p := wornPair().problem(row.present, row.absent)
		a := requireExact(t, p)
		require.InDeltaSlice(t, []float64{row.guide, row.clamp, row.dirt, row.bore, row.seal}, a.Posterior, 0.5e-6)
	}
}
