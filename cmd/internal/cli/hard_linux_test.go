package cli

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A disk of a few pages that is really full, where one may be mounted.
func TestASmallFullDisk(t *testing.T) {
	for what, c := range writing {
		dir := t.TempDir()
		if err := syscall.Mount("telltale", dir, "tmpfs", 0, "size=64k"); err != nil {
			t.Skip("no disk can be mounted here:", err)
		}
		unmount := func() { _ = syscall.Unmount(dir, syscall.MNT_DETACH) }
		defer unmount()
		files := folderOfWork(t, dir)
		fill(t, filepath.Join(dir, "filler"))
		_, errOut, code := command(t, dir, "any", c.typed, c.args...)
		if what == "practice" { // the line still fits into the file's last page
			assert.Equal(t, exitDone, code, errOut)
		} else {
			assert.Equal(t, exitFile, code, "%s: %s", what, errOut)
			assert.Contains(t, errOut, "no space left on device", what)
		}
		asBefore(t, dir, files, what)
		unmount()
	}
}

// fill writes until there is no room.
func fill(t *testing.T, path string) {
	t.Helper()
	f, err := os.Create(path)
	require.NoError(t, err)
	defer f.Close()
	for err == nil {
		_, err = f.Write(make([]byte, 4096))
	}
	require.ErrorIs(t, err, syscall.ENOSPC)
}
