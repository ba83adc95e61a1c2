package record

import (
	"bytes"
	"slices"
	"strings"

	"telltale/evidence/source"
)

// Change is one thing that differs between two texts of a case file.
type Change struct {
	Key      string // "findings: knock"; "" for remarks and layout alone
	Was, Now string // as YAML on one line; "" where there was, or is, nothing
}

// String says it in words: "findings: knock: added: present".
func (c Change) String() string {
	was, now := short(c.Was), short(c.Now)
	switch {
	case c.Key == "":
		return "remarks or blanks only"
	case c.Was == "":
		return c.Key + ": added: " + now
	case c.Now == "":
		return c.Key + ": gone: " + was
	}
	return c.Key + ": was " + was + ", is now " + now
}

// mostShown is how many letters of a value are shown.
const mostShown = 120

func short(text string) string {
	if letters := []rune(text); len(letters) > mostShown {
		return string(letters[:mostShown]) + "..."
	}
	return text
}

// Changes compares two texts of a case file, key by key. A text that cannot be
// read is one with nothing in it.
func Changes(was, now []byte) []Change {
	if bytes.Equal(was, now) {
		return nil
	}
	var out []Change
	compare("", parsed(was), parsed(now), &out)
	if len(out) == 0 {
		out = []Change{{}}
	}
	return out
}

func parsed(text []byte) *source.Node {
	var ps source.Problems
	return source.Parse("", text, source.CaseLimits, &ps)
}

func compare(key string, was, now *source.Node, out *[]Change) {
	before, after := flow(was), flow(now)
	switch {
	case before == after:
	case is(was, source.Mapping) && is(now, source.Mapping), (before == "" || after == "") && !strings.Contains(key, ":") && !is(was, source.List) && !is(now, source.List):
		for _, k := range keys(was, now) {
			compare(strings.TrimPrefix(key+": "+k, ": "), child(was, k), child(now, k), out)
		}
	case (before == "" || is(was, source.List)) && (after == "" || is(now, source.List)):
		compareItems(key, was, now, out)
	default:
		*out = append(*out, Change{Key: key, Was: before, Now: after})
	}
}

func is(n *source.Node, kind source.Kind) bool { return n != nil && n.Kind == kind }

// compareItems tells what stands in one list alone.
func compareItems(key string, was, now *source.Node, out *[]Change) {
	before, after := items(was), items(now)
	for _, item := range without(before, after) {
		*out = append(*out, Change{Key: key, Was: item})
	}
	for _, item := range without(after, before) {
		*out = append(*out, Change{Key: key, Now: item})
	}
}

// without gives a list less the items of another, each as often as it is there.
func without(list, other []string) []string {
	left := slices.Clone(other)
	return slices.DeleteFunc(slices.Clone(list), func(item string) bool {
		i := slices.Index(left, item)
		if i >= 0 {
			left = slices.Delete(left, i, i+1)
		}
		return i >= 0
	})
}

// keys are those of two mappings, in their order.
func keys(nodes ...*source.Node) []string {
	var out []string
	for _, n := range nodes {
		if n == nil {
			continue
		}
		for _, p := range n.Pairs {
			if !slices.Contains(out, p.Key.Text) {
				out = append(out, p.Key.Text)
			}
		}
	}
	return out
}

func child(n *source.Node, key string) *source.Node {
	if n == nil {
		return nil
	}
	for _, p := range n.Pairs {
		if p.Key.Text == key {
			return p.Value
		}
	}
	return nil
}

func items(n *source.Node) []string {
	if n == nil {
		return nil
	}
	var out []string
	for _, item := range n.Items {
		out = append(out, flow(item))
	}
	return out
}

// flow writes a node on one line; "" for nothing.
func flow(n *source.Node) string {
	switch {
	case n == nil:
		return ""
	case n.Kind == source.List:
		return "[" + strings.Join(items(n), ", ") + "]"
	case n.Kind == source.Mapping:
		var pairs []string
		for _, p := range n.Pairs {
			pairs = append(pairs, p.Key.Text+": "+flow(p.Value))
		}
		return "{" + strings.Join(pairs, ", ") + "}"
	}
	return n.Text
}
