package drawing

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/doc"
)

// What these pictures show of the work is common practice, no source.

// byHand are the pictures of how a thing is done, with words that stand in each.
var byHand = []struct {
	draw  func() doc.Figure
	texts []string
}{
	{ShimUnderGuide, []string{"power end", "fluid end", "crosshead", "lower guide", "block", "shim", "lift", "clamps tight", "outer clamp off", "inner slack", "right across", "half a shim", "sticks out"}},
	{OverCrosshead, []string{"upper guide", "crosshead", "lower guide", "leaf flat", "no leaf under", "left", "right", "rear", "middle", "front", "flat", "aslant"}},
	{RoundFlange, []string{"crosshead", "flange", "leaf", "1", "2", "3", "4", "top", "bottom", "left", "right", "then all round"}},
	{RoundRod, []string{"opening", "extension rod", "1", "2", "3", "4", "top", "bottom", "left", "right"}},
	{LockingWire, []string{"right", "WRONG", "pulls tighter", "pulls loose"}},
	{PackingOrder, []string{"gland", "piston rod", "pressure", "first in", "1", "2", "3", "lantern ring, only if this box has one", "joints staggered", "Lips toward the pressure."}},
	{ValvePot, []string{"insert", "face", "taper", "spring", "guide", "cover", "1", "2", "3", "4"}},
	{LoadedGuide, []string{"Forward:", "In reverse:", "the top moves toward the fluid end", "the top moves away from the fluid end", "lower guide loaded", "upper guide loaded"}},
}

// Each is sound, as wide as the room beside a step and not taller than a third
// of a page, is black and white by attributes alone, and says in its key that
// nothing in it is to scale and what it rests on.
func TestPicturesOfTheHand(t *testing.T) {
	for _, picture := range byHand {
		p := picture.draw()
		t.Run(p.Name, func(t *testing.T) {
			list := sound(t, p)
			assert.InDelta(t, 80, list[0].number(t, "width")/pixelsPerMetre*1000, 0.5, "mm")
			assert.Less(t, list[0].number(t, "height")/pixelsPerMetre*1000, 90.0, "mm")
			assert.Contains(t, p.Key, "not to scale")
			assert.Contains(t, p.Key, "Common practice, no source.")
			for _, want := range picture.texts {
				assert.Contains(t, texts(list), want)
			}
			for _, e := range list {
				assert.Contains(t, []string{"svg", "title", "desc", "line", "rect", "circle", "path", "text"}, e.name)
				for key, value := range e.at {
					assert.NotEqual(t, "style", key)
					if key == "fill" || key == "stroke" {
						assert.Contains(t, []string{"none", "#000", "#fff"}, value)
					}
				}
				// A number in a picture is that of a place, no figure of a case.
				if e.name == "text" && strings.ContainsAny(e.text, "0123456789") {
					assert.Equal(t, "axis", e.at["class"], e.text)
				}
			}
			for _, line := range append(p.Says, p.Key) {
				assert.NotRegexp(t, `\d+(\.\d+)? ?(in|mm|thou|psi|bar|ft lbf|Nm)\b`, line, "what belongs to the manual is not in it")
			}
			// Two words that touch are misread.
			words := named(list, "text")
			for i, a := range words {
				for _, b := range words[i+1:] {
					if math.Abs(a.number(t, "y")-b.number(t, "y")) < textSize*0.8 {
						aLeft, aRight := spread(t, a)
						bLeft, bRight := spread(t, b)
						assert.True(t, aRight <= bLeft || bRight <= aLeft, "%q lies on %q", a.text, b.text)
					}
				}
			}
		})
	}
}

// spread is from where to where a text goes.
func spread(t *testing.T, e element) (left, right float64) {
	long := float64(len([]rune(e.text))) * textSize * 0.55
	x := e.number(t, "x")
	left = x - map[string]float64{start: 0, middle: long / 2, end: long}[e.at["text-anchor"]]
	return left, left + long
}

