package speech

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/blevesearch/snowballstem"
	"github.com/blevesearch/snowballstem/english"
)

// Word is one word of a text.
type Word struct {
	Start, End int     // bytes of the text
	Lower      string  // in small letters, without apostrophes; what was left out is written out ("not")
	Stem       string  // of Lower; of a number "#"
	Number     float64 // what the figure or the number word says, if IsNumber
	IsNumber   bool
	InLetters  bool // the number was written as a word
	// Break is what parts it from the word before: 0, a comma, a full stop (any
	// mark that ends a sentence, and a line's end), or a dash.
	Break rune
}

// NumberStem is the stem of every number.
const NumberStem = "#"

// Words cuts a text. Every byte that is no letter, figure or apostrophe parts
// words; invalid UTF-8 parts them too.
func Words(text string) []Word { return Cutter(nil).Words(text) }

// Cutter cuts many texts that share words: it keeps their stems. A nil one keeps
// none.
type Cutter map[string]string

// Words is as the function of that name.
func (c Cutter) Words(text string) []Word {
	var out []Word
	var gap rune
	for at := 0; at < len(text); {
		r, size := utf8.DecodeRuneInString(text[at:])
		switch {
		case isLetter(r):
			end := letters(text, at)
			if end == at+1 && (r == 'b' || r == 'B') && strings.HasPrefix(text[end:], "4") && !(end+1 < len(text) && (isDigit(text[end+1]) || nextIsLetter(text[end+1:]))) {
				out = append(out, Word{Start: at, End: end + 1, Lower: "before", Stem: c.stem("before"), Break: gap}) // "b4"
				at, gap = end+1, 0
				continue
			}
			if n := gas(text[at:]); n > end-at {
				end = at + n
			}
			out = c.appendWord(out, text, at, end, gap)
			at, gap = end, 0
		case unicode.IsDigit(r) && r < utf8.RuneSelf:
			w := figure(text, at)
			w.Break = gap
			out = append(out, w)
			at, gap = w.End, 0
		default:
			gap = strongest(gap, mark(text, at, r))
			at += size
		}
	}
	return numbers(out)
}

// gases are told by their formulas.
var gases = []string{"h2s", "co2", "so2", "o2"}

// gas gives the length of the formula that a text begins with, 0 for none: its
// figure is no cylinder.
func gas(text string) int {
	for _, formula := range gases {
		n := len(formula)
		if len(text) >= n && strings.EqualFold(text[:n], formula) && (n == len(text) || !isDigit(text[n]) && !nextIsLetter(text[n:])) {
			return n
		}
	}
	return 0
}

func isLetter(r rune) bool { return unicode.IsLetter(r) && r != utf8.RuneError }

// mark says how a byte that stands between words parts them.
func mark(text string, at int, r rune) rune {
	switch r {
	case '.':
		if at > 1 && strings.EqualFold(text[at-2:at], "no") { // "No. 2"
			return 0
		}
		return '.'
	case '!', ';', '\n':
		return '.'
	case ',', '(', ')', '/', '?', ':':
		return ','
	case '-', '–', '—':
		if at > 0 && at+1 < len(text) && text[at-1] != ' ' { // "head-end"
			return 0
		}
		return '-'
	}
	return 0
}

func strongest(a, b rune) rune {
	for _, r := range []rune{'.', '-', ','} {
		if a == r || b == r {
			return r
		}
	}
	return 0
}

// letters gives the end of the letters and apostrophes that begin at a byte.
func letters(text string, at int) int {
	for at < len(text) {
		r, size := utf8.DecodeRuneInString(text[at:])
		if !isLetter(r) && !(isApostrophe(r) && at+size < len(text) && nextIsLetter(text[at+size:])) {
			break
		}
		at += size
	}
	return at
}

func nextIsLetter(text string) bool {
	r, _ := utf8.DecodeRuneInString(text)
	return isLetter(r)
}

func isApostrophe(r rune) bool { return r == '\'' || r == '’' || r == '`' }

