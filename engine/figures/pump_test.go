package figures_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/rules"
)

const sized = "pump: {action: triplex-single-acting, state: running, liner: 6 1/2 in, stroke: 12 in, speed: 100 strokes/min, discharge: 2600 psi}\n"

// Computed: 6.5 x 12 in triplex, 60.0 bbl in 510 strokes: .9555; u of the
// volume .5/(60 root 3), of the strokes 1/(510 root 3), together .49 % of it
// (JCGM 100:2008, from memory).
func TestTankTest(t *testing.T) {
	f := work(t, sized+"measured: {tank-test: {strokes: 510, strokes-within: 1, volume: 60.0 bbl, volume-within: 0.5 bbl}}\n")
	require.NotNil(t, f.Tank)
	assert.InDelta(t, 0.9555, f.Tank.Efficiency, 5e-5)
	assert.InDelta(t, 0.0445, f.Tank.Loss, 5e-5)
	assert.InDelta(t, 0.0049, f.Tank.U/f.Tank.Efficiency, 5e-5)
	assert.False(t, f.Tank.Impossible)
	fits := map[string]bool{}
	for _, l := range f.Tank.Like {
		fits[l.Name] = l.Fits
	}
	assert.Equal(t, map[string]bool{"the usual loss and no more": true, "one cylinder does nothing": false}, fits)

	short := work(t, sized+"measured: {tank-test: {strokes: 510, volume: 40.5 bbl, volume-within: 0.5 bbl}}\n")
	assert.InDelta(t, 1-40.5/(510*0.1231283), short.Tank.Loss, 1e-5)
	assert.True(t, short.Tank.Like[1].Fits)

	// More than the pump can displace is a slip, and not handed on.
	much := work(t, sized+"measured: {tank-test: {strokes: 510, volume: 70 bbl, volume-within: 0.5 bbl}}\n")
	assert.True(t, much.Tank.Impossible)
	assert.NotContains(t, valuesOf(much), rules.OutputLoss)
	assert.Contains(t, valuesOf(short), rules.OutputLoss)
}

// Computed. A triplex displaces 510 x .1231283 = 62.795 bbl: 47 bbl is 25.2 %
// short and 20 bbl 68.2 %. One dead cylinder on top of the usual 3.5 % is 1 -
// .965 x 2/3 = 35.7 %, two are 67.8 %. A duplex of 2 x 42.25 - 6.25 = 78.25
// parts has head ends of 27.0 % and crank ends of 23.0 %: 29.6 and 25.7 %; its
// 300 strokes are pi/2 x 78.25 x 18 x 300 / 9702 = 68.41 bbl.
// 40.5 bbl is 64 % of what 510 strokes displace; strokes that may
// be as good as none make anything of it.
func TestATankTestThatIsLostInItsDoubtIsNotWeighed(t *testing.T) {
	for within, known := range map[string]bool{"509": false, "5": true} {
		f := work(t, sized+"measured: {tank-test: {strokes: 510, strokes-within: "+within+", volume: 40.5 bbl, volume-within: 0.5 bbl}}\n")
		require.NotNil(t, f.Tank)
		assert.Equal(t, !known, f.Tank.NotKnown, within)
		assert.Equal(t, known, len(f.Values) > 0, within)
		assert.Equal(t, known, len(f.Tank.Like) > 0, within)
	}
}

// Where nothing is left at the suction, the pipe that takes most is named as written.
func TestThePipeThatLeavesNothingIsNamed(t *testing.T) {
	for bore, named := range map[string]string{"0.5 in": "the pipe of 4 ft (1219 mm) with a bore of 0.5 in (12.7 mm)", "10 in": ""} {
		f := work(t, sized+"suction-line: {mud-weight: 12 lb/gal, pipes: [{length: 2 ft, bore: 10.02 in}, {length: 4 ft, bore: "+bore+"}]}\n")
		require.NotNil(t, f.Suction)
		assert.Equal(t, named, f.Suction.MostlyFrom)
		assert.Equal(t, named == "", f.Suction.Available >= 0)
	}
}

