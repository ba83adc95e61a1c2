package evidence

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Conversion factors of NIST Special Publication 811 (2008), appendix B.8 and
// B.9, as printed there; the digits are from memory.
func TestUnitsAgreeWithNISTSP811(t *testing.T) {
	for _, c := range []struct {
		text      string
		dimension Dimension
		want      float64 // SI
		printed   float64 // relative precision of the printed factor
	}{
		{"1 in", Length, 2.54e-2, 1e-12},           // inch, exact
		{"1 ft", Length, 3.048e-1, 1e-12},          // foot, exact
		{"1 thou", Length, 2.54e-5, 1e-12},         // mil, exact
		{"1 psi", Pressure, 6.894757e3, 5e-8},      // pound-force per square inch
		{"1 bar", Pressure, 1e5, 1e-12},            // exact
		{"1 kPa", Pressure, 1e3, 1e-12},            // exact
		{"1 MPa", Pressure, 1e6, 1e-12},            // exact
		{"1 ft lbf", Torque, 1.355818, 5e-7},       // pound-force foot
		{"60 strokes/min", StrokeRate, 1.0, 1e-12}, // per second
		{"1000 µm", Length, 1e-3, 1e-12},
		{"1 bbl", Volume, 1.589873e-1, 4e-7},    // barrel (42 U.S. gallons)
		{"1 gal", Volume, 3.785412e-3, 2e-7},    // U.S. liquid gallon
		{"1 L", Volume, 1e-3, 1e-12},            // exact
		{"1 lb/gal", Density, 1.198264e2, 5e-7}, // pound per U.S. gallon
		{"1 ppg", Density, 1.198264e2, 5e-7},    // the same
		{"1 g/cm3", Density, 1e3, 1e-12},        // exact
		{"1 lbf", Force, 4.448222, 1e-7},        // pound-force
		{"1 kN", Force, 1e3, 1e-12},             // exact
		{"1 hp", Power, 7.456999e2, 5e-7},       // horsepower (550 ft lbf/s)
		{"1 kW", Power, 1e3, 1e-12},             // exact
		{"1 h", Duration, 3.6e3, 1e-12},         // exact
		{"1 in/ft", Slope, 8.333333e-2, 5e-8},   // 1/12; plain arithmetic, not of SP 811
		{"1 thou/ft", Slope, 8.333333e-5, 5e-8}, // 1/12 000
		{"1 mm/m", Slope, 1e-3, 1e-12},          // exact
		{"1 kg/m3", Density, 1, 1e-12},          // exact
		{"42 gal", Volume, 1.589873e-1, 4e-7},   // 42 gal is 1 bbl
	} {
		t.Run(c.text, func(t *testing.T) {
			q, err := ParseQuantity(c.text, c.dimension)
			require.NoError(t, err, c.text)
			assert.InEpsilon(t, c.want, q.SI, c.printed, c.text)
		})
	}
}

func TestParseQuantityReadsWhatPeopleWrite(t *testing.T) {
	for text, want := range map[string]float64{
		"6 1/2 in": 0.1651, "6-1/2 in": 0.1651, "6.5in": 0.1651, `6.5"`: 0.1651, "165.1 mm": 0.1651, "13/2 in": 0.1651, " 6.5  in ": 0.1651, ".5 in": 0.0127,
	} {
		t.Run(text, func(t *testing.T) {
			q, err := ParseQuantity(text, Length)
			require.NoError(t, err, text)
			assert.InEpsilon(t, want, q.SI, 1e-12, text)
		})
	}
}

func TestParseQuantityRefuses(t *testing.T) {
	want := "expected a length of zero or more with its unit (cm, ft, in, m, mm, thou, µm)"
	for text, message := range map[string]string{
		"12":         `"12" is not a quantity: the unit is missing; ` + want,
		"12.5":       `"12.5" is not a quantity: the unit is missing; ` + want,
		"3,66 mm":    `"3,66 mm" is not a quantity: write no comma in a number; only decimals have a point before them; ` + want,
		"15-16 thou": `"15-16 thou" is not a quantity: write a range as "15 to 16 thou"; ` + want,
		"1/2":        `"1/2" is not a quantity: the unit is missing; ` + want,
		"":           `"" is not a quantity; ` + want,
		"-3 mm":      `"-3 mm" is not a quantity; ` + want,
		"NaN mm":     `"NaN mm" is not a quantity; ` + want,
		"1e5 mm":     `unknown unit "e5 mm" in "1e5 mm"; ` + want,
		"3 furlong":  `unknown unit "furlong" in "3 furlong"; ` + want,
		"200 psi":    `"200 psi" is a pressure; ` + want,
		"1/0 in":     `"1/0 in" is not a number; ` + want,
		"99999999999999 m": `"99999999999999 m" is too large to be true; ` +
			want,
	} {
		t.Run(text, func(t *testing.T) {
			_, err := ParseQuantity(text, Length)
			assert.EqualError(t, err, message)
		})
	}
}

