package source

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func document(t require.TestingT, text string) *Editor {
	d, err := NewEditor("t.yaml", []byte(text))
	require.NoError(t, err, text)
	return d
}

func TestAChangeTouchesItsOwnLinesOnly(t *testing.T) {
	text := `# A case, written by hand.

pump:
  name:    Pump 2                 # free text
  action: triplex-single-acting

  state: running
findings:     # what was seen
  # by Joe
  wiper-leaks: {again: [2], 'absent': [1, 3]}   # twice
  rod-worn:
    2: underside   # bad
    absent: others

confirmed:
  - clamp: 2    # saw it
  # nothing else
# end
`
	for name, c := range map[string]struct {
		do       func(*Editor) error
		old, new string // a piece of the text, and what becomes of it
	}{
		"replace a word": {func(d *Editor) error { return d.Set(Word("stopped"), "pump", "state") }, "state: running", "state: stopped"},
		"keep alignment": {func(d *Editor) error { return d.Set(Word("P3"), "pump", "name") }, "Pump 2                 # free", "P3                     # free"},
		"grow into a comment": {func(d *Editor) error { return d.Set(Word("The old pump beside the shed"), "pump", "name") },
			"Pump 2                 # free", "The old pump beside the shed  # free"},
		"new key": {func(d *Editor) error { return d.Set(Word("reverse"), "pump", "rotation") },
			"  state: running\n", "  state: running\n  rotation: reverse\n"},
		"inside braces": {func(d *Editor) error { return d.Set(Words("1"), "findings", "wiper-leaks", "absent") },
			"{again: [2], 'absent': [1, 3]}   # twice", "{again: [2], absent: [1]}        # twice"},
		"inside a block": {func(d *Editor) error { return d.Set(Word("top"), "findings", "rod-worn", "3") },
			"    absent: others\n", "    absent: others\n    3: top\n"},
		"a block for a word": {func(d *Editor) error { return d.Set(Word("absent"), "findings", "rod-worn") },
			"  rod-worn:\n    2: underside   # bad\n    absent: others\n", "  # bad\n  rod-worn: absent\n"},
		"remove a block": {func(d *Editor) error { return d.Remove("findings", "rod-worn") },
			"  rod-worn:\n    2: underside   # bad\n    absent: others\n", "  # bad\n"},
		"remove in braces": {func(d *Editor) error { return d.Remove("findings", "wiper-leaks", "absent") },
			"{again: [2], 'absent': [1, 3]}   # twice", "{again: [2]}                     # twice"},
		"add to a block list": {func(d *Editor) error { return d.Add(Fields(Field{"bent", Word("3")}), "confirmed") },
			"  - clamp: 2    # saw it\n", "  - clamp: 2    # saw it\n  - bent: 3\n"},
		"change an item": {func(d *Editor) error { return d.SetItem(0, Fields(Field{"clamp", Words("2", "3")}), "confirmed") },
			"- clamp: 2    # saw it", "- clamp: [2, 3]  # saw it"},
		"last item": {func(d *Editor) error { return d.RemoveItem(0, "confirmed") },
			"confirmed:\n  - clamp: 2    # saw it\n", "# saw it\n"},
		"add to nothing": {func(d *Editor) error { return d.Add(Word("x"), "recent") },
			"  - clamp: 2    # saw it\n", "  - clamp: 2    # saw it\nrecent: [x]\n"},
		"deep": {func(d *Editor) error { return d.Set(Word("141 thou"), "measured", "rod", "2", "back", "top") },
			"  - clamp: 2    # saw it\n", "  - clamp: 2    # saw it\nmeasured:\n  rod:\n    2:\n      back: {top: 141 thou}\n"},
	} {
		t.Run(name, func(t *testing.T) {
			d := document(t, text)
			require.NoError(t, c.do(d))
			require.Equal(t, 1, strings.Count(text, c.old))
			assert.Equal(t, strings.Replace(text, c.old, c.new, 1), string(d.Text()))
		})
	}
}