// corners gives the points of a path.
func corners(t *testing.T, e element) []point {
	y := ys(t, e.at["d"])
	var out []point
	for i, f := range strings.Fields(e.at["d"]) {
		if i%2 == 0 {
			x, err := strconv.ParseFloat(f[1:], 64)
			require.NoError(t, err)
			out = append(out, point{x, y[i/2]})
		}
	}
	return out
}

// is picks the elements that have an attribute.
func is(list []element, key, value string) []element {
	return slices.DeleteFunc(slices.Clone(list), func(e element) bool { return e.at[key] != value })
}

// written finds the place of a text.
func written(t *testing.T, list []element, text string) point {
	found := slices.DeleteFunc(named(list, "text"), func(e element) bool { return e.text != text })
	require.NotEmpty(t, found, text)
	return point{found[0].number(t, "x"), found[0].number(t, "y")}
}

func ends(t *testing.T, e element) (from, to point) {
	return point{e.number(t, "x1"), e.number(t, "y1")}, point{e.number(t, "x2"), e.number(t, "y2")}
}

// A wire that is pulled draws its two ends toward each other. About the middle
// of a screw, seen on its head, that turns it clockwise, which tightens a
// right-hand thread, on the right way at both screws, and back on the wrong one.
func TestLockingWirePullsTheScrewsTight(t *testing.T) {
	list := sound(t, LockingWire())
	screws := is(named(list, "circle"), "r", "21")
	wires := is(named(list, "line"), "stroke-width", "5")
	require.Len(t, screws, 4)
	require.Len(t, wires, 2)
	assert.Less(t, written(t, list, "right").x, written(t, list, "WRONG").x)
	for i, want := range []float64{1, -1} { // clockwise, with y downward
		from, to := ends(t, wires[i])
		for j, screw := range screws[2*i : 2*i+2] {
			hole, other := from, to
			if j == 1 {
				hole, other = to, from
			}
			middle := point{screw.number(t, "cx"), screw.number(t, "cy")}
			arm := point{hole.x - middle.x, hole.y - middle.y}
			assert.InDelta(t, screwRadius, math.Hypot(arm.x, arm.y), 0.5, "it leaves the screw at its rim")
			moment := arm.x*(other.y-hole.y) - arm.y*(other.x-hole.x)
			assert.Equal(t, want, math.Copysign(1, moment))
			assert.Greater(t, math.Abs(moment)/screwRadius/math.Hypot(other.x-hole.x, other.y-hole.y), 0.7, "with most of its pull")
		}
	}
	// The arrows turn as the wire pulls.
	arcs := is(is(named(list, "path"), "fill", "none"), "stroke-width", "1.8")
	require.Len(t, arcs, 4)
	for i, arc := range arcs {
		p := corners(t, arc)
		middle := point{screws[i].number(t, "cx"), screws[i].number(t, "cy")}
		first, last := p[0], p[len(p)-1]
		turns := (first.x-middle.x)*(last.y-middle.y) - (first.y-middle.y)*(last.x-middle.x)
		assert.Equal(t, []float64{1, 1, -1, -1}[i], math.Copysign(1, turns))
	}
}

// Every lip opens toward the side from which the pressure comes, the first ring
// lies at the bottom of the box, next to it, and no joint lies behind another.
func TestPackingLipsLookTowardThePressure(t *testing.T) {
	list := sound(t, PackingOrder())
	pressure := written(t, list, "pressure").x
	var apexes []float64
	for _, e := range is(named(list, "path"), "fill", "#000") {
		p := corners(t, e)
		if len(p) != 7 { // the head of an arrow
			assert.Less(t, p[0].x, p[1].x, "the arrow points away from where the pressure is")
			continue
		}
		apex, lips := p[0].x, p[2].x
		assert.Less(t, apex, lips)
		assert.Less(t, lips, pressure, "the lips look toward it")
		apexes = append(apexes, apex)
	}
	require.Len(t, apexes, 6, "three rings, above and below the rod")
	for _, ring := range [][2]string{{"1", "2"}, {"2", "3"}} {
		assert.Greater(t, written(t, list, ring[0]).x, written(t, list, ring[1]).x, "the first in lies deepest")
	}
	var openings []float64
	for _, e := range is(is(named(list, "path"), "fill", "none"), "stroke-width", "3") {
		p := corners(t, e)
		first, last := p[0], p[len(p)-1]
		gap := point{(first.x + last.x) / 2, (first.y + last.y) / 2}
		openings = append(openings, math.Atan2(gap.y-214, gap.x-(26+float64(len(openings))*52))*180/math.Pi)
	}
	require.Len(t, openings, 3)
	for i, a := range openings {
		for _, b := range openings[i+1:] {
			assert.Greater(t, math.Abs(math.Remainder(a-b, 360)), 90.0, "the joints are staggered")
		}
	}
	dashedOnes := is(named(list, "rect"), "stroke-dasharray", "6 4")
	assert.Len(t, dashedOnes, 2, "the lantern ring alone is dashed: not every box has one")
	assert.Contains(t, PackingOrder().Key, "this pump's manual")
}

