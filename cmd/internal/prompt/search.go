package prompt

import "strings"

// Holds says whether a text holds every one of some words, also with another
// ending.
func Holds(text, words string) bool {
	text = " " + strings.ToLower(text)
	for _, w := range strings.Fields(strings.ToLower(words)) {
		if !stands(text, w) {
			return false
		}
	}
	return true
}

// stands says whether a word stands in the text, a short one only where a word
// begins: "in" is not meant by "pinion".
func stands(text, word string) bool {
	if len(word) < shortestStem {
		return strings.Contains(text, " "+word)
	}
	return strings.Contains(text, stem(word))
}

// shortestStem is how much of a word must be left when its ending is cut.
const shortestStem = 4

// stem cuts the ending of a word, so that "leaking" finds "leaks".
func stem(word string) string {
	for _, ending := range []string{"ing", "ed", "es", "s"} {
		if cut, ok := strings.CutSuffix(word, ending); ok && len(cut) >= shortestStem {
			return cut
		}
	}
	return word
}
