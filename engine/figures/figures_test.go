package figures_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/figures"
	"telltale/evidence"
	"telltale/rules"
)

// Exact factors (NIST SP 811, B.8, from memory).
const (
	thou = 25.4e-6
	inch = 0.0254
	foot = 0.3048
)

const triplex = "pump: {action: triplex-single-acting, state: isolated, liner: 6 in, stroke: 11 in}\n"

func builtIn(t *testing.T) *rules.Book {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	return book
}

func read(t *testing.T, text string) *evidence.Case {
	t.Helper()
	k, err := evidence.ParseCase("case.yaml", []byte(text), builtIn(t).Vocabulary())
	require.NoError(t, err, text)
	return k
}

func work(t *testing.T, text string) *figures.Figures {
	t.Helper()
	f, err := figures.Work(builtIn(t), read(t, text))
	require.NoError(t, err, text)
	return f
}

// valuesOf lists the ids of what is handed on to the signs.
func valuesOf(f *figures.Figures) []rules.MeasuredValue {
	var out []rules.MeasuredValue
	for _, v := range f.Values {
		out = append(out, v.ID)
	}
	return out
}

func codes(c *figures.Centring) []string {
	var out []string
	for _, n := range c.Notes {
		out = append(out, n.Code)
	}
	return out
}

const (
	ready = "rod: parted, crosshead: seated, "
	roomy = "\n  upper-guide: {2: {resolution: 1 thou, rear: 33 thou, middle: 33 thou, front: 33 thou}}\n"
)

// rodCase is a case with readings of the rod of cylinder 2.
func rodCase(block string) string {
	return triplex + "measured:\n  rod-in-opening: {2: {resolution: 1 thou, " + block + "}}" + roomy
}

const low24 = "back: {top: 137 thou, bottom: 113 thou}, middle: {top: 137 thou, bottom: 113 thou}, front: {top: 137 thou, bottom: 113 thou}"

// Common practice, no source: a rod 24 thou nearer the bottom of its opening
// wants 12 thou of shim at both ends; the room over the crosshead falls by as
// much.
func TestTheShimRule(t *testing.T) {
	f := work(t, rodCase(ready+low24))
	require.Len(t, f.Centring, 1)
	c := f.Centring[0]
	assert.Equal(t, "2", c.Cylinder)
	require.NotNil(t, c.Wanted)
	assert.True(t, c.Wanted.Equal)
	assert.InDelta(t, 12*thou, c.Wanted.Front.Metres, 1e-12)
	assert.InDelta(t, 12*thou, c.Wanted.Rear.Metres, 1e-12)
	require.Len(t, c.Packs, 1)
	assert.Equal(t, []string{"10 thou", "2 thou"}, c.Packs[0].Pieces)
	assert.InDelta(t, 0, c.Packs[0].Off, 1e-12)
	assert.InDelta(t, 0, c.Planes[0].Rests.Metres, 1e-12)
	for _, u := range c.Upper {
		assert.InDelta(t, 33*thou, u.Metres, 1e-12)
		assert.InDelta(t, 21*thou, u.After.Metres, 1e-12, "33 less 12")
		assert.Equal(t, "over", u.Stand)
		assert.Equal(t, "inside", u.AfterStand)
	}
	assert.NotEmpty(t, c.Do)

	high := work(t, rodCase(ready+strings.NewReplacer("top", "bottom", "bottom", "top").Replace(low24))).Centring[0]
	assert.InDelta(t, -12*thou, high.Wanted.Rear.Metres, 1e-12)
	assert.Empty(t, high.Packs, "what is taken out is no pack")
}

