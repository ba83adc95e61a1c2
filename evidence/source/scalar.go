package source

import "unicode"

// At gives the place in the file of character number index (from 0) of the
// scalar's text, whatever the quoting: an error inside an expression is shown
// where it was written. An index past the end gives the end.
func (n *Node) At(index int) Pos {
	if n.in == nil || n.Kind != Scalar {
		return n.Pos
	}
	w := newWalker(n)
	for i, r := range []rune(n.Text) {
		w.seek(r)
		if i >= index {
			break
		}
		w.pass(r)
	}
	return n.in.pos(w.line+1, min(w.col, len(w.current))+1)
}

// walker follows a decoded scalar through the raw lines that it came from.
type walker struct {
	lines     [][]rune
	line, col int // from 0
	current   []rune
	double    bool // in double quotes: backslash escapes
	single    bool // in single quotes: '' stands for '
}

func newWalker(n *Node) *walker {
	w := &walker{lines: n.in.all(), line: n.Pos.Line - n.in.above - 1, col: n.Pos.Col - 1}
	w.load()
	switch n.style {
	case inDoubleQuotes:
		w.double = true
		w.col++
	case inSingleQuotes:
		w.single = true
		w.col++
	case literal, folded:
		w.next()
	}
	return w
}

func (w *walker) load() {
	w.current = nil
	if w.line < len(w.lines) {
		w.current = w.lines[w.line]
	}
}

func (w *walker) next() bool {
	if w.line+1 >= len(w.lines) {
		return false
	}
	w.line++
	w.col = 0
	w.load()
	return true
}

// seek moves to where r stands. Blanks may have been folded, so they stay at
// the cursor; the next visible character finds its place again.
func (w *walker) seek(r rune) {
	if unicode.IsSpace(r) {
		return
	}
	for {
		for w.col < len(w.current) && unicode.IsSpace(w.current[w.col]) {
			w.col++
		}
		lineEnds := w.col >= len(w.current) || w.double && w.current[w.col] == '\\' && w.col == len(w.current)-1
		if !lineEnds || !w.next() {
			return
		}
	}
}

// pass moves behind r.
func (w *walker) pass(r rune) {
	if w.col >= len(w.current) {
		return
	}
	switch c := w.current[w.col]; {
	case w.double && c == '\\':
		w.col += escapeLength(w.current[w.col:])
	case w.single && c == '\'':
		w.col += 2
	case c == r:
		w.col++
	}
}

func escapeLength(s []rune) int {
	if len(s) < 2 {
		return len(s)
	}
	switch s[1] {
	case 'x':
		return min(4, len(s))
	case 'u':
		return min(6, len(s))
	case 'U':
		return min(10, len(s))
	}
	return 2
}
