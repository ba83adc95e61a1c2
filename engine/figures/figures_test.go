package figures_test

import (
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
	assert.InDelta(t, 12*thou, c.Wanted.Front.Mean, 1e-12)
	assert.InDelta(t, 12*thou, c.Wanted.Rear.Mean, 1e-12)
	require.Len(t, c.Packs, 1)
	assert.Equal(t, []string{"10 thou", "2 thou"}, c.Packs[0].Pieces)
	assert.InDelta(t, 0, c.Packs[0].Off, 1e-12)
	assert.InDelta(t, 0, c.Planes[0].Rests.Mean, 1e-12)
	for _, u := range c.Upper {
		assert.InDelta(t, 33*thou, u.Mean, 1e-12)
		assert.InDelta(t, 21*thou, u.After.Mean, 1e-12, "33 less 12")
		assert.Equal(t, "over", u.Stand)
		assert.Equal(t, "inside", u.AfterStand)
	}
	assert.NotEmpty(t, c.Do)

	high := work(t, rodCase(ready+strings.NewReplacer("top", "bottom", "bottom", "top").Replace(low24))).Centring[0]
	assert.InDelta(t, -12*thou, high.Wanted.Rear.Mean, 1e-12)
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
	assert.InDelta(t, plain.Wanted.Front.Mean, leafy.Wanted.Front.Mean, 1e-15)
	assert.InDelta(t, plain.Planes[0].Positions[0].Top.Mean+thou/2, leafy.Planes[0].Positions[0].Top.Mean, 1e-15)
	assert.InDelta(t, plain.Upper[0].Mean+thou/2, leafy.Upper[0].Mean, 1e-15)
	assert.InDelta(t, plain.Upper[0].After.Mean+thou/2, leafy.Upper[0].After.Mean, 1e-15)
	for _, c := range []figures.Centring{plain, leafy} {
		assert.InEpsilon(t, thou/math.Sqrt(12), c.Planes[0].Positions[0].Top.U, 1e-12, "GUM, F.2.2.1")
	}
	assert.Contains(t, leafy.Method, "largest leaf")

	// A range speaks for itself: its middle, whatever the way of reading.
	ranged := work(t, triplex+"measured: {upper-guide: {2: {resolution: 1 thou, "+leaf+"rear: 15 to 16 thou}}}")
	assert.InDelta(t, 15.5*thou, ranged.Centring[0].Upper[0].Mean, 1e-12)
	assert.InEpsilon(t, thou/2/math.Sqrt(3), ranged.Centring[0].Upper[0].U, 1e-12, "GUM, 4.3.7")
}

// Raising the guide takes the same from the clearance over the crosshead: 20
// thou less 12 is 8, 7 short of the least of 15 (common practice, no source).
func TestStopAndAsk(t *testing.T) {
	c := work(t, strings.ReplaceAll(rodCase(ready+low24), "33 thou", "20 thou")).Centring[0]
	assert.EqualValues(t, "stop-and-ask", c.Outcome)
	require.NotNil(t, c.Short)
	assert.InDelta(t, 7*thou, c.Short.By.Mean, 1e-12)
	assert.Empty(t, c.Packs, "no pack where the guide must not be lifted")
	assert.InDelta(t, 15*thou, *c.Least, 1e-12)
	assert.InDelta(t, 25*thou, *c.Most, 1e-12)
	assert.Equal(t, "under common practice", c.Upper[0].AfterStand, "this pump's own figure is not known")

	// With this pump's own limits it may be lifted.
	own := work(t, strings.ReplaceAll(rodCase(ready+low24), "33 thou", "20 thou")+"manual: {guide-clearance-least: 5 thou}\n").Centring[0]
	assert.EqualValues(t, "equal-shims", own.Outcome)
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
		t.Run(manual, func(t *testing.T) {
			f := work(t, rodCase(ready+low24)+"manual: {"+manual+"}\n")
			c := f.Centring[0]
			assert.Equal(t, want, [2]bool{c.Least != nil, c.Most != nil}, manual)
			assert.Contains(t, strings.Join(f.Missing, "\n"), "the least clearance over the crosshead is above the most", manual)
		})
	}
}

// What is known of the rod decides whether a thickness is given at all.
func TestNoValueWithoutPartedAndSeated(t *testing.T) {
	for _, how := range []string{"rod: joined, crosshead: seated, ", "rod: parted, crosshead: not-seated, ", "crosshead: seated, ", "rod: parted, ", ""} {
		t.Run(how, func(t *testing.T) {
			f := work(t, rodCase(how+low24))
			c := f.Centring[0]
			assert.EqualValues(t, "withheld", c.Outcome, how)
			assert.Nil(t, c.Wanted, how)
			assert.Empty(t, c.Packs, how)
			for _, v := range valuesOf(f) {
				assert.NotContains(t, []rules.MeasuredValue{rules.RodLowBy, rules.RodHighBy, rules.RodSidewaysBy, rules.RodChangesBy}, v, how)
			}
			assert.NotEmpty(t, f.Missing, how)
		})
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
	assert.EqualValues(t, "withheld", c.Outcome)
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
	assert.InDelta(t, -9*thou, two.Guide.Height.Mean, 1e-10)
	assert.InDelta(t, -2*thou/foot, two.Guide.Slope.Mean, 1e-9)
	assert.InDelta(t, 0, two.Guide.Skew.Mean, 1e-9)
	assert.True(t, two.Guide.Slopes)
	assert.False(t, two.Guide.Skewed)
	assert.EqualValues(t, "unequal-shims", two.Outcome)
	assert.True(t, two.AskEngineer)
	assert.InDelta(t, 10.5*thou, two.Wanted.Front.Mean, 1e-10)
	assert.InDelta(t, 7.5*thou, two.Wanted.Rear.Mean, 1e-10)
	require.Len(t, two.Packs, 2)

	// A level on the guide in place of the second plane.
	level := strings.Replace(rodCase(sloped+", guide-slope: {slope: 2 thou/ft, within: 0.2 thou/ft, rises-toward: crank-end}"), "resolution: 1 thou, rod", "resolution: 0.1 thou, rod", 1)
	by := work(t, level).Centring[0]
	require.NotNil(t, by.Guide)
	assert.InDelta(t, -2*thou/foot, by.Guide.Slope.Mean, 1e-9, "rising toward the crank is falling toward the fluid end")
	assert.InDelta(t, 10.5*thou, by.Wanted.Front.Mean, 1e-10)
	assert.InDelta(t, 7.5*thou, by.Wanted.Rear.Mean, 1e-10)
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
	assert.InDelta(t, 4*thou, f.Gaps[0].Uneven.Mean, 1e-12)
	assert.Nil(t, f.Gaps[1].Uneven, "one point is not uneven")
	require.Len(t, f.Surveys, 2)
	liner := f.Surveys[0]
	assert.InDelta(t, 17*thou, liner.Oval.Mean, 1e-10, "6.024 less 6.007")
	assert.Equal(t, 2, liner.OvalAt)
	assert.InDelta(t, 24*thou, liner.Wear.Mean, 1e-10)
	assert.InDelta(t, 4.5*thou, liner.Taper.Mean, 1e-10, "means 6.0125, 6.0155, 6.011")
	rod := f.Surveys[1]
	assert.InDelta(t, 10*thou, rod.Oval.Mean, 1e-10)
	assert.InDelta(t, 12*thou, rod.Wear.Mean, 1e-10)

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
