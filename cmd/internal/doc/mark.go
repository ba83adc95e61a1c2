package doc

import (
	"slices"
	"strings"

	"github.com/mattn/go-runewidth"
)

// lead stands before a line that is shown with a mark.
const lead = "    "

// Marked shows a line of a file with a mark under character number mark, from 1,
// in two lines of at most width columns: of a longer line what stands around the
// mark. What a terminal would not print is shown as a question mark, a tab as a
// blank. It is "" when there is no line.
func Marked(line string, mark, width int) string {
	if mark < 1 {
		return ""
	}
	runes := []rune(Shown(strings.TrimRight(line, "\r\n")))
	before, after := runes[:min(mark-1, len(runes))], runes[min(mark-1, len(runes)):]
	room := width - len(lead) - 1 // for a mark behind the last character
	if columns(runes) > room {
		before = cut(before, max(room*2/3, room-columns(after)), true)
		after = cut(after, room-columns(before), false)
	}
	return lead + string(before) + string(after) + "\n" + lead + strings.Repeat(" ", columns(before)) + "^"
}

// columns is how wide a text is, each character by itself.
func columns(text []rune) (out int) {
	for _, r := range text {
		out += runewidth.RuneWidth(r)
	}
	return out
}

// dots stand for what was cut off.
var dots = []rune("...")

// cut takes characters off the front of a text, or off its back, until it and
// the dots in their place are no wider than room.
func cut(text []rune, room int, front bool) []rune {
	if columns(text) <= room {
		return text
	}
	for len(text) > 0 && columns(text)+len(dots) > room {
		if front {
			text = text[1:]
		} else {
			text = text[:len(text)-1]
		}
	}
	if front {
		return slices.Concat(dots, text)
	}
	return slices.Concat(text, dots)
}
