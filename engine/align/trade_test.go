package align_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/align"
	"telltale/engine/measure"
)

// Common practice, no source: a rod 24 thou nearer the bottom of its opening wants 12 thou
// of shim.
func TestHalfOfTheDifference(t *testing.T) {
	top, bottom := [3]float64{.137, .137, .137}, [3]float64{.113, .113, .113}
	in := ready(plane(nil, .001, top, bottom))
	in.Stock = shimStock()
	out := centre(t, in)
	assert.Equal(t, align.EqualShims, out.Outcome)
	assert.InDelta(t, .012, out.Wanted.Front.Mean/inch, 1e-12)
	assert.InDelta(t, .012, pack(out, align.UnderFront).Thickness.Mean/inch, 1e-12)
	assert.Same(t, pack(out, align.UnderFront), pack(out, align.UnderRear), "the same pack at both ends")
	assert.InDelta(t, 0, out.Planes[0].Rests.Mean/inch, 1e-12)
	assert.False(t, out.AskEngineer)
	assert.True(t, out.Says(align.UpperNotMeasured))

	in.Planes[0] = plane(nil, .001, bottom, top)
	out = centre(t, in)
	assert.Equal(t, align.TakeOut, out.Outcome, "rod high")
	assert.InDelta(t, -.012, out.Wanted.Rear.Mean/inch, 1e-12)
	assert.True(t, out.Says(align.ShimsToTakeOut))
	assert.Empty(t, out.Packs)
}

// One plane, three positions, worked by hand: heights -.012 -.011 -.009 in, sums .250 in;
// mean -.0320/3, change .003 over 12 in, bow .001. U of one height is .001/sqrt(24), and
// that of the mean no less.
func onePlane() align.Plane {
	return plane(ptr(30*inch), .001, [3]float64{.137, .136, .134}, [3]float64{.113, .114, .116})
}

func TestOnePlane(t *testing.T) {
	in := ready(onePlane())
	in.Stock = shimStock()
	in.Supports = supports
	out := centre(t, in)
	h := out.Planes[0].Height
	uz := .001 / math.Sqrt(24)
	assert.InDelta(t, -.032/3, h.Mean.Mean/inch, 1e-12)
	assert.InDelta(t, uz, h.Mean.U/inch, 1e-12)
	assert.InDelta(t, .003, h.Change.Mean/inch, 1e-12)
	assert.InDelta(t, uz*math.Sqrt2, h.Change.U/inch, 1e-12)
	assert.InDelta(t, .00025, h.PerMetre.Mean, 1e-12, "metres per metre is inches per inch")
	assert.InDelta(t, uz/math.Sqrt(72), h.PerMetre.U, 1e-12)
	assert.InDelta(t, .001, h.Bow.Mean/inch, 1e-12)
	assert.InDelta(t, uz*math.Sqrt(6), h.Bow.U/inch, 1e-12)
	assert.True(t, h.Changes)
	assert.False(t, h.Bows, "2.0 thou step: the gauge explains it")
	assert.Nil(t, out.Guide, "one plane does not tell the guide from the rod")

	assert.Equal(t, align.EqualShims, out.Outcome)
	assert.True(t, out.AskEngineer)
	assert.True(t, out.Says(align.ChangeAlongStroke))
	assert.Equal(t, []string{"10", "1"}, pack(out, align.UnderFront).Pieces)
	assert.InDelta(t, .001/3, pack(out, align.UnderFront).Off/inch, 1e-12)
	for i, want := range []float64{-.001, 0, .002} {
		assert.InDelta(t, want, out.Planes[0].Positions[i].After.Height.Mean/inch, 1e-12)
	}
}

// Negative control: reading the change along the stroke as tilt of the guide and carrying
// it to the supports gives shims that leave the rod low by most of what it was.
func TestCarryingTheChangeToTheSupportsLeavesTheRodLow(t *testing.T) {
	h := centre(t, ready(onePlane())).Planes[0].Height
	naive := func(x float64) float64 { return -(h.Mean.Mean + h.PerMetre.Mean*x) }
	front, rear := naive(supports.Front), naive(supports.Rear)
	// A pump that gives these readings: guide level but low, rod out of square by -change.
	p := pump{half: .125 * inch, eps: -h.PerMetre.Mean}
	p.height = h.Mean.Mean - p.eps*30*inch
	for i, s := range []float64{-6, 0, 6} {
		before := p.rod(s*inch, 30*inch)
		assert.InDelta(t, -.032/3+.00025*s, before/inch, 1e-6)
		after := p.shimmed(front, rear, *supports).rod(s*inch, 30*inch)
		assert.Less(t, after/inch, -.0055, "position %d: naive shims", i)
		equal := p.shimmed(-h.Mean.Mean, -h.Mean.Mean, *supports).rod(s*inch, 30*inch)
		assert.LessOrEqual(t, math.Abs(equal)/inch, .0015+1e-6, "position %d: equal shims", i)
	}
}

