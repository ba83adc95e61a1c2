package hear

import (
	"github.com/hbollon/go-edlib"
)

// meant gives the stem of the word of the lexicon that a word is a slip of, or
// "" if there is none: one letter wrong, missing, too many or two changed round
// (the optimal string alignment distance, of a library) in a word of four
// letters or more, two in one of eight. The first letter is taken as right. Of
// several the nearest counts, then the one that the lexicon has first.
func (l *Listener) meant(word string) string {
	if len(word) < 4 || len(word) > 40 {
		return ""
	}
	best, most := "", 1
	if len(word) >= 8 {
		most = 2
	}
	for _, s := range l.words[word[0]] {
		if d := len(s.lower) - len(word); d > most || -d > most {
			continue
		}
		if d := edlib.OSADamerauLevenshteinDistance(word, s.lower); d < most || d == most && best == "" {
			best, most = s.stem, d
		}
	}
	return best
}