// A gauge whose leaf enters while the next does not reads half a step short on
// average. It cancels in the difference of two gaps, and in the shim; it does
// not in a clearance.
func TestLargestLeafHalfStep(t *testing.T) {
	const leaf = "each-reading-is: largest-leaf, "
	plain := work(t, rodCase(ready+low24)).Centring[0]
	text := strings.Replace(rodCase(leaf+ready+low24), "upper-guide: {2: {resolution", "upper-guide: {2: {"+leaf+"resolution", 1)
	leafy := work(t, text).Centring[0]
	assert.InDelta(t, plain.Wanted.Front.Metres, leafy.Wanted.Front.Metres, 1e-15)
	assert.InDelta(t, plain.Planes[0].Positions[0].Top.Metres+thou/2, leafy.Planes[0].Positions[0].Top.Metres, 1e-15)
	assert.InDelta(t, plain.Upper[0].Metres+thou/2, leafy.Upper[0].Metres, 1e-15)
	assert.InDelta(t, plain.Upper[0].After.Metres+thou/2, leafy.Upper[0].After.Metres, 1e-15)
	for _, c := range []figures.Centring{plain, leafy} {
		assert.InEpsilon(t, thou/math.Sqrt(12), c.Planes[0].Positions[0].Top.U, 1e-12, "GUM, F.2.2.1")
	}
	assert.Contains(t, leafy.Method, "largest leaf")

	// A range speaks for itself: its middle, whatever the way of reading.
	ranged := work(t, triplex+"measured: {upper-guide: {2: {resolution: 1 thou, "+leaf+"rear: 15 to 16 thou}}}")
	assert.InDelta(t, 15.5*thou, ranged.Centring[0].Upper[0].Metres, 1e-12)
	assert.InEpsilon(t, thou/2/math.Sqrt(3), ranged.Centring[0].Upper[0].U, 1e-12, "GUM, 4.3.7")
}

// Raising the guide takes the same from the clearance over the crosshead: 20
// thou less 12 is 8, 7 short of the least of 15 (common practice, no source).
func TestStopAndAsk(t *testing.T) {
	c := work(t, strings.ReplaceAll(rodCase(ready+low24), "33 thou", "20 thou")).Centring[0]
	assert.Equal(t, "stop-and-ask", c.Outcome)
	require.NotNil(t, c.Short)
	assert.InDelta(t, 7*thou, c.Short.By.Metres, 1e-12)
	assert.Empty(t, c.Packs, "no pack where the guide must not be lifted")
	assert.InDelta(t, 15*thou, *c.Least, 1e-12)
	assert.InDelta(t, 25*thou, *c.Most, 1e-12)
	assert.Equal(t, "under", c.Upper[0].AfterStand)

	// With this pump's own limits it may be lifted.
	own := work(t, strings.ReplaceAll(rodCase(ready+low24), "33 thou", "20 thou")+"manual: {guide-clearance-least: 5 thou}\n").Centring[0]
	assert.Equal(t, "equal-shims", own.Outcome)
	assert.InDelta(t, 5*thou, *own.Least, 1e-12)
}

// A least of the manual that is over the book's most: the manual's counts and
// the book's goes; it is no error.
func TestTheManualsLimitCountsBeforeTheBooks(t *testing.T) {
	for manual, want := range map[string][2]bool{
		"guide-clearance-least: 30 thou":                                {true, false},
		"guide-clearance-most: 10 thou":                                 {false, true},
		"guide-clearance-least: 30 thou, guide-clearance-most: 10 thou": {true, false},
	} {
		f := work(t, rodCase(ready+low24)+"manual: {"+manual+"}\n")
		c := f.Centring[0]
		assert.Equal(t, want, [2]bool{c.Least != nil, c.Most != nil}, manual)
		assert.Contains(t, strings.Join(f.Missing, "\n"), "the least clearance over the crosshead is above the most", manual)
	}
}

// What is known of the rod decides whether a thickness is given at all.
func TestNoValueWithoutPartedAndSeated(t *testing.T) {
	for _, how := range []string{"rod: joined, crosshead: seated, ", "rod: parted, crosshead: not-seated, ", "crosshead: seated, ", "rod: parted, ", ""} {
		f := work(t, rodCase(how+low24))
		c := f.Centring[0]
		assert.Equal(t, "withheld", c.Outcome, how)
		assert.Nil(t, c.Wanted, how)
		assert.Empty(t, c.Packs, how)
		for _, v := range valuesOf(f) {
			assert.NotContains(t, []rules.MeasuredValue{rules.RodLowBy, rules.RodHighBy, rules.RodSidewaysBy, rules.RodChangesBy}, v, how)
		}
		assert.NotEmpty(t, f.Missing, how)
	}
	sure := work(t, rodCase(ready+low24))
	assert.Subset(t, valuesOf(sure), []rules.MeasuredValue{rules.RodLowBy, rules.RodHighBy, rules.RodChangesBy})
	assert.Empty(t, sure.Missing)
}

