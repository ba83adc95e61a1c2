package pumping

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Recomputed: 6.5x12 triplex, 60 bbl +-.5 in 510 +-1 strokes: .9555, slip
// 4.45 %, relative uncertainty .49 % (JCGM 100:2008, from memory).
func TestVolumetricEfficiency(t *testing.T) {
	p := triplex(t, 6.5, 12)
	near(t, 0.1231283, p.Displacement()/barrel, 1e-6)
	count := Count{Volume: Reading{60 * barrel, 0.5 * barrel}, Strokes: Reading{510, 1}}
	e, err := p.VolumetricEfficiency(count)
	require.NoError(t, err)
	assert.InDelta(t, 0.9555, e.Value, 5e-5)
	assert.InDelta(t, 0.0445, e.Loss(), 5e-5)
	assert.InDelta(t, 0.0049, e.U/e.Value, 5e-5)

	// A liner known to 1/32 in adds its part twice over: 2 x .03125/(6.5 root 3).
	count.LinerHalfWidth = 0.03125 * inch
	wide, err := p.VolumetricEfficiency(count)
	require.NoError(t, err)
	assert.Equal(t, e.Value, wide.Value)
	near(t, math.Hypot(e.U/e.Value, 2*0.03125/6.5/math.Sqrt(3)), wide.U/wide.Value, 1e-12)
}

// The liner's part, against the displacement of a slightly wider liner.
func TestBoreSensitivity(t *testing.T) {
	for _, rod := range []float64{0.1, 2.5, 6} {
		p, wider := duplex(t, 6.5, 18, rod), duplex(t, 6.5*(1+1e-6), 18, rod)
		near(t, (wider.Displacement()/p.Displacement()-1)/1e-6, p.boreSensitivity(), 1e-4)
		near(t, 4*6.5*6.5/(2*6.5*6.5-rod*rod), p.boreSensitivity(), 1e-12)
	}
	near(t, 2, triplex(t, 6, 12).boreSensitivity(), 1e-12)
}

// Recomputed: what one dead chamber leaves. Triplex 66.7 %; duplex 6.5/2.5 in
// 73.0 % without a head end, 77.0 % without a crank end.
func TestDeadChambers(t *testing.T) {
	exact := Efficiency{Value: 1, U: 0.01}
	s, err := triplex(t, 6.5, 12).Signatures(exact, Reading{})
	require.NoError(t, err)
	require.Len(t, s, 2)
	assert.Equal(t, NoChamber, s[0].Dead)
	assert.Zero(t, s[0].Loss)
	assert.InDelta(t, 1-0.667, s[1].Loss, 5e-4)

	s, err = duplex(t, 6.5, 18, 2.5).Signatures(exact, Reading{})
	require.NoError(t, err)
	require.Len(t, s, 3)
	assert.Equal(t, []Chamber{NoChamber, HeadEnd, CrankEnd}, []Chamber{s[0].Dead, s[1].Dead, s[2].Dead})
	assert.InDelta(t, 1-0.730, s[1].Loss, 5e-4)
	assert.InDelta(t, 1-0.770, s[2].Loss, 5e-4)
}

// The slip of a well packed pump is 3 to 5 % and rises with wear: Pump
// Handbook, the section on direct-acting pumps, read second hand.
var packed = Reading{Best: 0.04, HalfWidth: 0.01}

func TestWhatTheLossIsLike(t *testing.T) {
	p := duplex(t, 6.5, 18, 2.5)
	measured := func(gone, ordinary float64) []Signature {
		e, err := p.VolumetricEfficiency(Count{
			Volume:  Reading{510 * p.Displacement() * (1 - gone) * (1 - ordinary), 0.5 * barrel},
			Strokes: Reading{510, 1},
		})
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
		for i, s := range measured(c.gone, 0.04) {
			if i == c.like {
				assert.InDelta(t, 0, s.Distance, 1e-9, c.name)
				if s.Dead != NoChamber {
					assert.InDelta(t, 1, s.Share, 1e-9, c.name)
				}
				continue
			}
			assert.Greater(t, math.Abs(s.Distance), c.farthestOthers, c.name)
		}
	}
	s := measured(head/2, 0.04)
	assert.InDelta(t, 0.5, s[1].Share, 1e-9, "half a head end")
	assert.Zero(t, s[0].Share)
	assert.Positive(t, s[0].Distance)
	assert.Negative(t, s[1].Distance)
	// The distance by hand: both uncertainties, the ordinary one shrunk with
	// what is left of the pump.
	e := Efficiency{Value: 0.8, U: 0.004}
	s, err := p.Signatures(e, packed)
	require.NoError(t, err)
	left := 1 - head
	near(t, (0.2-(1-0.96*left))/math.Hypot(0.004, left*0.01/math.Sqrt(3)), s[1].Distance, 1e-9)
}

