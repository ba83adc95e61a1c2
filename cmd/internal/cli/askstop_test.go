package cli

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// reader reads what stops the work, says that the pump still stands so, and leaves at the
// next prompt.
type reader struct{ screen, all bytes.Buffer }

func (c *reader) Write(p []byte) (int, error) {
	c.all.Write(p)
	return c.screen.Write(p)
}

func (c *reader) Read(p []byte) (int, error) {
	screen := c.screen.String()
	c.screen.Reset()
	if !strings.Contains(screen, "read and done") && !strings.Contains(screen, "Does it still stand so?") {
		return 0, io.EOF
	}
	return copy(p, "1\n"), nil
}

// tooDear is a case of nearly all signs at once, with a broken rod.
func tooDear(t *testing.T) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "dear.yaml")
	require.NoError(t, os.WriteFile(file, []byte(everySign(t, evidence.Isolated)), 0o600))
	return file
}

// What stops the work is read out before anything is weighed: of a case that is too dear
// to weigh the crew hears the stop, and only then that it goes no further.
func TestAStopIsReadOutBeforeTheCaseIsRefused(t *testing.T) {
	file := tooDear(t)
	_, errOut, code := run(t, "triage", file)
	require.Equal(t, exitTooWide, code, errOut)
	var c reader
	var e bytes.Buffer
	code = Main([]string{"ask", file}, &c, &c, &e)
	assert.Equal(t, exitTooWide, code)
	said := strings.Join(strings.Fields(c.all.String()), " ")
	stop, refusal := strings.Index(said, "A rod is broken"), strings.Index(said, "too many signs hang together to be weighed exactly")
	require.NotEqual(t, -1, stop)
	require.NotEqual(t, -1, refusal)
	assert.Less(t, stop, refusal)
	assert.Contains(t, e.String(), "telltale does not guess")
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Contains(t, string(text), "read the stop condition: A rod is broken")
}
