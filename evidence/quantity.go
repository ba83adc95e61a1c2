package evidence

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"sort"
	"strconv"
	"strings"

	"telltale/evidence/source"
)

// Dimension says what a quantity measures.
type Dimension string

// The dimensions that case files and rulebooks use.
const (
	Length     Dimension = "length"
	Pressure   Dimension = "pressure"
	Torque     Dimension = "torque"
	StrokeRate Dimension = "stroke-rate"
	Volume     Dimension = "volume"
	Density    Dimension = "density"
	Force      Dimension = "force"
	Duration   Dimension = "duration"
	Slope      Dimension = "slope"
	Power      Dimension = "power"
)

// Dimensions lists all dimensions by name.
func Dimensions() []string {
	return []string{
		string(Length), string(Pressure), string(Torque), string(StrokeRate),
		string(Volume), string(Density), string(Force), string(Duration), string(Slope), string(Power),
	}
}

// Quantity is a value with its unit. SI is in m, Pa, N m, strokes per second,
// m3, kg/m3, N, s, W, or a plain ratio for a slope; Written is the text as the
// person wrote it.
type Quantity struct {
	Dimension Dimension
	SI        float64
	Written   string
}

// unit is one way to write a dimension. Factors to SI are exact or as printed
// in NIST Special Publication 811, appendix B.
type unit struct {
	dimension Dimension
	factor    float64
	metric    bool
	beside    string   // the unit of the other system that is printed beside it; "" for none
	names     []string // the first is the name that is printed
}

const (
	metresPerInch    = 0.0254           // exact (SP 811 B.8)
	pascalsPerPSI    = 6894.75729316836 // 4.4482216152605 N / (0.0254 m)^2, both exact; SP 811 prints 6.894757 E+03
	newtonMetresFtLb = 1.35581794833140 // 0.3048 m * 4.4482216152605 N, exact; SP 811 prints 1.355818
	perSecondPerSPM  = 1.0 / 60
	cubicMetresGal   = 231 * metresPerInch * metresPerInch * metresPerInch // 231 in3, exact; SP 811 prints 3.785412 E-03
	newtonsPerLbf    = 4.4482216152605                                     // exact: 0.45359237 kg * 9.80665 m/s2 (SP 811 B.8)
	kilogramsPerLb   = 0.45359237                                          // exact (SP 811 B.8)
	wattsPerHP       = 550 * 0.3048 * newtonsPerLbf                        // 550 ft lbf/s, exact; SP 811 prints 7.456999 E+02
)

var units = []unit{
	{Length, metresPerInch, false, "mm", []string{"in", "inch", "inches", `"`}},
	{Length, metresPerInch / 1000, false, "mm", []string{"thou", "mil"}},
	{Length, 12 * metresPerInch, false, "mm", []string{"ft", "foot", "feet"}},
	{Length, 1e-3, true, "in", []string{"mm"}},
	{Length, 1e-2, true, "in", []string{"cm"}},
	{Length, 1, true, "in", []string{"m"}},
	{Length, 1e-6, true, "in", []string{"µm", "um", "μm"}},
	{Pressure, pascalsPerPSI, false, "bar", []string{"psi"}},
	{Pressure, 1e5, true, "psi", []string{"bar"}},
	{Pressure, 1e3, true, "psi", []string{"kPa", "kpa"}},
	{Pressure, 1e6, true, "psi", []string{"MPa", "Mpa", "mpa"}},
	{Torque, newtonMetresFtLb, false, "N m", []string{"ft lbf", "ft-lbf", "ft lb", "ft-lb", "lbf ft", "lb ft"}},
	{Torque, 1, true, "ft lbf", []string{"N m", "Nm", "N-m", "N·m"}},
	{StrokeRate, perSecondPerSPM, false, "", []string{"strokes/min", "stroke/min", "spm"}},
	{Volume, 42 * cubicMetresGal, false, "m3", []string{"bbl", "barrel", "barrels"}},
	{Volume, cubicMetresGal, false, "m3", []string{"gal", "gallons"}},
	{Volume, 1e-3, true, "bbl", []string{"L", "l", "litre", "litres", "liter", "liters"}},
	{Volume, 1, true, "bbl", []string{"m3", "m³"}},
	{Density, kilogramsPerLb / cubicMetresGal, false, "kg/m3", []string{"lb/gal", "ppg"}},
	{Density, 1, true, "lb/gal", []string{"kg/m3", "kg/m³"}},
	{Density, 1000, true, "lb/gal", []string{"g/cm3", "g/cm³", "kg/L", "kg/l"}},
	{Force, newtonsPerLbf, false, "kN", []string{"lbf"}},
	{Force, 1e3, true, "lbf", []string{"kN"}},
	{Duration, 3600, false, "", []string{"h", "hour", "hours", "hrs"}},
	{Power, wattsPerHP, false, "kW", []string{"hp"}},
	{Power, 1e3, true, "hp", []string{"kW"}},
	{Slope, 1e-3 / 12, false, "mm/m", []string{"thou/ft"}},
	{Slope, 1.0 / 12, false, "mm/m", []string{"in/ft"}},
	{Slope, 1e-3, true, "thou/ft", []string{"mm/m"}},
}

