package cli

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Files that are built to break a reader: each is answered or refused with a
// clear error, in bounded time and memory.
func TestHardFiles(t *testing.T) {
	dir := t.TempDir()
	const good = "pump: {action: triplex-single-acting, state: running}\nfindings: {knock: absent}\n"
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
		return path
	}
	var many strings.Builder
	many.WriteString("pump: {action: triplex-single-acting, state: running}\nfindings:\n")
	for range 5000 {
		many.WriteString("  knock: absent\n")
	}
	bomb := "a: &a [x, x, x, x]\n"
	for i := 'b'; i < 'm'; i++ {
		bomb += fmt.Sprintf("%c: &%c [*%c, *%c, *%c, *%c]\n", i, i, i-1, i-1, i-1, i-1)
	}
	link := filepath.Join(dir, "link.yaml")
	require.NoError(t, os.Symlink(write("target.yaml", good), link))
	huge := filepath.Join(dir, "huge.yaml")
	f, err := os.Create(huge)
	require.NoError(t, err)
	require.NoError(t, f.Truncate(4<<30)) // 4 GiB without taking the room
	require.NoError(t, f.Close())

	for name, c := range map[string]struct {
		path string
		want int
		says string
	}{
		"mark of order":       {write("bom.yaml", "\xef\xbb\xbf"+good), exitDone, ""},
		"windows lines":       {write("crlf.yaml", strings.ReplaceAll(good, "\n", "\r\n")), exitDone, ""},
		"link":                {link, exitDone, ""},
		"4 GiB":               {huge, exitBadInput, "at most 262144 are read"},
		"NUL bytes":           {write("nul.yaml", good+"\x00\x00\x00"), exitBadInput, "nul.yaml:3:1"},
		"not UTF-8":           {write("latin.yaml", good+"# \xe9\n"), exitBadInput, "latin.yaml:3:"},
		"deep":                {write("deep.yaml", "pump: "+strings.Repeat("[", 100_000)), exitBadInput, "deep.yaml:1:"},
		"deep mapping":        {write("deeper.yaml", "pump: "+strings.Repeat("{a: ", 10_000)), exitBadInput, "deeper.yaml:1:"},
		"bomb of aliases":     {write("bomb.yaml", bomb), exitBadInput, "bomb.yaml:1:"},
		"keys a thousandfold": {write("keys.yaml", many.String()), exitBadInput, "keys.yaml:4:3"},
		"one long line":       {write("long.yaml", "pump: "+strings.Repeat("x", 200_000)), exitBadInput, "long.yaml:1:7"},
		"two documents":       {write("two.yaml", good+"---\n"+good), exitBadInput, "two.yaml:3:1"},
	} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		out, errOut, code := run(t, "triage", c.path)
		runtime.ReadMemStats(&after)
		assert.Equal(t, c.want, code, "%s: %s", name, clipped(errOut))
		assert.Contains(t, errOut, c.says, name)
		assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(400<<20), name)
		if c.want != exitDone {
			assert.Empty(t, out, "%s: no half answer", name)
		}
	}
}

func clipped(s string) string { return s[:min(len(s), 300)] }

// A full disk, here a writer that takes a little and then nothing, is told and
// is not success.
func TestFullDiskIsNoSuccess(t *testing.T) {
	for _, args := range [][]string{
		{"triage", filepath.Join(root, "cases/wiper-again.yaml")}, {"triage", "--json", filepath.Join(root, "cases/wiper-again.yaml")},
		{"align", filepath.Join(root, "cases/rod-measured.yaml")}, {"output", filepath.Join(root, "cases/tank-short.yaml")},
		{"teardown", filepath.Join(root, "cases/wiper-again.yaml")}, {"rulebook", "show"}, {"triage", "--many", filepath.Join(root, "cases/wiper-again.yaml")},
	} {
		var errOut bytes.Buffer
		code := Main(args, strings.NewReader(""), &fullDisk{room: 100}, &errOut)
		assert.Equal(t, exitFile, code, "%v: %s", args, errOut.String())
		assert.NotEmpty(t, errOut.String(), args)
	}
}

type fullDisk struct{ room int }

func (d *fullDisk) Write(b []byte) (int, error) {
	if len(b) > d.room {
		n := d.room
		d.room = 0
		return n, fmt.Errorf("no space left on device")
	}
	d.room -= len(b)
	return len(b), nil
}