func TestMoreThanThePumpCanDisplace(t *testing.T) {
	// A 6 in liner taken for the 6.5 in one that is there: 17 % too much.
	count := Count{Volume: Reading{510 * triplex(t, 6.5, 12).Displacement(), 0.5 * barrel}, Strokes: Reading{510, 1}}
	e, err := triplex(t, 6, 12).VolumetricEfficiency(count)
	require.NoError(t, err)
	near(t, 6.5*6.5/36, e.Value, 1e-12)
	assert.True(t, e.MoreThanDisplaced(3))
	assert.Negative(t, e.Loss())
	assert.False(t, Efficiency{1.004, 0.005}.MoreThanDisplaced(2), "within what the reading can do")
	assert.True(t, Efficiency{1.011, 0.005}.MoreThanDisplaced(2))
	assert.False(t, Efficiency{0.97, 0.005}.MoreThanDisplaced(2))
}

func TestEfficiencyNeeds(t *testing.T) {
	p := triplex(t, 6, 12)
	for name, c := range map[string]Count{
		"no volume":        {Strokes: Reading{Best: 1}},
		"no strokes":       {Volume: Reading{Best: 1}},
		"wide volume":      {Volume: Reading{1, 1}, Strokes: Reading{Best: 1}},
		"wide strokes":     {Volume: Reading{Best: 1}, Strokes: Reading{1, 2}},
		"wide liner":       {Volume: Reading{Best: 1}, Strokes: Reading{Best: 1}, LinerHalfWidth: 1},
		"negative width":   {Volume: Reading{1, -1}, Strokes: Reading{Best: 1}},
		"not a number":     {Volume: Reading{math.NaN(), 0}, Strokes: Reading{Best: 1}},
		"not a number too": {Volume: Reading{1, math.NaN()}, Strokes: Reading{Best: 1}},
	} {
		_, err := p.VolumetricEfficiency(c)
		assert.Error(t, err, name)
	}
	for name, ordinary := range map[string]Reading{"all": {1, 0}, "perhaps all": {0.5, 0.5}, "less than none": {-0.1, 0}} {
		_, err := p.Signatures(Efficiency{0.9, 0.01}, ordinary)
		assert.Error(t, err, name)
	}
	_, err := p.Signatures(Efficiency{0.9, 0}, Reading{0.04, 0})
	assert.ErrorContains(t, err, "uncertainty")
}

// The uncertainty of a chamber's share is that of both losses, by the slopes of
// the share itself (JCGM 100:2008, 5.1.3 and 5.1.4, from memory).
func TestUncertaintyOfAChambersShare(t *testing.T) {
	for _, p := range []Pump{triplex(t, 6.5, 12), duplex(t, 6.5, 18, 2.5)} {
		share := func(value, ordinary float64) []Signature {
			s, err := p.Signatures(Efficiency{Value: value, U: 0.005}, Reading{Best: ordinary, HalfWidth: 0.035})
			require.NoError(t, err)
			return s
		}
		for i, s := range share(0.66, 0.035) {
			const step = 1e-6
			byLoss := (share(0.66-step, 0.035)[i].Share - s.Share) / step
			byOrdinary := (share(0.66, 0.035+step)[i].Share - s.Share) / step
			assert.InDelta(t, math.Hypot(byLoss*0.005, byOrdinary*0.035/math.Sqrt(3)), s.ShareU, 1e-6)
		}
	}
}
