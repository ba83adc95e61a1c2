package dialogue

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/talk"
	"telltale/evidence/record"
)

// FuzzAsk types whatever comes into the conversation: it ends, nothing that is
// typed comes back as a command to the terminal, and the file holds a case or
// was never begun.
func FuzzAsk(f *testing.F) {
	f.Add("", "1\nLarkspur pump 2\n1\nwiper leak\n1\n2\n1\n1\nd\nw\nq\n")
	f.Add("", "2\n\x1b[2J\xff\n3\nknock\n1\n")
	f.Add("pump: {action: duplex-double-acting, state: isolated}\nfindings: {packing-leaks: {present: [left]}}\n", "1\r\n\r\n\x00\r\n1\r\n")
	f.Add("# a file yet to be started", "2\xff\xff\x80\x00J\xff\n3/kn\nc\x7f\n1o")
	f.Add(proved, "b\nb\nr\nr\n9\nq")
	f.Fuzz(func(t *testing.T, text, typed string) {
		if strings.TrimSpace(text) == "" {
			text = ""
		}
		c := newCrew(t, text)
		file, err := record.Open("", c.path, c.book.Vocabulary(), true)
		require.NoError(t, err)
		if _, err := file.Case(); err != nil {
			return // refused before the talk
		}
		var out bytes.Buffer
		require.NoError(t, hold(NewSitting(c.book, file, noon), talk.New(strings.NewReader(typed), &out, 80, 0)))
		require.NotContains(t, out.String(), "\x1b")
		require.NoError(t, file.Reread())
		_, err = file.Case()
		require.NoError(t, err, "%q", c.file())
	})
}
