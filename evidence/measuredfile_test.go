package evidence

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence/source"
)

const sizedTriplex = "pump: {action: triplex-single-acting, state: running, liner: 6 in, stroke: 11 in}\n"

func parsed(t *testing.T, text string) *Case {
	t.Helper()
	k, err := parseText(text)
	require.NoError(t, err)
	return k
}

// The factors of inch and thou are exact (NIST SP 811, B.8, from memory).
func TestReadingsInInchAndMetric(t *testing.T) {
	for text, want := range map[string][2]float64{
		"15 thou":            {15 * 25.4e-6, 15 * 25.4e-6},
		"0.015 in":           {15 * 25.4e-6, 15 * 25.4e-6},
		"0.381 mm":           {15 * 25.4e-6, 15 * 25.4e-6},
		"0 thou":             {0, 0},
		"1/64 in":            {0.0254 / 64, 0.0254 / 64},
		"15 to 16 thou":      {15 * 25.4e-6, 16 * 25.4e-6},
		"15 thou to 16 thou": {15 * 25.4e-6, 16 * 25.4e-6},
		"15 thou to 0.5 mm":  {15 * 25.4e-6, 0.0005},
		"0.45 to 0.50 mm":    {0.00045, 0.0005},
		"0 to 1 thou":        {0, 25.4e-6},
		"1/64 to 1/32 in":    {0.0254 / 64, 0.0254 / 32},
		"15 to 15 thou":      {15 * 25.4e-6, 15 * 25.4e-6},
	} {
		t.Run(text, func(t *testing.T) {
			k := parsed(t, triplexHead+"measured: {upper-guide: {2: {resolution: 1 thou, rear: "+text+"}}}")
			r := k.Measured.UpperGuide[0].List[0].Reading
			assert.InDelta(t, want[0], r.Low, 1e-15, text)
			assert.InDelta(t, want[1], r.High, 1e-15, text)
			assert.Equal(t, text, r.Written)
		})
	}
}

func TestReadingsPrintBothSystems(t *testing.T) {
	for text, want := range map[string]string{
		"15 thou":         "15 thou (0.381 mm)",
		"15 to 16 thou":   "15 to 16 thou (0.381 to 0.406 mm)",
		"0.45 to 0.50 mm": "0.45 to 0.50 mm (0.01772 to 0.01969 in)",
	} {
		t.Run(text, func(t *testing.T) {
			k := parsed(t, triplexHead+"measured: {upper-guide: {2: {resolution: 1 thou, rear: "+text+"}}}")
			assert.Equal(t, want, k.Measured.UpperGuide[0].List[0].Reading.String())
		})
	}
}

const wholeRod = `measured:
  rod-in-opening:
    2:
      with: feelers
      resolution: 1 thou
      each-reading-is: largest-leaf
      rod: parted
      crosshead: not-seated
      centre-guide: true
      opening: 3.26 in
      rod-diameter: 3 in
      guide-supports: {rear: 9 in, front: 228.6 mm}
      guide-slope: {slope: 1 thou/ft, within: 0.1 mm/m, rises-toward: crank-end}
      at: 28 in
      back: {top: 130 thou, bottom: 3.302 mm}
      middle: {top: 15 to 16 thou, left: 1 thou, right: 2 thou}
      second-plane:
        at: 1 m
        front: {bottom: 0.45 to 0.50 mm}
    3: {resolution: 0.02 mm, each-reading-is: nearest, middle: {top: 3 mm}}
    1:
`

