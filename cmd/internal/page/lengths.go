package page

import (
	"fmt"
	"math"
	"strconv"

	"telltale/engine/figures"
)

// Figures that were measured, in both systems, with no more digits than their
// standard uncertainty leaves.

const (
	metresPerThou = 25.4e-6
	metresPerInch = 0.0254
	metresPerFoot = 0.3048
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

func figure(x, u float64, most int) string {
	text := strconv.FormatFloat(x, 'f', decimals(u, most), 64)
	if zero, err := strconv.ParseFloat(text, 64); err == nil && zero == 0 {
		return strconv.FormatFloat(0, 'f', decimals(u, most), 64) // no minus before nothing
	}
	return text
}

// ruler prints lengths with the crew's own unit first: mm if metric, else
// thou.
type ruler struct{ metric bool }

func (r ruler) parts(l figures.Length) (first, second string) {
	first, second = figure(l.Mean/metresPerThou, l.U/metresPerThou, 1), figure(l.Mean*1000, l.U*1000, 3)
	if r.metric {
		return second, first
	}
	return first, second
}

func (r ruler) units() (first, second string) {
	if r.metric {
		return "mm", "thou"
	}
	return "thou", "mm"
}

// head names the units of a table.
func (r ruler) head() string {
	first, second := r.units()
	return first + " / " + second
}

// cell prints a length in a table: "11.8 / 0.301".
func (r ruler) cell(l *figures.Length) string {
	if l == nil {
		return "-"
	}
	first, second := r.parts(*l)
	return first + " / " + second
}

// say prints a length in a sentence: "11.8 thou (0.301 mm)".
func (r ruler) say(l figures.Length) string {
	first, second := r.parts(l)
	unit, other := r.units()
	return first + " " + unit + " (" + second + " " + other + ")"
}

// give says how far a length may be off: twice its standard uncertainty,
// about 95 in 100 (GUM, 6.2.1).
func (r ruler) give(l figures.Length) string {
	if l.U == 0 {
		return ""
	}
	unit, scale := "thou", metresPerThou
	if r.metric {
		unit, scale = "mm", 0.001
	}
	return fmt.Sprintf(", give or take %s %s", upTo(2*l.U/scale), unit)
}

// stands says where a rod stands: "11.8 thou (0.301 mm) low".
func (r ruler) stands(l figures.Length, under, over string) string {
	word := over
	if l.Mean < 0 {
		word, l.Mean = under, -l.Mean
	}
	return r.say(l) + " " + word
}

// upTo rounds an uncertainty up to its first digit, or its second after a one.
func upTo(u float64) string {
	if u <= 0 {
		return "0"
	}
	places := decimals(u, 3)
	scale := math.Pow(10, float64(places))
	return strconv.FormatFloat(math.Ceil(u*scale-1e-9)/scale, 'f', places, 64)
}

// significant prints a figure with so many significant digits.
func significant(x float64, digits int) string {
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
