package cli

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// FuzzMany reads whatever comes as a stream of cases: one line of JSON for each
// document, in order, with an answer or with errors; and the exit code tells.
func FuzzMany(f *testing.F) {
	good := `{"pump": {"action": "triplex-single-acting", "state": "running"}, "findings": {"knock": "every-cylinder"}}` + "\n"
	for _, seed := range []string{good + good, good + "{\n", goodCase + "---\n" + goodCase, "\ufeff\n\n" + good + "\x00\n", "---\r\n" + goodCase + "...\r\n", "{}{}\n[]\nnull\n", good[:60] + "\n"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, in []byte) {
		documents := 0
		for split := source.NewSplitter(bytes.NewReader(in), source.CaseLimits); ; documents++ {
			if _, err := split.Next(); err != nil {
				break
			}
		}
		var out, errOut bytes.Buffer
		code := Main([]string{"triage", "--many"}, bytes.NewReader(in), &out, &errOut)
		lines := strings.Split(out.String(), "\n")
		require.Len(t, lines, documents+1)
		bad := false
		for i, line := range lines[:documents] {
			var answer struct {
				Case   int
				Errors []any
				Causes []any
			}
			require.NoError(t, json.Unmarshal([]byte(line), &answer), line)
			require.Equal(t, i+1, answer.Case)
			require.False(t, len(answer.Errors) > 0 && len(answer.Causes) > 0, "half an answer: %s", line)
			bad = bad || len(answer.Errors) > 0
		}
		want := exitDone
		if bad {
			want = exitBadInput
		}
		require.Equal(t, want, code, errOut.String())
	})
}

// FuzzNote notes whatever comes into a case: the file holds a case that the next
// command reads, or it is as it was and the exit code says that.
func FuzzNote(f *testing.F) {
	written := "# by hand\npump:\n  action: duplex-double-acting # old\n  state: isolated\nfindings:\n  packing-leaks: {present: [left], absent: others}\n"
	for _, words := range []string{
		"wiper-leaks again 2", "knock clear", "face-feeler nothing 2", "rod-clamp-misfitted confirmed 2", "crosshead-cover-off open 2", "state running", "name a: b # c",
		"recent wipers-changed", "manual crosshead-cap-screw-torque 260 ft lbf", "measured upper-guide 2 resolution=1\u00a0thou rear=33\u00a0thou", "pump duplex-double-acting running", "liner 6 1/2 in",
		"packing-leaks absent left head", "\x1b[2J present", "measured = = =", "measured a.b.c x", "name \xff",
	} {
		f.Add([]byte(goodCase), words)
		f.Add([]byte(strings.ReplaceAll(written, "\n", "\r\n")), words)
	}
	book, err := rules.BuiltIn()
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, text []byte, words string) {
		path := filepath.Join(t.TempDir(), "case.yaml")
		require.NoError(t, os.WriteFile(path, text, 0o600))
		var out, errOut bytes.Buffer
		args := append([]string{"note", "--", path}, strings.Split(words, " ")...)
		code := Main(args, strings.NewReader(""), &out, &errOut)
		after, err := os.ReadFile(path)
		require.NoError(t, err)
		if code == exitDone {
			_, err := evidence.ParseCase(path, after, book.Vocabulary())
			require.NoError(t, err)
			require.Equal(t, bytes.Count(text, []byte("# ")), bytes.Count(after, []byte("# "))-bytes.Count([]byte(words), []byte("# ")), "a comment is lost")
			return
		}
		require.NotEmpty(t, errOut.String())
		require.Equal(t, text, after, "refused, but written")
	})
}
