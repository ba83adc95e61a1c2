//go:build unix

package site

import (
	"net/http"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is no ordinary file is left alone: nobody waits for a pipe.
func TestPipesAndDevicesInTheFolder(t *testing.T) {
	for name, files := range map[string]map[string]string{
		"cases": {"wiper.yaml": wiper},
		"a rig": {"pumps/pump-2.yaml": pumpTwo, "jobs/wiper.yaml": onPumpTwo},
	} {
		t.Run(name, func(t *testing.T) {
			dir := folderOf(t, files)
			for _, of := range []string{"", "jobs", "pumps"} {
				if _, err := os.Stat(filepath.Join(dir, of)); err == nil {
					require.NoError(t, syscall.Mkfifo(filepath.Join(dir, of, "pipe.yaml"), 0o600))
					require.NoError(t, os.Symlink("/dev/zero", filepath.Join(dir, of, "device.yaml")))
					require.NoError(t, os.Mkdir(filepath.Join(dir, of, "folder.yaml"), 0o700))
				}
			}
			s := siteOver(t, dir)
			done := make(chan bool)
			go func() {
				defer close(done)
				assert.Equal(t, http.StatusOK, open(t, s, "/").status)
				for _, file := range []string{"pipe", "device", "folder"} {
					assert.GreaterOrEqual(t, open(t, s, "/job/"+file).status, 400)
					assert.GreaterOrEqual(t, open(t, s, "/job/"+file+"/all").status, 400)
					assert.GreaterOrEqual(t, open(t, s, "/pump/"+file).status, 400)
				}
			}()
			select {
			case <-done:
			case <-time.After(time.Minute):
				t.Fatal("somebody waits for a pipe")
			}
		})
	}
}

// A folder in which nothing can be written: it is said in plain words, nothing is lost,
// and the same answer is taken once it can be.
func TestAFolderThatCannotBeWritten(t *testing.T) {
	if os.Getuid() == 0 {
		t.Skip("root may write everywhere")
	}
	dir := folderOf(t, map[string]string{"wiper.yaml": wiper})
	require.NoError(t, os.Chmod(dir, 0o500))
	t.Cleanup(func() { _ = os.Chmod(dir, 0o700) })
	b := open(t, siteOver(t, dir), "/job/wiper")
	at, sends := b.button("no, it is stopped")
	b.post(at, sends)
	assert.Equal(t, http.StatusInternalServerError, b.status)
	assert.Contains(t, b.refused(), "permission denied")
	assert.Equal(t, wiper, read(t, filepath.Join(dir, "wiper.yaml")))
	require.NoError(t, os.Chmod(dir, 0o700))
	b.post(at, sends)
	assert.Contains(t, read(t, filepath.Join(dir, "wiper.yaml")), "stopped")
}