func TestChangesOfSmallDocuments(t *testing.T) {
	set := func(d *Editor) error { return d.Set(Word("x"), "a", "b") }
	add := func(d *Editor) error { return d.Add(Word("x"), "a") }
	for name, c := range map[string]struct {
		text string
		do   func(*Editor) error
		want string
	}{
		"empty":               {"", set, "a:\n  b: x\n"},
		"comment only":        {"# hello\n", set, "# hello\na:\n  b: x\n"},
		"no value":            {"a:   # soon\nc: 1\n", set, "a:   # soon\n  b: x\nc: 1\n"},
		"no value, last line": {"a:", set, "a:\n  b: x\n"},
		"no line end":         {"c: 1", set, "c: 1\na:\n  b: x\n"},
		"Windows":             {"\xef\xbb\xbfa:\r\n  b: 1\r\nc: 2\r\n", set, "\xef\xbb\xbfa:\r\n  b: x\r\nc: 2\r\n"},
		"Windows, new":        {"c: 2\r\n", set, "c: 2\r\na:\r\n  b: x\r\n"},
		"braces all around":   {"# c\n{a: {b: 1}, c: 2} # d\n", set, "# c\n{a: {b: x}, c: 2} # d\n"},
		"explicit key":        {"? a\n: b: 1\nc: 2\n", set, "? a\n: b: x\nc: 2\n"},
		"document start":      {"---\na: {b: 1}\n", set, "---\na: {b: x}\n"},
		"literal":             {"a:\n  b: |\n    text\n    # no comment\n\nc: 1\n", set, "a:\n  b: x\n\nc: 1\n"},
		"literal before":      {"d: |\n  text\n  # no comment\n", set, "d: |\n  text\n  # no comment\na:\n  b: x\n"},
		"over lines":          {"a:\n  {b: 1, # one\n   c: 2}\n", set, "# one\na: {b: x, c: 2}\n"},
		"one becomes two":     {"a: y # z\n", add, "a: [y, x] # z\n"},
		"dashes not moved in": {"a:\n- y\nb: 1\n", add, "a:\n- y\n- x\nb: 1\n"},
		"list in braces":      {"a: [y,   'z'] # c\n", add, "a: [y, z, x]  # c\n"},
		"last of all":         {"a:\n  b: 1\n", func(d *Editor) error { return d.Remove("a", "b") }, ""},
		"last, with comment":  {"a:\n  b: 1 # one\nc: 2\n", func(d *Editor) error { return d.Remove("a", "b") }, "# one\nc: 2\n"},
		"not there":           {"a: 1\n", func(d *Editor) error { return d.Remove("b", "c") }, "a: 1\n"},
		"key to be quoted":    {"", func(d *Editor) error { return d.Set(Word("x"), "a: b", "#") }, "\"a: b\":\n  \"#\": x\n"},
		"keys as written":     {"", func(d *Editor) error { return d.Set(Word("left crank"), "2", "left head") }, "2:\n  left head: left crank\n"},
		"value as written":    {"", func(d *Editor) error { return d.Set(Word("2026-03-01T10:30:00Z"), "at") }, "at: 2026-03-01T10:30:00Z\n"},
		"null as a word":      {"", func(d *Editor) error { return d.Set(Word("null"), "at") }, "at: \"null\"\n"},
	} {
		t.Run(name, func(t *testing.T) {
			d := document(t, c.text)
			require.NoError(t, c.do(d))
			assert.Equal(t, c.want, string(d.Text()))
		})
	}
}