// Rigid bodies drawn apart from the engine: a tilted guide alone gives the same height at
// every position, a rod out of square gives a change of -eps.
func TestWhatAChangeAlongTheStrokeMeans(t *testing.T) {
	for _, c := range []struct {
		name      string
		p         pump
		want      [3]float64 // inches
		perMetre  float64
		tolerance float64
	}{
		{"tilted guide", pump{half: .1 * inch, tilt: -.0005}, [3]float64{-.015, -.015, -.015}, 0, 1e-6},
		{"rod out of square", pump{half: .1 * inch, eps: .001}, [3]float64{.036, .030, .024}, -.001, 1e-6},
	} {
		t.Run(c.name, func(t *testing.T) {
			out := centre(t, ready(c.p.read(30*inch, 12*inch, fine)))
			for i, want := range c.want {
				assert.InDelta(t, want, out.Planes[0].Positions[i].Height.Mean/inch, c.tolerance, c.name)
			}
			assert.InDelta(t, c.perMetre, out.Planes[0].Height.PerMetre.Mean, c.tolerance, c.name)
		})
	}
}

// Two planes read to .0005 in from a guide .008 in low at the crosshead and falling .00015
// in per inch, the rod out of square by .0002 (drawn by pump).
func twoPlanes() align.Input {
	in := ready(
		plane(ptr(28*inch), .0005, [3]float64{.1305, .1315, .1330}, [3]float64{.1195, .1185, .1170}),
		plane(ptr(40*inch), .0005, [3]float64{.1300, .1310, .1320}, [3]float64{.1200, .1190, .1180}),
	)
	in.Supports = supports
	return in
}

// Expected values by normal equations in another program, over the heights in inches.
func TestTwoPlanes(t *testing.T) {
	in := twoPlanes()
	in.Stock = shimStock()
	out := centre(t, in)
	g := out.Guide
	require.NotNil(t, g)
	assert.InDelta(t, -.0082222, g.Height.Mean/inch, 1e-7)
	assert.InDelta(t, -.00013194, g.Slope.Mean, 1e-8)
	assert.InDelta(t, .00018750, g.Skew.Mean, 1e-8)
	assert.InDelta(t, 8.505e-6, g.Skew.U, 1e-8, "sigma/sqrt(144), a contrast along the stroke")
	assert.InDelta(t, -.008, g.Height.Mean/inch, 2*g.Height.U/inch, "the truth")
	assert.InDelta(t, -.00015, g.Slope.Mean, 2*g.Slope.U, "the truth")
	assert.InDelta(t, .0002, g.Skew.Mean, 2*g.Skew.U, "the truth")
	assert.True(t, g.Slopes)
	assert.True(t, g.Skewed)

	assert.Equal(t, align.UnequalShims, out.Outcome)
	assert.True(t, out.AskEngineer)
	assert.InDelta(t, .0094097, out.Wanted.Front.Mean/inch, 1e-7)
	assert.InDelta(t, .0070347, out.Wanted.Rear.Mean/inch, 1e-7)
	assert.InDelta(t, .00772, g.RodCentred.Front.Mean/inch, 5e-6)
	assert.InDelta(t, .00872, g.RodCentred.Rear.Mean/inch, 5e-6)
	assert.InDelta(t, .009, pack(out, align.UnderFront).Thickness.Mean/inch, 1e-12)
	assert.InDelta(t, .007, pack(out, align.UnderRear).Thickness.Mean/inch, 1e-12)
	assert.Len(t, pack(out, align.UnderFront).Pieces, 2)

	// What the forecast says is what the drawn pump does, within the doubt of the readings.
	p := pump{half: .125 * inch, height: -.008 * inch, tilt: -.00015, eps: .0002}
	after := p.shimmed(.009*inch, .007*inch, *supports)
	for i, x := range []float64{28, 40} {
		for k, s := range []float64{-6, 0, 6} {
			f := out.Planes[i].Positions[k].After
			assert.InDelta(t, after.rod(s*inch, x*inch)/inch, f.Height.Mean/inch, .00025, "half a step")
		}
	}
	assert.Greater(t, out.Planes[0].Rests.Mean/inch, .004, "the rod is left out of square")
	assert.True(t, out.Says(align.RodSkew))
}