func TestATankTestThatFitsNoPatternIsNotWeighed(t *testing.T) {
	const (
		triplex = "pump: {action: triplex-single-acting, state: running, liner: 6 1/2 in, stroke: 12 in}\nmeasured: {tank-test: {strokes: 510, volume-within: 0.5 bbl, volume: %g bbl}}\n"
		duplex  = "pump: {action: duplex-double-acting, state: running, liner: 6 1/2 in, stroke: 18 in, piston-rod: 2 1/2 in}\nmeasured: {tank-test: {strokes: 300, volume-within: 0.5 bbl, volume: %g bbl}}\n"
	)
	for name, c := range map[string]struct {
		pump string
		bbl  float64
		loss float64
		none bool
	}{
		"triplex, the usual loss":      {triplex, 60.6, 0.035, false},
		"triplex, some per cent":       {triplex, 55, 0.124, false},
		"triplex, neither":             {triplex, 47, 0.252, true},
		"triplex, one cylinder":        {triplex, 40.5, 0.355, false},
		"triplex, beyond one":          {triplex, 35, 0.443, true},
		"triplex, two cylinders":       {triplex, 20, 0.682, true},
		"triplex, next to nothing":     {triplex, 2, 0.968, true},
		"duplex, some per cent":        {duplex, 60, 0.123, false},
		"duplex, a crank end":          {duplex, 50.8, 0.257, false},
		"duplex, a head end":           {duplex, 48.2, 0.295, false},
		"duplex, half of the chambers": {duplex, 34, 0.503, true},
	} {
		t.Run(name, func(t *testing.T) {
			f := work(t, fmt.Sprintf(c.pump, c.bbl))
			assert.InDelta(t, c.loss, f.Tank.Loss, 1e-3, name)
			if c.none {
				require.NotNil(t, f.Tank.Advice, name)
				assert.Contains(t, f.Tank.Advice.Title, "fits no pattern; repeat it", name)
				assert.NotContains(t, valuesOf(f), rules.OutputLoss, name)
				return
			}
			assert.Nil(t, f.Tank.Advice, name)
			assert.Contains(t, valuesOf(f), rules.OutputLoss, name)
			assert.Contains(t, valuesOf(f), rules.OutputChambers, name)
		})
	}
}

// Computed: the piston's area with and without the rod, 6.5 and 2.5 in: of
// 2 x 42.25 - 6.25 = 78.25 the head ends have 42.25 and the crank ends 36, two
// of each: 27.0 and 23.0 %.
func TestWhatAChamberOfADuplexMoves(t *testing.T) {
	f := work(t, "pump: {action: duplex-double-acting, state: running, liner: 6.5 in, stroke: 18 in, piston-rod: 2.5 in}\n")
	require.Len(t, f.Pump.Chambers, 2)
	assert.InDelta(t, 42.25/156.5, f.Pump.Chambers[0].Share, 1e-12)
	assert.InDelta(t, 36/156.5, f.Pump.Chambers[1].Share, 1e-12)
	assert.InDelta(t, 0.270, f.Pump.Chambers[0].Share, 5e-4)
	assert.InDelta(t, 0.230, f.Pump.Chambers[1].Share, 5e-4)
	assert.InDelta(t, math.Pi/4*78.25*2*18*inch*inch*inch, f.Pump.PerStroke, 1e-12)

	without := work(t, "pump: {action: duplex-double-acting, state: running, liner: 6.5 in, stroke: 18 in}\n")
	assert.Nil(t, without.Pump)
	assert.Equal(t, []string{"what a duplex displaces depends on its rod; give piston-rod:"}, without.Missing)
}

