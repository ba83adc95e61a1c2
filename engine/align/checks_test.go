package align_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/align"
	"telltale/engine/measure"
)

// A misread leaf shows in the sum, and the position is named (geometry: top and bottom add
// up to opening less rod wherever the rod lies).
func TestMisreadLeafIsNamed(t *testing.T) {
	good := [2][3]float64{{.137, .136, .134}, {.113, .114, .116}}
	for at := range 3 {
		bad := good
		bad[0][at] += .010
		out := centre(t, ready(plane(nil, .001, bad[0], bad[1])))
		assert.Equal(t, align.Withheld, out.Outcome)
		assert.Nil(t, out.Wanted)
		for i, p := range out.Planes[0].Positions {
			assert.Equal(t, i == at, p.Suspect, "misread at %d, position %d", at, i)
		}
		assert.Contains(t, out.Notes, align.Note{Reason: align.SumsDisagree, Plane: 0, Position: stations[at]})
	}
	two := ready(plane(nil, .001, [3]float64{.137, .146, .137}, [3]float64{.113, .114, .113}))
	only(&two.Planes[0], align.Back, align.Middle)
	out := centre(t, two)
	assert.True(t, out.Planes[0].Positions[0].Suspect && out.Planes[0].Positions[1].Suspect, "two positions: either may be it")
}

// Four readings rounded to a step can make two sums differ by two steps; no less is a
// blunder, even when every reading is rounded the unlucky way.
func TestRoundingAloneIsNoBlunder(t *testing.T) {
	out := centre(t, ready(plane(nil, .001, [3]float64{.137, .138, .137}, [3]float64{.113, .114, .113})))
	assert.Equal(t, align.EqualShims, out.Outcome)
	out = centre(t, ready(plane(nil, .001, [3]float64{.137, .1385, .137}, [3]float64{.113, .114, .113})))
	assert.Equal(t, align.Withheld, out.Outcome)
	in := ready(plane(nil, .001, [3]float64{.137, .1385, .137}, [3]float64{.113, .114, .113}))
	in.K = 6 // 6 sqrt(4/12) steps = 3.5 steps
	assert.Equal(t, align.EqualShims, centre(t, in).Outcome)
}

func TestSumsAgainstSidesAndNominal(t *testing.T) {
	in := ready(plane(nil, .001, [3]float64{.130, .130, .130}, [3]float64{.120, .120, .120}))
	for i := range in.Planes[0].Positions {
		r := &in.Planes[0].Positions[i]
		r.Left, r.Right = inches(.130, .001), inches(.126, .001)
	}
	in.Opening, in.Rod = &measure.Value{Mean: 3.50 * inch}, &measure.Value{Mean: 3.25 * inch}
	out := centre(t, in)
	assert.True(t, out.Says(align.SumsDiffer), "opening out of round: .250 up, .256 across")
	assert.False(t, out.Says(align.NotNominal))
	assert.Equal(t, align.EqualShims, out.Outcome, "height does not need the sides")
	assert.InDelta(t, .002, out.Planes[0].Side.Mean.Mean/inch, 1e-12, "toward the right")
	assert.True(t, out.Says(align.SideOff))

	in.Rod.Mean = 3.20 * inch
	assert.True(t, says(t, in, align.NotNominal))

	in.Planes[0].Positions[1].Left = inches(.150, .001)
	out = centre(t, in)
	assert.Contains(t, out.Notes, align.Note{Reason: align.SideSumsDisagree, Plane: 0, Position: align.Middle})

	only(&in.Planes[0], align.Middle)
	out = centre(t, in)
	assert.Equal(t, align.Withheld, out.Outcome, "one position whose sums disagree")
	assert.True(t, out.Planes[0].Positions[0].Suspect)
}

func TestWhatWithholdsACorrection(t *testing.T) {
	for _, c := range []struct {
		why    align.Reason
		change func(*align.Input)
	}{
		{align.NotParted, func(in *align.Input) { in.Parted = align.No }},
		{align.PartedUnknown, func(in *align.Input) { in.Parted = align.Unknown }},
		{align.NotSeated, func(in *align.Input) { in.Seated = align.No }},
		{align.SeatedUnknown, func(in *align.Input) { in.Seated = align.Unknown }},
		{align.RodTouches, func(in *align.Input) { in.Planes[0].Positions[2].Bottom = inches(.0005, .001) }},
		{align.NoHeight, func(in *align.Input) {
			for i := range in.Planes[0].Positions {
				in.Planes[0].Positions[i].Top = nil
			}
		}},
		{align.MiddleNotTaken, func(in *align.Input) { only(&in.Planes[0], align.Front) }},
	} {
		t.Run(string(c.why), func(t *testing.T) {
			in := ready(onePlane())
			c.change(&in)
			out := centre(t, in)
			assert.Equal(t, align.Withheld, out.Outcome)
			assert.True(t, out.Says(c.why))
			assert.Nil(t, out.Wanted)
			assert.Empty(t, out.Packs)
		})
	}
}