func TestRodInOpening(t *testing.T) {
	k := parsed(t, triplexHead+wholeRod)
	require.Len(t, k.Measured.RodInOpening, 2, "a cylinder without readings is none")
	r := k.Measured.RodInOpening[0]
	assert.Equal(t, Place{Cylinder: "2"}, r.Place)
	assert.Equal(t, "feelers", r.With)
	assert.InDelta(t, 25.4e-6, r.Resolution.SI, 1e-15)
	assert.True(t, r.LargestLeaf)
	assert.Equal(t, Yes, r.Parted)
	assert.Equal(t, No, r.Seated)
	assert.True(t, r.CentreGuide)
	assert.InDelta(t, 0.082804, r.Opening.SI, 1e-12)
	assert.InDelta(t, 0.0762, r.Rod.SI, 1e-12)
	assert.InDelta(t, r.RearSupport.SI, r.FrontSupport.SI, 1e-12)
	assert.InDelta(t, 1e-3/12, r.Level.Slope.SI, 1e-15)
	assert.InDelta(t, 1e-4, r.Level.Within.SI, 1e-15)
	assert.False(t, r.Level.RisesToFluidEnd)
	require.Len(t, r.Planes, 2)
	assert.InDelta(t, 0.7112, r.Planes[0].At.SI, 1e-12)
	assert.InDelta(t, r.Planes[0].Back.Top.Low, r.Planes[0].Back.Bottom.Low, 1e-12)
	assert.Nil(t, r.Planes[0].Back.Left)
	assert.True(t, r.Planes[0].Middle.Any())
	assert.False(t, r.Planes[0].Front.Any())
	assert.InDelta(t, 0.0005, r.Planes[1].Front.Bottom.High, 1e-15)
	assert.Equal(t, "case.yaml:4:5", positionBefore(r.Pos, 1))
	bare := k.Measured.RodInOpening[1]
	assert.False(t, bare.LargestLeaf)
	assert.Equal(t, NotStated, bare.Parted)
	assert.Equal(t, NotStated, bare.Seated)
	assert.Nil(t, bare.Level)
	assert.Nil(t, bare.Planes[0].At)
}

// positionBefore is the key's place from the place of the block below it.
func positionBefore(p source.Pos, lines int) string {
	return fmt.Sprintf("%s:%d:%d", p.File, p.Line-lines, p.Col-2)
}

func TestPointsAndSurveys(t *testing.T) {
	k := parsed(t, sizedTriplex+`measured:
  upper-guide: {1: {with: feelers, resolution: 0.05 mm, rear: 0.50 to 0.55 mm, front-left: 20 thou, middle-right: 1 thou}}
  rod-face-gap: {3: {resolution: 1 thou, each-reading-is: largest-leaf, top: 0 thou, bottom: 4 thou}}
  fluid-end-gap: {resolution: 1 thou, top-left: 1 thou, bottom: 2 thou}
  liner-bore:
    2: {resolution: 0.01 mm, new: 152.4 mm, stations: [{up-down: 6.01 in, across: 152.41 mm}, {across: 6 in}]}
  piston-rod: {2: {resolution: 1 thou, stations: [{up-down: 2.488 in}]}}
  extension-rod: {1: {resolution: 1 thou, stations: [{across: 3 in}]}}
`)
	m := &k.Measured
	require.True(t, m.Any())
	var names []string
	for _, p := range m.UpperGuide[0].List {
		names = append(names, p.Name)
	}
	assert.Equal(t, []string{"rear", "middle-right", "front-left"}, names, "from rear to front, whatever the order in the file")
	assert.True(t, m.RodFaceGap[0].LargestLeaf)
	assert.Equal(t, "bottom", m.RodFaceGap[0].List[1].Name)
	assert.Equal(t, Place{}, m.FluidEndGap.Place)
	assert.Equal(t, []string{"top-left", "bottom"}, []string{m.FluidEndGap.List[0].Name, m.FluidEndGap.List[1].Name})
	liner := m.LinerBore[0]
	assert.InDelta(t, 0.1524, liner.New.SI, 1e-12)
	assert.InDelta(t, 6.01*0.0254, liner.Stations[0].UpDown.Low, 1e-12)
	assert.InDelta(t, 0.15241, liner.Stations[0].Across.Low, 1e-12)
	assert.Nil(t, liner.Stations[1].UpDown)
	assert.Nil(t, m.PistonRod[0].New)
	assert.Len(t, m.ExtensionRod, 1)
}

