package source

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// samePlain holds what the plain reader gives of a text against what the
// library gives. It says whether the text is plain.
func samePlain(t *testing.T, text string) bool {
	t.Helper()
	in := &Text{name: "f", text: text}
	if in.badByte() >= 0 {
		return false
	}
	plain := parsePlain(in, CaseLimits)
	if plain == nil {
		return false
	}
	var ps Problems
	want := parseAny(in, CaseLimits, &ps)
	require.NoError(t, ps.Err(), "plain: %q", text)
	require.Equal(t, bare(want), bare(plain), "%q", text)
	return true
}

// bare is a tree without the text that it came from.
func bare(n *Node) *Node {
	out := &Node{Pos: n.Pos, Kind: n.Kind, Text: n.Text, style: n.style}
	for _, item := range n.Items {
		out.Items = append(out.Items, bare(item))
	}
	for _, p := range n.Pairs {
		out.Pairs = append(out.Pairs, Pair{bare(p.Key), bare(p.Value)})
	}
	return out
}

// What the two readers give is the same, of every file of the rulebook and of
// the demo cases, and of every text that is cut out of them.
func TestPlainReaderGivesWhatTheLibraryGives(t *testing.T) {
	for _, pattern := range []string{"../../rules/book/*.yaml", "../../rules/book/proofs/*.yaml", "../../testdata/*/*.yaml"} {
		files, err := filepath.Glob(pattern)
		require.NoError(t, err)
		require.NotEmpty(t, files)
		plain := 0
		for _, file := range files {
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			if samePlain(t, string(text)) {
				plain++
			} else {
				t.Logf("not plain: %s", file)
			}
			for i := 0; i < len(text); i += 97 {
				samePlain(t, string(text[i:min(i+300, len(text))]))
			}
		}
		require.Positive(t, plain)
	}
}

// pieces of YAML for texts that a person would not think of.
var pieces = []string{
	"a", "key", "b: ", ": ", ":", "- ", "-", "--", ", ", "[", "]", "{", "}", "\"q w\"", "'s t'", "\"", "'", "'t': ", "#", " # c", "\n", "\n", "\n", "\n  ", "\n  ", "\n    ",
	"\n - ", "\n  - ", "\n- ", "\\", "? ", "&a ", "*a", "!t ", "<<: ", "~", "null", "1_000", "0x10", ".5", "yes", "2020-01-01", "x: >-\n  ", "x: |\n  ", "|2", ">+", "%", "@", "`",
	"...", "---", "=", "$", "(", "\t", "\r\n", "\u00e9", byteOrderMark, "\u0085", "[a, b]", "{a: b}", "{a: b, c: [d]}", "http://x.y", "it's", strings.Repeat("k", longestPlain),
}

// A piece in place of a few bytes somewhere in a few lines of the demo cases.
func TestPlainReaderWithPiecesPutIn(t *testing.T) {
	files, err := filepath.Glob("../../testdata/cases/*.yaml")
	require.NoError(t, err)
	draw, plain := rand.New(rand.NewPCG(1, 2)), 0
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		lines := strings.SplitAfter(string(text), "\n")
		for range 20_000 / len(files) {
			from := draw.IntN(len(lines))
			cut := strings.Join(lines[from:min(from+1+draw.IntN(6), len(lines))], "")
			for range 1 + draw.IntN(3) {
				at := draw.IntN(len(cut) + 1)
				cut = cut[:at] + pieces[draw.IntN(len(pieces))] + cut[min(at+draw.IntN(4), len(cut)):]
			}
			if samePlain(t, cut) {
				plain++
			}
		}
	}
	require.Greater(t, plain, 1000)
}

func FuzzPlain(f *testing.F) {
	for _, text := range []string{
		"a: b\nc:\n  - d: {e: [1, 2], f: \"g h\"}\n    i: j\n  - k\n", "a:\n- b\n- c: d\n  e: f\nf: 'g'\n", "a: b\n  c\n  d\n# e\nf: >-\n  g\n  h\n",
		"{\"a\":1,\"b\":{\"c\":[\"d\"]}}", "a: [b: c, d]\n", "a: |\n  b\n   c\nd: ~\n", "a: b # c\n\nd: [e,\n    f]\n", "- - a\n  - b\n- c\n", "a: b: c\n", "a:\n    b: c\n  d: e\n",
		"a: {b: c\n d, e: - }\n", "a: >\n  b\n\n  c\n", "a : b\nc: -1\n", "a: {b, c: d}\n", "a: null\nb: Null\n", "a: {b: [c: d]}", "a: '''b'\n", "\"a\" : b\n", "a: b #c\n d\n", "{a\n: b}", "{a\n b: c}", "[a\n: b]", "{a: b, c\n-: d}",
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) { samePlain(t, text) })
}
