package source

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func parse(text string) (*Node, error) {
	var ps Problems
	n := Parse("t.yaml", []byte(text), CaseLimits, &ps)
	return n, ps.Err()
}

func TestParseRefusesWhatIsNotPlain(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"duplicate key":    {"a: 1\nb: 2\na: 3\n", `twice | t.yaml:3:1: key "a" stands twice; it stands first at line 1`},
		"duplicate inside": {"p:\n  é: 1\n  é: 2\n", `twice | t.yaml:3:3: key "é" stands twice; it stands first at line 2`},
		"anchor":           {"a: &x 1\n", "not-plain | t.yaml:1:4: anchor &x is not allowed; write the value out"},
		"alias":            {"a: &x [1]\nb: *x\n", "not-plain | t.yaml:2:4: alias *x is not allowed; write the value out"},
		"tag":              {"a: !!int 3\n", "not-plain | t.yaml:1:4: tag !!int is not allowed; write the plain value"},
		"own tag":          {"a: !run x\n", "not-plain | t.yaml:1:4: tag !run is not allowed; write the plain value"},
		"merge":            {"<<: {b: 1}\n", "not-plain | t.yaml:1:1: merge key << is not allowed; write the values out"},
		"list as key":      {"? [a]\n: b\n", "wrong-form | t.yaml:1:3: a key must be a single word; read a list"},
		"tab":              {"a:\n\tb: 1\n", "not-yaml | t.yaml:2:1: not valid YAML"},
		"tab further down": {"a: b\nc: d\n\te: 1\n", "not-yaml | t.yaml:3:1: not valid YAML"},
		"second document":  {"a: 1\n---\nb: 2\n", "not-yaml | t.yaml:2:1: not valid YAML: a second document starts here"},
		"not closed":       {"x: 1\na: [1, 2\nb: 3\n", "not-yaml | t.yaml:2:1: not valid YAML"},
		"outdented":        {"p:\n  a: 1\n s: 2\n", "not-yaml | t.yaml:3:1: not valid YAML"},
		"open quote":       {"x: 1\na: \"b\nc: 3\n", "not-yaml | t.yaml:2:1: not valid YAML"},
		"NUL":              {"a: 1\nb: x\x00y\n", "not-text | t.yaml:2:5: byte 0x00 is not text"},
		"escape":           {"a: \x1b[31m\n", "not-text | t.yaml:1:4: byte 0x1b is not text"},
		"escaped escape":   {`a: "\e[31m"`, "not-text | t.yaml:1:4: the text holds the control character U+001B"},
		"not UTF-8":        {"a: \xff\n", "not-text | t.yaml:1:4: byte 0xff is not text"},
		"too large":        {strings.Repeat("#", CaseLimits.Bytes+1), "too-large | t.yaml:1:1: the file has 262145 bytes; at most 262144 are read"},
		"too deep":         {strings.Repeat("[", 200) + strings.Repeat("]", 200), "too-large | nested more than 12 deep"},
		"too many":         {"a: [" + strings.Repeat("1,", 30_000) + "1]", "too-large | the file has more than 20000 values"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := parse(c.text)
			var input *InputError
			require.ErrorAs(t, err, &input)
			mistaken(t, err, c.want)
		})
	}
}

func TestOtherMistakesAreStillFound(t *testing.T) {
	n, err := parse("a: 1\na: 2\nb: x\n")
	require.Error(t, err)
	require.NotNil(t, n)
	assert.Len(t, n.Pairs, 2)
}

func TestThousandsOfDuplicatesCostLittle(t *testing.T) {
	_, err := parse(strings.Repeat("a: 1\n", 15_000))
	var input *InputError
	require.ErrorAs(t, err, &input)
	assert.LessOrEqual(t, len(input.Problems), MostProblems)
	assert.Greater(t, input.More, 1000)
	assert.Less(t, len(err.Error()), 20_000)
}

// asked counts how often it is printed.
type asked struct{ times *int }

func (a asked) String() string { *a.times++; return "" }