func TestACaseWithoutReadings(t *testing.T) {
	k := parsed(t, triplexHead+"measured:\n  upper-guide:\n    2:\nshims-on-hand: [1 thou]\n")
	assert.False(t, k.Measured.Any(), "shims alone are no reading")
}

func TestMeasuredReportsEveryMistakeWithItsPlace(t *testing.T) {
	rod := triplexHead + "measured: {rod-in-opening: {2: {resolution: 1 thou, "
	upper := triplexHead + "measured: {upper-guide: {2: {resolution: 1 thou, "
	bore := triplexHead + "measured: {liner-bore: {2: {resolution: 1 thou, "
	const length = "; expected a length of zero or more with its unit (cm, ft, in, m, mm, thou, µm)"
	const points = "expected one of: front, front-left, front-right, middle, middle-left, middle-right, rear, rear-left, rear-right"
	for name, c := range map[string]struct{ text, want string }{
		"no mapping":          {triplexHead + "measured: 3", `wrong-form | case.yaml:2:11: measured must be a mapping (key: value); read "3"`},
		"unknown key":         {triplexHead + "measured: {rod: 3}", `unknown-key | case.yaml:2:12: measured has no key "rod"; expected one of: before-and-now, extension-rod, fluid-end-gap, liner-bore, piston-rod, rod-face-gap, rod-in-opening, tank-test, upper-guide`},
		"no cylinders":        {triplexHead + "measured: {rod-in-opening: 3 thou}", `wrong-form | case.yaml:2:28: expected readings by cylinder, like "1": {...}`},
		"unknown cylinder":    {triplexHead + "measured: {rod-in-opening: {4: {}}}", `unknown-place | case.yaml:2:29: this pump has no cylinder "4"; expected one of: 1, 2, 3`},
		"an end":              {duplexHead + "measured: {liner-bore: {left head: {}}}", `wrong-place | case.yaml:2:25: "left head" names one end, but this belongs to the whole cylinder; write left`},
		"one cylinder twice":  {duplexHead + "measured: {rod-face-gap: {left: {resolution: 1 thou, top: 1 thou}, \" left\": {resolution: 1 thou, top: 1 thou}}}", `twice | case.yaml:2:68: left stands twice here; keep one`},
		"no block":            {triplexHead + "measured: {rod-in-opening: {2: 3}}", `wrong-form | case.yaml:2:32: rod-in-opening of 2 must be a mapping (key: value); read "3"`},
		"no resolution":       {triplexHead + "measured: {rod-in-opening: {2: {middle: {top: 1 thou}}}}", `missing | case.yaml:2:32: rod-in-opening of 2 has no "resolution"`},
		"coarse":              {triplexHead + "measured: {rod-in-opening: {2: {resolution: 5 in, middle: {top: 1 thou}}}}", `out-of-range | case.yaml:2:45: a resolution of 5 in is too coarse to say anything here; is the unit right?`},
		"fine":                {triplexHead + "measured: {rod-in-opening: {2: {resolution: 0.000001 mm, middle: {top: 1 thou}}}}", `out-of-range | case.yaml:2:45: a resolution of 0.000001 mm is too fine to be true`},
		"no step":             {triplexHead + "measured: {rod-in-opening: {2: {resolution: 0 in, middle: {top: 1 thou}}}}", `out-of-range | case.yaml:2:45: "0 in" is zero; expected more than zero`},
		"misspelt key":        {rod + "middle: {top: 1 thou}, resoluton: 3}}}", `unknown-key | case.yaml:2:76: rod-in-opening of 2 has no key "resoluton"; did you mean resolution?`},
		"way of reading":      {rod + "each-reading-is: biggest-leaf, middle: {top: 1 thou}}}}", `unknown-name | case.yaml:2:70: unknown way of reading "biggest-leaf"; expected one of: largest-leaf, nearest; did you mean largest-leaf?`},
		"state of the rod":    {rod + "rod: off, middle: {top: 1 thou}}}}", `unknown-name | case.yaml:2:58: unknown state of the rod "off"; expected one of: joined, parted`},
		"crosshead":           {rod + "crosshead: seat, middle: {top: 1 thou}}}}", `unknown-name | case.yaml:2:64: unknown state of the crosshead "seat"; expected one of: not-seated, seated; did you mean seated?`},
		"centre guide":        {rod + "centre-guide: maybe, middle: {top: 1 thou}}}}", `wrong-form | case.yaml:2:67: centre-guide must be true or false; read "maybe"`},
		"no unit":             {rod + "middle: {top: 15}}}}", `not-a-quantity | case.yaml:2:67: "15" is not a quantity: the unit is missing` + length},
		"pressure":            {rod + "middle: {top: 15 psi}}}}", `wrong-unit | case.yaml:2:67: "15 psi" is a pressure` + length},
		"below zero":          {rod + "middle: {top: -1 thou}}}}", `not-a-quantity | case.yaml:2:67: "-1 thou" is not a quantity` + length},
		"backwards":           {rod + "middle: {top: 16 to 15 thou}}}}", `out-of-order | case.yaml:2:67: "16 to 15 thou" runs backwards; write the smaller figure first`},
		"range without unit":  {rod + "middle: {top: 15 to 16}}}}", `not-a-quantity | case.yaml:2:67: "16" is not a quantity: the unit is missing` + length},
		"two units":           {rod + "middle: {top: 15 psi to 16 thou}}}}", `wrong-unit | case.yaml:2:67: unknown unit "psi thou" in "15 psi thou"` + length},
		"three ends":          {rod + "middle: {top: 15 to 16 to 17 thou}}}}", `wrong-unit | case.yaml:2:67: unknown unit "to 17 thou" in "16 to 17 thou"` + length},
		"hyphen":              {rod + "middle: {top: 15-16 thou}}}}", `not-a-quantity | case.yaml:2:67: "15-16 thou" is not a quantity: write a range as "15 to 16 thou"` + length},
		"no range":            {rod + "middle: {top: 15 to 15.0000001 thou}}}}", `out-of-order | case.yaml:2:67: the ends of "15 to 15.0000001 thou" are too near each other for a range`},
		"too large":           {rod + "middle: {top: 1 to 5 in}}}}", `out-of-range | case.yaml:2:67: "1 to 5 in" is too large for this reading (more than 3.94 in, 100 mm); is the unit right?`},
		"a list":              {rod + "middle: {top: [1 thou]}}}}", `wrong-form | case.yaml:2:67: a reading must be a single value; read a list`},
		"unknown side":        {rod + "middle: {up: 1 thou}}}}", `unknown-key | case.yaml:2:62: middle has no key "up"; expected one of: bottom, left, right, top`},
		"no reading":          {rod + "rod: parted}}}", `missing | case.yaml:2:32: no reading here; expected back:, middle: or front: with top: and bottom:`},
		"far away":            {rod + "middle: {top: 1 thou}, at: 20 ft}}}", `out-of-range | case.yaml:2:80: "20 ft" is too far for a mud pump; is the unit right?`},
		"second without at":   {rod + "middle: {top: 1 thou}, at: 20 in, second-plane: {middle: {top: 1 thou}}}}}", `needs-other | case.yaml:2:101: two planes need at: each, the distance from the crosshead's centre at mid stroke`},
		"empty second":        {rod + "middle: {top: 1 thou}, at: 20 in, second-plane: {at: 30 in}}}}", `missing | case.yaml:2:101: no reading here; expected back:, middle: or front: with top: and bottom:`},
		"one support":         {rod + "middle: {top: 1 thou}, guide-supports: {rear: 9 in}}}}", `missing | case.yaml:2:92: guide-supports has no "front"`},
		"support at nothing":  {rod + "middle: {top: 1 thou}, guide-supports: {rear: 9 in, front: 0 in}}}}", `out-of-range | case.yaml:2:112: "0 in" is zero; expected more than zero`},
		"slope":               {rod + "middle: {top: 1 thou}, guide-slope: {slope: 1 thou, within: 1 mm/m, rises-toward: fluid-end}}}}", `wrong-unit | case.yaml:2:97: "1 thou" is a length; expected a slope of zero or more with its unit (in/ft, mm/m, thou/ft)`},
		"slope without doubt": {rod + "middle: {top: 1 thou}, guide-slope: {slope: 1 mm/m, rises-toward: fluid-end}}}}", `missing | case.yaml:2:89: guide-slope has no "within"`},
		"slope to where":      {rod + "middle: {top: 1 thou}, guide-slope: {slope: 1 mm/m, within: 1 mm/m, rises-toward: pit}}}}", `unknown-name | case.yaml:2:135: unknown end "pit"; expected one of: crank-end, fluid-end`},
		"opening alone":       {rod + "middle: {top: 1 thou}, opening: 3 in}}}", `needs-other | case.yaml:2:32: opening: and rod-diameter: are only of use together; give both or none`},
		"rod too thick":       {rod + "middle: {top: 1 thou}, opening: 3 in, rod-diameter: 76.2 mm}}}", `does-not-fit | case.yaml:2:32: a rod of 76.2 mm does not go through an opening of 3 in`},
		"no point":            {upper + "with: feelers}}}", `missing | case.yaml:2:29: upper-guide of 2 has no reading; ` + points},
		"unknown point":       {upper + "back: 3 thou}}}", `unknown-key | case.yaml:2:50: upper-guide of 2 has no key "back"; expected one of: each-reading-is, front,`},
		"point too large":     {upper + "front: 5 in}}}", `out-of-range | case.yaml:2:57: "5 in" is too large for this reading`},
		"face point":          {triplexHead + "measured: {rod-face-gap: {2: {resolution: 1 thou, rear: 1 thou}}}", `unknown-key | case.yaml:2:51: rod-face-gap of 2 has no key "rear"; expected one of: bottom, each-reading-is, left, resolution, right, top, with`},
		"gap by cylinder":     {triplexHead + "measured: {fluid-end-gap: {resolution: 1 thou, 2: {top: 1 thou}}}", `unknown-key | case.yaml:2:48: fluid-end-gap has no key "2"; expected one of: bottom, bottom-left`},
		"no corner":           {triplexHead + "measured: {fluid-end-gap: {resolution: 1 thou}}", `missing | case.yaml:2:27: fluid-end-gap has no reading; expected one of: bottom, bottom-left, bottom-right, left, right, top, top-left, top-right`},
		"no stations":         {bore + "new: 6 in}}}", `missing | case.yaml:2:28: liner-bore of 2 has no "stations"`},
		"stations no list":    {bore + "stations: 3}}}", `wrong-form | case.yaml:2:59: stations must be a list of lines like "- {up-down: 6.012 in, across: 6.004 in}"`},
		"empty list":          {bore + "stations: []}}}", `missing | case.yaml:2:59: no station here; expected lines like "- {up-down: 6.012 in, across: 6.004 in}"`},
		"empty station":       {bore + "stations: [{}]}}}", `missing | case.yaml:2:60: this station has no diameter; expected up-down: or across:`},
		"station no mapping":  {bore + "stations: [3 in]}}}", `wrong-form | case.yaml:2:60: a station must be a mapping (key: value); read "3 in"`},
		"bore too large":      {bore + "stations: [{up-down: 30 in}]}}}", `out-of-range | case.yaml:2:70: "30 in" is too large for this reading (more than 23.6 in, 600 mm); is the unit right?`},
		"unknown direction":   {bore + "stations: [{up: 3 in}]}}}", `unknown-key | case.yaml:2:61: a station has no key "up"; expected one of: across, up-down; did you mean up-down?`},
		"another liner":       {sizedTriplex + "measured: {liner-bore: {2: {resolution: 1 thou, new: 6 1/2 in, stations: [{across: 6.5 in}]}}}", `does-not-fit | case.yaml:2:28: a new size of 6 1/2 in, but the pump's liner is 6 in; which one is in?`},
		"new size":            {bore + "stations: [{across: 3 in}], new: 6.5 psi}}}", `wrong-unit | case.yaml:2:82: "6.5 psi" is a pressure` + length},
	} {
		t.Run(name, func(t *testing.T) { oneMistake(t, c.text, c.want) })
	}
}

