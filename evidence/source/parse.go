package source

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"

	"gopkg.in/yaml.v3"
)

// Limits bounds what one file may hold.
type Limits struct {
	Bytes int
	Nodes int
	Depth int
}

// CaseLimits and BookLimits are the bounds of a case file and of one file of a
// rulebook.
var (
	CaseLimits = Limits{Bytes: 256 << 10, Nodes: 20_000, Depth: 12}
	BookLimits = Limits{Bytes: 512 << 10, Nodes: 60_000, Depth: 12}
)

// Kind says what a Node is.
type Kind uint8

// The kinds of Node.
const (
	Null Kind = iota
	Scalar
	List
	Mapping
)

func (k Kind) String() string {
	return [...]string{"nothing", "a single value", "a list", "a mapping"}[k]
}

// Node is one value of a file, with its place.
type Node struct {
	Pos   Pos
	Kind  Kind
	style style
	Text  string // of a Scalar, as written, quotes and escapes resolved
	Items []*Node
	Pairs []Pair
	in    *Text
}

// style is how the library says that a value is written, in one byte: a
// rulebook has many values.
type style uint8

const (
	inDoubleQuotes = style(yaml.DoubleQuotedStyle)
	inSingleQuotes = style(yaml.SingleQuotedStyle)
	literal        = style(yaml.LiteralStyle)
	folded         = style(yaml.FoldedStyle)
	inFlow         = style(yaml.FlowStyle)
)

// In is the text in which the node stands.
func (n *Node) In() *Text { return n.in }

// Pair is one key of a Mapping with its value.
type Pair struct {
	Key   *Node
	Value *Node
}

// each gives a node and all that stands in it, the outer before the inner.
func (n *Node) each(do func(*Node)) {
	do(n)
	for _, item := range n.Items {
		item.each(do)
	}
	for _, p := range n.Pairs {
		p.Key.each(do)
		p.Value.each(do)
	}
}

// Parse reads one YAML document. Mistakes go to ps. When the text cannot be
// read at all Parse returns nil; else it returns the tree even if something in
// it was refused, so that all other mistakes can be found too. An empty
// document gives a Null node.
func Parse(name string, text []byte, limits Limits, ps *Problems) *Node {
	return StreamDocument{Line: 1, Text: text}.Parse(name, limits, ps)
}

// Parse is the function Parse for a document of a stream: its places count from
// where the stream starts.
func (d StreamDocument) Parse(name string, limits Limits, ps *Problems) *Node {
	t := &Text{name: name, text: string(bytes.TrimPrefix(d.Text, []byte(byteOrderMark))), above: d.Line - 1}
	if len(d.Text) > limits.Bytes {
		ps.Add(t.start(), TooLarge, "the file has %d bytes; at most %d are read", len(d.Text), limits.Bytes)
		return nil
	}
	ps.In(t)
	if bad := t.badByte(); bad >= 0 {
		read, want := fmt.Sprintf("0x%02x", t.text[bad]), Want("UTF-8 text without control characters")
		ps.Add(t.offset(bad), NotText, "byte %s is not text; expected %s", Read(read), want)
		return nil
	}
	if t.root = parsePlain(t, limits); t.root == nil {
		t.root = parseAny(t, limits, ps)
	}
	return t.root
}

// parseAny is Parse for text of any form.
func parseAny(t *Text, limits Limits, ps *Problems) *Node {
	root, err := decode([]byte(t.text))
	if err != nil {
		ps.Add(t.syntax(err), NotYAML, "not valid YAML: %s", plainSyntax(err))
		return nil
	}
	if root == nil {
		return &Node{Pos: t.start(), Kind: Null, in: t}
	}
	c := converter{limits: limits, problems: ps, in: t}
	node := c.convert(root, 0)
	if c.stopped {
		return nil
	}
	return node
}

// decode turns the library's failures, also a panic, into errors.
func decode(text []byte) (root *yaml.Node, err error) {
	defer func() {
		if r := recover(); r != nil {
			root, err = nil, fmt.Errorf("the YAML reader gave up: %v", r)
		}
	}()
	decoder := yaml.NewDecoder(bytes.NewReader(text))
	var doc yaml.Node
	if err := decoder.Decode(&doc); err != nil {
		if errors.Is(err, io.EOF) {
			return nil, nil
		}
		return nil, err
	}
	var second yaml.Node
	if err := decoder.Decode(&second); !errors.Is(err, io.EOF) {
		if err != nil {
			return nil, err
		}
		return nil, fmt.Errorf("line %d: a second document starts here; one file holds one document", second.Line)
	}
	if len(doc.Content) == 0 {
		return nil, nil
	}
	return doc.Content[0], nil
}

var (
	lineNumber = regexp.MustCompile(`line (\d+): ?`)
	// fromNought are the errors whose lines the library counts from nought.
	fromNought = regexp.MustCompile(`did not find expected (?:<document start>|node content|'-'|key|',' or)`)
)

