package site

import (
	"bytes"
	"net/http"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A disk that is full, where one may be mounted.
func TestAFullDisk(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=64k"); err != nil {
		t.Skip("no disk may be mounted: ", err)
	}
	t.Cleanup(func() { require.NoError(t, syscall.Unmount(dir, syscall.MNT_DETACH)) })
	require.NoError(t, os.WriteFile(filepath.Join(dir, "wiper.yaml"), []byte(wiper), 0o600))
	full := filepath.Join(dir, "full")
	_ = os.WriteFile(full, bytes.Repeat([]byte("x"), 1<<20), 0o600)
	s := siteOver(t, dir)
	b := open(t, s, "/job/wiper")
	at, sends := b.button("no, it is stopped")
	b.post(at, sends)
	assert.Equal(t, http.StatusInternalServerError, b.status)
	assert.Contains(t, b.refused(), "no space left on device")
	assert.Contains(t, b.refused(), "NOT be written")
	assert.Equal(t, wiper, read(t, filepath.Join(dir, "wiper.yaml")))
	story, told := b.typing("The wiper of cylinder 3 leaks too.")
	b.post(story, told)
	if b.status != http.StatusOK { // it is agreed to first
		assert.Equal(t, "The wiper of cylinder 3 leaks too.", b.typed())
	}
	require.NoError(t, os.Remove(full))
	b = open(t, s, "/job/wiper").press("back")
	b.press("no, it is stopped")
	assert.Equal(t, http.StatusOK, b.status, "%s", b.refused())
	assert.Contains(t, read(t, filepath.Join(dir, "wiper.yaml")), "stopped")
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, entries, 1, "nothing is left in the way")
}
