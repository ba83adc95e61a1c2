package dialogue

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/rules"
)

// The open jobs of a folder: the youngest first; what is closed, no case, or has a
// mistake is none.
func TestOpenJobs(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	dir := t.TempDir()
	for i, c := range []struct{ name, text string }{
		{"old", "pump: {action: triplex-single-acting, state: stopped}\nlog: [{at: 2024-02-29T03:00:00Z, by: JK, did: looked}]\n"},
		{"shopping", "eggs: [6]\n"},
		{"broken", "pump: {action: triplex-singel-acting\n"},
		{"closed", "pump: {action: triplex-single-acting, state: running}\nfindings: {gauge-wrong: present}\n"},
		{"young", "pump: {name: Larkspur pump 1, action: duplex-double-acting, state: running}\n"},
	} {
		if c.name == "closed" {
			c.text = "pump: {action: triplex-single-acting, state: running}\nfindings: {wiper-leaks: {first: [2]}}\nconfirmed: [wiper-worn-out: 2]\ncorrected: [wiper-worn-out: 2]\nlooked-again: [wiper-worn-out: 2]\n"
		}
		path := filepath.Join(dir, c.name+".yaml")
		require.NoError(t, os.WriteFile(path, []byte(c.text), 0o600))
		at := time.Date(2024, 3, 1+i, 0, 0, 0, 0, time.UTC)
		require.NoError(t, os.Chtimes(path, at, at))
	}
	jobs, err := openJobs(book, dir)
	require.NoError(t, err)
	var lines []string
	for _, j := range jobs {
		if j.file != "closed.yaml" {
			lines = append(lines, j.line)
		}
	}
	assert.Equal(t, []string{"Larkspur pump 1: running, nothing told yet", "old: stopped, nothing told yet. Last: 2024-02-29 JK"}, lines)
}

func TestFileNames(t *testing.T) {
	for called, want := range map[string]string{"Pump 2, wiper": "pump-2-wiper", "pump.yaml": "pump", "../../etc": "etc", "...": ""} {
		assert.Equal(t, want, fileName(called), called)
	}
	t.Chdir(t.TempDir())
	assert.Equal(t, "job.yaml", freeName("job"))
	require.NoError(t, os.WriteFile("job.yaml", nil, 0o600))
	assert.Equal(t, "job-2.yaml", freeName("job"))
}
