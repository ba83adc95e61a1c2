package source

import (
	"slices"
	"strings"
)

// plainReader reads the YAML that people write by hand: block and flow lists
// and mappings, words, quoted texts of one line, folded and literal texts, in
// ASCII. It gives up, with nil, at the first thing that it does not know for
// sure, also at every mistake; Parse then goes the long way. What it does give
// is what the library gives, place by place (FuzzPlain), in a tenth of the time.
type plainReader struct {
	name   string
	text   string
	limits Limits
	lines  *textLines
	at     int // of the next byte
	line   int // on which it stands, from 1
	start  int // where this line starts
	nodes  int
	depth  int
	slab   []Node // room for nodes, so that not each is allocated alone
	pairs  []Pair // of the mappings that are being read, the innermost last
}

// mostPlainKeys is how many keys of one mapping are compared each with each.
const mostPlainKeys = 200

// parsePlain gives the tree of a text, or nil if it is more than plain.
func parsePlain(name, text string, limits Limits, lines *textLines) *Node {
	for i := range len(text) {
		if c := text[i]; c >= 0x7f || c < ' ' && c != '\n' {
			return nil
		}
	}
	for _, mark := range []string{"---", "..."} {
		if strings.HasPrefix(text, mark) || strings.Contains(text, "\n"+mark) {
			return nil
		}
	}
	p := plainReader{name: name, text: text, limits: limits, lines: lines, line: 1}
	if !p.skip() {
		return nil
	}
	n := p.value(-1, true)
	if n == nil || p.at < len(p.text) || n.Kind == Scalar || n.Kind == Null {
		return nil
	}
	return n
}

// peek is the byte so far ahead, a line end behind the text.
func (p *plainReader) peek(ahead int) byte {
	if p.at+ahead < len(p.text) {
		return p.text[p.at+ahead]
	}
	return '\n'
}

// blank says whether a blank or the end of the line stands so far ahead.
func (p *plainReader) blank(ahead int) bool { c := p.peek(ahead); return c == ' ' || c == '\n' }

// column is that of the next byte, from 0.
func (p *plainReader) column() int { return p.at - p.start }

// skip moves over blanks, line ends and comments; false at the end of the text.
func (p *plainReader) skip() bool {
	for p.at < len(p.text) {
		switch c := p.text[p.at]; {
		case c == ' ':
			p.at++
		case c == '\n':
			p.at++
			p.line, p.start = p.line+1, p.at
		case c == '#' && (p.at == p.start || p.text[p.at-1] == ' '):
			p.at += p.toLineEnd()
		default:
			return true
		}
	}
	return false
}

// toLineEnd is how many bytes are left of the line.
func (p *plainReader) toLineEnd() int {
	if i := strings.IndexByte(p.text[p.at:], '\n'); i >= 0 {
		return i
	}
	return len(p.text) - p.at
}

// node makes a node that stands here, nil past the limits.
func (p *plainReader) node(kind Kind, as style) *Node {
	if p.nodes++; p.nodes > p.limits.Nodes || p.depth > p.limits.Depth {
		return nil
	}
	if len(p.slab) == 0 {
		p.slab = make([]Node, min(256, len(p.text)/16+8))
	}
	n := &p.slab[0]
	p.slab = p.slab[1:]
	*n = Node{Pos: Pos{File: p.name, Line: p.line, Col: p.column() + 1}, Kind: kind, style: as, lines: p.lines}
	return n
}

// value reads a value in a block that is moved in by parent, and goes on to
// what stands behind it. fresh: a mapping or list of the block may begin here.
func (p *plainReader) value(parent int, fresh bool) *Node {
	if fresh && p.peek(0) == '-' && p.blank(1) {
		return p.list(p.column())
	}
	if fresh && p.keyHere() {
		return p.mapping()
	}
	var n *Node
	switch p.peek(0) {
	case '[', '{':
		n = p.flow()
	case '|', '>':
		return p.blockText(parent)
	case '"', '\'':
		n = p.quoted()
	default:
		return p.words(parent, false)
	}
	line := p.line
	if n == nil || p.skip() && p.line == line || !p.endsAbove(parent) {
		return nil
	}
	return n
}

// endsAbove says whether what comes next stands no further in than parent, so
// that a value of that block is at its end.
func (p *plainReader) endsAbove(parent int) bool { return p.at == len(p.text) || p.column() <= parent }

