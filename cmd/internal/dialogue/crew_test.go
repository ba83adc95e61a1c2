package dialogue

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/mattn/go-runewidth"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/talk"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// crew answers at the terminal: whenever a line is wanted, it is shown what came
// to the screen since its last answer.
type crew struct {
	t      testing.TB
	book   *rules.Book
	path   string
	screen bytes.Buffer
	all    strings.Builder
	// answer gives the next line; false ends the input.
	answer func(screen string) (line string, ok bool)
}

func (c *crew) Write(p []byte) (int, error) {
	c.all.Write(p)
	return c.screen.Write(p)
}

func (c *crew) Read(p []byte) (int, error) {
	line, ok := c.answer(c.screen.String())
	c.screen.Reset()
	if !ok {
		return 0, io.EOF
	}
	c.all.WriteString(line + "\n") // as the terminal echoes it
	return copy(p, line+"\n"), nil
}

// file is what is on the disk; "" if there is nothing yet.
func (c *crew) file() string {
	text, err := os.ReadFile(c.path)
	if os.IsNotExist(err) {
		return ""
	}
	require.NoError(c.t, err)
	return string(text)
}

// parsed is the case on the disk, which is never one with mistakes.
func (c *crew) parsed() *evidence.Case {
	text := c.file()
	if text == "" {
		return nil
	}
	k, err := evidence.ParseCase("case.yaml", []byte(text), c.book.Vocabulary())
	require.NoError(c.t, err, text)
	return k
}

func noon() time.Time { return time.Date(2024, 2, 29, 3, 0, 0, 0, time.UTC) }

func newCrew(t testing.TB, text string) *crew {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	c := &crew{t: t, book: book, path: filepath.Join(t.TempDir(), "case.yaml")}
	if text != "" {
		require.NoError(t, os.WriteFile(c.path, []byte(text), 0o600))
	}
	return c
}

// newCrewOnSmallBook is a crew whose next question does not change with the
// built-in book.
func newCrewOnSmallBook(t testing.TB) *crew {
	t.Helper()
	book, err := rules.Load(os.DirFS("../../../testdata/smallbook"), "smallbook")
	require.NoError(t, err)
	c := newCrew(t, "")
	c.book = book
	return c
}

// sit holds one sitting on a terminal of so many columns and lines.
func (c *crew) sit(columns, lines int) error {
	c.t.Helper()
	return hold(c.sitting(), talk.New(c, c, columns, lines))
}

// sitting begins a sitting over the file of the crew.
func (c *crew) sitting() *Sitting {
	c.t.Helper()
	file, err := record.Open("", c.path, c.book.Vocabulary(), true)
	require.NoError(c.t, err)
	return NewSitting(c.book, file, noon)
}

// hold holds a sitting until the input ends or the crew leaves.
func hold(s *Sitting, terminal *talk.Terminal) error {
	err := terminal.Hold(s)
	if errors.Is(err, talk.ErrEnd) || errors.Is(err, talk.ErrLeft) {
		return nil
	}
	return errors.Join(err, s.Broken())
}

// said is one answer of a script: what the screen shows before it, what the
// file holds by then, and the answer.
type said struct{ shows, holds, answer string }

// talks plays a script in one sitting and gives the screen after its last answer.
func (c *crew) talks(script []said) string {
	c.t.Helper()
	n, rest := 0, ""
	c.answer = func(screen string) (string, bool) {
		if n == len(script) {
			rest = screen
			return "", false
		}
		s := script[n]
		flat := strings.Join(strings.Fields(screen), " ")
		require.Contains(c.t, flat, s.shows, "before answer %d, %q", n+1, s.answer)
		require.Contains(c.t, c.file(), s.holds, "before answer %d, %q", n+1, s.answer)
		n++
		return s.answer, true
	}
	require.NoError(c.t, c.sit(80, 0))
	require.Equal(c.t, len(script), n, "the talk ended early:\n%s", c.screen.String())
	return rest + c.screen.String()
}

// narrow wants every line to fit, and no screen between two answers to be
// longer than the terminal.
func narrow(t testing.TB, text string, columns int) {
	t.Helper()
	for _, line := range strings.Split(text, "\n") {
		if !assert.LessOrEqual(t, runewidth.StringWidth(line), columns, "%q", line) {
			return
		}
	}
}
