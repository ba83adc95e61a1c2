package speech

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func told(text string) string {
	var out []string
	for _, w := range Words(text) {
		s := w.Lower
		if w.IsNumber {
			s = "#" + trim(w.Number)
		}
		if w.Break != 0 {
			s = string(w.Break) + s
		}
		out = append(out, s)
	}
	return strings.Join(out, " ")
}

func trim(f float64) string {
	return strings.TrimSuffix(strings.TrimRight(strconv.FormatFloat(f, 'f', 4, 64), "0"), ".")
}

func TestWords(t *testing.T) {
	for text, want := range map[string]string{
		"Isn't hot, wasnt wet":                      "is not hot ,was not wet",
		"No. 2 leaks. #3 doesn’t":                   "no #2 leaks .#3 does not",
		"down from 2,800psi to twenty-four hundred": "down from #2800 psi to #2400",
		"lost four hundred pounds":                  "lost #400 pounds",
		"two hundred and fifty psi":                 "#250 psi",
		"6 1/2 in liner, 1/2 turn, cylinders 1/3":   "#6.5 in liner ,#0.5 turn ,cylinders #1 ,#3",
		"it's the pump's wiper":                     "it the pump wiper",
		"1, 2 and 3":                                "#1 ,#2 and #3",
		"head-end - quiet":                          "head end -quiet",
		"a hundred strokes, 3 thousand":             "a #100 strokes ,#3000",
		"a hundred and fifty pounds apart":          "a #150 pounds apart",
		"twenty two":                                "#22",
		"H2S at 2, CO2 and o2":                      "h2s at #2 ,co2 and o2",
		"h2 and co21":                               "h #2 and co #21",
		"0.015":                                     "#0.015",
	} {
		assert.Equal(t, want, told(text), text)
	}
}

// The stems are those of the Snowball project's own vocabulary for English
// (snowballstem.org, from memory).
func TestStem(t *testing.T) {
	for word, want := range map[string]string{"leaking": "leak", "knocks": "knock", "valves": "valv", "consistently": "consist", "happy": "happi"} {
		assert.Equal(t, want, Stem(word))
	}
}

func FuzzWords(f *testing.F) {
	for _, s := range []string{"", "isn't", "2,800psi", "twenty four hundred and", "1/2/3", "\xff’s", "a hundred", "é's 1/"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		at := 0
		for _, w := range Words(s) {
			if w.Start < at && w.Lower != "not" || w.End < w.Start || w.End > len(s) {
				t.Fatalf("%q: word %+v stands before byte %d", s, w, at)
			}
			at = w.End
			if w.Lower == "not" {
				at = w.Start
			}
		}
	})
}
