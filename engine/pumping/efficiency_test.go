package pumping

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/measure"
)

// Recomputed: 6.5x12 triplex, 60 bbl +-.5 in 510 +-1 strokes: .9555, slip
// 4.45 %, relative uncertainty .49 % (JCGM 100:2008, from memory).
func TestVolumetricEfficiency(t *testing.T) {
	p := triplex(t, 6.5, 12)
	near(t, 0.1231283, p.Displacement()/barrel, 1e-6)
	e, err := p.VolumetricEfficiency(within(60*barrel, 0.5*barrel), within(510, 1))
	require.NoError(t, err)
	assert.InDelta(t, 0.9555, e.Mean, 5e-5)
	assert.InDelta(t, 0.0445, 1-e.Mean, 5e-5)
	assert.InDelta(t, 0.0049, e.U/e.Mean, 5e-5)
}

// Recomputed: what one dead chamber leaves. Triplex 66.7 %; duplex 6.5/2.5 in
// 73.0 % without a head end, 77.0 % without a crank end.
func TestDeadChambers(t *testing.T) {
	exact := measure.Value{Mean: 1, U: 0.01}
	s, err := triplex(t, 6.5, 12).Signatures(exact, measure.Value{})
	require.NoError(t, err)
	require.Len(t, s, 2)
	assert.Equal(t, NoChamber, s[0].Dead)
	assert.Zero(t, s[0].Loss)
	assert.InDelta(t, 1-0.667, s[1].Loss, 5e-4)

	s, err = duplex(t, 6.5, 18, 2.5).Signatures(exact, measure.Value{})
	require.NoError(t, err)
	require.Len(t, s, 3)
	assert.Equal(t, []Chamber{NoChamber, HeadEnd, CrankEnd}, []Chamber{s[0].Dead, s[1].Dead, s[2].Dead})
	assert.InDelta(t, 1-0.730, s[1].Loss, 5e-4)
	assert.InDelta(t, 1-0.770, s[2].Loss, 5e-4)
}

// The slip of a well packed pump is 3 to 5 % and rises with wear: Pump
// Handbook, the section on direct-acting pumps, read second hand.
var packed = within(0.04, 0.01)

// within is a value with its half-width.
func within(mean, half float64) measure.Value {
	return measure.Value{Mean: mean, U: half / math.Sqrt(3)}
}

func TestWhatTheLossIsLike(t *testing.T) {
	p := duplex(t, 6.5, 18, 2.5)
	measured := func(gone, ordinary float64) []Signature {
		e, err := p.VolumetricEfficiency(within(510*p.Displacement()*(1-gone)*(1-ordinary), 0.5*barrel), within(510, 1))
		require.NoError(t, err)
		s, err := p.Signatures(e, packed)
		require.NoError(t, err)
		return s
	}
	head := p.ChamberDisplacement(HeadEnd) / p.Displacement()
	crank := p.ChamberDisplacement(CrankEnd) / p.Displacement()
	for _, c := range []struct {
		name           string
		gone           float64
		like           int
		farthestOthers float64
	}{
		{"worn all round", 0, 0, 20}, {"a head end", head, 1, 4}, {"a crank end", crank, 2, 4},
	} {
		t.Run(c.name, func(t *testing.T) {
			for i, s := range measured(c.gone, 0.04) {
				if i == c.like {
					assert.InDelta(t, 0, s.Distance, 1e-9)
					if s.Dead != NoChamber {
						assert.InDelta(t, 1, s.Share.Mean, 1e-9)
					}
					continue
				}
				assert.Greater(t, math.Abs(s.Distance), c.farthestOthers)
			}
		})
	}
	s := measured(head/2, 0.04)
	assert.InDelta(t, 0.5, s[1].Share.Mean, 1e-9, "half a head end")
	assert.Zero(t, s[0].Share)
	assert.Positive(t, s[0].Distance)
	assert.Negative(t, s[1].Distance)
	// The distance by hand: both uncertainties, the ordinary one shrunk with
	// what is left of the pump.
	e := measure.Value{Mean: 0.8, U: 0.004}
	s, err := p.Signatures(e, packed)
	require.NoError(t, err)
	left := 1 - head
	near(t, (0.2-(1-0.96*left))/math.Hypot(0.004, left*0.01/math.Sqrt(3)), s[1].Distance, 1e-9)
}

func TestEfficiencyNeeds(t *testing.T) {
	p := triplex(t, 6, 12)
	one := within(1, 0)
	for name, c := range map[string][2]measure.Value{
		"no volume":        {{}, one},
		"no strokes":       {one, {}},
		"wide volume":      {within(1, 1), one},
		"wide strokes":     {one, within(1, 2)},
		"negative width":   {within(1, -1), one},
		"not a number":     {within(math.NaN(), 0), one},
		"not a number too": {within(1, math.NaN()), one},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := p.VolumetricEfficiency(c[0], c[1])
			assert.Error(t, err)
		})
	}
	for name, ordinary := range map[string]measure.Value{"all": within(1, 0), "perhaps all": within(0.5, 0.5), "less than none": within(-0.1, 0)} {
		t.Run(name, func(t *testing.T) {
			_, err := p.Signatures(measure.Value{Mean: 0.9, U: 0.01}, ordinary)
			assert.Error(t, err)
		})
	}
	_, err := p.Signatures(measure.Value{Mean: 0.9}, measure.Value{Mean: 0.04})
	assert.ErrorContains(t, err, "uncertainty")
}

// The uncertainty of a chamber's share is that of both losses, by the slopes of
// the share itself (JCGM 100:2008, 5.1.3 and 5.1.4, from memory).
func TestUncertaintyOfAChambersShare(t *testing.T) {
	for _, p := range []Pump{triplex(t, 6.5, 12), duplex(t, 6.5, 18, 2.5)} {
		share := func(value, ordinary float64) []Signature {
			s, err := p.Signatures(measure.Value{Mean: value, U: 0.005}, within(ordinary, 0.035))
			require.NoError(t, err)
			return s
		}
		for i, s := range share(0.66, 0.035) {
			const step = 1e-6
			byLoss := (share(0.66-step, 0.035)[i].Share.Mean - s.Share.Mean) / step
			byOrdinary := (share(0.66, 0.035+step)[i].Share.Mean - s.Share.Mean) / step
			assert.InDelta(t, math.Hypot(byLoss*0.005, byOrdinary*0.035/math.Sqrt(3)), s.Share.U, 1e-6)
		}
	}
}
