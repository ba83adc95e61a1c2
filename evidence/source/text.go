package source

import (
	"fmt"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"
)

// Pos is a place in a file. Line and Col count from 1, Col in characters.
type Pos struct {
	File string `json:"file"`
	Line int    `json:"line"`
	Col  int    `json:"column"`
}

// String gives file:line:column, on one line whatever the file is called.
func (p Pos) String() string { return fmt.Sprintf("%s:%d:%d", OneLine(p.File), p.Line, p.Col) }

func (p Pos) before(q Pos) bool {
	if p.File != q.File {
		return p.File < q.File
	}
	if p.Line != q.Line {
		return p.Line < q.Line
	}
	return p.Col < q.Col
}

// Text is the text of a file, or of one document of a stream, as it was read.
type Text struct {
	name  string
	text  string
	above int   // lines of the stream that stand before it
	root  *Node // once it is known
	lines [][]rune
	split sync.Once
}

// all gives the lines, broken where YAML does.
func (t *Text) all() [][]rune {
	t.split.Do(func() {
		for _, line := range splitLines(t.text) {
			t.lines = append(t.lines, []rune(line))
		}
	})
	return t.lines
}

// splitLines breaks text where YAML does: at LF, CR, both together, NEL, LS
// and PS.
func splitLines(s string) []string {
	return strings.Split(lineEnds.Replace(s), "\n")
}

var lineEnds = strings.NewReplacer("\r\n", "\n", "\r", "\n", "\u0085", "\n", "\u2028", "\n", "\u2029", "\n")

// OneLine puts a text on one line: what stands behind a line end in somebody's
// name or text must not look like a line of the message that tells it.
func OneLine(s string) string { return strings.ReplaceAll(lineEnds.Replace(s), "\n", " ") }

// pos is the place in its file, or stream, of a place in the text; both count
// from 1.
func (t *Text) pos(line, col int) Pos { return Pos{File: t.name, Line: t.above + line, Col: col} }

// start is where the text begins.
func (t *Text) start() Pos { return t.pos(1, 1) }

// offset is the place of a byte.
func (t *Text) offset(at int) Pos {
	head := splitLines(t.text[:at])
	return t.pos(len(head), utf8.RuneCountInString(head[len(head)-1])+1)
}

// badByte is where the first byte stands that is no text, -1 if all is.
func (t *Text) badByte() int {
	for i, r := range t.text {
		control := r < ' ' && r != '\n' && r != '\r' && r != '\t' || r == 0x7f
		if control || r == utf8.RuneError && !strings.HasPrefix(t.text[i:], string(utf8.RuneError)) {
			return i
		}
	}
	return -1
}

// mostExcerpt is how many characters of a line a problem carries: enough for
// what a person types, and a bound on what a hostile line can swell.
const mostExcerpt = 160

// excerpt gives the line of a place, and which character of it, from 1, stands
// there. Of a longer line it is what stands around the place. mark is 0 when the
// text has no such line.
func (t *Text) excerpt(p Pos) (line string, mark int) {
	lines, at := t.all(), p.Line-t.above-1
	if at < 0 || at >= len(lines) || p.Col < 1 {
		return "", 0
	}
	runes, mark := lines[at], min(p.Col, len(lines[at])+1)
	if from := min(mark-mostExcerpt/2, len(runes)-mostExcerpt); from > 0 {
		runes, mark = runes[from:], mark-from
	}
	return string(runes[:min(len(runes), mostExcerpt)]), mark
}

// at is what stands at a place: the outermost value that begins there if whole
// is wanted, else the single value. nil if nothing begins there.
func (t *Text) at(p Pos, whole bool) (found *Node) {
	if t.root != nil {
		t.root.each(func(n *Node) {
			if found == nil && n.Pos == p && (whole || n.Kind == Scalar) {
				found = n
			}
		})
	}
	return found
}

// Clip shortens text for a message.
func Clip(s string) string {
	runes := []rune(strings.Join(strings.Fields(s), " "))
	if len(runes) > 60 {
		return string(runes[:57]) + "..."
	}
	return string(runes)
}

// control says whether a terminal might obey a character.
func control(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\t' }
