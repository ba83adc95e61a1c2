package source

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func splitAll(t testing.TB, text string, limits Limits) (out []StreamDocument) {
	t.Helper()
	s := NewSplitter(strings.NewReader(text), limits)
	for {
		d, err := s.Next()
		if errors.Is(err, io.EOF) {
			return out
		}
		require.NoError(t, err)
		out = append(out, d)
	}
}

func TestSplit(t *testing.T) {
	for name, c := range map[string]struct {
		text  string
		lines []int
		texts []string
	}{
		"nothing":           {"", nil, nil},
		"blank":             {"\n \n", nil, nil},
		"one":               {"a: 1\n", []int{1}, []string{"a: 1\n"}},
		"no end of line":    {"a: 1", []int{1}, []string{"a: 1"}},
		"two":               {"a: 1\n---\nb: 2\n", []int{1, 3}, []string{"a: 1\n", "b: 2\n"}},
		"begun by ---":      {"---\na: 1\n...\n---\nb: 2\n", []int{2, 5}, []string{"a: 1\n", "b: 2\n"}},
		"windows":           {"a: 1\r\n---\r\nb: 2\r\n", []int{1, 3}, []string{"a: 1\r\n", "b: 2\r\n"}},
		"json lines":        {"{\"a\":1}\n\n{\"b\":2}\n", []int{1, 3}, []string{"{\"a\":1}\n", "{\"b\":2}\n"}},
		"json after blanks": {"\n\n{\"a\":1}\n{\"b\":2}", []int{3, 4}, []string{"{\"a\":1}\n", "{\"b\":2}"}},
		"mark of order":     {"\xef\xbb\xbf{\"a\":1}\n", []int{1}, []string{"{\"a\":1}\n"}},
	} {
		t.Run(name, func(t *testing.T) {
			var lines []int
			var texts []string
			for _, d := range splitAll(t, c.text, CaseLimits) {
				require.NoError(t, d.Err, name)
				lines, texts = append(lines, d.Line), append(texts, string(d.Text))
			}
			assert.Equal(t, c.lines, lines, name)
			assert.Equal(t, c.texts, texts, name)
		})
	}
}

// A document past the limit is refused alone, in bounded memory; the next one
// is read.
func TestSplitPassesOverWhatIsTooLarge(t *testing.T) {
	limits := Limits{Bytes: 1000}
	huge := strings.Repeat("x", 3<<20)
	for _, text := range []string{"{" + huge + "\n{\"b\":2}\n", "a: " + huge + "\n---\nb: 2\n", strings.Repeat("a: 1\n", 400) + "---\nb: 2\n"} {
		got := splitAll(t, text, limits)
		require.Len(t, got, 2)
		assert.Error(t, got[0].Err)
		assert.LessOrEqual(t, len(got[0].Text), limits.Bytes+2)
		require.NoError(t, got[1].Err)
	}
}

// Whatever comes in: no panic, every document within the limit, lines in order,
// and nothing but blanks, marks of order and lines of --- is lost.
func FuzzSplit(f *testing.F) {
	f.Add([]byte("a: 1\n---\nb: 2\n"))
	f.Add([]byte("{\"a\":1}\n{}\n"))
	f.Add([]byte("---\n...\n\x00\xff\r\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		s := NewSplitter(bytes.NewReader(data), Limits{Bytes: 200})
		line := 0
		for {
			d, err := s.Next()
			if errors.Is(err, io.EOF) {
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if d.Line <= line && line > 0 {
				t.Fatalf("line %d after %d", d.Line, line)
			}
			line = d.Line
			if len(d.Text) > 202 || d.Err == nil && len(d.Text) > 200 {
				t.Fatalf("%d bytes", len(d.Text))
			}
		}
	})
}
