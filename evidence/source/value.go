package source

import (
	"slices"
	"strconv"
	"strings"
	"unicode"

	"gopkg.in/yaml.v3"
)

// Value is something to write into an Editor, or what stands there.
type Value struct {
	kind  Kind
	text  string
	items []Value
	pairs []Field
}

// Field is one key of a mapping to write, with its value.
type Field struct {
	Key   string
	Value Value
}

// Word is a single value; it is quoted where it would be read as something
// else.
func Word(text string) Value { return Value{kind: Scalar, text: text} }

// Words is a list of single values.
func Words(texts ...string) Value {
	out := Value{kind: List}
	for _, t := range texts {
		out.items = append(out.items, Word(t))
	}
	return out
}

// Fields is a mapping, in this order. No key may stand twice.
func Fields(fields ...Field) Value { return Value{kind: Mapping, pairs: fields} }

// valueOf gives what a node holds, without its place and look.
func valueOf(n *Node) Value {
	v := Value{kind: n.Kind, text: n.Text}
	for _, item := range n.Items {
		v.items = append(v.items, valueOf(item))
	}
	for _, p := range n.Pairs {
		v.pairs = append(v.pairs, Field{p.Key.Text, valueOf(p.Value)})
	}
	return v
}

func (v Value) equal(w Value) bool {
	return v.kind == w.kind && (v.kind != Scalar || v.text == w.text) &&
		slices.EqualFunc(v.items, w.items, Value.equal) &&
		slices.EqualFunc(v.pairs, w.pairs, func(a, b Field) bool { return a.Key == b.Key && a.Value.equal(b.Value) })
}

// empty says whether nothing is left of a list or mapping.
func (v Value) empty() bool {
	return len(v.items)+len(v.pairs) == 0 && (v.kind == List || v.kind == Mapping)
}

func (v Value) get(key string) (Value, bool) {
	for _, p := range v.pairs {
		if p.Key == key {
			return p.Value, true
		}
	}
	return Value{}, false
}

// with gives the mapping with key set to a value; what has nothing in it any
// more is taken out.
func (v Value) with(key string, value Value) Value {
	out := Value{kind: Mapping}
	done := false
	for _, p := range v.pairs {
		if p.Key == key {
			p.Value, done = value, true
			if value.empty() {
				continue
			}
		}
		out.pairs = append(out.pairs, p)
	}
	if !done && !value.empty() {
		out.pairs = append(out.pairs, Field{key, value})
	}
	return out
}

// at gives the tree with the value at path replaced by change of what stands
// there (a Null Value if nothing does). A mapping or list that change leaves
// empty is taken out, and so is what held it alone.
func (v Value) at(path []string, change func(Value) Value) Value {
	if len(path) == 0 {
		return change(v)
	}
	inner, _ := v.get(path[0])
	return v.with(path[0], inner.at(path[1:], change))
}

// inline writes the value on one line.
func (v Value) inline() string {
	var parts []string
	switch v.kind {
	case Null:
		return "~"
	case Scalar:
		return scalarText(v.text)
	case List:
		for _, item := range v.items {
			parts = append(parts, item.inlineItem())
		}
		return "[" + strings.Join(parts, ", ") + "]"
	}
	for _, p := range v.pairs {
		parts = append(parts, scalarText(p.Key)+": "+p.Value.inline())
	}
	return "{" + strings.Join(parts, ", ") + "}"
}

// inlineItem writes an item of a list: a mapping with one key needs no braces.
func (v Value) inlineItem() string {
	if v.kind == Mapping && len(v.pairs) == 1 {
		return scalarText(v.pairs[0].Key) + ": " + v.pairs[0].Value.inline()
	}
	return v.inline()
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