func TestChangesThatCannotBe(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		do   func(*Editor) error
		want string
	}{
		"through a word":    {"a: 1\n", func(d *Editor) error { return d.Set(Word("x"), "a", "b") }, "a is a single value, not a mapping"},
		"add to a mapping":  {"a: {b: 1}\n", func(d *Editor) error { return d.Add(Word("x"), "a") }, "a is a mapping, not a list"},
		"no such item":      {"a: [1]\n", func(d *Editor) error { return d.SetItem(1, Word("x"), "a") }, "a has no item number 1"},
		"no key":            {"a: [1]\n", func(d *Editor) error { return d.Set(Word("x")) }, "a change needs a key"},
		"not UTF-8":         {"", func(d *Editor) error { return d.Set(Word("\xff"), "a") }, "the text to be written is not UTF-8"},
		"control character": {"", func(d *Editor) error { return d.Set(Word("\x1b"), "a") }, "the text holds the control character U+001B"},
		"too long": {"", func(d *Editor) error { return d.Set(Word(strings.Repeat("x", CaseLimits.Bytes)), "a") },
			"at most 262144 are read"},
		"too deep": {"", func(d *Editor) error { return d.Set(Word("x"), strings.Split(strings.Repeat("a", 14), "")...) },
			"nested more than 12 deep"},
	} {
		t.Run(name, func(t *testing.T) {
			d := document(t, c.text)
			assert.ErrorContains(t, c.do(d), c.want)
			assert.Equal(t, c.text, string(d.Text()), "a refused change leaves the document alone")
		})
	}
}

// No change loses a comment: in braces the text around it stays, what stands behind
// the end of the document stays, and where a comment would have no place the change is
// refused, with the line to write by hand.
func TestNoCommentIsLost(t *testing.T) {
	set := func(d *Editor) error { return d.Set(Word("x"), "a", "b") }
	const braces = "{ # keep me\n  p: {q: 1, # bought used\n    r: \"}\"},\n  a: { # seen by the mate\n    c: '{', d: [1, # one\n 2]}\n}\n"
	for name, c := range map[string]struct {
		text string
		do   func(*Editor) error
		want string
	}{
		"a new key in braces":          {braces, set, strings.Replace(braces, " 2]}", " 2], b: x}", 1)},
		"a new key of all":             {braces, func(d *Editor) error { return d.Set(Words("x"), "new") }, strings.Replace(braces, "\n}\n", "\n, new: [x]}\n", 1)},
		"a value in braces":            {braces, func(d *Editor) error { return d.Set(Word("x"), "p", "r") }, strings.Replace(braces, `"}"`, "x", 1)},
		"a comma behind the last":      {"{a: {c: 1, # one\n }, # two\n}\n", set, "{a: {c: 1, # one\n b: x}, # two\n}\n"},
		"nothing in it yet":            {"{a: { # one\n }, # two\n c: 1}\n", set, "{a: { # one\n b: x}, # two\n c: 1}\n"},
		"braces below a key":           {"p: {  # the old one, ask the mate\n  q: 1 }\n...\n", set, "p: {  # the old one, ask the mate\n  q: 1 }\na:\n  b: x\n...\n"},
		"behind the end":               {"# head\nc: 1 # one\n... # two\n# three\n", set, "# head\nc: 1 # one\na:\n  b: x\n... # two\n# three\n"},
		"behind the end, Windows":      {"c: 1 # one\r\n...\r\n# two\r\n", set, "c: 1 # one\r\na:\r\n  b: x\r\n...\r\n# two\r\n"},
		"dots that end no document":    {"c: |\n  ...\n  # text\n...x: 2 # one\n", set, "c: |\n  ...\n  # text\n...x: 2 # one\na:\n  b: x\n"},
		"all but a list, written anew": {"{a: {b: 1}, c: 2}\n...\n# one\n", func(d *Editor) error { return d.Remove("a") }, "{c: 2}\n...\n# one\n"},
	} {
		t.Run(name, func(t *testing.T) {
			d := document(t, c.text)
			require.NoError(t, c.do(d))
			assert.Equal(t, c.want, string(d.Text()))
		})
	}
	for name, c := range map[string]struct {
		do   func(*Editor) error
		want string
	}{
		"taken out":     {func(d *Editor) error { return d.Remove("a", "d") }, "t.yaml:1:3: the comment # keep me would be lost by this change, so nothing is changed; take out a: d"},
		"put over them": {func(d *Editor) error { return d.Set(Words("x", "y, z"), "a", "d") }, `t.yaml:1:3: the comment # keep me would be lost by this change, so nothing is changed; write it by hand: a: {d: [x, "y, z"]}`},
	} {
		t.Run(name, func(t *testing.T) {
			d := document(t, braces)
			require.EqualError(t, c.do(d), c.want)
			assert.Equal(t, braces, string(d.Text()))
		})
	}
}