// Top and bottom together are the opening less the rod at every place: one
// that does not agree is a blunder, and no thickness comes of it.
func TestABlunderGivesNoValue(t *testing.T) {
	f := work(t, rodCase(ready+strings.Replace(low24, "middle: {top: 137", "middle: {top: 173", 1)))
	c := f.Centring[0]
	assert.Equal(t, "withheld", c.Outcome)
	assert.Contains(t, codes(&c), "sums-disagree")
	var suspect []string
	for _, p := range c.Planes[0].Positions {
		if p.Suspect {
			suspect = append(suspect, p.Name)
		}
	}
	assert.Equal(t, []string{"middle"}, suspect)
	assert.NotContains(t, valuesOf(f), rules.RodLowBy)
}

// z(s, x) = a + b x + eps (x - s): derived in engine/align from rigid bodies,
// no source. Here a = -9, b = -1/6 thou/in (2 thou/ft), eps = 0, planes at 24
// and 36 in, heights -13 and -15 thou. The guide is out of line; shims at 9 in
// before and behind are 9 +- 1.5 thou.
const sloped = `rod: parted, crosshead: seated, guide-supports: {rear: 9 in, front: 9 in}, at: 24 in,
  back: {top: 138 thou, bottom: 112 thou}, middle: {top: 138 thou, bottom: 112 thou}, front: {top: 138 thou, bottom: 112 thou}`

const secondPlane = `,
  second-plane: {at: 36 in, back: {top: 140 thou, bottom: 110 thou}, middle: {top: 140 thou, bottom: 110 thou}, front: {top: 140 thou, bottom: 110 thou}}`

func TestUnequalShimsNeedASecondPlaneOrALevel(t *testing.T) {
	alone := work(t, rodCase(sloped)).Centring[0]
	assert.Nil(t, alone.Guide, "one plane does not tell the guide from the rod")
	assert.True(t, alone.Wanted.Equal)

	// A step of a tenth of a thou, or the tilt is less than the doubt.
	fine := strings.Replace(rodCase(sloped+secondPlane), "resolution: 1 thou, rod", "resolution: 0.1 thou, rod", 1)
	two := work(t, fine).Centring[0]
	require.NotNil(t, two.Guide)
	assert.InDelta(t, -9*thou, two.Guide.Height.Metres, 1e-10)
	assert.InDelta(t, -2*thou/foot, two.Guide.Slope.Metres, 1e-9)
	assert.InDelta(t, 0, two.Guide.Skew.Metres, 1e-9)
	assert.True(t, two.Guide.Slopes)
	assert.False(t, two.Guide.Skewed)
	assert.Equal(t, "unequal-shims", two.Outcome)
	assert.True(t, two.AskEngineer)
	assert.InDelta(t, 10.5*thou, two.Wanted.Front.Metres, 1e-10)
	assert.InDelta(t, 7.5*thou, two.Wanted.Rear.Metres, 1e-10)
	require.Len(t, two.Packs, 2)

	// A level on the guide in place of the second plane.
	level := strings.Replace(rodCase(sloped+", guide-slope: {slope: 2 thou/ft, within: 0.2 thou/ft, rises-toward: crank-end}"), "resolution: 1 thou, rod", "resolution: 0.1 thou, rod", 1)
	by := work(t, level).Centring[0]
	require.NotNil(t, by.Guide)
	assert.InDelta(t, -2*thou/foot, by.Guide.Slope.Metres, 1e-9, "rising toward the crank is falling toward the fluid end")
	assert.InDelta(t, 10.5*thou, by.Wanted.Front.Metres, 1e-10)
	assert.InDelta(t, 7.5*thou, by.Wanted.Rear.Metres, 1e-10)
}

