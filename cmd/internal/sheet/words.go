package sheet

import (
	"fmt"
	"math"
	"strings"
	"time"
	"unicode"
)

// chance says a chance so that it needs no statistics: "about 3 in 10".
func chance(p float64) string {
	switch {
	case p < 0.01:
		return "less than 1 in 100"
	case p > 0.99:
		return "more than 99 in 100"
	case p >= 0.945:
		return "more than 9 in 10"
	case p >= 0.095:
		return fmt.Sprintf("about %.0f in 10", math.Round(10*p))
	}
	n := 1 / p
	step := 1.0
	switch {
	case n >= 50:
		step = 10
	case n >= 20:
		step = 5
	}
	return fmt.Sprintf("about 1 in %.0f", math.Round(n/step)*step)
}

// strength says a weight of evidence in decibans in a word. The bounds are
// ours: 2 is odds of 1.6, 5 of 3, 10 of 10.
func strength(decibans float64) string {
	switch size := math.Abs(decibans); {
	case size < 2:
		return "a little"
	case size < 5:
		return "somewhat"
	case size < 10:
		return "clearly"
	}
	return "strongly"
}

// written prints when the sheet was written.
func written(t time.Time) string { return t.Format("2006-01-02 15:04 MST") }

// safeFoot keeps of a name what can stand in a style sheet's string without
// any escape: letters, digits, blanks, dots, colons and dashes, at most so many.
func safeFoot(name string, most int) string {
	var out []rune
	for _, r := range name {
		if len(out) == most {
			break
		}
		if unicode.IsLetter(r) || unicode.IsDigit(r) || r == '.' || r == '-' || r == ':' {
			out = append(out, r)
		} else if r == ' ' && len(out) > 0 && out[len(out)-1] != ' ' {
			out = append(out, r)
		}
	}
	return strings.TrimSpace(string(out))
}

// ranges prints numbers in order: "1 to 13, 16".
func ranges(numbers []int) string {
	var out []string
	for i := 0; i < len(numbers); {
		j := i
		for j+1 < len(numbers) && numbers[j+1] == numbers[j]+1 {
			j++
		}
		switch j - i {
		case 0:
			out = append(out, fmt.Sprint(numbers[i]))
		case 1:
			out = append(out, fmt.Sprint(numbers[i]), fmt.Sprint(numbers[j]))
		default:
			out = append(out, fmt.Sprintf("%d to %d", numbers[i], numbers[j]))
		}
		i = j + 1
	}
	return strings.Join(out, ", ")
}

// stepsWord prints "step 4" or "steps 4 to 7"; "" for none.
func stepsWord(numbers []int) string {
	switch len(numbers) {
	case 0:
		return ""
	case 1:
		return "step " + ranges(numbers)
	}
	return "steps " + ranges(numbers)
}

// clean takes out what would turn the direction of the text around it or
// control a printer, whatever file it came from: the bidirectional controls of
// Unicode (UAX 9) and control characters.
func clean(page string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n':
			return r
		case unicode.IsControl(r), r == 0x61C, r == 0x200E, r == 0x200F, r >= 0x202A && r <= 0x202E, r >= 0x2066 && r <= 0x2069, r == 0x2028, r == 0x2029, r == 0xFEFF, r == 0xFFFE, r == 0xFFFF:
			return -1
		}
		return r
	}, page)
}