// keyHere says whether a key of a mapping stands here.
func (p *plainReader) keyHere() bool {
	rest := p.text[p.at:][:p.toLineEnd()]
	if rest[0] == '"' || rest[0] == '\'' {
		end := strings.IndexByte(rest[1:], rest[0])
		return end >= 0 && end < longestPlain && (strings.HasPrefix(rest[end+2:], ": ") || rest[end+2:] == ":")
	}
	i := strings.Index(rest, ": ")
	if i < 0 && strings.HasSuffix(rest, ":") {
		i = len(rest) - 1
	}
	return i > 0 && i < longestPlain && wordStart(rest[0]) && !strings.Contains(rest[:i], " #")
}

// wordStart says whether words without quotes may begin with this byte.
func wordStart(c byte) bool {
	return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || strings.IndexByte("._/(~$+", c) >= 0
}

// list reads the items of a list whose dashes stand in this column.
func (p *plainReader) list(column int) *Node {
	n := p.node(List, 0)
	if n == nil {
		return nil
	}
	p.depth++
	defer func() { p.depth-- }()
	for p.at < len(p.text) && p.column() == column && p.peek(0) == '-' && p.blank(1) {
		p.at++
		if !p.skip() || p.column() <= column {
			return nil
		}
		item := p.value(column, true)
		if item == nil {
			return nil
		}
		n.Items = append(n.Items, item)
	}
	if !p.endsAbove(column) {
		return nil
	}
	return n
}

// mapping reads keys that stand one below the other, the first of them here.
func (p *plainReader) mapping() *Node {
	n, column, from := p.node(Mapping, 0), p.column(), len(p.pairs)
	if n == nil {
		return nil
	}
	p.depth++
	defer func() { p.depth-- }()
	for p.at < len(p.text) && p.column() == column {
		if !p.keyHere() {
			return nil
		}
		key := p.key()
		line := p.line
		if key == nil || p.peek(0) != ':' {
			return nil
		}
		p.at++
		if !p.skip() {
			return nil
		}
		var value *Node
		switch {
		case p.line == line:
			value = p.value(column, false)
		case p.column() > column:
			value = p.value(column, true)
		case p.column() == column && p.peek(0) == '-' && p.blank(1):
			value = p.list(column)
		}
		if !p.put(from, key, value) {
			return nil
		}
	}
	if !p.endsAbove(column - 1) {
		return nil
	}
	return p.taken(n, from)
}

// put adds a key to the mapping whose pairs begin at from; false if it or its
// value is missing, or stands there already.
func (p *plainReader) put(from int, key, value *Node) bool {
	if key == nil || value == nil || key.Kind != Scalar || len(p.pairs)-from >= mostPlainKeys {
		return false
	}
	for _, other := range p.pairs[from:] {
		if other.Key.Text == key.Text {
			return false
		}
	}
	p.pairs = append(p.pairs, Pair{Key: key, Value: value})
	return true
}

// taken gives a mapping its pairs, those from this one on.
func (p *plainReader) taken(n *Node, from int) *Node {
	n.Pairs, p.pairs = slices.Clone(p.pairs[from:]), p.pairs[:from]
	return n
}

// key reads a key of a block up to its colon.
func (p *plainReader) key() *Node {
	if c := p.peek(0); c == '"' || c == '\'' {
		return p.quoted()
	}
	rest := p.text[p.at:][:p.toLineEnd()]
	end := strings.Index(rest, ": ")
	if end < 0 {
		end = len(rest) - 1
	}
	n := p.node(Scalar, 0)
	if n != nil {
		n.Text = strings.TrimRight(rest[:end], " ")
	}
	p.at += end
	return n.nulled()
}

// quoted reads a text in quotes, of one line and without escapes.
func (p *plainReader) quoted() *Node {
	quote, as := p.peek(0), inDoubleQuotes
	if quote == '\'' {
		as = inSingleQuotes
	}
	rest := p.text[p.at+1:][:max(p.toLineEnd()-1, 0)]
	end := strings.IndexByte(rest, quote)
	if end < 0 || quote == '"' && strings.IndexByte(rest[:end], '\\') >= 0 || strings.HasPrefix(rest[end+1:], "'") {
		return nil
	}
	n := p.node(Scalar, as)
	if n != nil {
		n.Text = rest[:end]
	}
	p.at += end + 2
	return n
}

// words reads words without quotes, which may go on over several lines, and in
// a block moves on to what stands behind them.
func (p *plainReader) words(parent int, flow bool) *Node {
	if c := p.peek(0); !wordStart(c) && (c != '-' || p.blank(1)) {
		return nil
	}
	n := p.node(Scalar, 0)
	for n != nil {
		end := p.wordsEnd(flow)
		if end < 0 {
			return nil
		}
		n.Text += strings.TrimRight(p.text[p.at:p.at+end], " ")
		p.at += end
		line, more := p.line, p.peek(0) == '\n'
		if flow && !more {
			break
		}
		if !p.skip() && flow {
			return nil
		}
		if !flow && p.endsAbove(parent) || flow && strings.IndexByte(",]}", p.peek(0)) >= 0 {
			break
		}
		if !more || p.line != line+1 {
			return nil
		}
		n.Text += " "
	}
	return n.nulled()
}

