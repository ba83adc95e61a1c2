package rules

import (
	"regexp"
	"strings"
)

var sentenceEnd = regexp.MustCompile(`[.?!]["')]*\s+`)

// Sentences cuts a text of the book at the ends of its sentences. In what is to
// be done each is one instruction.
func Sentences(text string) []string {
	var out []string
	for text != "" {
		end := len(text)
		if at := sentenceEnd.FindStringIndex(text); at != nil {
			end = at[1]
		}
		out = append(out, strings.TrimSpace(text[:end]))
		text = text[end:]
	}
	return out
}