func TestQuantityPrintsBothSystems(t *testing.T) {
	for text, c := range map[string]struct {
		d    Dimension
		want string
	}{
		"6 1/2 in":       {Length, "6 1/2 in (165.1 mm)"},
		"165 mm":         {Length, "165 mm (6.496 in)"},
		"12 thou":        {Length, "12 thou (0.3048 mm)"},
		"2800 psi":       {Pressure, "2800 psi (193.1 bar)"},
		"200 bar":        {Pressure, "200 bar (2901 psi)"},
		"250 ft lbf":     {Torque, "250 ft lbf (339 N m)"},
		"340 N m":        {Torque, "340 N m (250.8 ft lbf)"},
		"95 strokes/min": {StrokeRate, "95 strokes/min"},
		"2 mil":          {Length, "2 mil (0.0508 mm)"},
		"40 bbl":         {Volume, "40 bbl (6.359 m3)"},
		"10 gal":         {Volume, "10 gal (0.03785 m3)"},
		"6.36 m3":        {Volume, "6.36 m3 (40 bbl)"},
		"159 L":          {Volume, "159 L (1 bbl)"},
		"12 lb/gal":      {Density, "12 lb/gal (1438 kg/m3)"},
		"1440 kg/m3":     {Density, "1440 kg/m3 (12.02 lb/gal)"},
		"1.44 g/cm3":     {Density, "1.44 g/cm3 (12.02 lb/gal)"},
		"95000 lbf":      {Force, "95000 lbf (422.6 kN)"},
		"420 kN":         {Force, "420 kN (94420 lbf)"},
		"700 h":          {Duration, "700 h"},
		"6 thou/ft":      {Slope, "6 thou/ft (0.5 mm/m)"},
		"0.5 mm/m":       {Slope, "0.5 mm/m (6 thou/ft)"},
	} {
		t.Run(text, func(t *testing.T) {
			q, err := ParseQuantity(text, c.d)
			require.NoError(t, err, text)
			assert.Equal(t, c.want, q.String())
		})
	}
}

// A quantity of one dimension is refused where another is wanted.
func TestADimensionIsNotTakenForAnother(t *testing.T) {
	for text, d := range map[string]Dimension{
		"3 in": Length, "3 psi": Pressure, "3 N m": Torque, "3 spm": StrokeRate, "3 bbl": Volume,
		"3 ppg": Density, "3 lbf": Force, "3 hours": Duration, "3 mm/m": Slope,
	} {
		t.Run(text, func(t *testing.T) {
			for _, other := range Dimensions() {
				q, err := ParseQuantity(text, Dimension(other))
				if Dimension(other) == d {
					require.NoError(t, err, text)
					assert.Equal(t, d, q.Dimension)
					continue
				}
				assert.ErrorContains(t, err, `"`+text+`" is a `+string(d)+"; expected a "+other)
			}
		})
	}
}

// The usual slips of the pen are named.
func TestUsualSlipsAreNamed(t *testing.T) {
	for text, hint := range map[string]string{
		"12":         "the unit is missing",
		"12.5":       "the unit is missing",
		".5":         "the unit is missing",
		"1/64":       "the unit is missing",
		"6 1/2":      "the unit is missing",
		"6-1/2":      "the unit is missing",
		"2,600 mm":   "write no comma in a number; only decimals have a point before them", // thousands in one country, decimals in another
		"6,5 in":     "write no comma in a number; only decimals have a point before them",
		"15-16 thou": `write a range as "15 to 16 thou"`,
		"0.4-0.5 mm": `write a range as "15 to 16 thou"`,
	} {
		t.Run(text, func(t *testing.T) {
			_, err := ParseQuantity(text, Length)
			assert.ErrorContains(t, err, `"`+text+`" is not a quantity: `+hint+"; expected a length")
		})
	}
}

func FuzzParseQuantity(f *testing.F) {
	for _, seed := range []string{"6 1/2 in", "-1 mm", "1/0 in", "9e9 bar", "2800 psi", "½ in", "0x1p3 m", "12 lb/gal", "1.2 kg/L", "40 bbl", "3 thou/ft", "0.5 mm/m", "95000 lbf", "700 h", "15 to 16 thou", "999999999999999l", "0." + strings.Repeat("0", 303) + "1 mm"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, d := range Dimensions() {
			q, err := ParseQuantity(text, Dimension(d))
			if err != nil {
				continue
			}
			if !(q.SI >= 0 && q.SI <= maxSI) {
				t.Fatalf("%q is read as %g", text, q.SI)
			}
			again, err := ParseQuantity(q.Written, q.Dimension)
			if err != nil || again.SI != q.SI {
				t.Fatalf("%q does not read back: %v", q.Written, err)
			}
			inOtherUnits(t, q)
		}
	})
}

