package source

import (
	"bytes"
	"strings"

	"gopkg.in/yaml.v3"
)

// rewritten lets the library write the whole document: comments stay, blank
// lines and alignment do not. On a failure of the library it gives nil, which
// holds no document.
func (d *Editor) rewritten(want *Node) (text []byte) {
	defer func() {
		if recover() != nil {
			text = nil
		}
	}()
	var doc yaml.Node
	if err := yaml.Unmarshal([]byte(strings.Join(d.lines, "")), &doc); err != nil {
		return nil
	}
	if doc.Kind != yaml.DocumentNode {
		doc = yaml.Node{Kind: yaml.DocumentNode, Content: []*yaml.Node{{Kind: yaml.MappingNode}}}
	}
	doc.Content[0] = remade(doc.Content[0], want)
	var out bytes.Buffer
	e := yaml.NewEncoder(&out)
	e.SetIndent(2)
	if e.Encode(&doc) != nil || e.Close() != nil {
		return nil
	}
	text = out.Bytes()
	if d.ending() == "\r\n" {
		text = bytes.ReplaceAll(text, []byte("\n"), []byte("\r\n"))
	}
	return d.text([]string{string(text)})
}

// remade gives a node that holds want, and keeps of old what it can.
func remade(old *yaml.Node, want *Node) *yaml.Node {
	out := yaml.Node{}
	if old != nil {
		out.HeadComment, out.LineComment, out.FootComment = old.HeadComment, old.LineComment, old.FootComment
	}
	switch want.Kind {
	case Null:
		out.Kind, out.Tag, out.Value = yaml.ScalarNode, "!!null", "~"
	case Scalar:
		if old != nil && old.Kind == yaml.ScalarNode && old.Value == want.Text && old.Tag != "!!null" {
			return old
		}
		out.Kind, out.Value = yaml.ScalarNode, want.Text
		tag, plain := plainTag(want.Text)
		out.Tag = tag
		if !plain {
			out.Tag, out.Style = "!!str", yaml.DoubleQuotedStyle
		}
	case List:
		out.Kind, out.Tag, out.Style = yaml.SequenceNode, "!!seq", yaml.FlowStyle
		if old != nil && old.Kind == yaml.SequenceNode {
			out.Style = old.Style
		}
		for i, item := range want.Items {
			out.Content = append(out.Content, remade(itemOf(old, i), item))
		}
	case Mapping:
		out.Kind, out.Tag = yaml.MappingNode, "!!map"
		if old != nil && old.Kind == yaml.MappingNode {
			out.Style = old.Style
		}
		for _, p := range want.Pairs {
			key, value := pairOf(old, p.Key.Text)
			out.Content = append(out.Content, remade(key, p.Key), remade(value, p.Value))
		}
	}
	return &out
}

func itemOf(n *yaml.Node, i int) *yaml.Node {
	if n == nil || n.Kind != yaml.SequenceNode || i >= len(n.Content) {
		return nil
	}
	return n.Content[i]
}

func pairOf(n *yaml.Node, key string) (k, v *yaml.Node) {
	if n == nil || n.Kind != yaml.MappingNode {
		return nil, nil
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value == key {
			return n.Content[i], n.Content[i+1]
		}
	}
	return nil, nil
}
