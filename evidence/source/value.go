package source

import (
	"slices"
	"strconv"
	"strings"
	"unicode"

	"gopkg.in/yaml.v3"
)

// What is written into an Editor is a Node too: one without a place.

// Field is one key of a mapping to write, with its value.
type Field struct {
	Key   string
	Value *Node
}

// Word is a single value; it is quoted where it would be read as something
// else.
func Word(text string) *Node { return &Node{Kind: Scalar, Text: text} }

// Words is a list of single values.
func Words(texts ...string) *Node {
	out := &Node{Kind: List}
	for _, t := range texts {
		out.Items = append(out.Items, Word(t))
	}
	return out
}

// Fields is a mapping, in this order. No key may stand twice.
func Fields(fields ...Field) *Node {
	out := &Node{Kind: Mapping}
	for _, f := range fields {
		out.Pairs = append(out.Pairs, Pair{Word(f.Key), f.Value})
	}
	return out
}

// same says whether two nodes hold the same, wherever they stand and however
// they are written.
func (n *Node) same(m *Node) bool {
	return n.Kind == m.Kind && (n.Kind != Scalar || n.Text == m.Text) &&
		slices.EqualFunc(n.Items, m.Items, (*Node).same) &&
		slices.EqualFunc(n.Pairs, m.Pairs, func(a, b Pair) bool { return a.Key.Text == b.Key.Text && a.Value.same(b.Value) })
}

// empty says whether nothing is left of a list or mapping.
func (n *Node) empty() bool {
	return len(n.Items)+len(n.Pairs) == 0 && (n.Kind == List || n.Kind == Mapping)
}

// with gives a mapping that has key set to a value; what has nothing in it any
// more is left out.
func (n *Node) with(key string, value *Node) *Node {
	out, done := &Node{Kind: Mapping}, false
	for _, p := range n.Pairs {
		if p.Key.Text == key {
			p.Value, done = value, true
			if value.empty() {
				continue
			}
		}
		out.Pairs = append(out.Pairs, p)
	}
	if !done && !value.empty() {
		out.Pairs = append(out.Pairs, Pair{Word(key), value})
	}
	return out
}

// putAt gives the tree with a value at path. A mapping that is left empty by that
// is taken out, and so is what held it alone.
func (n *Node) putAt(path []string, value *Node) *Node {
	if len(path) == 0 {
		return value
	}
	inner := n.child(path[0])
	if inner == nil {
		inner = &Node{}
	}
	return n.with(path[0], inner.putAt(path[1:], value))
}

// inline writes the value on one line.
func (n *Node) inline() string {
	var parts []string
	switch n.Kind {
	case Null:
		return "~"
	case Scalar:
		return scalarText(n.Text)
	case List:
		for _, item := range n.Items {
			parts = append(parts, item.inlineItem())
		}
		return "[" + strings.Join(parts, ", ") + "]"
	}
	for _, p := range n.Pairs {
		parts = append(parts, scalarText(p.Key.Text)+": "+p.Value.inline())
	}
	return "{" + strings.Join(parts, ", ") + "}"
}

// inlineItem writes an item of a list: a mapping with one key needs no braces.
func (n *Node) inlineItem() string {
	if n.Kind == Mapping && len(n.Pairs) == 1 {
		return scalarText(n.Pairs[0].Key.Text) + ": " + n.Pairs[0].Value.inline()
	}
	return n.inline()
}

// scalarText writes a single value plainly if it is then read back as it is
// everywhere in a file, else in double quotes.
func scalarText(text string) string {
	if _, plain := plainTag(text); plain {
		return text
	}
	return strconv.Quote(text)
}

// longestPlain bounds what is tried without quotes.
const longestPlain = 1000

// plainTag says whether text can be written without quotes as a value and as
// a key, in block and in flow style, and which tag it then has.
func plainTag(text string) (tag string, plain bool) {
	if text == "" || len(text) > longestPlain || strings.TrimSpace(text) != text || strings.ContainsFunc(text, awkward) {
		return "", false
	}
	block, err := decode([]byte("k: " + text + "\n" + text + ": x\n"))
	if err != nil || !reads(block, "k", text, text, "x") {
		return "", false
	}
	flow, err := decode([]byte("l: {k: " + text + ", " + text + ": x}\nm: [" + text + ", " + text + "]\n"))
	if err != nil || len(flow.Content) != 4 || !reads(flow.Content[1], "k", text, text, "x") || !reads(flow.Content[3], text, text) {
		return "", false
	}
	return block.Content[1].Tag, true
}

func awkward(r rune) bool { return r != ' ' && !unicode.IsGraphic(r) || r == '\u00a0' || r == '\u3000' }

// reads says whether the children of n are just these plain single values.
func reads(n *yaml.Node, want ...string) bool {
	if len(n.Content) != len(want) {
		return false
	}
	for i, c := range n.Content {
		if c.Kind != yaml.ScalarNode || c.Value != want[i] || c.Style != 0 || c.Tag == "!!null" || c.Tag == "!!merge" ||
			c.Anchor != "" || c.HeadComment+c.LineComment+c.FootComment != "" {
			return false
		}
	}
	return true
}