func findUnit(name string) (unit, bool) {
	name = strings.Join(strings.Fields(name), " ")
	for _, u := range units {
		for _, n := range u.names {
			if n == name {
				return u, true
			}
		}
	}
	return unit{}, false
}

// unitIn finds the unit at the end of a quantity, or of a range of two.
func unitIn(written string) (unit, bool) {
	if _, end, isRange := strings.Cut(written, " to "); isRange {
		written = end
	}
	if m := quantityText.FindStringSubmatch(written); m != nil {
		return findUnit(m[7])
	}
	return unit{}, false
}

// UnitNames lists the printed unit names of a dimension.
func UnitNames(d Dimension) []string {
	var out []string
	for _, u := range units {
		if u.dimension == d {
			out = append(out, u.names[0])
		}
	}
	sort.Strings(out)
	return out
}

var quantityText = regexp.MustCompile(`^(?:(\d+)(?: +|-)(\d+)/(\d+)|(\d+)/(\d+)|(\d+(?:\.\d+)?|\.\d+))\s*([^\d.].*)$`)

// maxSI is far beyond anything on a rig; it keeps arithmetic finite.
const maxSI = 1e12

// ParseQuantity reads text such as "6 1/2 in", "165.1 mm" or "2800 psi" as a
// value of dimension d, zero or more. The error says what was expected.
func ParseQuantity(text string, d Dimension) (Quantity, error) {
	trimmed := strings.TrimSpace(text)
	if q, ok := plainQuantity(trimmed, d); ok {
		return q, nil
	}
	refuse := func(code source.Code, format string, args ...any) (Quantity, error) {
		want := fmt.Sprintf("a %s of zero or more with its unit (%s)", d, strings.Join(UnitNames(d), ", "))
		return Quantity{}, &quantityError{code, fmt.Sprintf(format, args...), want}
	}
	if hint := slipOf(trimmed); hint != "" {
		return refuse(source.NotAQuantity, "%q is not a quantity: %s", clip(trimmed), hint)
	}
	m := quantityText.FindStringSubmatch(trimmed)
	if m == nil {
		return refuse(source.NotAQuantity, "%q is not a quantity", clip(trimmed))
	}
	value, ok := number(m)
	if !ok {
		return refuse(source.NotAQuantity, "%q is not a number", clip(trimmed))
	}
	u, known := findUnit(m[7])
	if !known {
		return refuse(source.WrongUnit, "unknown unit %q in %q", clip(m[7]), clip(trimmed))
	}
	if u.dimension != d {
		return refuse(source.WrongUnit, "%q is a %s", clip(trimmed), u.dimension)
	}
	si := value * u.factor
	if math.IsInf(si, 0) || si > maxSI {
		return refuse(source.OutOfRange, "%q is too large to be true", clip(trimmed))
	}
	return Quantity{Dimension: d, SI: si, Written: trimmed}, nil
}

// plainQuantity reads the most common form, a decimal number, one blank and a unit,
// as ParseQuantity does; false for any other, and for what is refused.
func plainQuantity(text string, d Dimension) (Quantity, bool) {
	number, unit, _ := strings.Cut(text, " ")
	for _, c := range []byte(number) {
		if (c < '0' || c > '9') && c != '.' {
			return Quantity{}, false
		}
	}
	u, known := findUnit(unit)
	value, err := strconv.ParseFloat(number, 64)
	si := value * u.factor
	if !known || u.dimension != d || err != nil || strings.HasSuffix(number, ".") || si > maxSI {
		return Quantity{}, false
	}
	return Quantity{Dimension: d, SI: si, Written: text}, true
}

// quantityError says why a text is no quantity.
type quantityError struct {
	code       source.Code
	what, want string
}

// Error says both.
func (e *quantityError) Error() string { return e.what + "; expected " + e.want }