// On the pressure stroke the connecting rod pushes the crosshead toward the
// fluid end, and down or up as it slopes. The crank pin goes the way that the
// arrow at the top says; the guide toward which the rod pushes is the black one,
// the crosshead lies on it, and the words say so.
func TestLoadedGuideIsTheOneThatTheRodPushesOn(t *testing.T) {
	p := LoadedGuide()
	list := sound(t, p)
	rods := is(named(list, "line"), "stroke-width", "3")
	guides := slices.DeleteFunc(named(list, "rect"), func(e element) bool { return e.at["height"] != "10" })
	heads := slices.DeleteFunc(named(list, "rect"), func(e element) bool { return e.at["height"] != "44" })
	arcs := is(is(named(list, "path"), "fill", "none"), "stroke-width", "3")
	require.Len(t, rods, 6, "crank, connecting rod and force, twice")
	require.Len(t, guides, 4)
	require.Len(t, heads, 2)
	require.Len(t, arcs, 2)
	for i, w := range []struct {
		topGoes float64
		loaded  string
	}{{1, "lower"}, {-1, "upper"}} {
		crank, pin := ends(t, rods[3*i])
		from, to := ends(t, rods[3*i+1])
		_, force := ends(t, rods[3*i+2])
		assert.Equal(t, pin, from)
		arc := corners(t, arcs[i])
		top := arc[len(arc)-1].x - arc[0].x
		assert.Equal(t, w.topGoes, math.Copysign(1, top), "the fluid end is on the right")
		// What is above the middle goes with the top, what is below the other way.
		pinGoes := top * (crank.y - pin.y)
		assert.Positive(t, pinGoes, "on the pressure stroke the pin goes toward the fluid end")
		push := to.y - from.y
		upper, lower, head := guides[2*i], guides[2*i+1], heads[i]
		foot := head.number(t, "y") + head.number(t, "height")
		if w.loaded == "lower" {
			assert.Positive(t, push)
			assert.Greater(t, force.y, to.y)
			assert.Equal(t, "#000", lower.at["fill"])
			assert.Equal(t, "#fff", upper.at["fill"])
			assert.InDelta(t, lower.number(t, "y"), foot, 0.1)
		} else {
			assert.Negative(t, push)
			assert.Less(t, force.y, to.y)
			assert.Equal(t, "#000", upper.at["fill"])
			assert.Equal(t, "#fff", lower.at["fill"])
			assert.InDelta(t, upper.number(t, "y")+upper.number(t, "height"), head.number(t, "y"), 0.1)
		}
		assert.Contains(t, p.Says[i], "is pressed on the "+w.loaded+" guide")
	}
}

