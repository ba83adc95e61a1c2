package source

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Object reads a mapping key by key and reports the keys that nobody asked
// for. All its methods work on a missing mapping too and then give nothing.
type Object struct {
	Pos      Pos
	node     *Node
	what     string
	problems *Problems
	asked    []string
}

// Object starts reading n as a mapping; what names it in messages ("the pump").
func (n *Node) Object(ps *Problems, what string) *Object {
	if n == nil || n.Kind == Null {
		return &Object{what: what, problems: ps}
	}
	if n.Kind != Mapping {
		ps.Add(n.Pos, WrongForm, "%s must be %s; read %s", what, Want("a mapping (key: value)"), n.describe())
		return &Object{Pos: n.Pos, what: what, problems: ps}
	}
	o := &Object{Pos: n.Pos, node: n, what: what, problems: ps}
	if last := len(ps.spare) - 1; last >= 0 {
		o.asked, ps.spare = ps.spare[last][:0], ps.spare[:last]
	}
	return o
}

// Entries gives the entries of a mapping whose keys are names; what names it in
// messages.
func (n *Node) Entries(ps *Problems, what string) []Pair {
	if o := n.Object(ps, what); o.node != nil {
		return o.node.Pairs
	}
	return nil
}

// Get gives the value of key, or nil when it is missing or empty.
func (o *Object) Get(key string) *Node {
	o.asked = append(o.asked, key)
	if o.node == nil {
		return nil
	}
	for _, p := range o.node.Pairs {
		if p.Key.Text == key && p.Value.Kind != Null {
			return p.Value
		}
	}
	return nil
}

// Need is Get, and reports the key as missing when there is no value.
func (o *Object) Need(key string) *Node {
	n := o.Get(key)
	if n == nil && o.node != nil {
		o.problems.Add(o.Pos, Missing, "%s has no %q", o.what, Want(key))
	}
	return n
}

// Asked lists the keys that were asked for so far.
func (o *Object) Asked() []string { return slices.Clone(o.asked) }

// Close reports every key that was not asked for, with the nearest known one,
// and ends the reading.
func (o *Object) Close() {
	if o.node == nil {
		return
	}
	before := o.problems.Len()
	defer func() {
		if o.problems.Len() == before { // else a hint may still look at them
			o.problems.spare = append(o.problems.spare, o.asked)
		}
		o.node, o.asked = nil, nil
	}()
	for _, p := range o.node.Pairs {
		if !slices.Contains(o.asked, p.Key.Text) {
			o.problems.Add(p.Key.Pos, UnknownKey, "%s has no key %q%s", o.what, Clip(p.Key.Text), Expected(p.Key.Text, o.asked))
		}
	}
}

func (n *Node) describe() string {
	if n.Kind == Scalar {
		return strconv.Quote(Clip(n.Text))
	}
	return n.Kind.String()
}

// String reads a single value; "" when n is nil or something else.
func (n *Node) String(ps *Problems, what string) string {
	if n == nil {
		return ""
	}
	if n.Kind != Scalar {
		ps.Add(n.Pos, WrongForm, "%s must be %s; read %s", what, Want("a single value"), n.describe())
		return ""
	}
	text := strings.TrimSpace(n.Text)
	if text == "" {
		ps.Add(n.Pos, Missing, "%s is empty", what)
	}
	return text
}

// Strings reads a list of single values; one value alone counts as a list.
func (n *Node) Strings(ps *Problems, what string) []string {
	var out []string
	for _, item := range n.Scalars(ps, what) {
		out = append(out, item.Text)
	}
	return out
}

// Scalars is Strings with the places kept.
func (n *Node) Scalars(ps *Problems, what string) []*Node {
	if n == nil || n.Kind == Null {
		return nil
	}
	if n.Kind == Scalar {
		return []*Node{n}
	}
	if n.Kind != List {
		ps.Add(n.Pos, WrongForm, "%s must be %s; read %s", what, Want("a list"), n.describe())
		return nil
	}
	var out []*Node
	for _, item := range n.Items {
		if item.Kind != Scalar || strings.TrimSpace(item.Text) == "" {
			ps.Add(item.Pos, WrongForm, "%s must be %s; read %s", what, Want("single values"), item.describe())
			continue
		}
		out = append(out, item)
	}
	return out
}

// Bool reads true or false; false when n is nil.
func (n *Node) Bool(ps *Problems, what string) bool {
	if n == nil {
		return false
	}
	if n.Kind == Scalar && (n.Text == "true" || n.Text == "false") {
		return n.Text == "true"
	}
	ps.Add(n.Pos, WrongForm, "%s must be %s; read %s", what, Want("true or false"), n.describe())
	return false
}

// Number reads a decimal number from least to most; 0 when n is nil.
func (n *Node) Number(ps *Problems, what string, least, most float64) float64 {
	if n == nil {
		return 0
	}
	if n.Kind == Scalar {
		x, err := strconv.ParseFloat(n.Text, 64)
		if err == nil && !math.IsNaN(x) && x >= least && x <= most {
			return x
		}
	}
	ps.Add(n.Pos, OutOfRange, "%s must be %s; read %s", what, Want(fmt.Sprintf("a number from %g to %g", least, most)), n.describe())
	return least
}

// Word reads a single value that must be one of allowed; "" otherwise.
func (n *Node) Word(ps *Problems, what string, allowed []string) string {
	if n == nil {
		return ""
	}
	if n.Kind == Scalar && slices.Contains(allowed, n.Text) {
		return n.Text
	}
	if n.Kind == Scalar {
		ps.Add(n.Pos, UnknownName, "unknown %s %q%s", what, Clip(n.Text), Expected(n.Text, allowed))
		return ""
	}
	ps.Add(n.Pos, WrongForm, "%s must be %s; read %s", what, Want("a single word"), n.describe())
	return ""
}