// Both choices put back into the drawn pump, without reading error.
func TestBothChoicesDoWhatTheySay(t *testing.T) {
	p := pump{half: .125 * inch, height: -.008 * inch, tilt: -.00015, eps: .0002}
	in := ready(p.read(28*inch, 12*inch, fine), p.read(40*inch, 12*inch, fine))
	in.Supports = supports
	g := centre(t, in).Guide
	straight := p.shimmed(g.GuideTrue.Front.Mean, g.GuideTrue.Rear.Mean, *supports)
	assert.InDelta(t, 0, straight.tilt, 1e-7)
	assert.InDelta(t, 0, straight.height/inch, 1e-6)
	centred := p.shimmed(g.RodCentred.Front.Mean, g.RodCentred.Rear.Mean, *supports)
	for _, x := range []float64{28, 40} {
		for _, s := range []float64{-6, 0, 6} {
			assert.InDelta(t, -.0002*s, centred.rod(s*inch, x*inch)/inch, 2e-6)
		}
	}
}

// A level on the guide does for one plane what a second plane does.
func TestLevelInPlaceOfSecondPlane(t *testing.T) {
	p := pump{half: .125 * inch, height: -.008 * inch, tilt: -.00015, eps: .0002}
	two := ready(p.read(28*inch, 12*inch, fine), p.read(40*inch, 12*inch, fine))
	one := ready(p.read(28*inch, 12*inch, fine))
	one.Level = &measure.Value{Mean: p.tilt, U: 1e-9}
	two.Supports, one.Supports = supports, supports
	a, b := centre(t, two), centre(t, one)
	assert.Equal(t, align.UnequalShims, b.Outcome)
	assert.InDelta(t, a.Wanted.Front.Mean, b.Wanted.Front.Mean, 1e-8)
	assert.InDelta(t, a.Wanted.Rear.Mean, b.Wanted.Rear.Mean, 1e-8)
}

// Planes too near each other for their readings, or for what their distances are known
// to, give no line of the guide; as far apart as is said then, the same heights do.
func TestPlanesTooNearEachOther(t *testing.T) {
	for name, c := range map[string]struct {
		apart, doubt float64 // inches
		known        bool
	}{
		"far":                           {12, 0, true},
		"far, by a tape":                {12, .3, true},
		"a thousandth":                  {.001, 0, false},
		"a fiftieth":                    {.02, 0, false},
		"a thousandth, read to an inch": {.001, .3, false},
		"one inch, read to an inch":     {1, .3, true},
	} {
		t.Run(name, func(t *testing.T) {
			read := func(apart float64) align.Centring {
				in := twoPlanes()
				in.Planes[1].At = ptr((28 + apart) * inch)
				in.Planes[0].AtU, in.Planes[1].AtU = c.doubt*inch, c.doubt*inch
				return centre(t, in)
			}
			out := read(c.apart)
			assert.Equal(t, c.known, out.Guide != nil)
			assert.Equal(t, !c.known, out.Says(align.GuideNotKnown))
			if c.known {
				assert.Nil(t, out.TooNear)
				return
			}
			near := out.TooNear
			require.NotNil(t, near)
			assert.InDelta(t, c.apart, near.Apart/inch, 1e-9)
			assert.InDelta(t, .125, near.Known/inch, 1e-9)
			assert.NotNil(t, read(1.1*near.Needed/inch).Guide, "%g in", near.Needed/inch)
			assert.Nil(t, read(.8*near.Needed/inch).Guide, "%g in", near.Needed/inch)
		})
	}
}

// A level that finds no tilt leaves equal shims; the part of the height that comes from
// the rod's squareness is not shimmed away.
func TestSkewRodOnALevelGuide(t *testing.T) {
	p := pump{half: .125 * inch, height: -.008 * inch, eps: .0002}
	in := ready(p.read(28*inch, 12*inch, fine))
	in.Level, in.Supports = &measure.Value{U: 1e-7}, supports
	out := centre(t, in)
	assert.Equal(t, align.EqualShims, out.Outcome)
	assert.InDelta(t, .008, out.Wanted.Front.Mean/inch, 1e-5)
	assert.True(t, out.Says(align.RodSkew))
	assert.True(t, out.AskEngineer)

	in.Planes[0].At = nil
	out = centre(t, in)
	assert.InDelta(t, .008-.0002*28, out.Wanted.Front.Mean/inch, 1e-5, "distance not known: centred on average")
	assert.True(t, out.Says(align.NotToldApart))
}

// The same readings in millimetres and in inches are the same lengths.
func TestMillimetresAndInchesAgree(t *testing.T) {
	metric := align.Plane{}
	for i, r := range [][2]float64{{3.4798, 2.8702}, {3.4544, 2.8956}, {3.4036, 2.9464}} {
		top := measure.FromStep(r[0]/1000, .0254/1000)
		bottom := measure.FromStep(r[1]/1000, .0254/1000)
		metric.Positions = append(metric.Positions, align.Position{Name: stations[i], Top: &top, Bottom: &bottom})
	}
	a, b := centre(t, ready(metric)), centre(t, ready(onePlane()))
	assert.InDelta(t, b.Wanted.Front.Mean, a.Wanted.Front.Mean, 1e-15)
	assert.InDelta(t, b.Wanted.Front.U, a.Wanted.Front.U, 1e-15)
}