// ReadQuantity reads what stands at a node as a quantity. It is false when there
// is none; what is wrong goes to ps.
func ReadQuantity(n *source.Node, d Dimension, ps *source.Problems) (Quantity, bool) {
	text := n.String(ps, "a "+string(d))
	if text == "" {
		return Quantity{Dimension: d}, false
	}
	q, err := ParseQuantity(text, d)
	return q, !refused(n, err, ps)
}

// refused reports why a node is no quantity.
func refused(n *source.Node, err error, ps *source.Problems) bool {
	var not *quantityError
	if errors.As(err, &not) {
		ps.Add(n.Pos, not.code, "%s; expected %s", not.what, source.Want(not.want))
	}
	return err != nil
}

var (
	commaNumber = regexp.MustCompile(`^\d+,\d`)
	bareNumber  = regexp.MustCompile(`^(\d+([ -]\d+/\d+|/\d+)?|\d*\.\d+)$`)
	dashRange   = regexp.MustCompile(`^\d+(\.\d+)?-\d+(\.\d+)?\s*[^\d/ .]`)
)

// slipOf names the usual slips of the pen, "" if it sees none.
func slipOf(text string) string {
	switch {
	case commaNumber.MatchString(text):
		return "write no comma in a number; only decimals have a point before them"
	case bareNumber.MatchString(text):
		return "the unit is missing"
	case dashRange.MatchString(text):
		return "write a range as \"15 to 16 thou\""
	}
	return ""
}

// number evaluates the groups of quantityText: whole and fraction, fraction,
// or decimal.
func number(m []string) (float64, bool) {
	whole, top, bottom := m[1], m[2], m[3]
	if m[4] != "" {
		whole, top, bottom = "0", m[4], m[5]
	}
	if m[6] != "" {
		whole, top, bottom = m[6], "0", "1"
	}
	var parts [3]float64
	for i, s := range []string{whole, top, bottom} {
		x, err := strconv.ParseFloat(s, 64)
		if err != nil {
			return 0, false
		}
		parts[i] = x
	}
	if parts[2] == 0 {
		return 0, false
	}
	return parts[0] + parts[1]/parts[2], true
}

// In gives the value in a named unit of its own dimension; NaN for another.
func (q Quantity) In(unitName string) float64 {
	return q.SI / SIOf(1, unitName, q.Dimension)
}

// SIOf gives x of a named unit of dimension d in SI units; NaN when the unit is
// not of that dimension.
func SIOf(x float64, unitName string, d Dimension) float64 {
	u, ok := findUnit(unitName)
	if !ok || u.dimension != d {
		return math.NaN()
	}
	return x * u.factor
}

// LastDigit is what one step of the last digit as written is worth, in SI
// units: 0.1 in for "6.5 in", 1 psi for "2800 psi". A size named by a fraction
// has none: it is a name.
func (q Quantity) LastDigit() float64 {
	u, known := unitIn(q.Written)
	m := quantityText.FindStringSubmatch(q.Written)
	if !known || m == nil || m[6] == "" {
		return 0
	}
	_, behind, _ := strings.Cut(m[6], ".")
	return math.Pow10(-len(behind)) * u.factor
}

// Beside gives a value in SI units, worked out and not written by anybody, in
// the unit of q with so many digits.
func (q Quantity) Beside(si float64, digits int) Quantity {
	out := Quantity{Dimension: q.Dimension, SI: si}
	if u, known := unitIn(q.Written); known {
		out.Written = strconv.FormatFloat(roundTo(si/u.factor, digits), 'f', -1, 64) + " " + u.names[0]
	}
	return out
}

// String prints the value as written with the other system beside it:
// "6 1/2 in (165 mm)". The conversion carries four digits at most.
func (q Quantity) String() string {
	if u, known := unitIn(q.Written); known && u.beside != "" {
		return q.Written + " (" + inUnit(q, u.beside) + ")"
	}
	return q.Written
}

// Metric says whether a quantity is written in a metric unit; not, where it has none.
func Metric(written string) bool {
	u, ok := unitIn(strings.TrimSpace(written))
	return ok && u.metric
}

// Metric says whether it was written in a metric unit.
func (q Quantity) Metric() bool { return Metric(q.Written) }

func inUnit(q Quantity, name string) string {
	return strconv.FormatFloat(roundTo(q.In(name), 4), 'f', -1, 64) + " " + name
}

// roundTo keeps the given number of significant digits.
func roundTo(x float64, digits int) float64 {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(x, 'e', digits-1, 64), 64)
	if err != nil {
		return x // past the largest number
	}
	return rounded
}

func clip(s string) string {
	runes := []rune(s)
	if len(runes) > 40 {
		return string(runes[:37]) + "..."
	}
	return s
}