// syntax finds the place of a syntax error. The library names the line
// where the enclosing block starts; a tab used to indent, the usual slip, is
// looked up exactly.
func (t *Text) syntax(err error) Pos {
	lines := splitLines(t.text)
	at := 1
	if m := lineNumber.FindStringSubmatch(err.Error()); m != nil {
		at, _ = strconv.Atoi(m[1])
		if fromNought.MatchString(err.Error()) {
			at++
		}
	}
	for i, line := range lines {
		if !strings.Contains(err.Error(), "cannot start any token") && (!strings.Contains(err.Error(), "tab character") || i < at-1) {
			continue
		}
		indent := line[:len(line)-len(strings.TrimLeft(line, " \t"))]
		if at := strings.IndexByte(indent, '\t'); at >= 0 && strings.TrimSpace(line) != "" {
			return t.pos(i+1, at+1)
		}
	}
	return t.pos(min(max(at, 1), len(lines)), 1)
}

func plainSyntax(err error) string {
	text := strings.TrimPrefix(err.Error(), "yaml: ")
	text = lineNumber.ReplaceAllString(text, "")
	if len(text) > mostExcerpt { // it holds a word of the file
		text = Clip(text)
	}
	return text + " (at or after this line; indent with spaces, put a space after each colon)"
}

// converter turns the library's tree into Nodes and refuses what is not plain.
type converter struct {
	limits   Limits
	problems *Problems
	in       *Text
	nodes    int
	stopped  bool
}

func (c *converter) convert(n *yaml.Node, depth int) *Node {
	c.nodes++
	pos := c.in.pos(n.Line, n.Column)
	out := &Node{Pos: pos, style: style(n.Style), in: c.in}
	if c.stopped {
		return out
	}
	if c.nodes > c.limits.Nodes {
		c.stopped = true
		c.problems.Add(pos, TooLarge, "the file has more than %d values", c.limits.Nodes)
		return out
	}
	if depth > c.limits.Depth {
		c.stopped = true
		c.problems.Add(pos, TooLarge, "nested more than %d deep", c.limits.Depth)
		return out
	}
	if !c.plain(n, pos) {
		return out
	}
	switch n.Kind {
	case yaml.ScalarNode:
		out.Kind, out.Text = Scalar, n.Value
		c.noControl(n.Value, pos)
		if n.Tag == "!!null" {
			out.Kind = Null
		}
	case yaml.SequenceNode:
		out.Kind = List
		for _, item := range n.Content {
			out.Items = append(out.Items, c.convert(item, depth+1))
		}
	case yaml.MappingNode:
		out.Kind = Mapping
		c.pairs(out, n, depth)
	}
	return out
}

func (c *converter) pairs(out *Node, n *yaml.Node, depth int) {
	first := map[string]Pos{}
	for i := 0; i+1 < len(n.Content) && !c.stopped; i += 2 {
		key := c.convert(n.Content[i], depth+1)
		if key.Kind != Scalar {
			c.problems.Add(key.Pos, WrongForm, "a key must be %s; read %s", Want("a single word"), Read(key.Kind.String()))
			continue
		}
		if at, twice := first[key.Text]; twice {
			c.problems.Add(key.Pos, Twice, "key %q stands twice; it stands first at line %d", Read(Clip(key.Text)), at.Line)
			continue
		}
		first[key.Text] = key.Pos
		out.Pairs = append(out.Pairs, Pair{Key: key, Value: c.convert(n.Content[i+1], depth+1)})
	}
}

// noControl refuses control characters that escapes brought in: a terminal
// might obey them.
func (c *converter) noControl(text string, pos Pos) {
	for _, r := range text {
		if control(r) {
			c.problems.Add(pos, NotText, "the text holds the control character %s; leave it out", Read(fmt.Sprintf("%U", r)))
			return
		}
	}
}

// plain refuses what makes a file mean something else than it seems to.
func (c *converter) plain(n *yaml.Node, pos Pos) bool {
	switch {
	case n.Kind == yaml.AliasNode:
		c.problems.Add(pos, NotPlain, "alias %s is not allowed; write the value out", Read(Clip("*"+n.Value)))
	case n.Anchor != "":
		c.problems.Add(pos, NotPlain, "anchor %s is not allowed; write the value out", Read(Clip("&"+n.Anchor)))
	case n.Style&yaml.TaggedStyle != 0:
		c.problems.Add(pos, NotPlain, "tag %s is not allowed; write the plain value", Read(Clip(n.Tag)))
	case n.Tag == "!!merge":
		c.problems.Add(pos, NotPlain, "merge key %s is not allowed; write the values out", Read("<<"))
	default:
		return true
	}
	return false
}

// ReadBounded reads at most one byte more than the limit allows, so that a
// huge file is refused by Parse without being loaded.
func ReadBounded(r io.Reader, limits Limits) ([]byte, error) {
	return io.ReadAll(io.LimitReader(r, int64(limits.Bytes)+1))
}
