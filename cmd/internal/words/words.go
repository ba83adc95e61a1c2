package words

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Pump says what kind of pump an action makes: "triplex single-acting".
func Pump(action string) string { return strings.Replace(action, "-", " ", 1) }

// Decibans prints a weight of evidence.
func Decibans(db float64) string { return fmt.Sprintf("%+.0f", db) }

// Strength says a weight of evidence in decibans in a word. The bounds are
// ours: 2 is odds of 1.6, 5 of 3, 10 of 10.
func Strength(decibans float64) string {
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

// longTime is the minutes from which a time is said in hours.
const longTime = 240

// Minutes prints a time.
func Minutes(m float64) string {
	switch {
	case m < 1:
		return "under 1 min"
	case m >= longTime:
		return fmt.Sprintf("%.1f h", m/60)
	}
	return fmt.Sprintf("%.0f min", m)
}

// People counts people.
func People(n int) string {
	if n == 1 {
		return "1 person"
	}
	return fmt.Sprintf("%d people", n)
}

// Ranges writes numbers in order as "1 to 4, 7, 8".
func Ranges(numbers []int) string {
	var out []string
	for i := 0; i < len(numbers); {
		j := i
		for j+1 < len(numbers) && numbers[j+1] == numbers[j]+1 {
			j++
		}
		if j-i == 1 {
			j = i // two in a row are two
		}
		part := strconv.Itoa(numbers[i])
		if j > i {
			part += " to " + strconv.Itoa(numbers[j])
		}
		out, i = append(out, part), j+1
	}
	return strings.Join(out, ", ")
}

// Steps prints "step 4" or "steps 4 to 7"; "" for none.
func Steps(numbers []int) string {
	switch len(numbers) {
	case 0:
		return ""
	case 1:
		return "step " + Ranges(numbers)
	}
	return "steps " + Ranges(numbers)
}

// Capital makes the first letter a capital.
func Capital(s string) string {
	_, first := utf8.DecodeRuneInString(s)
	return strings.ToUpper(s[:first]) + s[first:]
}
