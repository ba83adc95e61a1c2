package source

import (
	"errors"
	"slices"
	"strings"
	"unicode/utf8"
)

// How changes become lines. All of this may give up, or be wrong in a corner
// of YAML: Editor.change reads every result back.

// errAwkward says that the lines around a change are laid out in a way that
// is not followed here.
var errAwkward = errors.New("this layout is not followed")

// deepest is how many keys stand one below the other before a new mapping is
// written in braces.
const deepest = 3

// region is the lines of one key or list item of a block: from start to end,
// without the blank lines and comments behind it. indent is how far it is
// moved in.
type region struct {
	start, end int
	indent     int
	limit      int // where what belongs to it ends at the latest
	key, value *Node
	dash       bool
}

func (n *Node) flow() bool { return n.style&inFlow != 0 }

// find follows path through block mappings. It gives the innermost key that
// was found in one, and how many keys of the path lead there. It stops at a
// missing key and at a value in braces.
func (d *Editor) find(path []string) (*region, int, error) {
	var r *region
	n, limit := d.root, len(d.lines)
	for depth, key := range path {
		if n.Kind != Mapping || n.flow() {
			return r, depth, nil
		}
		i := slices.IndexFunc(n.Pairs, func(p Pair) bool { return p.Key.Text == key })
		if i < 0 {
			return r, depth, nil
		}
		next, err := d.pairRegion(n, i, limit)
		if err != nil {
			return nil, 0, err
		}
		r, n, limit = next, n.Pairs[i].Value, next.limit
	}
	return r, len(path), nil
}

func (d *Editor) pairRegion(n *Node, i, limit int) (*region, error) {
	p := n.Pairs[i]
	if i+1 < len(n.Pairs) {
		limit = n.Pairs[i+1].Key.Pos.Line - 1
	}
	r := &region{start: p.Key.Pos.Line - 1, limit: limit, indent: p.Key.Pos.Col - 1, key: p.Key, value: p.Value}
	return r, d.settle(r)
}

func (d *Editor) itemRegion(n *Node, i, limit int) (*region, error) {
	if i+1 < len(n.Items) {
		limit = n.Items[i+1].Pos.Line - 1
	}
	r := &region{start: n.Items[i].Pos.Line - 1, limit: limit, indent: n.Pos.Col - 1, value: n.Items[i], dash: true}
	return r, d.settle(r)
}

// settle finds the end of a region and wants it to begin its line.
func (d *Editor) settle(r *region) error {
	if r.start < 0 || r.limit > len(d.lines) || r.start >= r.limit {
		return errAwkward
	}
	r.end = r.limit
	last := max(r.start, r.value.lastLine()) // in a text over several lines a # begins no comment
	for r.end > last+1 && idle(d.lines[r.end-1]) {
		r.end--
	}
	line := d.lines[r.start]
	if len(line) <= r.indent || strings.Trim(line[:r.indent], " ") != "" || r.dash != (line[r.indent] == '-' && r.key == nil) {
		return errAwkward
	}
	return nil
}

// lastLine is the last line, from 0, on which a single value of n stands.
func (n *Node) lastLine() (last int) {
	n.each(func(n *Node) {
		if n.Kind == Scalar {
			last = max(last, n.At(len(n.Text)).Line-1)
		}
	})
	return last
}

// idle says whether a line holds nothing but blanks or a comment.
func idle(line string) bool {
	line = strings.TrimSpace(line)
	return line == "" || line[0] == '#'
}

func (d *Editor) setLines(path []string, value *Node) ([]string, error) {
	r, depth, err := d.find(path)
	if err != nil {
		return nil, err
	}
	if r == nil {
		if d.root.Kind == Null {
			return d.spliced(d.contentEnd(len(d.lines)), len(d.lines), nested(0, 0, path, value)), nil
		}
		if d.root.flow() {
			return nil, errAwkward
		}
		return d.insert(d.root, len(d.lines), 0, path, value)
	}
	rest := path[depth:]
	switch {
	case len(rest) == 0:
		return d.replace(r, value), nil
	case r.value.Kind == Null:
		return d.spliced(r.start, r.end, d.beneath(r, nested(r.indent, depth-1, path[depth-1:], value))), nil
	case r.value.Kind == Mapping && !r.value.flow():
		return d.insert(r.value, r.limit, depth, rest, value)
	}
	return d.replace(r, r.value.putAt(rest, value)), nil
}