// oneMistake wants an error that begins with want and says nothing else: a
// mistake is told once.
func oneMistake(t *testing.T, text, want string) {
	t.Helper()
	k, err := parseText(text)
	require.Nil(t, k)
	var input *source.InputError
	require.True(t, errors.As(err, &input), "%v", err)
	mistaken(t, err, want)
	_, begin, _ := strings.Cut(want, " | ")
	assert.True(t, strings.HasPrefix(err.Error(), begin), "%s\nwanted: %s", err, begin)
	assert.Len(t, input.Problems, 1, "%v", err)
}

// The same readings written in inch and in metric are the same in SI.
func TestInchAndMetricReadingsAreTheSame(t *testing.T) {
	inch := parsed(t, sizedTriplex+`measured:
  rod-in-opening: {2: {resolution: 1 thou, at: 28 in, opening: 4 in, rod-diameter: 3 1/2 in, guide-slope: {slope: 12 thou/ft, within: 0.012 in/ft, rises-toward: fluid-end}, middle: {top: 20 thou, bottom: 10 to 12 thou}}}
  liner-bore: {1: {resolution: 1 thou, new: 6 in, stations: [{up-down: 6.010 in}]}}
shims-on-hand: [5 thou, {nominal: 10 thou, measures: 0.0098 in}]
suction-line: {mud-weight: 10 lb/gal, mud-above-pump: 4 ft, charge-pressure: 30 psi, pipes: [{length: 20 ft, bore: 10 in}]}
`)
	metric := parsed(t, `pump: {action: triplex-single-acting, state: running, liner: 152.4 mm, stroke: 279.4 mm}
measured:
  rod-in-opening: {2: {resolution: 0.0254 mm, at: 711.2 mm, opening: 10.16 cm, rod-diameter: 88.9 mm, guide-slope: {slope: 1 mm/m, within: 1 mm/m, rises-toward: fluid-end}, middle: {top: 0.508 mm, bottom: 0.254 to 0.3048 mm}}}
  liner-bore: {1: {resolution: 25.4 µm, new: 0.1524 m, stations: [{up-down: 152.654 mm}]}}
shims-on-hand: [0.127 mm, {nominal: 0.254 mm, measures: 0.24892 mm}]
suction-line: {mud-weight: 1.198264273 kg/L, mud-above-pump: 1.2192 m, charge-pressure: 206.8427188 kPa, pipes: [{length: 6.096 m, bore: 254 mm}]}
`)
	a, b := siOf(inch), siOf(metric)
	require.Len(t, a, 21)
	require.Len(t, b, len(a))
	for i := range a {
		assert.InEpsilon(t, a[i], b[i], 1e-9, "number %d", i)
	}
}

// siOf lists the numbers of the case of the test above.
func siOf(k *Case) []float64 {
	r, l, s := k.Measured.RodInOpening[0], k.Measured.LinerBore[0], k.Measured.Suction
	shims := k.Measured.ShimsOnHand
	return []float64{
		k.Pump.Liner.SI, k.Pump.Stroke.SI, r.Resolution.SI, r.Planes[0].At.SI, r.Opening.SI, r.Rod.SI, r.Level.Slope.SI, r.Level.Within.SI,
		r.Planes[0].Middle.Top.Low, r.Planes[0].Middle.Bottom.Low, r.Planes[0].Middle.Bottom.High,
		l.Resolution.SI, l.New.SI, l.Stations[0].UpDown.High,
		shims[0].Nominal.SI, shims[1].Nominal.SI, shims[1].Measured.SI,
		s.MudWeight.SI, s.MudAbove.SI, s.ChargePressure.SI, s.Pipes[0].Length.SI * s.Pipes[0].Bore.SI,
	}
}
