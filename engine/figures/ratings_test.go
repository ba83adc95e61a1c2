package figures_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/figures"
)

// rating finds one comparison.
func rating(t *testing.T, f *figures.Figures, id string) *figures.Rating {
	t.Helper()
	for i := range f.Ratings {
		if f.Ratings[i].Rating == id {
			return &f.Ratings[i]
		}
	}
	require.Failf(t, "not compared", "%s in %v", id, f.Ratings)
	return nil
}

// Worked by hand. Rod load = pressure x pi/4 D^2 (the greater of push and pull;
// the pull of a duplex has the rod's area less). Hydraulic power = pressure x
// flow, in horsepower psi x gal/min / 1714.29 (33 000 x 12 / 231, any text on
// drilling hydraulics). Uncertainty: half-widths over the root of 3, combined by
// squares (JCGM 100:2008, 4.3.7 and 5.1.2, from memory); near within 1.645 of
// them (JCGM 106:2012, 8.3.2, from memory).
func TestRatingsWorkedByHand(t *testing.T) {
	const (
		triplex = "{action: triplex-single-acting, state: running, liner: 6 1/2 in, stroke: 12 in, "
		duplex  = "{action: duplex-double-acting, state: running, liner: 6 1/2 in, stroke: 18 in, piston-rod: 2 1/2 in, "
		psi     = 6894.757
		pound   = 4.448222
		hp      = 745.6999
	)
	for name, c := range map[string]struct {
		pump, manual, rating string
		stand                figures.Stand
		value                float64 // SI
		share                float64 // standard uncertainty over the value
		chance               float64
		runsAt, rated        string
	}{
		// 2 % and half a psi: .02/sqrt 3 = .011547, the digit adds nothing.
		"pressure past": {triplex + "discharge: 3400 psi}", "{liner-rated-pressure: 3000 psi}", "liner-pressure", figures.Past, 3400 * psi, 0.0115, 1, "3400 psi (234.4 bar)", "3000 psi (206.8 bar)"},
		// (3000 - 2960)/(.011548 x 2960) = 1.170 uncertainties: 12.1 % above.
		"pressure near": {triplex + "discharge: 2960 psi}", "{liner-rated-pressure: 3000 psi}", "liner-pressure", figures.Near, 2960 * psi, 0.0115, 0.121, "2960 psi (204.1 bar)", "3000 psi (206.8 bar)"},
		// 140/(.011548 x 2860) = 4.24 uncertainties.
		"pressure inside":      {triplex + "discharge: 2860 psi}", "{liner-rated-pressure: 3000 psi}", "liner-pressure", figures.Inside, 2860 * psi, 0.0115, 0, "2860 psi (197.2 bar)", "3000 psi (206.8 bar)"},
		"at its rating":        {triplex + "discharge: 3000 psi}", "{liner-rated-pressure: 3000 psi}", "liner-pressure", figures.Near, 3000 * psi, 0.0115, 0.5, "3000 psi (206.8 bar)", "3000 psi (206.8 bar)"},
		"past by a hair":       {triplex + "discharge: 3001 psi}", "{liner-rated-pressure: 3000 psi}", "liner-pressure", figures.Past, 3001 * psi, 0.0115, 0.511, "3001 psi (206.9 bar)", "3000 psi (206.8 bar)"},
		"in the other system":  {triplex + "discharge: 210 bar}", "{liner-rated-pressure: 3000 psi}", "liner-pressure", figures.Past, 21e6, 0.0116, 0.902, "210 bar (3046 psi)", "3000 psi (206.8 bar)"},
		"line past":            {duplex + "discharge: 3100 psi}", "{line-rated-pressure: 3000 psi}", "line-pressure", figures.Past, 3100 * psi, 0.0115, 0.997, "3100 psi (213.7 bar)", "3000 psi (206.8 bar)"},
		"fluid end inside":     {duplex + "discharge: 1500 psi}", "{fluid-end-rated-pressure: 2500 psi}", "fluid-end-pressure", figures.Inside, 1500 * psi, 0.0115, 0, "1500 psi (103.4 bar)", "2500 psi (172.4 bar)"},
		"over the relief":      {triplex + "discharge: 3200 psi}", "{relief-setting: 3000 psi}", "pressure-at-relief", figures.Past, 3200 * psi, 0.0115, 1, "3200 psi (220.6 bar)", "3000 psi (206.8 bar)"},
		"relief too high":      {triplex + "discharge: 2000 psi}", "{relief-setting: 4000 psi, liner-rated-pressure: 3000 psi}", "relief-for-liner", figures.Past, 4000 * psi, 0, 1, "4000 psi (275.8 bar)", "3000 psi (206.8 bar)"},
		"relief at the rating": {triplex + "discharge: 2000 psi}", "{relief-setting: 3000 psi, liner-rated-pressure: 3000 psi}", "relief-for-liner", figures.Inside, 3000 * psi, 0, 0, "3000 psi (206.8 bar)", "3000 psi (206.8 bar)"},
		// pi/4 x 42.25 x 3000 = 99 549 lbf.
		"rod load past":   {triplex + "discharge: 3000 psi}", "{rod-load-most: 95000 lbf}", "rod-load", figures.Past, 99549 * pound, 0.0115, 1, "99500 lbf (442.8 kN)", "95000 lbf (422.6 kN)"},
		"rod load near":   {triplex + "discharge: 3000 psi}", "{rod-load-most: 100000 lbf}", "rod-load", figures.Near, 99549 * pound, 0.0115, 0.347, "99500 lbf (442.8 kN)", "100000 lbf (444.8 kN)"},
		"rod load inside": {triplex + "discharge: 3000 psi}", "{rod-load-most: 500 kN}", "rod-load", figures.Inside, 99549 * pound, 0.0115, 0, "443 kN (99550 lbf)", "500 kN (112400 lbf)"},
		// Push 49 775 lbf, pull pi/4 x (42.25 - 6.25) x 1500 = 42 412.
		"rod load of a duplex": {duplex + "discharge: 1500 psi}", "{rod-load-most: 49000 lbf}", "rod-load", figures.Past, 49775 * pound, 0.0115, 0.911, "49800 lbf (221.4 kN)", "49000 lbf (218 kN)"},
		// 3 pi/4 x 42.25 x 12/231 x 120 = 620.6 gal/min; x 3000/1714.29 = 1086 hp.
		// .011547, half a psi, half a stroke of 120: .011547 and .0024 by squares.
		"power past":        {triplex + "discharge: 3000 psi, speed: 120 strokes/min}", "{power-most: 1000 hp}", "hydraulic-power", figures.Past, 1085.99 * hp, 0.0118, 1, "1090 hp (809.8 kW)", "1000 hp (745.7 kW)"},
		"power near":        {triplex + "discharge: 3000 psi, speed: 120 strokes/min}", "{power-most: 1100 hp}", "hydraulic-power", figures.Near, 1085.99 * hp, 0.0118, 0.138, "1090 hp (809.8 kW)", "1100 hp (820.3 kW)"},
		"power of a duplex": {duplex + "discharge: 1500 psi, speed: 50 strokes/min}", "{power-most: 1000 kW}", "hydraulic-power", figures.Inside, 419.03 * hp, 0.0129, 0, "312 kW (419 hp)", "1000 kW (1341 hp)"},
		// Half a stroke over the root of 3 of 110: .0026.
		"strokes past":   {triplex + "speed: 130 strokes/min}", "{speed-most: 110 strokes/min}", "strokes", figures.Past, 130.0 / 60, 0.0022, 1, "130 strokes/min", "110 strokes/min"},
		"strokes near":   {duplex + "speed: 65 strokes/min}", "{speed-most: 65 strokes/min}", "strokes", figures.Near, 65.0 / 60, 0.0044, 0.5, "65 strokes/min", "65 strokes/min"},
		"strokes inside": {duplex + "speed: 64 strokes/min}", "{speed-most: 65 strokes/min}", "strokes", figures.Inside, 64.0 / 60, 0.0045, 0, "64 strokes/min", "65 strokes/min"},
	} {
		t.Run(name, func(t *testing.T) {
			f := work(t, "pump: "+c.pump+"\nmanual: "+c.manual+"\n")
			got := rating(t, f, c.rating)
			assert.Equal(t, c.stand, got.Stand, name)
			assert.InEpsilon(t, c.value, got.Value, 2e-5, name)
			assert.InDelta(t, c.share, got.U/got.Value, 6e-5, name)
			assert.InDelta(t, c.chance, got.Chance, 2e-3, name)
			assert.Equal(t, c.runsAt, got.RunsAt, name)
			assert.Equal(t, c.rated, got.Rated, name)
			assert.Empty(t, got.Why, name)
		})
	}
}

