package evidence

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTankTest(t *testing.T) {
	k := parsed(t, sizedTriplex+"measured: {tank-test: {strokes: 510, strokes-within: 1, volume: 60 bbl, volume-within: 0.5 bbl}}")
	test := k.Measured.TankTest
	require.NotNil(t, test)
	assert.Equal(t, 510.0, test.Strokes)
	assert.Equal(t, 1.0, test.StrokesWithin)
	assert.InEpsilon(t, 60*0.1589873, test.Volume.SI, 1e-6) // NIST SP 811, from memory
	assert.InEpsilon(t, 0.5*0.1589873, test.VolumeWithin.SI, 1e-6)
	metric := parsed(t, sizedTriplex+"measured: {tank-test: {strokes: 510, volume: 9539 L, volume-within: 0.08 m3}}")
	assert.InDelta(t, 9.539, metric.Measured.TankTest.Volume.SI, 1e-12)
	assert.Zero(t, metric.Measured.TankTest.StrokesWithin, "a counted stroke is a stroke")
}

func TestSuctionLine(t *testing.T) {
	k := parsed(t, triplexHead+`suction-line:
  mud-weight: 1.2 kg/L
  mud-below-pump: 1 m
  charge-pressure: 2 bar
  vapour-pressure: 5 kPa
  air-pressure: 14.7 psi
  friction-head: 1 ft
  head-needed: 8 ft
  pipes:
    - {length: 20 ft, bore: 10 in}
    - {length: 2 m, bore: 200 mm}
`)
	s := k.Measured.Suction
	require.NotNil(t, s)
	assert.InDelta(t, 1200, s.MudWeight.SI, 1e-9)
	assert.Nil(t, s.MudAbove)
	assert.InDelta(t, 1, s.MudBelow.SI, 1e-12)
	assert.InDelta(t, 2e5, s.ChargePressure.SI, 1e-6)
	assert.InDelta(t, 5e3, s.VapourPressure.SI, 1e-6)
	assert.InEpsilon(t, 101352.9, s.SurfacePressure.SI, 1e-6) // 14.7 psi of 6894.757 Pa
	assert.InDelta(t, 0.3048, s.Friction.SI, 1e-12)
	assert.InDelta(t, 2.4384, s.Needed.SI, 1e-12)
	require.Len(t, s.Pipes, 2)
	assert.InDelta(t, 6.096, s.Pipes[0].Length.SI, 1e-12)
	assert.InDelta(t, 0.2, s.Pipes[1].Bore.SI, 1e-12)
}

func TestParts(t *testing.T) {
	k := parsed(t, duplexHead+`parts:
  piston: {from: 4000 h, to: 6000 h, expected-life: 700 hours, changed-at: {left: [4150 h, 4150 h, 6000 h], right: []}}
  valve: {from: 0 h, to: 10 h, changed-at: {left head: [0 h, 5 h, 8 h]}, still-good-at: {left head: [8 h]}}
  relief-pin: {from: 0 h, to: 10 h, changed-at: [3 h, 7 h]}
`)
	require.Len(t, k.Measured.PartRecords, 3)
	piston := k.Measured.PartRecords[0]
	assert.Equal(t, 2000*3600.0, piston.To.SI-piston.From.SI)
	assert.Equal(t, 700*3600.0, piston.Expected.SI)
	require.Len(t, piston.Replaced, 2)
	assert.Len(t, piston.Replaced[0].At, 3, "two in one hour, and one in the last")
	assert.Empty(t, piston.Replaced[1].At)
	assert.Equal(t, Place{Cylinder: "left", End: HeadEnd}, k.Measured.PartRecords[1].Replaced[0].Place)
	assert.Nil(t, k.Measured.PartRecords[1].Expected)
	assert.Len(t, k.Measured.PartRecords[1].Replaced[0].At, 3, "at the very start too: the part was new there")
	assert.Equal(t, 8*3600.0, k.Measured.PartRecords[1].StillGood[0].At[0].SI)
	assert.Equal(t, Place{}, k.Measured.PartRecords[2].Replaced[0].Place, "what the pump has once needs no place")
}

