package source

import (
	"slices"
	"strings"
)

// plainReader reads the YAML that people write by hand: block and flow lists
// and mappings, words, quoted texts of one line, folded and literal texts, in
// ASCII. It gives up at the first thing that it does not know for sure, also at
// every mistake; Parse then goes the long way. What it does give is what the
// library gives, place by place (FuzzPlain), in a tenth of the time.
type plainReader struct {
	in     *Text
	text   string
	limits Limits
	at     int // of the next byte
	line   int // on which it stands, from 1
	start  int // where this line starts
	end    int // and where it ends
	nodes  int
	depth  int
	slab   []Node // room for nodes, so that not each is allocated alone
	pairs  []Pair // of the mappings that are being read, the innermost last
}

// mostPlainKeys is how many keys of one mapping are compared each with each.
const mostPlainKeys = 200

// gaveUp is the panic with which a plainReader stops.
type gaveUp struct{}

// need gives up unless what was read is plain.
func need(plain bool) {
	if !plain {
		panic(gaveUp{})
	}
}

// parsePlain gives the tree of a text, or nil if it is more than plain.
func parsePlain(t *Text, limits Limits) (root *Node) {
	text := t.text
	for i := range len(text) {
		if c := text[i]; c >= 0x7f || c < ' ' && c != '\n' {
			return nil
		}
	}
	defer func() {
		if r := recover(); r != nil {
			if _, ok := r.(gaveUp); !ok {
				panic(r)
			}
			root = nil
		}
	}()
	p := plainReader{in: t, text: text, limits: limits, line: 1}
	p.findEnd()
	need(p.skip())
	root = p.value(-1, true)
	need(p.at == len(p.text) && root.Kind != Scalar && root.Kind != Null)
	return root
}

// findEnd finds where the line ends that starts here. Lines that part documents
// are not plain.
func (p *plainReader) findEnd() {
	rest := p.text[p.at:]
	p.start, p.end = p.at, len(p.text)
	if i := strings.IndexByte(rest, '\n'); i >= 0 {
		p.end = p.at + i
	}
	need(!strings.HasPrefix(rest, "---") && !strings.HasPrefix(rest, "..."))
}

// nextLine goes over a line end.
func (p *plainReader) nextLine() {
	p.at = p.end + 1
	p.line++
	p.findEnd()
}

// peek is the byte so far ahead, a line end behind the text.
func (p *plainReader) peek(ahead int) byte {
	if p.at+ahead < len(p.text) {
		return p.text[p.at+ahead]
	}
	return '\n'
}

// dash says whether an item of a list begins here.
func (p *plainReader) dash() bool { return p.peek(0) == '-' && (p.peek(1) == ' ' || p.peek(1) == '\n') }

// rest is what is left of the line.
func (p *plainReader) rest() string { return p.text[p.at:p.end] }

// column is that of the next byte, from 0.
func (p *plainReader) column() int { return p.at - p.start }

// skip moves over blanks, line ends and comments; false at the end of the text.
func (p *plainReader) skip() bool {
	for p.at < len(p.text) {
		switch c := p.text[p.at]; {
		case c == ' ':
			p.at++
		case c == '\n':
			p.nextLine()
		case c == '#' && (p.at == p.start || p.text[p.at-1] == ' '):
			p.at = p.end
		default:
			return true
		}
	}
	return false
}

// node makes a node that stands here.
func (p *plainReader) node(kind Kind, as style) *Node {
	p.nodes++
	need(p.nodes <= p.limits.Nodes && p.depth <= p.limits.Depth)
	if len(p.slab) == 0 {
		p.slab = make([]Node, min(256, len(p.text)/16+8))
	}
	n := &p.slab[0]
	p.slab = p.slab[1:]
	*n = Node{Pos: p.in.pos(p.line, p.column()+1), Kind: kind, style: as, in: p.in}
	return n
}