// What is only counted is not worded: the search for the nearest of thousands of
// names, for thousands of names, would take minutes.
func TestOnlyWhatIsKeptIsWorded(t *testing.T) {
	var ps Problems
	times := 0
	for range 10 * MostProblems {
		ps.Add(Pos{}, UnknownName, "unknown%s", asked{&times})
	}
	assert.Equal(t, 10*MostProblems, ps.Len())
	assert.Equal(t, MostProblems, times)
	assert.Implements(t, (*fmt.Stringer)(nil), Expected("nock", []string{"knock"}))
}

func TestParseReadsBOMAndWindowsLineEnds(t *testing.T) {
	n, err := parse("\xef\xbb\xbfa: 1\r\nb: [x, y]\r\n")
	require.NoError(t, err)
	require.Len(t, n.Pairs, 2)
	assert.Equal(t, "1", n.Pairs[0].Value.Text)
	assert.Equal(t, []string{"x", "y"}, n.Pairs[1].Value.Strings(&Problems{}, "b"))
}

func TestObjectReportsUnknownKeysWithTheNearest(t *testing.T) {
	n, err := parse("titel: x\nminutes: many\n")
	require.NoError(t, err)
	var ps Problems
	o := n.Object(&ps, "the check")
	o.Need("title")
	o.Need("minutes").Number(&ps, "minutes", 0, 600)
	o.Close()
	assert.EqualError(t, ps.Err(), strings.Join([]string{
		`t.yaml:1:1: the check has no "title"`,
		`t.yaml:1:1: the check has no key "titel"; expected one of: minutes, title; did you mean title?`,
		`t.yaml:2:10: minutes must be a number from 0 to 600; read "many"`,
	}, "\n"))
}

func TestNearest(t *testing.T) {
	words := []string{"wiper-leaks", "rod-worn", "knock"}
	for in, want := range map[string]string{
		"wiper-leak": "wiper-leaks", "Wiper-Leaks": "wiper-leaks", "rodworn": "rod-worn", "nock": "knock", "zzzzzz": "",
	} {
		t.Run(in, func(t *testing.T) {
			near := append(nearest(in, words), "")
			assert.Equal(t, want, near[0], in)
		})
	}
}

// marker is a character that stands once in each text below.
const marker = '§'

func TestAtFindsThePlaceInsideAnyScalar(t *testing.T) {
	for _, text := range []string{
		"w: a and § b\n",
		"w:   é and § b\n",
		"w: \"a \\\"x\\u00e9\\\" and § b\"\n",
		"w: 'a ''q'' and § b'\n",
		"w: |\n  a and\n    § b\n",
		"w: >\n  a and\n  § b\n",
		"w: >-\n  a and\n\n    § b\n",
		"w: |2-\n      a and § b\n",
		"w: a\n  and § b\n",
		"w: \"a \\\n    and § b\"\n",
		"w: \"a\n\n  and § b\"\n",
		"w: |\r\n  a and\r\n  § b\r\n",
		"l:\n  - {id: é, w: \"a and § b\"}\n",
	} {
		n, err := parse(text)
		require.NoError(t, err, text)
		scalar := findMarked(n)
		require.NotNil(t, scalar, text)
		index := strings.IndexRune(scalar.Text, marker)
		got := scalar.At(len([]rune(scalar.Text[:index])))
		for i, line := range splitLines(text) {
			if c := strings.IndexRune(line, marker); c >= 0 {
				assert.Equal(t, Pos{File: "t.yaml", Line: i + 1, Col: len([]rune(line[:c])) + 1}, got, text)
			}
		}
	}
}

func findMarked(n *Node) *Node {
	if n.Kind == Scalar && strings.ContainsRune(n.Text, marker) {
		return n
	}
	for _, item := range n.Items {
		if m := findMarked(item); m != nil {
			return m
		}
	}
	for _, p := range n.Pairs {
		if m := findMarked(p.Value); m != nil {
			return m
		}
	}
	return nil
}

