package source

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

// Editor is a YAML document that can be changed in place: only the lines of
// what is changed are written anew. Comments, blank lines, order and style of
// the rest stay as they are, and no comment is lost with what it stood beside.
// Every change is read back and compared with what was meant, so an Editor
// always parses.
type Editor struct {
	name  string
	bom   string
	lines []string // with their line ends, up to the end of the document
	tail  []string // those from a line of ... on: nothing but comments
	root  *Node
}

// byteOrderMark may stand at the start of a file from Windows.
const byteOrderMark = "\xef\xbb\xbf"

// NewEditor reads a document within CaseLimits. The error is an
// *InputError.
func NewEditor(name string, text []byte) (*Editor, error) {
	var ps Problems
	root := Parse(name, text, CaseLimits, &ps)
	if err := ps.Err(); err != nil {
		return nil, err
	}
	d := &Editor{name: name, root: root}
	if bytes.HasPrefix(text, []byte(byteOrderMark)) {
		d.bom = byteOrderMark
	}
	d.lines = linesWithEnds(strings.TrimPrefix(string(text), byteOrderMark))
	if end := slices.IndexFunc(d.lines, endsDocument); end >= 0 {
		d.lines, d.tail = d.lines[:end:end], d.lines[end:]
	}
	return d, nil
}

// endsDocument says whether a line ends the document before the text ends.
func endsDocument(line string) bool {
	rest, dots := strings.CutPrefix(line, "...")
	return dots && (rest == "" || strings.TrimSpace(rest[:1]) == "")
}

// Text is the document as it stands.
func (d *Editor) Text() []byte { return d.text(d.lines) }

// text is the whole text with other lines.
func (d *Editor) text(lines []string) []byte {
	return []byte(d.bom + strings.Join(lines, "") + strings.Join(d.tail, ""))
}

// Root is the document's tree as it stands.
func (d *Editor) Root() *Node { return d.root }

// Get gives what stands at a path of keys, nil if nothing does.
func (d *Editor) Get(path ...string) *Node {
	n := d.root
	for _, key := range path {
		n = n.child(key)
		if n == nil {
			return nil
		}
	}
	if n.Kind == Null {
		return nil
	}
	return n
}

func (n *Node) child(key string) *Node {
	for _, p := range n.Pairs {
		if p.Key.Text == key {
			return p.Value
		}
	}
	return nil
}

// Set puts a value at a path of keys, and makes what is missing on the way. An
// empty list or mapping is Remove. The error says that the path leads through
// something that is no mapping, or is the *InputError of a document that
// would be too large or hold what a file must not, or in which a comment has no
// place any more: that names the comment and the line to write by hand.
func (d *Editor) Set(value *Node, path ...string) error {
	if value.empty() {
		return d.Remove(path...)
	}
	return d.change(path, value, func() ([]string, error) { return d.setLines(path, value) })
}

// Add puts a value at the end of the list at path. What is missing becomes a
// list, and so does a single value. Errors as of Set, and for a mapping.
func (d *Editor) Add(value *Node, path ...string) error {
	switch n := d.Get(path...); {
	case n == nil:
		return d.Set(&Node{Kind: List, Items: []*Node{value}}, path...)
	case n.Kind == Scalar:
		return d.Set(&Node{Kind: List, Items: []*Node{n, value}}, path...)
	case n.Kind == List:
		return d.putItem(n, len(n.Items), path, []*Node{value})
	default:
		return fmt.Errorf("%s is %s, not a list", strings.Join(path, ": "), n.Kind)
	}
}

// SetItem replaces item number i (from 0) of the list at path.
func (d *Editor) SetItem(i int, value *Node, path ...string) error {
	return d.changeItem(i, path, []*Node{value})
}

// RemoveItem takes out item number i (from 0) of the list at path; the list
// goes with its last item.
func (d *Editor) RemoveItem(i int, path ...string) error { return d.changeItem(i, path, nil) }

