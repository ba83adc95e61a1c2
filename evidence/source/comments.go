package source

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// comments gives the comments that stand in a region, the first alone if it
// stands behind the region's first line.
func (d *Editor) comments(r *region) (first string, all []string) {
	for _, c := range d.commentsIn(r.start, r.end) {
		if c.line == r.start {
			first = c.text
		}
		all = append(all, c.text)
	}
	return first, all
}

// comment is one with its place, from 0.
type comment struct {
	text      string
	line, col int
}

func (d *Editor) commentsIn(start, end int) (out []comment) {
	in := d.spans()
	for i := start; i < end; i++ {
		line := []rune(visible(d.lines[i]))
		if c := commentIn(line, i, in[i]); c != "" {
			out = append(out, comment{c, i, len(line) - utf8.RuneCountInString(c)})
		}
	}
	return out
}

// lost is the first comment of the document that another has not; nil if it has all.
func (d *Editor) lost(next *Editor) *comment {
	left := map[string]int{}
	for _, c := range next.commentsIn(0, len(next.lines)) {
		left[c.text]++
	}
	for _, c := range d.commentsIn(0, len(d.lines)) {
		if left[c.text]--; left[c.text] < 0 {
			return &c
		}
	}
	return nil
}

// visible is a line without what ends it.
func visible(line string) string { return strings.TrimRight(line, " \t\r\n\u0085\u2028\u2029") }

// spans are where the single values of the document stand, by line.
func (d *Editor) spans() map[int][]span {
	out := map[int][]span{}
	d.root.each(func(n *Node) {
		if n.Kind == Scalar {
			s := spanOf(n)
			for i := s.fromLine; i <= s.toLine; i++ {
				out[i] = append(out[i], s)
			}
		}
	})
	return out
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
		if !inside(spans, number, col) {
			return string(line[col:])
		}
	}
	return ""
}

func inside(spans []span, line, col int) bool {
	return slices.ContainsFunc(spans, func(s span) bool { return s.holds(line, col) })
}