// nulled makes a word without quotes null that means it.
func (n *Node) nulled() *Node {
	if n != nil && (n.Text == "~" || n.Text == "null" || n.Text == "Null" || n.Text == "NULL") {
		n.Kind = Null
	}
	return n
}

// wordsEnd is how many bytes of the line belong to words that stand here; less
// than nothing if that cannot be told simply.
func (p *plainReader) wordsEnd(flow bool) int {
	rest := p.text[p.at:][:p.toLineEnd()]
	for i := range len(rest) {
		switch rest[i] {
		case '#':
			if i == 0 {
				return -1
			}
			if rest[i-1] == ' ' {
				return i
			}
		case ':':
			if ends := i+1 == len(rest) || rest[i+1] == ' '; ends && flow {
				return i
			} else if ends || flow {
				return -1
			}
		case ',', ']', '}':
			if flow {
				return i
			}
		case '[', '{', '?':
			if flow {
				return -1
			}
		}
	}
	return len(rest)
}

// blockText reads a folded or literal text.
func (p *plainReader) blockText(parent int) *Node {
	header := p.text[p.at:][:p.toLineEnd()]
	as, join := literal, "\n"
	if header[0] == '>' {
		as, join = folded, " "
	}
	n := p.node(Scalar, as)
	if n == nil || strings.TrimSuffix(header[1:], "-") != "" {
		return nil
	}
	p.at += len(header)
	var lines []string
	indent := -1
	for p.at < len(p.text) {
		p.at++ // over the line end
		p.line, p.start = p.line+1, p.at
		line := p.text[p.at:][:p.toLineEnd()]
		here := len(line) - len(strings.TrimLeft(line, " "))
		if line == "" {
			break
		}
		if indent < 0 {
			indent = here
		}
		if here <= parent {
			break
		}
		if here == len(line) || here < indent || as == folded && here > indent {
			return nil
		}
		lines = append(lines, line[indent:])
		p.at += len(line)
	}
	if len(lines) == 0 || p.at == len(p.text) && !strings.HasSuffix(p.text, "\n") {
		return nil
	}
	if p.skip(); !p.endsAbove(parent) {
		return nil
	}
	n.Text = strings.Join(lines, join)
	if !strings.HasSuffix(header, "-") {
		n.Text += "\n"
	}
	return n
}

// flow reads a list or mapping in brackets or braces.
func (p *plainReader) flow() *Node {
	kind, closing := List, byte(']')
	if p.peek(0) == '{' {
		kind, closing = Mapping, '}'
	}
	n := p.node(kind, inFlow)
	if n == nil {
		return nil
	}
	p.at++
	p.depth++
	defer func() { p.depth-- }()
	from := len(p.pairs)
	for {
		if !p.skip() {
			return nil
		}
		if p.peek(0) == closing {
			p.at++
			return p.taken(n, from)
		}
		if kind == Mapping {
			if key := p.flowValue(); !p.put(from, key, p.flowAfterColon(key)) {
				return nil
			}
		} else if item := p.flowItem(); item != nil {
			n.Items = append(n.Items, item)
		} else {
			return nil
		}
		if !p.skip() {
			return nil
		}
		if c := p.peek(0); c == ',' {
			p.at++
		} else if c != closing {
			return nil
		}
	}
}

// flowItem reads an item of a list in brackets: a value, or a mapping of one key
// without braces.
func (p *plainReader) flowItem() *Node {
	before := *p
	item := p.flowValue()
	if item == nil || !p.skip() || p.peek(0) != ':' {
		return item
	}
	if item.Kind != Scalar {
		return nil
	}
	*p = before
	n := p.node(Mapping, inFlow)
	if n == nil {
		return nil
	}
	p.depth++
	defer func() { p.depth-- }()
	from := len(p.pairs)
	if key := p.flowValue(); !p.put(from, key, p.flowAfterColon(key)) {
		return nil
	}
	return p.taken(n, from)
}

// flowAfterColon reads the value of a key that was just read on this line.
func (p *plainReader) flowAfterColon(key *Node) *Node {
	if key == nil || key.Kind != Scalar || key.Pos.Line != p.line || p.peek(0) != ':' {
		return nil
	}
	p.at++
	if !p.skip() {
		return nil
	}
	return p.flowValue()
}

func (p *plainReader) flowValue() *Node {
	switch p.peek(0) {
	case '[', '{':
		return p.flow()
	case '"', '\'':
		return p.quoted()
	}
	return p.words(0, true)
}
