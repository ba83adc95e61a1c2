package dialogue

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/prompt"
	"telltale/rules"
)

// While a talk over a job is open, somebody isolates the pump under another job: the
// answer that was given before is not taken, and what that job says is read out before
// anything else; once it says that the pump is free, the talk goes on. Another job that
// changes nothing of how the pump stands disturbs nobody.
func TestAnotherJobIsWrittenMeanwhile(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	const running = "job: {pump: pump-2, date: 2026-10-20}\npump: {state: running}\nfindings: {wiper-leaks: {again: [2]}}\n"
	dir := folder(t, map[string]string{"pumps/pump-2.yaml": ofThePump, "jobs/one.yaml": running, "jobs/two.yaml": running})
	w, err := NewWork(book, Chosen{File: filepath.Join(dir, "jobs", "one.yaml"), In: dir}, onADay)
	require.NoError(t, err)
	p := after(t, w, [2]string{"still running", "yes"})
	write := func(text string) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, "jobs", "two.yaml"), []byte(text), 0o600))
	}

	write(running + "log: [{at: '06:10', did: listened}]\n")
	require.NoError(t, w.LookAgain())
	now := after(t, w)
	assert.Equal(t, p.ID, now.ID)
	assert.Equal(t, p.News, now.News)

	write("job: {pump: pump-2, date: 2026-10-20}\npump: {state: isolated, open: [crosshead-cover-off: 2]}\nlocks: [{on: drive, by: A. Hand}]\n")
	before := textOf(t, w.File())
	require.NoError(t, w.Answer(prompt.Answer{Prompt: now.ID, Rests: now.Rests, Chosen: []string{now.Options[0].ID}}))
	assert.True(t, w.TooLate())
	assert.Equal(t, before, textOf(t, w.File()))
	p = after(t, w)
	assert.Equal(t, "stop another-job-holds-the-pump", p.ID)
	assert.Contains(t, p.News[0].Text, "Another job on this pump was changed: by it the pump stands otherwise now")
	assert.Contains(t, p.Body[3].Text, "two.yaml, open since 2026-10-20, says: isolated. Open: Take the crosshead cover off (2). Locks hang: drive (A. Hand).")
	p = after(t, w, [2]string{p.ID, "read"})
	assert.NotEqual(t, "stop another-job-holds-the-pump", p.ID)

	write(running)
	require.NoError(t, w.LookAgain())
	require.NotNil(t, after(t, w))
	k, err := w.Case()
	require.NoError(t, err)
	for _, o := range k.Others {
		assert.False(t, o.Holds())
	}
}