func TestFewerPositions(t *testing.T) {
	in := ready(onePlane())
	only(&in.Planes[0], align.Middle)
	out := centre(t, in)
	assert.Equal(t, align.EqualShims, out.Outcome)
	assert.True(t, out.Says(align.OnePosition))
	assert.Nil(t, out.Planes[0].Height.Change)

	in = ready(onePlane())
	in.Planes[0].Positions[1].Top = nil
	out = centre(t, in)
	assert.True(t, out.Says(align.OnlyOneSide))
	assert.InDelta(t, .003, out.Planes[0].Height.Change.Mean/inch, 1e-12)
	assert.Nil(t, out.Planes[0].Height.Bow)

	in = ready(onePlane())
	in.Stroke = 0
	out = centre(t, in)
	assert.InDelta(t, .003, out.Planes[0].Height.Change.Mean/inch, 1e-12, "over a stroke of unknown length")
	assert.Nil(t, out.Planes[0].Height.PerMetre)

	in = ready(onePlane())
	only(&in.Planes[0], align.Back, align.Middle)
	out = centre(t, in)
	assert.InDelta(t, .002, out.Planes[0].Height.Change.Mean/inch, 1e-12, "half a stroke carried on to the whole")
}

func TestBowWidensTheDoubt(t *testing.T) {
	out := centre(t, ready(plane(nil, .001, [3]float64{.137, .133, .137}, [3]float64{.113, .117, .113})))
	h := out.Planes[0].Height
	assert.True(t, h.Bows)
	assert.InDelta(t, -.008, h.Bow.Mean/inch, 1e-12)
	assert.GreaterOrEqual(t, h.Mean.U/inch, .008/6, "a parabola's mean over the stroke is within one U")
	assert.True(t, out.AskEngineer)
}

func TestNoneNeeded(t *testing.T) {
	level := [3]float64{.125, .125, .125}
	out := centre(t, ready(plane(nil, .001, level, level)))
	assert.Equal(t, align.NoneNeeded, out.Outcome)
	assert.True(t, out.Says(align.WithinDoubt))

	in := ready(plane(nil, .0001, [3]float64{.1258, .1258, .1258}, [3]float64{.1250, .1250, .1250}))
	in.Stock = shimStock()
	out = centre(t, in)
	assert.True(t, out.Says(align.BelowThinnest), ".0004 in low: a .001 shim would leave it .0006 high")
	in.Planes[0] = plane(nil, .0001, [3]float64{.1262, .1262, .1262}, [3]float64{.1250, .1250, .1250})
	assert.Equal(t, align.EqualShims, centre(t, in).Outcome, ".0006 in low: a .001 shim leaves it .0004 high")
}

// The clearance at the upper guide falls by the lift; the band of .015 to .025 in is common
// practice, no source.
func withUpper(clearances ...float64) align.Input {
	in := ready(onePlane())
	in.Stock = shimStock()
	in.UpperLimits = measure.Limits{Least: ptr(.015 * inch), Most: ptr(.025 * inch)}
	for i, c := range clearances {
		in.Upper = append(in.Upper, align.Spot{Name: string(rune('a' + i)), Length: *inches(c, .001)})
	}
	return in
}

func TestRaisingIntoTheUpperGuideStops(t *testing.T) {
	out := centre(t, withUpper(.021, .020)) // less .011
	assert.Equal(t, align.StopAndAsk, out.Outcome)
	assert.True(t, out.AskEngineer)
	assert.Empty(t, out.Packs)
	assert.Nil(t, out.UpperFix, "raising the upper guide is not worked out unasked")
	assert.InDelta(t, .010, out.Upper[0].After.Mean/inch, 1e-12)
	assert.Equal(t, measure.Under, measure.Stand(out.Upper[0].AfterStand))
	require.NotNil(t, out.Short)
	assert.Equal(t, "b", out.Short.Spot)
	assert.InDelta(t, .006, out.Short.By.Mean/inch, 1e-12)
}