// insert puts a new key behind the last one of a block mapping.
func (d *Editor) insert(n *Node, limit, depth int, path []string, value *Node) ([]string, error) {
	last, err := d.pairRegion(n, len(n.Pairs)-1, limit)
	if err != nil {
		return nil, err
	}
	return d.spliced(last.end, last.end, nested(last.indent, depth, path, value)), nil
}

// braceLines puts a value, or the first key of the path that is missing with what
// stands below it, where it belongs inside braces. All around stays as it is
// written.
func (d *Editor) braceLines(path []string, value *Node) ([]string, error) {
	n, depth := d.root, 0
	for ; depth < len(path) && n.child(path[depth]) != nil; depth++ {
		n = n.child(path[depth])
	}
	if value.empty() || n.Kind == Null {
		return nil, errAwkward
	}
	from, to, last, err := d.extent(n)
	if err != nil {
		return nil, err
	}
	text := value.inline()
	if depth < len(path) {
		if n.Kind != Mapping || !n.flow() {
			return nil, errAwkward
		}
		if text = unbraced(path[depth:], value); last != '{' && last != ',' {
			text = ", " + text
		}
		to.col--
		from = to
	}
	out := slices.Clone(d.lines)
	head, rest := []rune(out[from.line])[:from.col], []rune(out[to.line])[to.col:]
	return slices.Replace(out, from.line, to.line+1, string(head)+text+string(rest)), nil
}

// unbraced writes a value below its keys as one line.
func unbraced(path []string, value *Node) string {
	text := (&Node{Kind: Mapping}).putAt(path, value).inline()
	return text[1 : len(text)-1]
}

// mark is a place in the lines, both from 0.
type mark struct{ line, col int }

// extent is where a value stands: from its first character to behind its last. last
// is what stands before the bracket that closes it.
func (d *Editor) extent(n *Node) (from, to mark, last rune, err error) {
	from = mark{n.Pos.Line - 1, n.Pos.Col - 1}
	if n.Kind == Scalar && n.style&(literal|folded) == 0 {
		s := spanOf(n)
		return from, mark{s.toLine, s.toCol + 1}, 0, nil
	}
	if !n.flow() {
		return from, to, 0, errAwkward
	}
	in, depth := d.spans(), 0
	for at := from; at.line < len(d.lines); at = (mark{at.line + 1, 0}) {
		line := []rune(visible(d.lines[at.line]))
		line = line[:len(line)-utf8.RuneCountInString(commentIn(line, at.line, in[at.line]))]
		for ; at.col < len(line); at.col++ {
			r := line[at.col]
			switch {
			case inside(in[at.line], at.line, at.col):
			case r == '{', r == '[':
				depth++
			case r == '}', r == ']':
				if depth--; depth == 0 {
					return from, mark{at.line, at.col + 1}, last, nil
				}
			}
			if r != ' ' && r != '\t' {
				last = r
			}
		}
	}
	return from, to, 0, errAwkward
}

func (d *Editor) removeLines(path []string) ([]string, error) {
	kept := len(path)
	for kept > 1 && len(d.Get(path[:kept-1]...).Pairs) == 1 {
		kept--
	}
	path = path[:kept]
	r, depth, err := d.find(path)
	if err != nil || r == nil {
		return nil, errAwkward
	}
	if depth < len(path) {
		return d.replace(r, r.value.putAt(path[depth:], &Node{Kind: List})), nil
	}
	_, all := d.comments(r)
	return d.spliced(r.start, r.end, remarks(r.indent, all)), nil
}

func (d *Editor) itemLines(path []string, i int, put []*Node) ([]string, error) {
	r, depth, err := d.find(path)
	if err != nil || r == nil || depth < len(path) {
		return nil, errAwkward
	}
	last := len(r.value.Items) - 1
	item, err := d.itemRegion(r.value, min(i, last), r.limit)
	switch {
	case err != nil:
		return nil, err
	case i > last:
		return d.spliced(item.end, item.end, []string{strings.Repeat(" ", item.indent) + "- " + put[0].inlineItem()}), nil
	case len(put) == 0:
		_, all := d.comments(item)
		return d.spliced(item.start, item.end, remarks(item.indent, all)), nil
	}
	return d.replace(item, put[0]), nil
}

