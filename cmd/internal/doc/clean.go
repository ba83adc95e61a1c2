package doc

import (
	"bytes"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"
)

// Clean takes out what is not seen and may be obeyed or mislead, whatever file it
// came from: control characters, the bidirectional controls of Unicode (UAX 9),
// characters without a width such as those of tags, those that have no meaning, and
// bytes that are no character. Lines stay, and so do the two characters that say
// whether letters join; what is left is UTF-8.
func Clean(page string) string {
	return strings.Map(func(r rune) rune {
		if r != '\n' && r != 0x200C && r != 0x200D && !unicode.IsGraphic(r) || r == unicode.ReplacementChar {
			return -1
		}
		return r
	}, page)
}

// Shown gives a text about what somebody else wrote, such as the name of a file:
// what a terminal would not print, or would obey, is shown as a question mark, a
// tab as a blank. Lines stay, and so does the count of characters.
func Shown(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\t':
			return ' '
		case r != '\n' && !unicode.IsGraphic(r), r == unicode.ReplacementChar:
			return '?'
		}
		return r
	}, text)
}

// EscapeJSON writes with an escape what a terminal would obey or not print in
// JSON that json.Marshal left as it is. The values stay.
func EscapeJSON(text []byte) []byte {
	if !bytes.ContainsFunc(text, hidden) {
		return text
	}
	var out []byte
	for _, r := range string(text) {
		if !hidden(r) {
			out = utf8.AppendRune(out, r)
			continue
		}
		for _, unit := range utf16.AppendRune(nil, r) {
			out = fmt.Appendf(out, `\u%04x`, unit)
		}
	}
	return out
}

func hidden(r rune) bool { return r >= 0x7f && !unicode.IsGraphic(r) }

// SafeFoot keeps of a name what can stand in a style sheet's string without
// any escape: letters, digits, blanks and a few marks, at most so many.
func SafeFoot(name string, most int) string {
	var out []rune
	for _, r := range name {
		if len(out) == most {
			break
		}
		if unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune(".-:,+", r) {
			out = append(out, r)
		} else if r == ' ' && len(out) > 0 && out[len(out)-1] != ' ' {
			out = append(out, r)
		}
	}
	return strings.TrimSpace(string(out))
}
