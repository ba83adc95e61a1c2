package source

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

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
	lines *textLines
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

// textLines is the text of a file and, once they are asked for, its lines.
type textLines struct {
	text  string
	lines [][]rune
	split sync.Once
}

// all gives the lines, broken where YAML does.
func (t *textLines) all() [][]rune {
	t.split.Do(func() {
		for _, line := range splitLines(t.text) {
			t.lines = append(t.lines, []rune(line))
		}
	})
	return t.lines
}

// Pair is one key of a Mapping with its value.
type Pair struct {
	Key   *Node
	Value *Node
}

// Parse reads one YAML document. Mistakes go to ps. When the text cannot be
// read at all Parse returns nil; else it returns the tree even if something in
// it was refused, so that all other mistakes can be found too. An empty
// document gives a Null node.
func Parse(name string, text []byte, limits Limits, ps *Problems) *Node {
	start := Pos{File: name, Line: 1, Col: 1}
	if len(text) > limits.Bytes {
		ps.Add(start, "the file has %d bytes; at most %d are read", len(text), limits.Bytes)
		return nil
	}
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	if bad := firstBadByte(text); bad >= 0 {
		ps.Add(posOf(name, text, bad), "byte 0x%02x is not text; expected UTF-8 text without control characters", text[bad])
		return nil
	}
	lines := &textLines{text: string(text)}
	if plain := parsePlain(name, lines.text, limits, lines); plain != nil {
		return plain
	}
	return parseAny(name, text, limits, lines, ps)
}

// parseAny is Parse for text of any form.
func parseAny(name string, text []byte, limits Limits, lines *textLines, ps *Problems) *Node {
	root, err := decode(text)
	if err != nil {
		ps.Add(syntaxPos(name, text, err), "not valid YAML: %s", plainSyntax(err))
		return nil
	}
	if root == nil {
		return &Node{Pos: Pos{File: name, Line: 1, Col: 1}, Kind: Null}
	}
	c := converter{name: name, limits: limits, problems: ps, lines: lines}
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

func firstBadByte(text []byte) int {
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRune(text[i:])
		if r == utf8.RuneError && size <= 1 {
			return i
		}
		if r < ' ' && r != '\n' && r != '\r' && r != '\t' || r == 0x7f {
			return i
		}
		i += size
	}
	return -1
}

func posOf(name string, text []byte, offset int) Pos {
	head := string(text[:offset])
	line := strings.Count(head, "\n") + 1
	col := utf8.RuneCountInString(head[strings.LastIndexByte(head, '\n')+1:]) + 1
	return Pos{File: name, Line: line, Col: col}
}

var lineNumber = regexp.MustCompile(`line (\d+): ?`)

// syntaxPos finds the place of a syntax error. The library names the line
// where the enclosing block starts; a tab used to indent, the usual slip, is
// looked up exactly.
func syntaxPos(name string, text []byte, err error) Pos {
	lines := splitLines(string(text))
	at := 1
	if m := lineNumber.FindStringSubmatch(err.Error()); m != nil {
		at, _ = strconv.Atoi(m[1])
	}
	for i, line := range lines[:min(at, len(lines))] {
		if !strings.Contains(err.Error(), "cannot start any token") {
			break
		}
		indent := line[:len(line)-len(strings.TrimLeft(line, " \t"))]
		if at := strings.IndexByte(indent, '\t'); at >= 0 && strings.TrimSpace(line) != "" {
			return Pos{File: name, Line: i + 1, Col: at + 1}
		}
	}
	return Pos{File: name, Line: min(max(at, 1), max(len(lines), 1)), Col: 1}
}

func plainSyntax(err error) string {
	text := strings.TrimPrefix(err.Error(), "yaml: ")
	text = lineNumber.ReplaceAllString(text, "")
	return text + " (at or after this line; indent with spaces, put a space after each colon)"
}

// splitLines breaks text where YAML does: at LF, CR, both together, NEL, LS
// and PS.
func splitLines(s string) []string {
	return strings.Split(lineEnds.Replace(s), "\n")
}

var lineEnds = strings.NewReplacer("\r\n", "\n", "\r", "\n", "\u0085", "\n", "\u2028", "\n", "\u2029", "\n")

// converter turns the library's tree into Nodes and refuses what is not plain.
type converter struct {
	name     string
	limits   Limits
	problems *Problems
	lines    *textLines
	nodes    int
	stopped  bool
}

func (c *converter) convert(n *yaml.Node, depth int) *Node {
	c.nodes++
	pos := Pos{File: c.name, Line: n.Line, Col: n.Column}
	out := &Node{Pos: pos, style: style(n.Style), lines: c.lines}
	if c.stopped {
		return out
	}
	if c.nodes > c.limits.Nodes {
		c.stopped = true
		c.problems.Add(pos, "the file has more than %d values", c.limits.Nodes)
		return out
	}
	if depth > c.limits.Depth {
		c.stopped = true
		c.problems.Add(pos, "nested more than %d deep", c.limits.Depth)
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
			c.problems.Add(key.Pos, "a key must be a single word; read %s", key.Kind)
			continue
		}
		if at, twice := first[key.Text]; twice {
			c.problems.Add(key.Pos, "key %q stands twice; it stands first at line %d", key.Text, at.Line)
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
		if unicode.IsControl(r) && r != '\n' && r != '\t' {
			c.problems.Add(pos, "the text holds the control character %U; leave it out", r)
			return
		}
	}
}

// plain refuses what makes a file mean something else than it seems to.
func (c *converter) plain(n *yaml.Node, pos Pos) bool {
	switch {
	case n.Kind == yaml.AliasNode:
		c.problems.Add(pos, "alias *%s is not allowed; write the value out", n.Value)
	case n.Anchor != "":
		c.problems.Add(pos, "anchor &%s is not allowed; write the value out", n.Anchor)
	case n.Style&yaml.TaggedStyle != 0:
		c.problems.Add(pos, "tag %s is not allowed; write the plain value", n.Tag)
	case n.Tag == "!!merge":
		c.problems.Add(pos, "merge key << is not allowed; write the values out")
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
