package source

import (
	"strings"
	"unicode"
)

// comments gives the comments that stand in a region, the first alone if it
// stands behind the region's first line.
func (d *Editor) comments(r *region) (first string, all []string) {
	var spans []span
	add := func(n *Node) {
		if n.Kind == Scalar {
			spans = append(spans, spanOf(n))
		}
	}
	if r.key != nil {
		r.key.each(add)
	}
	r.value.each(add)
	for i := r.start; i < r.end; i++ {
		c := commentIn([]rune(strings.TrimRight(d.lines[i], " \t\r\n\u0085\u2028\u2029")), i, spans)
		if c == "" {
			continue
		}
		if i == r.start {
			first = c
		}
		all = append(all, c)
	}
	return first, all
}

// span is from where to where a single value stands, lines and columns from 0.
type span struct{ fromLine, fromCol, toLine, toCol int }

func (s span) holds(line, col int) bool {
	after := line > s.fromLine || line == s.fromLine && col >= s.fromCol
	before := line < s.toLine || line == s.toLine && col <= s.toCol
	return after && before
}

func spanOf(n *Node) span {
	from, to := n.Pos, n.At(len(n.Text))
	if n.style&(literal|folded) != 0 {
		from = n.At(0)
	}
	// The end is one past the last character; for a quoted value it is the
	// closing quote.
	if n.style&(inDoubleQuotes|inSingleQuotes) == 0 {
		to.Col--
	}
	return span{from.Line - 1, from.Col - 1, to.Line - 1, to.Col - 1}
}

// commentIn gives the comment of a line: from a # after a blank that stands in
// no value.
func commentIn(line []rune, number int, spans []span) string {
	for col, r := range line {
		if r != '#' || col > 0 && !unicode.IsSpace(line[col-1]) {
			continue
		}
		inside := false
		for _, s := range spans {
			inside = inside || s.holds(number, col)
		}
		if !inside {
			return string(line[col:])
		}
	}
	return ""
}