// value reads a value in a block that is moved in by parent, and goes on to
// what stands behind it. fresh: a mapping or list of the block may begin here.
func (p *plainReader) value(parent int, fresh bool) (n *Node) {
	if fresh && p.dash() {
		return p.list(p.column())
	}
	if fresh && p.colon() > 0 {
		return p.mapping()
	}
	switch p.peek(0) {
	case '[', '{':
		n = p.flow()
	case '|', '>':
		return p.blockText(parent)
	case '"', '\'':
		n = p.quoted()
	default:
		return p.words(parent)
	}
	line := p.line
	need(!p.skip() || p.line > line)
	p.endsAbove(parent)
	return n
}

// endsAbove wants that what comes next stands no further in than parent, so
// that a value of that block is at its end.
func (p *plainReader) endsAbove(parent int) { need(p.at == len(p.text) || p.column() <= parent) }

// colon is how far away the colon behind a key that stands here is; nothing if
// none stands here.
func (p *plainReader) colon() int {
	rest := p.rest()
	i := 0
	switch c := rest[0]; {
	case c == '"' || c == '\'':
		i = strings.IndexByte(rest[1:], c) + 2
	case !wordStart(c):
		return 0
	}
	for ; i < min(len(rest), longestPlain); i++ {
		switch {
		case rest[i] == ':' && (i+1 == len(rest) || rest[i+1] == ' '):
			return i
		case rest[i] == '#' && rest[i-1] == ' ', !wordStart(rest[0]):
			return 0
		}
	}
	return 0
}

// wordStart says whether words without quotes may begin with this byte.
func wordStart(c byte) bool {
	return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || strings.IndexByte("._/(~$+", c) >= 0
}

// list reads the items of a list whose dashes stand in this column.
func (p *plainReader) list(column int) *Node {
	n := p.node(List, 0)
	p.depth++
	for p.at < len(p.text) && p.column() == column && p.dash() {
		p.at++
		need(p.skip() && p.column() > column)
		n.Items = append(n.Items, p.value(column, true))
	}
	p.depth--
	p.endsAbove(column)
	return n
}

// mapping reads keys that stand one below the other, the first of them here.
func (p *plainReader) mapping() *Node {
	n, column, from := p.node(Mapping, 0), p.column(), len(p.pairs)
	p.depth++
	for p.at < len(p.text) && p.column() == column {
		key, line := p.key(), p.line
		p.at++
		need(p.skip())
		switch {
		case p.line == line:
			p.put(from, key, p.value(column, false))
		case p.column() == column && p.dash():
			p.put(from, key, p.list(column))
		default:
			need(p.column() > column)
			p.put(from, key, p.value(column, true))
		}
	}
	p.depth--
	p.endsAbove(column - 1)
	return p.taken(n, from)
}

// key reads a key of a block up to its colon.
func (p *plainReader) key() *Node {
	colon := p.colon()
	need(colon > 0)
	if c := p.peek(0); c == '"' || c == '\'' {
		return p.quoted()
	}
	n := p.node(Scalar, 0)
	n.Text = strings.TrimRight(p.rest()[:colon], " ")
	p.at += colon
	return n.nulled()
}

// put adds a key to the mapping whose pairs begin at from.
func (p *plainReader) put(from int, key, value *Node) {
	need(key.Kind == Scalar && len(p.pairs)-from < mostPlainKeys)
	for _, other := range p.pairs[from:] {
		need(other.Key.Text != key.Text)
	}
	p.pairs = append(p.pairs, Pair{Key: key, Value: value})
}

// taken gives a mapping its pairs, those from this one on.
func (p *plainReader) taken(n *Node, from int) *Node {
	n.Pairs, p.pairs = slices.Clone(p.pairs[from:]), p.pairs[:from]
	return n
}

// quoted reads a text in quotes, of one line and without escapes.
func (p *plainReader) quoted() *Node {
	quote, as := p.peek(0), inDoubleQuotes
	if quote == '\'' {
		as = inSingleQuotes
	}
	rest := p.rest()[1:]
	end := strings.IndexByte(rest, quote)
	need(end >= 0 && !strings.HasPrefix(rest[end+1:], "'") && (quote == '\'' || strings.IndexByte(rest[:end], '\\') < 0))
	n := p.node(Scalar, as)
	n.Text = rest[:end]
	p.at += end + 2
	return n
}