// writer makes a document by hand, as untidy as people write, and counts the
// comments in it.
type writer struct {
	t        *rapid.T
	out      strings.Builder
	comments int
}

var someKeys = []string{"a", "b", "2", "left head", "wiper-leaks", "at"}
var someTexts = []string{"x", "2", "6 1/2 in", "null", "a # b", "it's", `say "so"`, "k: v", "- x", "[1", "true", "é", "~", "two\nlines", "# no", "10:30", "'", "*a", "%"}

func (w *writer) pick(n int, what string) int { return rapid.IntRange(0, n-1).Draw(w.t, what) }

func (w *writer) comment() string {
	if w.pick(3, "comment") > 0 {
		return ""
	}
	w.comments++
	return fmt.Sprintf("  # note%d.", w.comments)
}

// own writes comments and blank lines of their own.
func (w *writer) own(indent int) {
	switch w.pick(5, "own") {
	case 0:
		w.out.WriteString("\n")
	case 1:
		w.comments++
		fmt.Fprintf(&w.out, "%s# note%d.\n", strings.Repeat(" ", indent), w.comments)
	}
}

func (w *writer) scalar() string {
	text := someTexts[w.pick(len(someTexts), "text")]
	switch w.pick(3, "quotes") {
	case 0:
		return scalarText(text)
	case 1:
		if !strings.Contains(text, "\n") {
			return "'" + strings.ReplaceAll(text, "'", "''") + "'"
		}
	}
	return fmt.Sprintf("%q", text)
}

func (w *writer) braces(depth int) string {
	switch w.pick(4, "braces") {
	case 0:
		if depth < 2 {
			var parts []string
			for _, k := range w.keys() {
				parts = append(parts, scalarText(k)+": "+w.braces(depth+1))
			}
			return "{" + strings.Join(parts, ", ") + "}"
		}
	case 1:
		return "[" + w.scalar() + ",  " + w.scalar() + "]"
	}
	return w.scalar()
}

func (w *writer) keys() []string {
	return rapid.Permutation(someKeys).Draw(w.t, "keys")[:1+w.pick(3, "count")]
}

func (w *writer) mapping(indent, depth int) {
	lead := strings.Repeat(" ", indent)
	for _, k := range w.keys() {
		w.own(indent)
		w.out.WriteString(lead + scalarText(k) + ":")
		switch kind := w.pick(6, "kind"); {
		case kind == 0 && depth < 3:
			w.out.WriteString(w.comment() + "\n")
			w.mapping(indent+2, depth+1)
		case kind == 1:
			w.out.WriteString(w.comment() + "\n")
			for range 1 + w.pick(2, "items") {
				w.own(indent + 2)
				w.out.WriteString(lead + "  - " + w.braces(1) + w.comment() + "\n")
			}
		case kind == 2:
			w.out.WriteString(" |" + w.comment() + "\n" + lead + "    some\n" + lead + "    # text\n")
		case kind == 3:
			w.out.WriteString(w.comment() + "\n")
		case kind == 4:
			w.out.WriteString(" {a: " + w.scalar() + "," + w.comment() + "\n" + lead + "      b: [" + w.scalar() + "]}" + w.comment() + "\n")
		default:
			w.out.WriteString("  " + w.braces(0) + w.comment() + "\n")
		}
		w.own(indent)
	}
}

// asMap is the model: a tree of plain Go values, without order.
func asMap(n *Node) any {
	switch n.Kind {
	case Scalar:
		return n.Text
	case List:
		out := []any{}
		for _, item := range n.Items {
			out = append(out, asMap(item))
		}
		return out
	case Mapping:
		out := map[string]any{}
		for _, p := range n.Pairs {
			out[p.Key.Text] = asMap(p.Value)
		}
		return out
	}
	return nil
}