// Shims on hand: counted pieces, and one that does not measure its name.
func TestShimsOnHand(t *testing.T) {
	c := work(t, rodCase(ready+low24)+"shims-on-hand: [{nominal: 12 thou, measures: 11.5 thou, pieces: 1}, {nominal: 6 thou, pieces: 4}]\n").Centring[0]
	require.Len(t, c.Packs, 1)
	assert.Equal(t, []string{"6 thou", "6 thou"}, c.Packs[0].Pieces, "one piece of 12 is not enough for two ends")
	c = work(t, rodCase(ready+low24)+"shims-on-hand: [{nominal: 12 thou, measures: 11.5 thou}]\n").Centring[0]
	assert.Equal(t, []string{"12 thou (measures 11.5 thou)"}, c.Packs[0].Pieces)
	assert.InDelta(t, -0.5*thou, c.Packs[0].Off, 1e-12)
}

func TestGapsAndSurveys(t *testing.T) {
	f := work(t, triplex+`measured:
  rod-face-gap: {2: {resolution: 1 thou, top: 0 thou, bottom: 4 thou, left: 1 thou}}
  fluid-end-gap: {resolution: 1 thou, top: 3 thou}
  liner-bore:
    1: {resolution: 1 thou, new: 6 in, stations: [{up-down: 6.019 in, across: 6.006 in}, {up-down: 6.024 in, across: 6.007 in}, {up-down: 6.017 in, across: 6.005 in}]}
  extension-rod: {3: {resolution: 1 thou, new: 3 in, stations: [{up-down: 2.988 in, across: 2.998 in}, {across: 2.999 in}]}}
`)
	require.Len(t, f.Gaps, 2)
	assert.InDelta(t, 4*thou, f.Gaps[0].Uneven.Metres, 1e-12)
	assert.Nil(t, f.Gaps[1].Uneven, "one point is not uneven")
	require.Len(t, f.Surveys, 2)
	liner := f.Surveys[0]
	assert.InDelta(t, 17*thou, liner.Oval.Metres, 1e-10, "6.024 less 6.007")
	assert.Equal(t, 2, liner.OvalAt)
	assert.InDelta(t, 24*thou, liner.Wear.Metres, 1e-10)
	assert.InDelta(t, 4.5*thou, liner.Taper.Metres, 1e-10, "means 6.0125, 6.0155, 6.011")
	rod := f.Surveys[1]
	assert.InDelta(t, 10*thou, rod.Oval.Metres, 1e-10)
	assert.InDelta(t, 12*thou, rod.Wear.Metres, 1e-10)

	round := map[rules.MeasuredValue]float64{}
	for _, v := range f.Values {
		most := math.Inf(-1)
		for _, x := range v.Of {
			most = math.Max(most, x.Mean)
		}
		round[v.ID] = most
	}
	assert.InDelta(t, 7*thou, round[rules.LinerOverBy], 1e-10, "worn all round: by the direction that wore least")
	assert.InDelta(t, 2*thou, round[rules.ExtRodUnderBy], 1e-10)
	assert.InDelta(t, 17*thou, round[rules.LinerOvalBy], 1e-10)
}

// A gap all round holds only as far as the best of its points, and takes three
// of them; for the others the worst point counts. Points of one face share the
// gauge and are no independent witnesses.
func TestEveryPointOrOne(t *testing.T) {
	f := work(t, triplex+"measured: {rod-face-gap: {2: {resolution: 1 thou, top: 1.5 thou, bottom: 3 thou, left: 3 thou}}, fluid-end-gap: {resolution: 1 thou, top: 1.5 thou, bottom: 0 thou}}\n")
	at := 1.5 * thou
	for _, v := range f.Values {
		switch v.ID {
		case rules.RodFaceGapAll:
			assert.InDelta(t, 0.5, v.Chance(&at, nil), 1e-9)
		case rules.FluidEndGapMost:
			assert.InDelta(t, 0.5, v.Chance(&at, nil), 1e-9)
			assert.InDelta(t, 1, v.Chance(nil, &at), 1e-6)
		}
	}
	assert.Contains(t, valuesOf(f), rules.RodFaceGapAll)
	two := work(t, triplex+"measured: {rod-face-gap: {2: {resolution: 1 thou, top: 3 thou, bottom: 3 thou}}}\n")
	assert.NotContains(t, valuesOf(two), rules.RodFaceGapAll, "two points are not all round")
}

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

