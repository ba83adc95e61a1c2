package source

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What the system and the library say of a file is told without the name of the call, and
// with what it is about.
func TestErrorsAreToldPlainly(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "a.yaml")
	require.NoError(t, os.WriteFile(file, []byte("x"), 0o600))
	gone := filepath.Join(dir, "gone")
	_, none := os.Open(gone)
	_, stat := os.Lstat(filepath.Join(file, "b"))
	_, folder := os.ReadFile(dir)
	assert.Equal(t, gone+": no such file or directory", Plain(none))
	assert.Equal(t, filepath.Join(file, "b")+": a file stands where a folder is expected", Plain(stat))
	assert.Equal(t, dir+": it is a folder; expected a file", Plain(folder))
	assert.Equal(t, "c.html: nothing was written: "+gone+": no such file or directory", Plain(fmt.Errorf("c.html: nothing was written: %w", none)))
	assert.Equal(t, Plain(none)+"\n"+Plain(folder), Plain(errors.Join(none, folder)))
	for beside, shown := range map[string]string{".telltale-123": "d", ".case.yaml.telltale-new": filepath.Join("d", "case.yaml"), "case.yaml": filepath.Join("d", "case.yaml")} {
		assert.Equal(t, shown+": file does not exist", Plain(&fs.PathError{Op: "openat", Path: filepath.Join("d", beside), Err: fs.ErrNotExist}))
	}
	var line struct{ Story string }
	for text, told := range map[string]string{
		`{"Story": 5}`: "Story is a number that does not belong there", `[1]`: "it is an array that does not belong there",
		"{x": "it is no JSON from its byte 2 on",
	} {
		assert.Equal(t, told, Plain(json.Unmarshal([]byte(text), &line)), text)
	}
	assert.Equal(t, "no more room", Plain(errors.New("no more room")))
}

// Of a link it says where it leads and what to do.
func TestWhyAFileIsUnread(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(t.TempDir(), "out.yaml")
	require.NoError(t, os.WriteFile(out, []byte("x"), 0o600))
	links := map[string]string{"out.yaml": out, "gone.yaml": "nowhere.yaml", "loop.yaml": "loop.yaml"}
	for name, to := range links {
		if err := os.Symlink(to, filepath.Join(dir, name)); err != nil {
			t.Skipf("no links here: %v", err)
		}
	}
	root, err := os.OpenRoot(dir)
	require.NoError(t, err)
	defer root.Close()
	for name, told := range map[string]string{
		"out.yaml":  "it is a link to " + out + ": it leads out of this folder, and nothing outside of it is read. Put the file itself here, or take the link away",
		"gone.yaml": "it is a link to nowhere.yaml: no such file or directory. Put the file itself here, or take the link away",
		"loop.yaml": "it is a link to loop.yaml: its links lead in a circle. Put the file itself here, or take the link away",
		"none.yaml": "no such file or directory",
	} {
		_, err := root.Stat(name)
		why := WhyUnread(root, name, err)
		assert.Equal(t, told, why.Error(), name)
		assert.ErrorIs(t, why, errors.Unwrap(err), name)
	}
}
