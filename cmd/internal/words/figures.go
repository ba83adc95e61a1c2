package words

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"telltale/engine/figures"
)

// Figures that were measured, in both systems, with no more digits than their
// standard uncertainty leaves.

// Conversions: the lengths are exact, the others exact but for the last digits
// (NIST SP 811, appendix B).
const (
	MetresPerThou        = 25.4e-6
	MetresPerInch        = 0.0254
	MetresPerFoot        = 0.3048
	CubicMetresPerGallon = 0.003785411784
	CubicMetresPerBarrel = 42 * CubicMetresPerGallon
	NewtonsPerPound      = 4.4482216152605
	PascalsPerPSI        = 6894.757293168361
	WattsPerHorsepower   = 745.69987158227022
)

// decimals is how many digits behind the point a figure with this standard
// uncertainty has: its first digit, and the second one where that is a one.
func decimals(u float64, most int) int {
	if u <= 0 {
		return most
	}
	digits := -int(math.Floor(math.Log10(u)))
	if math.Round(u*math.Pow(10, float64(digits))) <= 1 {
		digits++
	}
	return min(max(digits, 0), most)
}

// Figure prints a measured figure with at most so many digits behind the point
// as its standard uncertainty leaves.
func Figure(x, u float64, most int) string {
	text := strconv.FormatFloat(x, 'f', decimals(u, most), 64)
	if zero, err := strconv.ParseFloat(text, 64); err == nil && zero == 0 {
		return strconv.FormatFloat(0, 'f', decimals(u, most), 64) // no minus before nothing
	}
	return text
}

// Ruler prints lengths with the crew's own unit first: mm if metric, else
// thou.
type Ruler struct{ Metric bool }

// InThou prints lengths with thou first.
var InThou = Ruler{}

// Parts prints a length in the crew's own unit and in the other one, without
// naming them.
func (r Ruler) Parts(l figures.Length) (first, second string) {
	first, second = Figure(l.Mean/MetresPerThou, l.U/MetresPerThou, 1), Figure(l.Mean*1000, l.U*1000, 3)
	if r.Metric {
		return second, first
	}
	return first, second
}

// Unit is the crew's own unit, "thou" or "mm".
func (r Ruler) Unit() string {
	if r.Metric {
		return "mm"
	}
	return "thou"
}

func (r Ruler) otherUnit() string { return Ruler{Metric: !r.Metric}.Unit() }

// Head names the units of a table.
func (r Ruler) Head() string { return r.Unit() + " / " + r.otherUnit() }

// Cell prints a length in a table: "11.8 / 0.301".
func (r Ruler) Cell(l *figures.Length) string {
	if l == nil {
		return "-"
	}
	first, second := r.Parts(*l)
	return first + " / " + second
}

// Say prints a length in a sentence: "11.8 thou (0.301 mm)".
func (r Ruler) Say(l figures.Length) string {
	first, second := r.Parts(l)
	return first + " " + r.Unit() + " (" + second + " " + r.otherUnit() + ")"
}

// Give says how far a length may be off: twice its standard uncertainty,
// about 95 in 100 (GUM, 6.2.1).
func (r Ruler) Give(l figures.Length) string {
	if l.U == 0 {
		return ""
	}
	scale := MetresPerThou
	if r.Metric {
		scale = 0.001
	}
	return fmt.Sprintf(", give or take %s %s", UpTo(2*l.U/scale), r.Unit())
}

// Stands says where a rod stands: "11.8 thou (0.301 mm) low".
func (r Ruler) Stands(l figures.Length, under, over string) string {
	word := over
	if l.Mean < 0 {
		word, l.Mean = under, -l.Mean
	}
	return r.Say(l) + " " + word
}

// UpTo rounds an uncertainty up to its first digit, or its second after a one.
func UpTo(u float64) string {
	if u <= 0 {
		return "0"
	}
	places := decimals(u, 3)
	scale := math.Pow(10, float64(places))
	return strconv.FormatFloat(math.Ceil(u*scale-1e-9)/scale, 'f', places, 64)
}

// Significant prints a figure with so many significant digits.
func Significant(x float64, digits int) string {
	if x == 0 {
		return "0"
	}
	places := digits - 1 - int(math.Floor(math.Log10(math.Abs(x))))
	if places < 0 {
		scale := math.Pow(10, float64(-places))
		return strconv.FormatFloat(math.Round(x/scale)*scale, 'f', 0, 64)
	}
	return strconv.FormatFloat(x, 'f', places, 64)
}

// Short prints a length in the crew's own unit without naming it.
func (r Ruler) Short(l figures.Length) string {
	first, _ := r.Parts(l)
	return first
}

// ShortStands prints a height as Short without a sign: "12.0 low".
func (r Ruler) ShortStands(l figures.Length, under, over string) string {
	text := r.Short(l)
	switch {
	case strings.Trim(text, "0.-") == "":
		return text
	case strings.HasPrefix(text, "-"):
		return text[1:] + " " + under
	}
	return text + " " + over
}

// Force prints a force in both systems.
func Force(newtons float64) string {
	return Significant(newtons/NewtonsPerPound, 3) + " lbf (" + Significant(newtons/1000, 3) + " kN)"
}
