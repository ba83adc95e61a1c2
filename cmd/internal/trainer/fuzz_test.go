package trainer

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/talk"
	"telltale/engine/practice"
	"telltale/rules"
)

// FuzzPractice types whatever comes into an exercise: it ends, with a record that
// can be read again, and nothing that is typed comes back as a command to the
// terminal.
func FuzzPractice(f *testing.F) {
	for seed, typed := range []string{"", "2\noutside the guards\n1\n2\nclear of pressure\n1\n4\nneedle\n1\n6\n", "4\nneedle\n1\n3\nvalve pot\n1\n", "5\ndischarge valve\n1\n1\n3\n", "\x1b[2J\n\xff\n7\n8\n", "1\r\n1\r\n3\r\n"} {
		f.Add(uint64(seed), typed)
	}
	book, err := rules.BuiltIn()
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, seed uint64, typed string) {
		w, err := practice.Draw(book, practice.Setup{Seed: seed, Level: 1 + int(seed%3)})
		require.NoError(t, err)
		var out bytes.Buffer
		record := played(t, NewExercise(book, w), talk.New(strings.NewReader(typed), &out, 80, 0))
		require.NotEqual(t, practice.Running, record.End)
		require.NotContains(t, out.String(), "\x1b")
	})
}
