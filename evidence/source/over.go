package source

import "slices"

// Over gives what n says laid over what under says: key by key where both are
// mappings, else what n says. What n leaves empty it does not say. The places stay
// those of the files in which the values stand; neither node is changed.
func (n *Node) Over(under *Node) *Node {
	switch {
	case n == nil || n.Kind == Null:
		if under == nil {
			return n
		}
		return under
	case under == nil || n.Kind != Mapping || under.Kind != Mapping:
		return n
	}
	out := *n
	out.Pairs = slices.Clone(n.Pairs)
	for _, below := range under.Pairs {
		i := slices.IndexFunc(out.Pairs, func(p Pair) bool { return p.Key.Text == below.Key.Text })
		if i < 0 {
			out.Pairs = append(out.Pairs, below)
			continue
		}
		out.Pairs[i].Value = out.Pairs[i].Value.Over(below.Value)
	}
	return &out
}

// Value gives the value of a key of a mapping; nil if there is none, or it is
// empty.
func (n *Node) Value(key string) *Node {
	if n == nil {
		return nil
	}
	if v := n.child(key); v != nil && v.Kind != Null {
		return v
	}
	return nil
}

// With gives a mapping with the value of one key put in its place, or at the end.
// The node is not changed.
func (n *Node) With(key string, value *Node) *Node {
	out := *n
	out.Pairs = slices.Clone(n.Pairs)
	for i, p := range out.Pairs {
		if p.Key.Text == key {
			out.Pairs[i].Value = value
			return &out
		}
	}
	out.Pairs = append(out.Pairs, Pair{Key: &Node{Pos: value.Pos, Kind: Scalar, Text: key, in: value.in}, Value: value})
	return &out
}