func FuzzParse(f *testing.F) {
	for _, seed := range []string{"a: 1\n", "a: {b: [1, 'x']}\n", "a: |\n  x\n", "a: \"\\x41\"\n", "- a\n- b: c\n", "? [a]\n: b\n<<: {x: 1}\n"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		var ps Problems
		n := Parse("f.yaml", text, Limits{Bytes: 4096, Nodes: 500, Depth: 8}, &ps)
		if n == nil && ps.Len() == 0 {
			t.Fatal("nothing read and nothing said")
		}
		checkNodes(t, n, string(text))
		var input *InputError
		if err := ps.Err(); err != nil && !errors.As(err, &input) {
			t.Fatalf("unexpected error type %T", err)
		}
		for _, p := range ps.All() {
			checkProblem(t, p, string(text))
		}
	})
}

// checkProblem holds the promise of problems: a code, and a line of bounded length
// with a mark in it that stands for the place.
func checkProblem(t *testing.T, p Problem, text string) {
	require.Contains(t, Codes(), p.Code, "%v", p)
	require.LessOrEqual(t, len([]rune(p.Line)), mostExcerpt)
	if p.Code == TooLarge && p.Mark == 0 {
		return // the text was not read
	}
	require.True(t, p.Mark >= 1 && p.Mark <= len([]rune(p.Line))+1, "%+v", p)
	line := []rune(splitLines(strings.TrimPrefix(text, byteOrderMark))[p.Pos.Line-1])
	require.Contains(t, string(line), p.Line)
	if p.Col <= len(line) {
		require.Equal(t, line[p.Col-1], []rune(p.Line)[p.Mark-1])
	}
}

// checkNodes holds the promise of positions: every visible character of a
// scalar is looked up inside the file.
func checkNodes(t *testing.T, n *Node, text string) {
	if n == nil {
		return
	}
	lines := splitLines(text)
	if n.Kind == Scalar {
		for i, r := range []rune(n.Text) {
			p := n.At(i)
			if unicode.IsSpace(r) {
				continue
			}
			if p.Line < 1 || p.Line > len(lines)+1 || p.Col < 1 {
				t.Fatalf("character %d of %q is said to stand at %v", i, n.Text, p)
			}
		}
	}
	for _, item := range n.Items {
		checkNodes(t, item, text)
	}
	for _, p := range n.Pairs {
		checkNodes(t, p.Value, text)
	}
}

func ExampleExpected() {
	fmt.Printf("unknown sign%s\n", Expected("nock", []string{"knock", "smoke"}))
	// Output: unknown sign; expected one of: knock, smoke; did you mean knock?
}

// mistaken wants one of the mistakes to have a code and a text: want is "code | text".
func mistaken(t *testing.T, err error, want string) {
	t.Helper()
	var input *InputError
	require.ErrorAs(t, err, &input)
	code, text, _ := strings.Cut(want, " | ")
	for _, p := range input.Problems {
		if p.Code.String() == code && strings.Contains(p.Error(), text) {
			return
		}
	}
	t.Errorf("%v\nwanted: %s", err, want)
}

// However long what was read is, what is told of it is short.
func TestLongNamesAreToldShort(t *testing.T) {
	long := strings.Repeat("n", 5000)
	for name, text := range map[string]string{
		"anchor": "a: &" + long + " b\n", "tag": "a: !" + long + " b\n", "alias": "a: *" + long[:900] + "\n",
		"key twice": long[:900] + ": 1\n" + long[:900] + ": 2\n", "unknown key": long[:900] + ": 1\n", "expected": "b: 1\n",
	} {
		var ps Problems
		if n := Parse("f", []byte(text), CaseLimits, &ps); n != nil {
			o := n.Object(&ps, "it")
			o.Get("a")
			if name == "expected" {
				o.Get(long)
			}
			o.Close()
		}
		require.NotZero(t, ps.Len(), name)
		for _, p := range ps.All() {
			assert.Less(t, len(p.Text)+len(p.Read)+len(p.Expected), 500, name)
		}
	}
}
