package evidence

import (
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
	} {
		q, err := ParseQuantity(c.text, c.dimension)
		require.NoError(t, err, c.text)
		assert.InEpsilon(t, c.want, q.SI, c.printed, c.text)
	}
}

func TestParseQuantityReadsWhatPeopleWrite(t *testing.T) {
	for text, want := range map[string]float64{
		"6 1/2 in": 0.1651, "6-1/2 in": 0.1651, "6.5in": 0.1651, `6.5"`: 0.1651, "165.1 mm": 0.1651, "13/2 in": 0.1651, " 6.5  in ": 0.1651, ".5 in": 0.0127,
	} {
		q, err := ParseQuantity(text, Length)
		require.NoError(t, err, text)
		assert.InEpsilon(t, want, q.SI, 1e-12, text)
	}
}

func TestParseQuantityRefuses(t *testing.T) {
	want := "expected a length of zero or more with its unit (cm, ft, in, m, mm, thou, µm)"
	for text, message := range map[string]string{
		"12":        `"12" is not a quantity; ` + want,
		"":          `"" is not a quantity; ` + want,
		"-3 mm":     `"-3 mm" is not a quantity; ` + want,
		"NaN mm":    `"NaN mm" is not a quantity; ` + want,
		"1e5 mm":    `unknown unit "e5 mm" in "1e5 mm"; ` + want,
		"3 furlong": `unknown unit "furlong" in "3 furlong"; ` + want,
		"200 psi":   `"200 psi" is a pressure; ` + want,
		"1/0 in":    `"1/0 in" is not a number; ` + want,
		"99999999999999 m": `"99999999999999 m" is too large to be true; ` +
			want,
	} {
		_, err := ParseQuantity(text, Length)
		assert.EqualError(t, err, message)
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
	} {
		q, err := ParseQuantity(text, c.d)
		require.NoError(t, err, text)
		assert.Equal(t, c.want, q.String())
	}
}

func FuzzParseQuantity(f *testing.F) {
	for _, seed := range []string{"6 1/2 in", "-1 mm", "1/0 in", "9e9 bar", "2800 psi", "½ in", "0x1p3 m"} {
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
			_ = q.String()
		}
	})
}
