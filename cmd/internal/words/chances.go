package words

import (
	"fmt"
	"math"
)

// Chances in words: one row of bands, each with its word, and the number beside
// it, rounded to 5 %. The bands are those of US Intelligence Community Directive
// 203, Analytic Standards. The word goes by the number that is shown, so that one
// number has one word. A chance is never worded as proof, however near it comes:
// what is proved or ruled out was looked at, and then has no number.

// What stands in place of a chance.
const (
	Proved   = "proved"
	RuledOut = "ruled out"
)

// bands are the words, each up to a chance in per cent.
var bands = []struct {
	upTo int
	word string
}{
	{4, "almost no chance"}, {19, "very unlikely"}, {44, "unlikely"}, {55, "roughly even"}, {80, "likely"}, {95, "very likely"}, {100, "almost certain"},
}

// rounded is a chance in per cent to the next 5; 0 under 5 %, 100 over 95 %.
func rounded(p float64) int {
	switch {
	case p < 0.05:
		return 0
	case p > 0.95:
		return 100
	}
	return 5 * int(math.Round(20*p))
}

// Percent prints a chance as a number: "65 %", "under 5 %", "over 95 %".
func Percent(p float64) string {
	switch n := rounded(p); n {
	case 0:
		return "under 5 %"
	case 100:
		return "over 95 %"
	default:
		return fmt.Sprintf("%d %%", n)
	}
}

// Likelihood is the word for a chance: "likely".
func Likelihood(p float64) string {
	n := rounded(p)
	for _, b := range bands {
		if n <= b.upTo {
			return b.word
		}
	}
	return bands[len(bands)-1].word
}

// MoreLikelyThanNot says whether the word for a chance is "likely" or more.
func MoreLikelyThanNot(p float64) bool { return rounded(p) > 55 }

// Likely prints a chance in its word with the number beside it: "likely, 65 %".
func Likely(p float64) string { return Likelihood(p) + ", " + Percent(p) }