// modelSet is Set, or Remove for nil, on the model; false if the path leads
// through something else than a mapping.
func modelSet(tree any, path []string, value any) (any, bool) {
	if len(path) == 0 {
		return value, true
	}
	m := map[string]any{}
	switch old := tree.(type) {
	case nil:
	case map[string]any:
		for k, v := range old {
			m[k] = v
		}
	default:
		return nil, false
	}
	inner, ok := modelSet(m[path[0]], path[1:], value)
	if !ok {
		return nil, false
	}
	if inner == nil {
		delete(m, path[0])
		if len(m) == 0 {
			return nil, true
		}
		return m, true
	}
	m[path[0]] = inner
	return m, true
}

func has(tree any, path []string) bool {
	for _, k := range path {
		m, ok := tree.(map[string]any)
		if !ok {
			return false
		}
		if tree, ok = m[k]; !ok {
			return false
		}
	}
	return true
}

func TestChangesKeepMeaningAndComments(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := &writer{t: t}
		w.mapping(0, 0)
		text := w.out.String()
		if w.pick(4, "CRLF") == 0 {
			text = strings.ReplaceAll(text, "\n", "\r\n")
		}
		d, emptied := document(t, text), false
		for range 1 + w.pick(4, "changes") {
			path := []string{}
			for range 1 + w.pick(3, "depth") {
				path = append(path, someKeys[w.pick(len(someKeys), "key")])
			}
			before, word := asMap(d.Root()), someTexts[w.pick(len(someTexts), "new")]
			model, possible := modelSet(before, path, any(word))
			change := func() error { return d.Set(Word(word), path...) }
			switch w.pick(4, "change") {
			case 0:
				change = func() error { return d.Set(Fields(Field{word, Words(word, "x")}), path...) }
				model, possible = modelSet(before, path, map[string]any{word: []any{word, "x"}})
			case 1:
				change = func() error { return d.Remove(path...) }
				model, possible = modelSet(before, path, nil)
				if !has(before, path) {
					model, possible = before, true
				}
			case 2:
				n := d.Get(path...)
				list := []any{}
				if n != nil && n.Kind == List {
					list = append(list, asMap(n).([]any)...)
				} else if n != nil {
					list = append(list, asMap(n))
				}
				change = func() error { return d.Add(Word(word), path...) }
				model, possible = modelSet(before, path, append(list, word))
				possible = possible && (n == nil || n.Kind != Mapping)
			}
			err := change()
			if !possible {
				require.Error(t, err)
				continue
			}
			require.NoError(t, err, "%s\npath %q", d.Text(), path)
			emptied = emptied || len(d.Text()) == 0
			require.Equal(t, model, asMap(d.Root()), "%s\npath %q", d.Text(), path)
		}
		for i := 1; i <= w.comments; i++ {
			require.Equal(t, 1, strings.Count(string(d.Text()), fmt.Sprintf("# note%d.", i)), "before:\n%s\nafter:\n%s", text, d.Text())
		}
		if strings.Contains(text, "\r\n") && !emptied {
			require.Equal(t, strings.Count(string(d.Text()), "\n"), strings.Count(string(d.Text()), "\r\n"))
		}
	})
}

