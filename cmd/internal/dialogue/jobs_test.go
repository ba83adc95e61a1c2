package dialogue

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/prompt"
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
	files, err := caseFiles(dir)
	require.NoError(t, err)
	jobs, rest, err := openJobs(book, dir, files)
	require.NoError(t, err)
	assert.Empty(t, rest)
	var lines []string
	for _, j := range jobs {
		if j.file != "closed.yaml" {
			lines = append(lines, j.line)
		}
	}
	assert.Equal(t, []string{"Larkspur pump 1: running, nothing told yet", "old: stopped, nothing told yet. Last: 2024-02-29 JK"}, lines)
}

// No open job is out of reach, however many there are.
func TestOlderJobs(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	cases := map[string]string{"pumps/pump-2.yaml": ofThePump}
	for i := range 2*mostJobs + 2 {
		cases[fmt.Sprintf("jobs/job-%02d.yaml", i)] = fmt.Sprintf("job: {pump: pump-2, date: 2026-10-%02d}\npump: {state: running}\n", i+1)
		cases[fmt.Sprintf("job-%02d.yaml", i)] = "pump: {action: triplex-single-acting, state: running}\n"
	}
	dir := folder(t, cases)
	ofRig, err := NewRig(book, dir, onADay, nil)
	require.NoError(t, err)
	jobs, err := NewJobs(book, dir)
	require.NoError(t, err)
	for _, talk := range []held{ofRig, jobs} {
		seen := map[string]bool{}
		list := func(p prompt.Prompt) (n int) {
			for _, o := range p.Options {
				if strings.HasSuffix(o.ID, ".yaml") {
					seen[o.ID] = true
					n++
				}
			}
			return n
		}
		p := after(t, talk)
		assert.Equal(t, mostJobs, list(p))
		p = after(t, talk, [2]string{p.ID, olderJobs})
		assert.Equal(t, mostJobs, list(p))
		p = after(t, talk, [2]string{p.ID, olderJobs})
		assert.Equal(t, 2, list(p))
		assert.Len(t, seen, 2*mostJobs+2)
		assert.NotContains(t, p.Options, older)
		require.NoError(t, talk.Answer(prompt.Answer{Prompt: p.ID, Chosen: []string{prompt.Back}}))
		p = after(t, talk)
		assert.Equal(t, mostJobs, list(p))
		p = after(t, talk, [2]string{p.ID, p.Options[0].ID})
		assert.True(t, p.Over())
	}
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
