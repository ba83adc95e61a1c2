package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// onTerminal runs a command with a terminal of 80 by 24 as its standard output, and
// gives what came to be read there.
func onTerminal(t *testing.T, args ...string) (shown string, code int) {
	t.Helper()
	master, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Skipf("no terminal can be made here: %v", err)
	}
	defer master.Close()
	require.NoError(t, unix.IoctlSetPointerInt(int(master.Fd()), unix.TIOCSPTLCK, 0))
	number, err := unix.IoctlGetInt(int(master.Fd()), unix.TIOCGPTN)
	require.NoError(t, err)
	window, err := os.OpenFile(fmt.Sprintf("/dev/pts/%d", number), os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Skipf("no terminal can be made here: %v", err)
	}
	require.NoError(t, unix.IoctlSetWinsize(int(window.Fd()), unix.TIOCSWINSZ, &unix.Winsize{Col: 80, Row: 24}))
	read := make(chan string)
	go func() {
		text, _ := io.ReadAll(master) // ends with an error once the other side is shut
		read <- string(text)
	}()
	var errOut strings.Builder
	code = Main(args, strings.NewReader("q\n"), window, &errOut)
	require.NoError(t, window.Close())
	return strings.ReplaceAll(<-read, "\r\n", "\n") + errOut.String(), code
}

// What is longer than the window goes through the pager that the system names; what is
// short, JSON, many cases and talks never do, and a pager that does not do its work
// loses nothing.
func TestLongTextGoesThroughThePager(t *testing.T) {
	const mark = "shown by the pager"
	dir := t.TempDir()
	program := func(name, does string) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, []byte("#!/bin/sh\n"+does), 0o755))
		return path
	}
	good := program("good", "echo "+mark+" $#\ncat\n")
	bad := program("bad", "exit 3\n")
	early := program("early", "read first\necho "+mark+"\n")
	wiper := filepath.Join(root, "cases/wiper-again.yaml")
	full, _, _ := demo(t, "triage", "--full", "--width", "80", wiper)
	for name, c := range map[string]struct {
		pager string
		args  []string
		paged bool
	}{
		"a long page":        {good, []string{"triage", "--full", wiper}, true},
		"with words":         {good + " -a", []string{"triage", "--full", wiper}, true},
		"left early":         {early, []string{"triage", "--full", wiper}, true},
		"Markdown":           {good, []string{"sheet", "--markdown", wiper}, true},
		"help":               {good, []string{"help", "note"}, true},
		"one screen":         {good, []string{"triage", wiper}, false},
		"JSON":               {good, []string{"triage", "--json", wiper}, false},
		"many cases":         {good, []string{"triage", "--many", "--full", wiper}, false},
		"a quiz":             {good, []string{"practice", "--quiz", "10", "--seed", "1"}, false},
		"one that fails":     {bad, []string{"triage", "--full", wiper}, false},
		"one that is absent": {filepath.Join(dir, "gone"), []string{"triage", "--full", wiper}, false},
		"none":               {"", []string{"triage", "--full", wiper}, false},
	} {
		t.Run(name, func(t *testing.T) {
			t.Setenv("PAGER", c.pager)
			shown, code := onTerminal(t, c.args...)
			assert.Zero(t, code, shown)
			assert.Equal(t, c.paged, strings.Contains(shown, mark), shown)
			if c.args[1] == "--full" && c.pager != early {
				assert.Contains(t, shown, full)
			}
		})
	}
}