// Computed: 9, 3 and 2 of 14 changes on three alike places: P(the most has 9
// or more) = 3 P(Binomial(14, 1/3) >= 9) = .0523 exactly (two cannot both
// have 9 of 14).
func TestRecordOfParts(t *testing.T) {
	const record = `parts:
  piston: {from: 4000 h, to: 6000 h, changed-at: {1: [4150 h, 4420 h, 4800 h, 4990 h, 5260 h, 5400 h, 5610 h, 5790 h, 5950 h], 2: [4600 h, 5200 h, 5800 h], 3: [4900 h, 5700 h]}}
`
	tail := 0.0
	for k := 9; k <= 14; k++ {
		tail += math.Exp(lchoose(14, k)) * math.Pow(2, float64(14-k)) / math.Pow(3, 14)
	}
	p := work(t, triplex+record).Parts[0]
	assert.InDelta(t, 0.0523, 3*tail, 5e-5)
	assert.InDelta(t, 3*tail, p.Worst.P, 1e-12)
	assert.False(t, p.Worst.Shown, "5.2 % is over 5 %")
	assert.Equal(t, []string{"1"}, p.Worst.Places)
	assert.Equal(t, 14, p.Changes)
	assert.Equal(t, 2000.0, p.Hours)
	assert.InDelta(t, 4.5, p.PerPlace[0].Per1000, 1e-12)
	assert.Nil(t, p.PerPlace[0].Often, "what is not shown is no sign")
	// Exact limits of 9 events: 4.115 and 17.085 (tables of the Poisson
	// distribution, from memory), over 2000 h.
	assert.InDelta(t, 4.115/2, p.PerPlace[0].Low, 1e-3)
	assert.InDelta(t, 17.085/2, p.PerPlace[0].High, 1e-3)

	ten := work(t, triplex+strings.Replace(record, "5950 h]", "5950 h, 5990 h]", 1)).Parts[0]
	assert.True(t, ten.Worst.Shown)
	require.NotNil(t, ten.PerPlace[0].Often)
	assert.Greater(t, *ten.PerPlace[0].Often, 0.9)
	require.NotNil(t, ten.PerPlace[1].Often, "where one is shown, the others are held against their sisters too")
	assert.Less(t, *ten.PerPlace[1].Often, 0.05)

	expected := work(t, triplex+strings.Replace(record, "changed-at", "expected-life: 700 h, changed-at", 1)).Parts[0]
	for _, r := range expected.PerPlace {
		require.NotNil(t, r.Often)
	}
	assert.Greater(t, *expected.PerPlace[0].Often, 0.9, "222 h a piece against 700")
	assert.Less(t, *expected.PerPlace[2].Often, 0.5, "1000 h a piece against 700")

	none := work(t, triplex+"parts: {piston: {from: 0 h, to: 500 h, changed-at: {}}}\n").Parts[0]
	assert.Zero(t, none.Changes)
	assert.Len(t, none.PerPlace, 3, "a place without a change counts too")
}

func lchoose(n, k int) float64 {
	a, _ := math.Lgamma(float64(n + 1))
	b, _ := math.Lgamma(float64(k + 1))
	c, _ := math.Lgamma(float64(n - k + 1))
	return a - b - c
}