// replace writes a region anew with another value. A comment behind its first
// line stays there; the others go above it.
func (d *Editor) replace(r *region, value *Node) []string {
	line := d.lines[r.start]
	lead := strings.Repeat(" ", r.indent)
	switch {
	case r.dash:
		lead += "- " + value.inlineItem()
	case r.value.Kind != Null && r.value.Pos.Line-1 == r.start:
		lead = string([]rune(line)[:r.value.Pos.Col-1]) + value.inline()
	default:
		lead += scalarText(r.key.Text) + ": " + value.inline()
	}
	return d.spliced(r.start, r.end, d.beneath(r, []string{lead}))
}

// beneath gives new lines of a region with the comments that stood in it.
func (d *Editor) beneath(r *region, lines []string) []string {
	first, all := d.comments(r)
	if first == "" {
		return append(remarks(r.indent, all), lines...)
	}
	old := strings.TrimRight(d.lines[r.start], "\r\n\u0085\u2028\u2029")
	before := strings.TrimSuffix(strings.TrimRight(old, " \t"), first)
	gap := utf8.RuneCountInString(before) - utf8.RuneCountInString(strings.TrimRight(before, " \t"))
	blanks := max(utf8.RuneCountInString(before)-utf8.RuneCountInString(lines[0]), min(gap, 2))
	lines[0] += strings.Repeat(" ", blanks) + first
	return append(remarks(r.indent, all[1:]), lines...)
}

func remarks(indent int, comments []string) []string {
	var out []string
	for _, c := range comments {
		out = append(out, strings.Repeat(" ", indent)+c)
	}
	return out
}

// nested writes keys one below the other, the last with its value.
func nested(indent, depth int, path []string, value *Node) []string {
	lead := strings.Repeat(" ", indent) + scalarText(path[0]) + ":"
	switch {
	case len(path) == 1 && value.Kind == List && value.Items[0].Kind == Mapping && depth < deepest:
		out := []string{lead}
		for _, item := range value.Items {
			out = append(out, strings.Repeat(" ", indent)+"  - "+item.inlineItem())
		}
		return out
	case len(path) == 1:
		return []string{lead + " " + value.inline()}
	case depth >= deepest:
		return []string{lead + " " + (&Node{Kind: Mapping}).putAt(path[1:], value).inline()}
	}
	return append([]string{lead}, nested(indent+2, depth+1, path[1:], value)...)
}

// spliced gives the document's lines with those from start to end replaced.
func (d *Editor) spliced(start, end int, put []string) []string {
	ending := d.ending()
	out := append([]string{}, d.lines[:start]...)
	if start > 0 && !ended(out[start-1]) {
		out[start-1] += ending
	}
	for _, line := range put {
		out = append(out, line+ending)
	}
	return append(out, d.lines[end:]...)
}

// ending is how the document ends its lines.
func (d *Editor) ending() string {
	if len(d.lines) > 0 && strings.HasSuffix(d.lines[0], "\r\n") {
		return "\r\n"
	}
	return "\n"
}

// contentEnd is limit itself unless the text ends in blank lines.
func (d *Editor) contentEnd(limit int) int {
	for limit > 0 && strings.TrimSpace(d.lines[limit-1]) == "" {
		limit--
	}
	return limit
}

func ended(line string) bool {
	return strings.HasSuffix(lineEnds.Replace(line), "\n")
}

// linesWithEnds is splitLines with the line ends left on.
func linesWithEnds(text string) []string {
	var out []string
	start := 0
	for i, r := range text {
		if !strings.ContainsRune("\n\r\u0085\u2028\u2029", r) || r == '\r' && strings.HasPrefix(text[i+1:], "\n") {
			continue
		}
		end := i + utf8.RuneLen(r)
		out = append(out, text[start:end])
		start = end
	}
	if start < len(text) {
		out = append(out, text[start:])
	}
	return out
}