// nulled makes a word without quotes null that means it.
func (n *Node) nulled() *Node {
	switch n.Text {
	case "~", "null", "Null", "NULL":
		n.Kind = Null
	}
	return n
}

// begins makes the node of words without quotes that begin here.
func (p *plainReader) begins() *Node {
	need(wordStart(p.peek(0)) || p.peek(0) == '-' && !p.dash())
	return p.node(Scalar, 0)
}

// words reads words without quotes in a block; they may go on over several
// lines that stand further in than parent.
func (p *plainReader) words(parent int) *Node {
	n := p.begins()
	for {
		rest, _, comment := strings.Cut(p.rest(), " #")
		need(!strings.Contains(rest, ": ") && !strings.HasSuffix(rest, ":"))
		n.Text += strings.TrimRight(rest, " ")
		line := p.line
		p.at = p.end
		if !p.skip() || p.column() <= parent {
			return n.nulled()
		}
		need(!comment && p.line == line+1)
		n.Text += " "
	}
}

// blockText reads a folded or literal text.
func (p *plainReader) blockText(parent int) *Node {
	header := p.rest()
	as, join := literal, "\n"
	if header[0] == '>' {
		as, join = folded, " "
	}
	need(header[1:] == "" || header[1:] == "-")
	n := p.node(Scalar, as)
	var lines []string
	indent, blank := 0, false
	for p.end < len(p.text) {
		p.nextLine()
		line := p.rest()
		here := len(line) - len(strings.TrimLeft(line, " "))
		if blank = blank || line == ""; line == "" {
			continue
		}
		if here <= parent && here < len(line) {
			break
		}
		if len(lines) == 0 {
			indent = here
		}
		need(!blank && here < len(line) && here >= indent && (as == literal || here == indent))
		lines = append(lines, line[indent:])
	}
	need(len(lines) > 0 && (p.end < len(p.text) || p.rest() == ""))
	p.skip()
	p.endsAbove(parent)
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
	n, from := p.node(kind, inFlow), len(p.pairs)
	p.depth++
	for {
		p.at++
		need(p.skip())
		if p.peek(0) == closing {
			break
		}
		if kind == Mapping {
			p.flowPair(from)
		} else {
			n.Items = append(n.Items, p.flowItem())
		}
		need(p.skip())
		if p.peek(0) == closing {
			break
		}
		need(p.peek(0) == ',')
	}
	p.at++
	p.depth--
	return p.taken(n, from)
}

// flowItem reads an item of a list in brackets: a value, or a mapping of one key
// without braces.
func (p *plainReader) flowItem() *Node {
	before := *p
	item := p.flowValue()
	if !p.skip() || p.peek(0) != ':' {
		return item
	}
	need(item.Kind == Scalar)
	*p = before
	n, from := p.node(Mapping, inFlow), len(p.pairs)
	p.depth++
	p.flowPair(from)
	p.depth--
	return p.taken(n, from)
}

// flowPair reads a key with its value.
func (p *plainReader) flowPair(from int) {
	line, start := p.line, p.at
	key := p.flowValue()
	need(p.line == line && p.at < start+longestPlain && p.peek(0) == ':')
	p.at++
	need(p.skip())
	p.put(from, key, p.flowValue())
}

func (p *plainReader) flowValue() *Node {
	switch p.peek(0) {
	case '[', '{':
		return p.flow()
	case '"', '\'':
		return p.quoted()
	}
	n := p.begins()
	for {
		rest := p.rest()
		end := strings.IndexAny(rest, ",]}[{?:#")
		if end < 0 {
			end = len(rest)
		}
		n.Text += strings.TrimRight(rest[:end], " ")
		p.at += end
		switch p.peek(0) {
		case ',', ']', '}':
			return n.nulled()
		case ':':
			need(p.peek(1) == ' ' || p.peek(1) == '\n')
			return n.nulled()
		}
		line := p.line
		need(p.peek(0) == '\n' && p.skip() && p.line == line+1)
		if strings.IndexByte(",]}", p.peek(0)) >= 0 {
			return n.nulled()
		}
		n.Text += " "
	}
}