// Computed by hand: 6.5 x 12 in triplex at 100 strokes/min and 2600 psi.
func TestWhatThePumpCarries(t *testing.T) {
	p := work(t, sized+"manual: {rod-load-most: 95000 lbf}\n").Pump
	area := math.Pi / 4 * 6.5 * 6.5
	assert.InEpsilon(t, 3*area*12*inch*inch*inch, p.PerStroke, 1e-12)
	assert.InEpsilon(t, 100*p.PerStroke, *p.PerMinute, 1e-12)
	assert.InEpsilon(t, 2600*area*4.4482216152605, *p.Push, 1e-9)
	assert.Zero(t, *p.Pull)
	assert.InEpsilon(t, 2600*6894.757293168361*p.PerStroke*100/60, *p.Power, 1e-9)
	assert.InEpsilon(t, 95000/area*6894.757293168361, *p.Allowed, 1e-9)
	assert.InEpsilon(t, math.Sqrt(95000/2600.0/(math.Pi/4))*inch, *p.Largest, 1e-9)
	assert.InEpsilon(t, 2*12*inch*100/60, *p.PistonSpeed, 1e-12)
	assert.True(t, p.RatioAssumed)
	assert.Greater(t, p.FlowMost, 1.0)
	assert.Less(t, p.FlowLeast, 1.0)

	bare := work(t, triplex).Pump
	assert.Nil(t, bare.PerMinute)
	assert.Nil(t, bare.Push)
	assert.Nil(t, bare.Allowed, "no rating but the manual's")
}

// Computed: 6.5 x 12 in triplex at 100 strokes/min, 20 ft of 10.02 in pipe, K
// 1.4: 6.17 ft with the handbook's C of .066 (GPSA Engineering Data Book,
// section 12, from memory); with this crank's own C a little less.
func TestSuction(t *testing.T) {
	const line = "suction-line: {mud-weight: 12 lb/gal, mud-above-pump: 4 ft, friction-head: 1 ft, pipes: [{length: 20 ft, bore: 10.02 in}]}\n"
	s := work(t, sized+line).Suction
	require.NotNil(t, s)
	assert.InDelta(t, 0.066, s.Constant, 0.001)
	assert.InEpsilon(t, 6.17*foot*s.Constant/0.066, s.Acceleration, 1e-3)
	// 14.696 psi over 12 lb/gal is 23.55 ft: 144 x 14.696 / (12 x 7.480519), 1 ft3
	// being 7.480519 gal.
	assert.InEpsilon(t, 144*14.696/(12*7.480519)*foot, s.Pressure, 1e-5)
	assert.InEpsilon(t, 144*0.5/(12*7.480519)*foot, s.Vapour, 1e-5)
	left := s.Pressure + 4*foot - 1*foot - s.Vapour - s.Acceleration
	assert.InEpsilon(t, left, s.Available, 1e-12)
	assert.InEpsilon(t, left, s.Margin, 1e-12)
	assert.Nil(t, s.Needed)

	two := work(t, sized+strings.Replace(line, "pipes: [", "pipes: [{length: 20 ft, bore: 10.02 in}, ", 1)).Suction
	assert.InEpsilon(t, 2*s.Acceleration, two.Acceleration, 1e-12, "the same pipe twice")
	below := work(t, sized+strings.Replace(line, "above", "below", 1)).Suction
	assert.InDelta(t, s.Margin-8*foot, below.Margin, 1e-12)
	needs := work(t, sized+strings.Replace(line, "friction-head", "head-needed: 8 ft, friction-head", 1)).Suction
	assert.InDelta(t, s.Margin-8*foot, needs.Margin, 1e-12)
	charged := work(t, sized+strings.Replace(line, "friction-head", "charge-pressure: 30 psi, friction-head", 1)).Suction
	assert.True(t, charged.Charged)
	assert.InEpsilon(t, 144*(14.696+30)/(12*7.480519)*foot, charged.Pressure, 1e-5)
	assert.InEpsilon(t, charged.Pressure-charged.Vapour-charged.Acceleration, charged.Margin, 1e-12, "the gauge has level and friction in it")

	none := work(t, triplex+line)
	assert.Nil(t, none.Suction, "no speed")
	assert.NotEmpty(t, none.Missing)
}