// figure reads a number in figures: "2,800", "0.5", "6 1/2", "1/2".
func figure(text string, at int) Word {
	w := Word{Start: at, Stem: NumberStem, IsNumber: true}
	whole, end := digits(text, at)
	for end+4 <= len(text) && text[end] == ',' && allDigits(text[end+1:end+4]) && (end+4 == len(text) || !isDigit(text[end+4])) && end-at <= 3 {
		more, _ := digits(text, end+1)
		whole, end = whole*1000+more, end+4
	}
	if end+1 < len(text) && text[end] == '.' && isDigit(text[end+1]) {
		scale := 0.1
		for end++; end < len(text) && isDigit(text[end]); end++ {
			whole += float64(text[end]-'0') * scale
			scale /= 10
		}
	}
	if over, next, ok := fraction(text, end); ok { // "1/2" after the numerator
		whole, end = whole/over, next
	} else if end+1 < len(text) && text[end] == ' ' && isDigit(text[end+1]) {
		top, next := digits(text, end+1)
		if over, next, ok := fraction(text, next); ok {
			whole, end = whole+top/over, next
		}
	}
	w.Number, w.Lower = whole, text[at:end]
	for _, own := range []string{"'s", "’s"} { // "2's"
		if strings.HasPrefix(text[end:], own) {
			end += len(own)
		}
	}
	w.End = end
	return w
}

// fraction reads "/2": only halves, quarters, eighths, sixteenths and the like
// are one, so that "1/3" stays two cylinders.
func fraction(text string, at int) (over float64, end int, ok bool) {
	if at+1 >= len(text) || text[at] != '/' || !isDigit(text[at+1]) {
		return 0, at, false
	}
	over, end = digits(text, at+1)
	switch over {
	case 2, 4, 8, 16, 32, 64:
		return over, end, true
	}
	return 0, at, false
}

func digits(text string, at int) (float64, int) {
	n := 0.0
	for ; at < len(text) && isDigit(text[at]); at++ {
		n = n*10 + float64(text[at]-'0')
	}
	return n, at
}

func isDigit(b byte) bool { return b >= '0' && b <= '9' }

func allDigits(s string) bool {
	return strings.IndexFunc(s, func(r rune) bool { return r < '0' || r > '9' }) < 0
}

// appendWord adds a run of letters, cut where two words run together in speech.
func (c Cutter) appendWord(out []Word, text string, start, end int, gap rune) []Word {
	lower := strings.Map(func(r rune) rune {
		if isApostrophe(r) {
			return -1
		}
		return r
	}, strings.ToLower(text[start:end]))
	if head, ok := withNot[lower]; ok {
		out = append(out, Word{Start: start, End: end, Lower: head, Stem: c.stem(head), Break: gap})
		return append(out, Word{Start: start, End: end, Lower: "not", Stem: "not"})
	}
	if head, cut := strings.CutSuffix(strings.ToLower(strings.ReplaceAll(text[start:end], "’", "'")), "'s"); cut { // "it's", "pump's"
		lower = strings.ReplaceAll(head, "'", "")
	} else if head, ok := shortened[lower]; ok {
		lower = head
	}
	return append(out, Word{Start: start, End: end, Lower: lower, Stem: c.stem(lower), Break: gap})
}

// withNot are the verbs that swallow a "not", without their apostrophe, and
// what is left of them.
var withNot = map[string]string{
	"isnt": "is", "arent": "are", "wasnt": "was", "werent": "were", "aint": "is", "dont": "do", "doesnt": "does", "dosnt": "does", "doesn": "does",
	"didnt": "did", "didn": "did", "wont": "will", "cant": "can", "cannot": "can", "couldnt": "could", "wouldnt": "would", "shouldnt": "should",
	"havent": "have", "hasnt": "has", "hadnt": "had", "isn": "is", "wasn": "was", "hasn": "has", "haven": "have", "neednt": "need",
}

// shortened are words that run together with a pronoun, without their apostrophe.
var shortened = map[string]string{
	"im": "i", "ive": "i", "weve": "we", "were": "were", "theres": "there", "thats": "that", "its": "it", "shes": "she", "hes": "he",
	"theyre": "they", "youre": "you", "whats": "what", "ill": "i",
}

func (c Cutter) stem(word string) string {
	stem, known := c[word]
	if !known {
		stem = Stem(word)
		if c != nil {
			c[word] = stem
		}
	}
	return stem
}

// Stem gives the stem of a word in small letters by the Snowball stemmer for
// English. A word of another script stays as it is.
func Stem(word string) string {
	if len(word) < 3 || len(word) > 64 {
		return word
	}
	env := snowballstem.NewEnv(word)
	english.Stem(env)
	return env.Current()
}