// The points are numbered crosswise: each second one lies across from the one
// before it, and top, bottom, left and right are where they are called.
func TestFeelerPointsGoCrosswise(t *testing.T) {
	for _, p := range []doc.Figure{RoundFlange(), RoundRod()} {
		t.Run(p.Name, func(t *testing.T) {
			list := sound(t, p)
			at := map[string]point{}
			for _, label := range []string{"1", "2", "3", "4"} {
				at[label] = written(t, list, label)
			}
			assert.InDelta(t, at["1"].x, at["2"].x, 0.1, "top and bottom in one line")
			assert.Less(t, at["1"].y, at["2"].y)
			assert.InDelta(t, at["3"].y, at["4"].y, 0.1)
			assert.Less(t, at["3"].x, at["4"].x)
			assert.InDelta(t, (at["1"].y+at["2"].y)/2, at["3"].y, 0.1, "across the same middle")
			assert.InDelta(t, (at["3"].x+at["4"].x)/2, at["1"].x, 0.1)
			for label, name := range map[string]string{"1": "top", "2": "bottom", "3": "left", "4": "right"} {
				assert.InDelta(t, at[label].y, written(t, list, name).y, 1, "the name stands beside its number")
				assert.Contains(t, strings.Join(p.Says, " "), label+" "+name)
			}
			assert.Contains(t, p.Key, "looking toward the fluid end")
		})
	}
}

// The crosshead lies on the lower guide, the leaf is level in the gap above it,
// and looking toward the fluid end left is on the left hand.
func TestLeafGoesFlatOverTheCrosshead(t *testing.T) {
	list := sound(t, OverCrosshead())
	require.Less(t, written(t, list, "power end").x, written(t, list, "fluid end").x)
	assert.Less(t, written(t, list, "left").y, written(t, list, "right").y, "seen from above, the fluid end on the right")
	assert.Less(t, written(t, list, "rear").x, written(t, list, "middle").x)
	assert.Less(t, written(t, list, "middle").x, written(t, list, "front").x)
	bars := slices.DeleteFunc(named(list, "rect"), func(e element) bool { return e.at["width"] != "282" })
	require.Len(t, bars, 2)
	head := slices.DeleteFunc(named(list, "rect"), func(e element) bool { return e.at["height"] != "44" })[0]
	assert.InDelta(t, bars[1].number(t, "y"), head.number(t, "y")+head.number(t, "height"), 0.1, "no gap under it")
	from, to := ends(t, is(named(list, "line"), "stroke-width", "3")[0])
	assert.Equal(t, from.y, to.y, "flat")
	assert.Greater(t, from.y, bars[0].number(t, "y")+bars[0].number(t, "height"))
	assert.Less(t, from.y, head.number(t, "y"))
	assert.Greater(t, to.x, head.number(t, "x")+head.number(t, "width"), "held from outside")
	assert.Less(t, from.x, head.number(t, "x")+head.number(t, "width"), "and over the crosshead")
	assert.Len(t, is(named(list, "circle"), "r", "5"), 6, "rear, middle and front, left and right")
}

// The shim covers its whole support and lies on it, the lifted end clears it and
// the block carries the guide; the crosshead stands over the other end.
func TestShimLiesOnTheWholeSupport(t *testing.T) {
	list := sound(t, ShimUnderGuide())
	shims := is(named(list, "rect"), "height", "5")
	require.Len(t, shims, 4)
	shim := shims[0]
	var support element
	for _, e := range named(list, "rect") {
		if e.at["x"] == shim.at["x"] && e.at["height"] == "18" {
			support = e
		}
	}
	require.NotEmpty(t, support.name)
	assert.Equal(t, support.at["width"], shim.at["width"], "the full length")
	assert.InDelta(t, support.number(t, "y"), shim.number(t, "y")+shim.number(t, "height"), 0.1)
	x := shim.number(t, "x")
	assert.Less(t, lifted(x)+guideThick, shim.number(t, "y"), "the lifted end clears it")
	assert.InDelta(t, supportTop, lifted(supportLeft)+guideThick, 0.1, "the other end lies on its support")
	assert.Less(t, written(t, list, "crosshead").x, written(t, list, "block").x)
	assert.Less(t, written(t, list, "block").x, x)
	// Across: the first covers it all, the others do not.
	for i, right := range []bool{true, false, false} {
		across := shims[i+1]
		left := 16 + float64(i)*101
		whole := across.number(t, "x") == left && across.number(t, "width") == 70
		assert.Equal(t, right, whole)
	}
}