// The charge pressure has a least.
func TestChargePressureHasALeast(t *testing.T) {
	for pressure, want := range map[string]figures.Stand{"15 psi": figures.Past, "30 psi": figures.Near, "45 psi": figures.Inside} {
		t.Run(pressure, func(t *testing.T) {
			f := work(t, "pump: {action: triplex-single-acting, state: running, liner: 6 in, stroke: 11 in, speed: 90 strokes/min}\n"+
				"manual: {charge-pressure-least: 30 psi}\nsuction-line: {mud-weight: 10 lb/gal, charge-pressure: "+pressure+", pipes: [{length: 20 ft, bore: 10 in}]}\n")
			got := rating(t, f, "charge-pressure")
			assert.Equal(t, want, got.Stand, pressure)
			assert.True(t, got.Least)
		})
	}
}

// A rating that nothing can be held against says what is missing; what no limit
// is given for is not there.
func TestWhatCannotBeCompared(t *testing.T) {
	f := work(t, "pump: {action: duplex-double-acting, state: stopped, liner: 6 in}\nmanual: {rod-load-most: 90 kN, power-most: 500 kW, liner-rated-pressure: 200 bar, charge-pressure-least: 2 bar, speed-most: 70 spm}\n")
	for id, want := range map[string]string{
		"rod-load": "give under pump: discharge, stroke, piston-rod", "hydraulic-power": "give under pump: discharge, speed, stroke, piston-rod",
		"liner-pressure": "give under pump: discharge", "strokes": "give under pump: speed", "charge-pressure": "give under suction-line: charge-pressure",
	} {
		t.Run(id, func(t *testing.T) {
			got := rating(t, f, id)
			assert.Equal(t, figures.NotKnown, got.Stand, id)
			assert.Equal(t, want, got.Why, id)
			assert.Zero(t, got.Chance, id)
		})
	}
	assert.Len(t, f.Ratings, 5, "no relief setting, no line")
	assert.NotNil(t, work(t, "pump: {action: triplex-single-acting, state: running}\n").Ratings)
}

// A reckoned figure is printed with more digits only where it could else not be
// told from its limit.
func TestFiguresAreToldApart(t *testing.T) {
	f := work(t, "pump: {action: triplex-single-acting, state: running, liner: 6 1/2 in, stroke: 12 in, discharge: 3000 psi}\nmanual: {rod-load-most: 99500 lbf}\n")
	got := rating(t, f, "rod-load")
	assert.Equal(t, figures.Past, got.Stand)
	assert.Equal(t, "99550 lbf (442.8 kN)", got.RunsAt)
	assert.Less(t, got.Figure, got.Value)
	assert.False(t, math.IsNaN(got.U))
}
