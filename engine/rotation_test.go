package engine

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"telltale/evidence"
	"telltale/rules"
)

// The crank-slider relations, as in any text on the theory of machines: with
// rod ratio lambda = r/l and crank angle t from the head-end dead centre,
// sin(phi) = lambda sin(t), and the force on the guide is F tan(phi) for a
// force F along the rod's line. Axes: x toward the fluid end, z up; the crank
// turns forward when its top moves toward the fluid end.

// guideForce is the force of the guide problem for a rod load F (positive:
// the connecting rod pushes toward the fluid end) at crank angle t, seen with
// the crank pin at height r sin(t): positive presses the crosshead down.
func guideForce(load, lambda, t float64) float64 {
	return load * math.Tan(math.Asin(lambda*math.Sin(t)))
}

// turn walks one turn of the crank and gives the mean force on the lower
// (positive) or upper guide on the power stroke and on the return stroke.
// forward: the pin is above the axis while the piston moves toward the fluid
// end.
func turn(forward bool, returnLoad float64) (power, back float64) {
	const lambda, n = 0.2, 720
	for i := range n {
		t := 2 * math.Pi * (float64(i) + 0.5) / n
		up := math.Sin(t) > 0
		toward := up == forward // piston moving toward the fluid end
		load := 1.0
		if !toward {
			load = -returnLoad // tension
		}
		f := guideForce(load, lambda, t)
		if toward {
			power += f / (n / 2)
		} else {
			back += f / (n / 2)
		}
	}
	return power, back
}

// R.S. Khurmi and J.K. Gupta, Theory of Machines, examples 15.7 and 15.4,
// worked values read in a copy of the textbook's examples.
func TestTheRelationsAgreeWithATextbook(t *testing.T) {
	// Example 15.7: r .3 m, l 1.2 m, 60 degrees, piston effort 49.4 kN
	// (0.35 N/mm2 on .5 m, less the inertia of 250 kg at 250 rpm): guide
	// 10.97 kN, rod 50.65 kN.
	const r, l, angle = 0.3, 1.2, math.Pi / 3
	w := 2 * math.Pi * 250 / 60
	inertia := 250 * r * w * w * (math.Cos(angle) + math.Cos(2*angle)*r/l)
	effort := 0.35e6*math.Pi/4*0.25 - inertia
	assert.InDelta(t, 10.97e3, guideForce(effort, r/l, angle), 30)
	phi := math.Asin(math.Sin(angle) * r / l)
	assert.InDelta(t, 50.65e3, effort/math.Cos(phi), 60)
	// Greatest guide force over rod load: lambda/sqrt(1-lambda^2).
	assert.InDelta(t, 0.2/math.Sqrt(1-0.04), guideForce(1, 0.2, math.Pi/2), 1e-12)
}

// Which guide is loaded, by mechanics: forward presses down on both strokes,
// reverse presses up on the power stroke; then a single-acting crosshead is
// let go and drops, a double-acting one is pushed up on the return too. A
// healthy guide carries about 13 % of the rod load on the mean at a rod ratio
// of 5.
func TestWhichGuideIsLoaded(t *testing.T) {
	for _, c := range []struct {
		name               string
		forward            bool
		returnLoad         float64 // of the rod load; a single-acting return is nearly free
		lowPower, lowBack  bool
		liftsAndDropsAgain bool
	}{
		{"triplex forward", true, 0, true, true, false},
		{"triplex reverse", false, 0, false, true, true},
		{"duplex forward", true, 0.85, true, true, false},
		{"duplex reverse", false, 0.85, false, false, false},
	} {
		power, back := turn(c.forward, c.returnLoad)
		assert.Equal(t, c.lowPower, power > 0, c.name)
		if c.returnLoad > 0 {
			assert.Equal(t, c.lowBack, back > 0, c.name)
		} else {
			assert.InDelta(t, 0, back, 1e-12, c.name)
		}
		assert.InDelta(t, 0.13, math.Abs(power), 0.005, c.name)
		assert.Equal(t, c.liftsAndDropsAgain, power < 0 && back == 0, c.name)
	}
}

// The rulebook says the same: reverse rotation shows on the upper guide and
// on top of the rods, ordinary wear on the lower guide and the underside; only
// a single-acting pump in reverse knocks from every cylinder by lift and drop;
// output and pressure do not tell.
func TestTheRulebookAgreesWithTheMechanics(t *testing.T) {
	book, err := rules.BuiltIn()
	assert.NoError(t, err)
	show := func(cause, sign, kind string, action evidence.Action) float64 {
		k := &evidence.Case{Pump: evidence.Pump{Layout: evidence.Layout{Action: action, Cylinders: evidence.DefaultCylinders(action)}}}
		most := 0.0 // by itself, or through what it brings on
		count := func(links []rules.Link, often float64) {
			for _, link := range links {
				if link.Sign != sign {
					continue
				}
				if kind == "" {
					most = max(most, often*link.Total)
				} else {
					most = max(most, often*link.Kinds[slices.Index(book.Signs.Get(sign).KindIDs(), kind)])
				}
			}
		}
		c := book.Causes.Get(cause)
		count(c.LinksFor(k, book), 1)
		for _, bring := range c.BringsFor(k, book) {
			count(bring.Links(book.Causes.Get(bring.Cause), k, book), bring.Often)
		}
		return most
	}
	for _, action := range []evidence.Action{evidence.Triplex, evidence.Duplex} {
		assert.Greater(t, show("reverse-rotation", "guide-wear", "upper", action), 2*show("reverse-rotation", "guide-wear", "lower", action))
		assert.Greater(t, show("guide-and-crosshead-worn", "guide-wear", "lower", action), 2*show("guide-and-crosshead-worn", "guide-wear", "upper", action))
		assert.Greater(t, show("guide-and-crosshead-worn", "rod-worn", "underside", action), 2*show("guide-and-crosshead-worn", "rod-worn", "top", action))
		assert.GreaterOrEqual(t, show("reverse-rotation", "rod-worn", "top", action), show("reverse-rotation", "rod-worn", "underside", action))
		for _, sign := range []string{"pressure-low", "output-low", "no-delivery", "pressure-high"} {
			assert.False(t, slices.ContainsFunc(book.Causes.Get("reverse-rotation").Shows, func(l rules.Link) bool { return l.Sign == sign }), sign)
		}
	}
	assert.Greater(t, show("reverse-rotation", "knock", "every-cylinder", evidence.Triplex), show("reverse-rotation", "knock", "every-cylinder", evidence.Duplex))
}