// inOtherUnits reads what is printed in brackets behind a quantity: the same
// quantity, as far as four digits go.
func inOtherUnits(t *testing.T, q Quantity) {
	other, found := strings.CutPrefix(q.String(), q.Written+" (")
	if !found || q.SI > maxSI*(1-5e-4) { // rounded up it may be more than is read
		return
	}
	if q.SI > 0 && q.SI < 1e-300 { // so small that a number has not its digits any more
		assert.NotContains(t, other, "NaN")
		return
	}
	again, err := ParseQuantity(strings.TrimSuffix(other, ")"), q.Dimension)
	if err != nil || math.Abs(again.SI-q.SI) > 5e-4*q.SI {
		t.Fatalf("%s: the second is %g, the first %g (%v)", q, again.SI, q.SI, err)
	}
}

// A range that is read has ends that are lengths, and reads back.
func FuzzParseRange(f *testing.F) {
	for _, seed := range []string{"15 thou", "15 to 16 thou", "0.45 to 0.50 mm", "15 thou to 1 mm", "1/64 to 1/32 in", " to ", "1 to ", " to 1 in", "1 to 2 to 3 in", "6 1/2 to 7 in"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		low, high, err := parseRange(text)
		if err != nil {
			return
		}
		if !(low >= 0 && low <= maxSI && high >= 0 && high <= maxSI) {
			t.Fatalf("%q is read as %g to %g", text, low, high)
		}
		r := Reading{Low: low, High: high, Written: text}
		if r.String() == "" {
			t.Fatalf("%q prints as nothing", text)
		}
		again, _, err := parseRange(text + " to " + text)
		if err == nil && again != low {
			t.Fatalf("%q begins at %g alone and at %g in a range", text, low, again)
		}
	})
}

// The last digit as typed bounds what a figure is known to; a size named by a
// fraction is a name.
func TestLastDigitAndTheSameUnitBeside(t *testing.T) {
	for _, c := range []struct {
		text string
		d    Dimension
		want float64
	}{
		{"2800 psi", Pressure, 6894.757}, {"6.5 in", Length, 0.00254}, {"6 1/2 in", Length, 0}, {"206.84 bar", Pressure, 1000},
		{"120 strokes/min", StrokeRate, 1.0 / 60}, {".5 in", Length, 0.00254},
	} {
		t.Run(c.text, func(t *testing.T) {
			q, err := ParseQuantity(c.text, c.d)
			require.NoError(t, err, c.text)
			assert.InDelta(t, c.want, q.LastDigit(), 1e-6*c.want+1e-15, c.text)
		})
	}
	rated, err := ParseQuantity("100 kN", Force)
	require.NoError(t, err)
	assert.Equal(t, "443 kN (99590 lbf)", rated.Beside(442_822, 3).Written+" ("+inUnit(rated.Beside(443_000, 3), "lbf")+")")
	assert.Equal(t, "442.8 kN", rated.Beside(442_822, 4).Written)
	assert.Equal(t, Force, rated.Beside(1, 1).Dimension)
}

// Which units are metric is told by every name of each, in a range too.
func TestMetricUnits(t *testing.T) {
	for want, all := range map[bool][]string{
		true: {"0.5 mm", "16 cm", "1.2 m", "40 µm", "250 bar", "19300 kPa", "19.3 MPa", "350 N m", "350 Nm", "6 m3", "6 m³", "400 L", "400 litres",
			"1440 kg/m3", "1.44 kg/L", "1.44 g/cm3", "90 kN", "900 kW", "0.5 mm/m", "0.3 to 0.4 mm", " 0.5 mm ", "0.5mm"},
		false: {"6 1/2 in", "6.5 inches", `6"`, "5 thou", "5 mil", "20 feet", "2800 psi", "260 ft lbf", "95 strokes/min", "95 spm", "40.5 bbl", "12 gallons",
			"12 lb/gal", "12 ppg", "20000 lbf", "412 h", "1300 hp", "0.6 thou/ft", "0.1 in/ft", "15 to 16 thou", "12", "12 mmm", "mm", ""},
	} {
		for _, written := range all {
			assert.Equal(t, want, Metric(written), written)
		}
	}
	for _, u := range units {
		if beside, ok := findUnit(u.beside); ok {
			assert.NotEqual(t, u.metric, beside.metric, "%s has the other system beside it", u.names[0])
		}
	}
}