func TestShimsOnHand(t *testing.T) {
	k := parsed(t, triplexHead+"shims-on-hand: [1 thou, 0.05 mm, {nominal: 50 thou, measures: 1.22 mm, pieces: 2}, {nominal: 1/64 in}]")
	shims := k.Measured.ShimsOnHand
	require.Len(t, shims, 4)
	assert.Equal(t, 2, k.Measured.ShimsOnHandAt.Line)
	assert.InDelta(t, 25.4e-6, shims[0].Nominal.SI, 1e-15)
	assert.Zero(t, shims[0].Pieces, "not counted")
	assert.InDelta(t, 5e-5, shims[1].Nominal.SI, 1e-15)
	assert.InDelta(t, 0.00122, shims[2].Measured.SI, 1e-15)
	assert.Equal(t, 2, shims[2].Pieces)
	assert.InDelta(t, 0.0254/64, shims[3].Nominal.SI, 1e-15)
}

func TestRecordsReportEveryMistakeWithItsPlace(t *testing.T) {
	tank := sizedTriplex + "measured: {tank-test: {"
	suction := triplexHead + "suction-line: {mud-weight: 12 ppg, "
	piston := triplexHead + "parts: {piston: {from: 0 h, to: 10 h, "
	shims := triplexHead + "shims-on-hand: "
	const sized = "pump: {action: duplex-double-acting, state: stopped, liner: 6 in, stroke: 11 in}\n"
	for name, c := range map[string]struct{ text, want string }{
		"tank needs the liner":   {triplexHead + "measured: {tank-test: {strokes: 500, volume: 40 bbl, volume-within: 0.5 bbl}}", `needs-other | case.yaml:2:23: a tank test needs the pump's liner: and stroke:`},
		"duplex needs the rod":   {sized + "measured: {tank-test: {strokes: 500, volume: 40 bbl, volume-within: 0.5 bbl}}", `needs-other | case.yaml:2:23: a tank test of a duplex needs the pump's piston-rod:`},
		"tank no mapping":        {sizedTriplex + "measured: {tank-test: 3}", `wrong-form | case.yaml:2:23: tank-test must be a mapping (key: value); read "3"`},
		"no stroke":              {tank + "strokes: 0, volume: 40 bbl, volume-within: 0.5 bbl}}", `out-of-range | case.yaml:2:33: strokes must be a number from 1 to 1e+07; read "0"`},
		"strokes with a unit":    {tank + "strokes: 5 h, volume: 40 bbl, volume-within: 0.5 bbl}}", `out-of-range | case.yaml:2:33: strokes must be a number from 1 to 1e+07; read "5 h"`},
		"strokes missing":        {tank + "volume: 40 bbl, volume-within: 0.5 bbl}}", `missing | case.yaml:2:23: tank-test has no "strokes"`},
		"no doubt of the volume": {tank + "strokes: 500, volume: 40 bbl}}", `missing | case.yaml:2:23: tank-test has no "volume-within"`},
		"volume is a length":     {tank + "strokes: 500, volume: 40 ft, volume-within: 0.5 bbl}}", `wrong-unit | case.yaml:2:46: "40 ft" is a length; expected a volume of zero or more with its unit (L, bbl, gal, m3)`},
		"all strokes in doubt":   {tank + "strokes: 500, strokes-within: 500, volume: 40 bbl, volume-within: 1 bbl}}", `does-not-fit | case.yaml:2:23: the test is no better than its doubt; count more strokes`},
		"all volume in doubt":    {tank + "strokes: 500, volume: 40 bbl, volume-within: 40 bbl}}", `does-not-fit | case.yaml:2:23: the test is no better than its doubt; count more strokes`},
		"tank key":               {tank + "stroks: 500, strokes: 500, volume: 40 bbl, volume-within: 4 bbl}}", `unknown-key | case.yaml:2:24: tank-test has no key "stroks"; expected one of: strokes, strokes-within, volume, volume-within; did you mean strokes?`},
		"no mud weight":          {triplexHead + "suction-line: {pipes: []}", `missing | case.yaml:2:15: suction-line has no "mud-weight"`},
		"no pipes":               {triplexHead + "suction-line: {mud-weight: 12 ppg}", `missing | case.yaml:2:15: suction-line has no "pipes"`},
		"mud weight":             {triplexHead + "suction-line: {mud-weight: 12 psi, pipes: []}", `wrong-unit | case.yaml:2:28: "12 psi" is a pressure; expected a density of zero or more with its unit (g/cm3, kg/m3, lb/gal)`},
		"pipes no list":          {suction + "pipes: 3}", `wrong-form | case.yaml:2:43: pipes must be a list of lines like "- {length: 20 ft, bore: 10 in}"`},
		"pipe no mapping":        {suction + "pipes: [3 ft]}", `wrong-form | case.yaml:2:44: a pipe must be a mapping (key: value); read "3 ft"`},
		"pipe without bore":      {suction + "pipes: [{length: 20 ft}]}", `missing | case.yaml:2:44: a pipe has no "bore"`},
		"above and below":        {suction + "mud-above-pump: 3 ft, mud-below-pump: 3 ft, pipes: [{length: 20 ft, bore: 10 in}]}", `excludes | case.yaml:2:15: the mud stands above the pump or below it, not both; keep one`},
		"suction key":            {suction + "mud-level: 3 ft, pipes: []}", `unknown-key | case.yaml:2:36: suction-line has no key "mud-level"; expected one of: air-pressure, charge-pressure, friction-head, head-needed, mud-above-pump,`},
		"charge":                 {suction + "charge-pressure: 30 ft, pipes: []}", `wrong-unit | case.yaml:2:53: "30 ft" is a length; expected a pressure`},
		"parts no mapping":       {triplexHead + "parts: []", `wrong-form | case.yaml:2:8: parts must be a mapping (key: value); read a list`},
		"unknown part":           {triplexHead + "parts: {pistn: {}}", `unknown-name | case.yaml:2:9: unknown part "pistn"; expected one of: packing, piston, relief-pin, valve; did you mean piston?`},
		"record without end":     {triplexHead + "parts: {piston: {from: 0 h, changed-at: {1: [5 h]}}}", `missing | case.yaml:2:17: the record of piston has no "to"`},
		"record without changes": {triplexHead + "parts: {piston: {from: 0 h, to: 9 h}}", `missing | case.yaml:2:17: the record of piston has no "changed-at"`},
		"ends before it starts":  {triplexHead + "parts: {piston: {from: 9 h, to: 5 h, changed-at: {1: []}}}", `out-of-order | case.yaml:2:17: the record of piston ends at 5 h, not after its start at 9 h`},
		"hours are a length":     {triplexHead + "parts: {piston: {from: 5 h, to: 9 in, changed-at: {1: [6 h]}}}", `wrong-unit | case.yaml:2:33: "9 in" is a length; expected a duration of zero or more with its unit (h)`},
		"good but not changed":   {piston + "changed-at: {1: [5 h], 2: [6 h]}, still-good-at: {2: [5 h]}}}", `needs-other | case.yaml:2:93: 5 h stands under still-good-at but not under changed-at of the same place`},
		"a pump's by cylinder":   {triplexHead + "parts: {relief-pin: {from: 0 h, to: 9 h, changed-at: {1: [5 h]}}}", `wrong-form | case.yaml:2:54: the hours of the changes must be a list; read a mapping`},
		"far too long":           {triplexHead + "parts: {piston: {from: 0 h, to: 99999999 h, changed-at: {1: [6 h]}}}", `out-of-range | case.yaml:2:17: a record of piston cannot be right; is the unit right?`},
		"before the record":      {triplexHead + "parts: {piston: {from: 5 h, to: 10 h, changed-at: {1: [4 h]}}}", `out-of-order | case.yaml:2:56: 4 h lies outside the record, 5 h to 10 h`},
		"after the record":       {piston + "changed-at: {1: [11 h]}}}", `out-of-order | case.yaml:2:56: 11 h lies outside the record, 0 h to 10 h`},
		"out of order":           {piston + "changed-at: {1: [5 h, 4 h]}}}", `out-of-order | case.yaml:2:61: 4 h comes after a later change; write the hours in order`},
		"hour is a pressure":     {piston + "changed-at: {1: [5 h, 6 psi, 7 h]}}}", `wrong-unit | case.yaml:2:61: "6 psi" is a pressure; expected a duration`},
		"changes without place":  {piston + "changed-at: [5 h]}}", `wrong-form | case.yaml:2:51: expected readings by cylinder, like "1": {...}`},
		"changes of a stranger":  {piston + "changed-at: {4: [5 h]}}}", `unknown-place | case.yaml:2:52: this pump has no cylinder "4"; expected one of: 1, 2, 3`},
		"no expected life":       {piston + "expected-life: 0 h, changed-at: {1: [5 h]}}}", `out-of-range | case.yaml:2:54: "0 h" is zero; expected more than zero`},
		"which end":              {duplexHead + "parts: {valve: {from: 0 h, to: 10 h, changed-at: {left: [5 h]}}}", `wrong-place | case.yaml:2:51: "left" has several ends; write one of: left head, left crank`},
		"an end of a piston":     {duplexHead + "parts: {piston: {from: 0 h, to: 10 h, changed-at: {left head: [5 h]}}}", `wrong-place | case.yaml:2:52: "left head" names one end, but this belongs to the whole cylinder; write left`},
		"a place twice":          {duplexHead + "parts: {valve: {from: 0 h, to: 10 h, changed-at: {left head: [5 h], left  head: [3 h]}}}", `twice | case.yaml:2:69: left head stands twice here; keep one`},
		"part of another pump":   {triplexHead + "parts: {packing: {from: 0 h, to: 10 h, changed-at: {1: [5 h]}}}", `does-not-fit | case.yaml:2:9: a triplex-single-acting pump has no packing`},
		"shims no list":          {shims + "3 thou", `wrong-form | case.yaml:2:16: shims-on-hand must be a list like [1 thou, 5 thou, {nominal: 50 thou, measures: 48 thou, pieces: 2}]`},
		"shim without unit":      {shims + "[3]", `not-a-quantity | case.yaml:2:17: "3" is not a quantity: the unit is missing; expected a length`},
		"shim too thick":         {shims + "[5 in]", `out-of-range | case.yaml:2:17: "5 in" is too thick for a shim; is the unit right?`},
		"shim too thin":          {shims + "[0.01 µm]", `out-of-range | case.yaml:2:17: "0.01 µm" is too thin for a shim; is the unit right?`},
		"measures too much":      {shims + "[{nominal: 3 thou, measures: 6 in}]", `out-of-range | case.yaml:2:17: "6 in" is too thick for a shim; is the unit right?`},
		"no nominal":             {shims + "[{measures: 3 thou}]", `missing | case.yaml:2:17: a shim has no "nominal"`},
		"half a piece":           {shims + "[{nominal: 3 thou, pieces: 1.5}]", `out-of-range | case.yaml:2:17: pieces must be a whole number; read 1.5`},
		"no piece":               {shims + "[{nominal: 3 thou, pieces: 0}]", `out-of-range | case.yaml:2:43: pieces must be a number from 1 to 1000; read "0"`},
		"shim key":               {shims + "[{nominal: 3 thou, pice: 2}]", `unknown-key | case.yaml:2:35: a shim has no key "pice"; expected one of: measures, nominal, pieces; did you mean pieces?`},
		"nothing":                {shims + "[0 thou]", `out-of-range | case.yaml:2:17: "0 thou" is zero; expected more than zero`},
		"too many kinds":         {shims + "[" + strings.Repeat("1 thou, ", 25) + "]", `too-large | case.yaml:2:16: 25 kinds of shim are listed; the most is 24`},
	} {
		t.Run(name, func(t *testing.T) { oneMistake(t, c.text, c.want) })
	}
}
