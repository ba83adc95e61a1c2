package doc

import (
	"bytes"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"
)

// Clean takes out what would turn the direction of the text around it or
// control a printer or a terminal, whatever file it came from: the bidirectional
// controls of Unicode (UAX 9), control characters, and bytes that are no
// character.
func Clean(page string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n':
			return r
		case unicode.IsControl(r), r == unicode.ReplacementChar, r == 0x61C, r == 0x200E, r == 0x200F, r >= 0x202A && r <= 0x202E, r >= 0x2066 && r <= 0x2069, r == 0x2028, r == 0x2029, r == 0xFEFF, r == 0xFFFE, r == 0xFFFF:
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