// The same case written in inch and in metric gives the same figures.
func TestInchAndMetricCasesGiveTheSameFigures(t *testing.T) {
	const in = `pump: {action: duplex-double-acting, state: running, liner: 6 1/2 in, stroke: 18 in, piston-rod: 2.5 in, connecting-rod: 45 in, speed: 60 spm, discharge: 1500 psi}
manual: {rod-load-most: 95000 lbf, guide-clearance-least: 12 thou}
measured:
  rod-in-opening: {left: {resolution: 0.5 thou, rod: parted, crosshead: seated, opening: 3.25 in, rod-diameter: 3 in, at: 28 in, guide-supports: {rear: 9 in, front: 10 in}, guide-slope: {slope: 6 thou/ft, within: 3 thou/ft, rises-toward: fluid-end}, back: {top: 137 thou, bottom: 113 thou, left: 125 thou, right: 125 thou}, middle: {top: 137 thou, bottom: 112 to 114 thou}, front: {top: 136 thou, bottom: 114 thou}}}
  upper-guide: {left: {resolution: 1 thou, each-reading-is: largest-leaf, rear: 30 thou, front: 29 thou}}
  rod-face-gap: {right: {resolution: 1 thou, top: 4 thou, bottom: 1 thou}}
  liner-bore: {left: {resolution: 1 thou, new: 6.5 in, stations: [{up-down: 6.519 in, across: 6.506 in}, {up-down: 6.524 in}]}}
  tank-test: {strokes: 400, strokes-within: 1, volume: 70 bbl, volume-within: 1 bbl}
suction-line: {mud-weight: 10 lb/gal, mud-above-pump: 4 ft, friction-head: 1 ft, air-pressure: 14.5 psi, vapour-pressure: 0.4 psi, head-needed: 8 ft, pipes: [{length: 20 ft, bore: 10 in}]}
shims-on-hand: [1 thou, 2 thou, 5 thou, {nominal: 10 thou, measures: 9.8 thou, pieces: 3}]
`
	const metric = `pump: {action: duplex-double-acting, state: running, liner: 165.1 mm, stroke: 457.2 mm, piston-rod: 63.5 mm, connecting-rod: 1.143 m, speed: 60 strokes/min, discharge: 10342.135939752541 kPa}
manual: {rod-load-most: 422.5810534497475 kN, guide-clearance-least: 0.3048 mm}
measured:
  rod-in-opening: {left: {resolution: 0.0127 mm, rod: parted, crosshead: seated, opening: 82.55 mm, rod-diameter: 76.2 mm, at: 711.2 mm, guide-supports: {rear: 228.6 mm, front: 254 mm}, guide-slope: {slope: 0.5 mm/m, within: 0.25 mm/m, rises-toward: fluid-end}, back: {top: 3.4798 mm, bottom: 2.8702 mm, left: 3.175 mm, right: 3.175 mm}, middle: {top: 3.4798 mm, bottom: 2.8448 to 2.8956 mm}, front: {top: 3.4544 mm, bottom: 2.8956 mm}}}
  upper-guide: {left: {resolution: 25.4 µm, each-reading-is: largest-leaf, rear: 0.762 mm, front: 0.7366 mm}}
  rod-face-gap: {right: {resolution: 0.0254 mm, top: 0.1016 mm, bottom: 0.0254 mm}}
  liner-bore: {left: {resolution: 0.0254 mm, new: 165.1 mm, stations: [{up-down: 165.5826 mm, across: 165.2524 mm}, {up-down: 165.7096 mm}]}}
  tank-test: {strokes: 400, strokes-within: 1, volume: 11129.11064496 L, volume-within: 158.987294928 L}
suction-line: {mud-weight: 1198.264273166 kg/m3, mud-above-pump: 1.2192 m, friction-head: 0.3048 m, air-pressure: 99.97398075094123 kPa, vapour-pressure: 2.7579029172673443 kPa, head-needed: 2.4384 m, pipes: [{length: 6.096 m, bore: 254 mm}]}
shims-on-hand: [0.0254 mm, 0.0508 mm, 0.127 mm, {nominal: 0.254 mm, measures: 0.24892 mm, pieces: 3}]
`
	a, b := numbers(t, work(t, in)), numbers(t, work(t, metric))
	assert.Greater(t, len(a), 100)
	require.Len(t, b, len(a))
	for path, x := range a {
		if strings.HasSuffix(path, "/metric") {
			continue // says in which unit the crew reads
		}
		y, there := b[path]
		require.True(t, there, path)
		// A figure that is nothing but rounding, such as a sum that cancels, is
		// held against a nanometre.
		assert.InDelta(t, x, y, 1e-9*math.Max(1e-3, math.Abs(x)), path)
	}
}

// numbers lists every number of the JSON by its path.
func numbers(t *testing.T, f *figures.Figures) map[string]float64 {
	t.Helper()
	text, err := json.Marshal(f)
	require.NoError(t, err)
	var tree any
	require.NoError(t, json.Unmarshal(text, &tree))
	out := map[string]float64{}
	var walk func(path string, x any)
	walk = func(path string, x any) {
		switch v := x.(type) {
		case map[string]any:
			for k, y := range v {
				walk(path+"/"+k, y)
			}
		case []any:
			for i, y := range v {
				walk(path+"/"+string(rune('0'+i)), y)
			}
		case float64:
			out[path] = v
		case bool:
			out[path] = map[bool]float64{true: 1}[v]
		}
	}
	walk("", tree)
	return out
}