// A low guide and a rod that climbs away from it: bringing the guide to height would press
// the rod into the top of its opening before its squareness is put right.
func TestRaisingIntoTheOpeningStops(t *testing.T) {
	p := pump{half: .020 * inch, height: -.030 * inch, eps: .001}
	in := ready(p.read(28*inch, 12*inch, fine))
	in.Level, in.Supports = &measure.Value{U: 1e-7}, supports
	out := centre(t, in)
	assert.Equal(t, align.StopAndAsk, out.Outcome)
	assert.True(t, out.Says(align.RodWouldTouch))
	assert.Nil(t, out.Short)
}

func TestUpperGuideAfterRaising(t *testing.T) {
	out := centre(t, withUpper(.031, .032)) // less .011: .020 .021
	assert.Equal(t, align.EqualShims, out.Outcome)
	assert.Nil(t, out.UpperFix)
	assert.Greater(t, out.Upper[0].AfterInside, .999)

	out = centre(t, withUpper(.0264, .031)) // .0154: inside, but within the guard band
	assert.Equal(t, align.EqualShims, out.Outcome)
	assert.Contains(t, out.Notes, align.Note{Reason: align.UpperInDoubt, Plane: -1, Spot: "a"}, "1.645 times .00029 inside is .0155")

	out = centre(t, withUpper(.045, .041)) // .034 .030: from .034-.025 to .030-.015
	assert.Equal(t, align.EqualShims, out.Outcome)
	u := out.UpperFix
	require.NotNil(t, u)
	assert.InDelta(t, .009, u.Least/inch, 1e-12)
	assert.InDelta(t, .015, u.Most/inch, 1e-12)
	assert.InDelta(t, .012, *u.Wanted/inch, 1e-12)
	assert.InDelta(t, .012, u.Pack.Thickness.Mean/inch, 1e-12)
	assert.InDelta(t, .022, out.Upper[0].AfterBoth.Mean/inch, 1e-12)
	assert.InDelta(t, .018, out.Upper[1].AfterBoth.Mean/inch, 1e-12)

	out = centre(t, withUpper(.050, .038)) // .039 .027: spread .012 in a band of .010
	assert.True(t, out.Says(align.UpperSpread))
	assert.Nil(t, out.UpperFix.Pack)
	assert.Greater(t, out.UpperFix.Least, out.UpperFix.Most)

	in := withUpper(.045, .041)
	in.Stock = []align.Shim{{Nominal: .010 * inch, Count: 2}, {Nominal: .001 * inch, Count: 3}}
	out = centre(t, in)
	assert.True(t, out.Says(align.UpperNoPack), "the lower guide takes both .010 and two of the .001")
	in.UpperLimits.Least = nil
	out = centre(t, in)
	assert.True(t, out.Says(align.LimitsNotKnown))
	assert.Nil(t, out.UpperFix)
}

func TestUnequalLiftAtTheUpperGuide(t *testing.T) {
	in := twoPlanes() // no stock: .00941 front, .00703 rear exactly
	in.UpperLimits = measure.Limits{Least: ptr(.015 * inch), Most: ptr(.025 * inch)}
	in.Upper = []align.Spot{
		{Name: "front", Along: ptr(9 * inch), Length: *inches(.030, .001)},
		{Name: "rear", Along: ptr(-9 * inch), Length: *inches(.030, .001)},
		{Name: "somewhere", Length: *inches(.030, .001)},
	}
	out := centre(t, in)
	assert.True(t, out.Says(align.NoPack))
	spots := out.Upper
	assert.InDelta(t, .030*inch-out.Wanted.Front.Mean, spots[0].After.Mean, 1e-12)
	assert.InDelta(t, .030*inch-out.Wanted.Rear.Mean, spots[1].After.Mean, 1e-12)
	assert.InDelta(t, (spots[0].After.Mean+spots[1].After.Mean)/2, spots[2].After.Mean, 1e-12)
	assert.Greater(t, spots[2].After.U, spots[1].After.U)
	in.Supports = nil
	out = centre(t, in)
	assert.True(t, out.Says(align.TiltNoSupports))
	assert.True(t, out.Wanted.Equal)
}

