package site

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A rig is read again whenever one of its files may have been written, whatever the
// clock says.
func TestARigIsReadAgain(t *testing.T) {
	dir := folderOf(t, map[string]string{"pumps/pump-2.yaml": pumpTwo, "jobs/case.yaml": onPumpTwo})
	path := filepath.Join(dir, "jobs", "case.yaml")
	s := siteOver(t, dir)
	state := func() string {
		r, err := s.readRig()
		require.NoError(t, err)
		return string(r.Pumps[0].Jobs[0].Pump.State)
	}
	write := func(text string, ago time.Duration) {
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		at := time.Now().Add(-ago)
		for _, file := range []string{path, filepath.Join(dir, "pumps", "pump-2.yaml")} {
			require.NoError(t, os.Chtimes(file, at, at))
		}
	}
	stopped := strings.Replace(onPumpTwo, "running", "stopped", 1)
	require.Len(t, stopped, len(onPumpTwo), "as long as it was")

	for name, ago := range map[string]time.Duration{"old": time.Hour, "just now": 0, "of tomorrow": -24 * time.Hour} {
		t.Run(name, func(t *testing.T) {
			write(onPumpTwo, ago)
			assert.Equal(t, "running", state())
			kept := s.rig.rig != nil
			assert.Equal(t, ago > settled, kept)
			if kept {
				first, _ := s.readRig()
				again, err := s.readRig()
				require.NoError(t, err)
				assert.Same(t, first, again, "nothing was written")
			}
			write(stopped, ago/2)
			assert.Equal(t, "stopped", state())
		})
	}
	require.NoError(t, os.Remove(path))
	r, err := s.readRig()
	require.NoError(t, err)
	assert.Empty(t, r.Pumps[0].Jobs)
}