func (d *Editor) changeItem(i int, path []string, put []*Node) error {
	n := d.Get(path...)
	if n == nil || n.Kind != List || i < 0 || i >= len(n.Items) {
		return fmt.Errorf("%s has no item number %d", strings.Join(path, ": "), i)
	}
	return d.putItem(n, i, path, put)
}

// putItem puts something in place of item number i of the list n at path, or
// behind its last item.
func (d *Editor) putItem(n *Node, i int, path []string, put []*Node) error {
	changed := &Node{Kind: List, Items: slices.Concat(n.Items[:i], put, n.Items[min(i+1, len(n.Items)):])}
	if changed.empty() {
		return d.Remove(path...)
	}
	return d.change(path, changed, func() ([]string, error) {
		if n.flow() {
			return d.setLines(path, changed)
		}
		return d.itemLines(path, i, put)
	})
}

// Remove takes out what stands at path, and what is left empty by that. It is
// no error if nothing stands there.
func (d *Editor) Remove(path ...string) error {
	if len(path) == 0 {
		return errors.New("a document cannot be removed")
	}
	n := d.root
	for _, key := range path {
		if n = n.child(key); n == nil {
			return nil
		}
	}
	return d.change(path, &Node{Kind: List}, func() ([]string, error) { return d.removeLines(path) })
}

// change makes the wanted tree and tries the new lines; if these do not hold just
// that tree and every comment, it changes the text inside the braces alone, and at
// last writes the whole document anew. A document that holds it already stays as it
// is written.
func (d *Editor) change(path []string, value *Node, splice func() ([]string, error)) error {
	if err := d.passable(path); err != nil {
		return err
	}
	want := d.root.putAt(path, value)
	if want.empty() {
		want = &Node{}
	}
	if !want.valid() {
		return errors.New("the text to be written is not UTF-8")
	}
	if want.same(d.root) {
		return nil
	}
	for _, lay := range []func() ([]string, error){splice, func() ([]string, error) { return d.braceLines(path, value) }} {
		lines, err := lay()
		if err != nil {
			continue
		}
		if next, err := NewEditor(d.name, d.text(lines)); err == nil && next.root.same(want) && d.lost(next) == nil {
			*d = *next
			return nil
		}
	}
	next, err := NewEditor(d.name, d.rewritten(want))
	if err != nil {
		return err
	}
	if !next.root.same(want) {
		return fmt.Errorf("%s cannot be changed here by telltale; write it by hand", strings.Join(path, ": "))
	}
	if c := d.lost(next); c != nil {
		return d.keepsNot(c, path, value)
	}
	*d = *next
	return nil
}

// keepsNot refuses a change that would lose a comment, with what to write by hand.
func (d *Editor) keepsNot(c *comment, path []string, value *Node) error {
	byHand := "take out " + strings.Join(path, ": ")
	if !value.empty() {
		byHand = "write it by hand: " + unbraced(path, value)
	}
	var ps Problems
	ps.In(d.root.in)
	ps.Add(d.root.in.pos(c.line+1, c.col+1), DoesNotFit, "the comment %s would be lost by this change, so nothing is changed; %s", Read(Clip(c.text)), byHand)
	return ps.Err()
}

// passable wants mappings, or nothing, all along the path.
func (d *Editor) passable(path []string) error {
	if len(path) == 0 {
		return errors.New("a change needs a key")
	}
	n := d.root
	for i := range path {
		if n.Kind != Mapping && n.Kind != Null {
			return fmt.Errorf("%s is %s, not a mapping", strings.Join(path[:i], ": "), n.Kind)
		}
		if n = n.child(path[i]); n == nil {
			return nil
		}
	}
	return nil
}

func (n *Node) valid() bool {
	valid := true
	n.each(func(n *Node) { valid = valid && utf8.ValidString(n.Text) })
	return valid
}