func TestInputThatCannotBe(t *testing.T) {
	nan := math.NaN()
	for name, change := range map[string]func(*align.Input){
		"no plane":       func(in *align.Input) { in.Planes = nil },
		"below nothing":  func(in *align.Input) { in.Planes[0].Positions[0].Top = &measure.Value{Mean: -.001, U: 1e-5} },
		"no doubt":       func(in *align.Input) { in.Planes[0].Positions[0].Top = &measure.Value{Mean: .001} },
		"not a number":   func(in *align.Input) { in.Planes[0].Positions[0].Left = &measure.Value{Mean: nan, U: 1e-5} },
		"feet as metres": func(in *align.Input) { in.Planes[0].Positions[0].Left = &measure.Value{Mean: 40, U: 1e-5} },
		"no position":    func(in *align.Input) { in.Planes[0].Positions[0].Name = "left" },
		"one twice":      func(in *align.Input) { in.Planes[0].Positions[1].Name = align.Back },
		"at":             func(in *align.Input) { in.Planes[0].At = &nan },
		"stroke":         func(in *align.Input) { in.Stroke = nan },
		"stroke back":    func(in *align.Input) { in.Stroke = -1 },
		"supports":       func(in *align.Input) { in.Supports = &align.Supports{Front: -1, Rear: 1} },
		"supports nan":   func(in *align.Input) { in.Supports = &align.Supports{Front: nan, Rear: 1} },
		"level":          func(in *align.Input) { in.Level = &measure.Value{Mean: nan, U: 1} },
		"level steep":    func(in *align.Input) { in.Level = &measure.Value{Mean: 2, U: .1} },
		"nominal":        func(in *align.Input) { in.Rod = &measure.Value{Mean: nan} },
		"rod fills":      func(in *align.Input) { in.Rod, in.Opening = &measure.Value{Mean: .1}, &measure.Value{Mean: .1} },
		"upper":          func(in *align.Input) { in.Upper = []align.Spot{{Length: measure.Value{Mean: -1}}} },
		"limits":         func(in *align.Input) { in.UpperLimits.Least = &nan },
		"stock":          func(in *align.Input) { in.Stock = []align.Shim{{}} },
		"stock count":    func(in *align.Input) { in.Stock = []align.Shim{{Nominal: .001, Count: -1}} },
		"pieces":         func(in *align.Input) { in.MaxPieces = 9 },
		"k":              func(in *align.Input) { in.K = nan },
		"guard":          func(in *align.Input) { in.Guard = -1 },
	} {
		t.Run(name, func(t *testing.T) {
			in := ready(onePlane())
			change(&in)
			out, err := align.Centre(in)
			assert.Error(t, err)
			assert.Zero(t, out)
		})
	}
}

// Off to one side by less than is worth a lift sends nobody to look for a cause.
func TestASmallWayAsideIsLeft(t *testing.T) {
	for aside, said := range map[float64]bool{.0005: false, .008: true} {
		t.Run(fmt.Sprint(aside), func(t *testing.T) {
			in := ready(plane(nil, .001, [3]float64{.130, .130, .130}, [3]float64{.120, .120, .120}))
			in.Leave = .005 * inch
			for i := range in.Planes[0].Positions {
				r := &in.Planes[0].Positions[i]
				r.Left, r.Right = inches(.130+aside, .0001), inches(.130-aside, .0001)
			}
			assert.Equal(t, said, says(t, in, align.SideOff), aside)
		})
	}
}

// A rod that is off by less than the caller wants to act on is left alone; one that is off
// by more keeps its figure even where no shim on hand is thin enough.
func TestLiftToLeave(t *testing.T) {
	in := ready(plane(nil, .001, [3]float64{.141, .141, .141}, [3]float64{.118, .118, .118}))
	in.Stock, in.Leave = shimStock(), .015*inch
	out := centre(t, in)
	assert.Equal(t, align.NoneNeeded, out.Outcome)
	assert.True(t, out.Says(align.SmallEnough))
	assert.Nil(t, out.Wanted)

	in.Leave = .005 * inch
	out = centre(t, in)
	assert.Equal(t, align.EqualShims, out.Outcome)

	in.Stock = []align.Shim{{Nominal: .050 * inch}}
	out = centre(t, in)
	assert.Equal(t, align.EqualShims, out.Outcome, "what is wanted does not depend on what is on hand")
	assert.InDelta(t, .0115, out.Wanted.Front.Mean/inch, 1e-12)
	assert.Empty(t, out.Packs)
	assert.True(t, out.Says(align.PackOff))

	in.Leave = -1
	_, err := align.Centre(in)
	assert.Error(t, err)
}