// The same for documents that are in braces as a whole; such a change may be refused.
func TestChangesInBracesKeepMeaningAndComments(t *testing.T) {
	made := 0
	rapid.Check(t, func(t *rapid.T) {
		w := &writer{t: t}
		w.out.WriteString("{" + w.comment() + "\n")
		for _, k := range w.keys() {
			w.out.WriteString("  " + scalarText(k) + ": {a: [x," + w.comment() + "\n    " + w.scalar() + "], b: " + w.braces(1) + w.comment() + "\n    }," + w.comment() + "\n")
		}
		w.out.WriteString("}" + w.comment() + "\n" + []string{"", "...\n"}[w.pick(2, "end")])
		text := w.out.String()
		d := document(t, text)
		path := []string{someKeys[w.pick(len(someKeys), "key")], someKeys[w.pick(len(someKeys), "inner")]}[:1+w.pick(2, "depth")]
		value := any(someTexts[w.pick(len(someTexts), "new")])
		change := func() error { return d.Set(Word(value.(string)), path...) }
		if w.pick(3, "remove") == 0 && has(asMap(d.Root()), path) {
			value, change = nil, func() error { return d.Remove(path...) }
		}
		model, _ := modelSet(asMap(d.Root()), path, value)
		if err := change(); err != nil {
			require.ErrorContains(t, err, "would be lost by this change")
			require.Equal(t, text, string(d.Text()))
			return
		}
		made++
		require.Equal(t, model, asMap(d.Root()), "before:\n%s\nafter:\n%s", text, d.Text())
		for i := 1; i <= w.comments; i++ {
			require.Equal(t, 1, strings.Count(string(d.Text()), fmt.Sprintf("# note%d.", i)), "before:\n%s\nafter:\n%s", text, d.Text())
		}
	})
	assert.Positive(t, made)
}

// TestAllElseIsLeftByteForByte changes one key of a document whose every line
// is known to belong to one top key.
func TestAllElseIsLeftByteForByte(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := &writer{t: t}
		w.mapping(0, 0)
		d := document(t, w.out.String()+"target: {x: 1}  # here\n")
		rest := &writer{t: t}
		rest.mapping(2, 1)
		text := string(d.Text()) + "tail:\n" + rest.out.String()
		d = document(t, text)
		require.NoError(t, d.Set(Word("new"), "target", "x"))
		require.Equal(t, strings.Replace(text, "target: {x: 1}  # here", "target: {x: new}  # here", 1), string(d.Text()))
	})
}

func TestEveryTextIsReadBackAsWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.StringMatching(`[-a-z0-9 :#,\[\]{}'"&*!|>%@?~.<=\\]{0,8}`), rapid.String()).Draw(t, "text")
		d := document(t, "first: 1\n")
		if err := d.Set(Fields(Field{"k" + text, Words(text, "z")}, Field{"l" + text, Word(text)}), "a", text); err != nil {
			return // a control character
		}
		n := d.Get("a", text)
		require.NotNil(t, n)
		require.Equal(t, map[string]any{"k" + text: []any{text, "z"}, "l" + text: text}, asMap(n))
	})
}

func FuzzEdit(f *testing.F) {
	for _, seed := range []string{"a: 1\n", "a: {b: [1, 'x']}\n", "a: |\n  x\n", "- a\n", "? a\n: b\n", "a:\n  # c\n  b: 1 # d\r\nc:\n- x\n", "{a: 1}", "\xef\xbb\xbf# x\n", "a: 'b\n\n  c' # d\n", "a: >+\n  x\n\n\nb: 1"} {
		f.Add([]byte(seed), "b", "x y")
	}
	f.Add([]byte("{}"), "0", "0")
	f.Add([]byte("~"), "0", "س\u0600") // a letter that is not seen: escaped or not, it was said already
	f.Fuzz(func(t *testing.T, text []byte, key, word string) {
		d, err := NewEditor("f.yaml", text)
		if err != nil {
			return
		}
		if !slices.Equal(d.Text(), text) {
			t.Fatal("reading alone changed the text")
		}
		before, ordered := asMap(d.Root()), d.Root()
		if d.Set(Word(word), "a", key) != nil {
			if !slices.Equal(d.Text(), text) {
				t.Fatal("a refused change changed the text")
			}
			return
		}
		want, _ := modelSet(before, []string{"a", key}, word)
		assert.Equal(t, want, asMap(d.Root()))
		again := string(d.Text())
		require.NoError(t, d.Set(Word(word), "a", key))
		assert.Equal(t, again, string(d.Text()), "the same change twice is one change")
		if has(before, []string{"a", key}) || has(before, []string{"a"}) && d.Get("a") == nil {
			return
		}
		if err := d.Remove("a", key); err == nil && !has(before, []string{"a"}) && len(ordered.Pairs) > 0 { // an empty mapping becomes an empty document
			assert.True(t, d.Root().same(ordered), "put in and taken out")
		}
	})
}
