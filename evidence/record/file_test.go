package record

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// write makes a case file in a folder of its own.
func write(t *testing.T, text string) string {
	path := filepath.Join(t.TempDir(), "case.yaml")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
	return path
}

func open(t *testing.T, path string) *File {
	f, err := Open(path, words(), false)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, f.Close()) })
	return f
}

func read(t require.TestingT, path string) string {
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(text)
}

// onlyFile wants nothing left lying in the folder beside the case.
func onlyFile(t require.TestingT, path string) {
	entries, err := os.ReadDir(filepath.Dir(path))
	require.NoError(t, err)
	require.Len(t, entries, 1, "%v", entries)
}

func TestWriteSavesAndKeepsPermissions(t *testing.T) {
	path := write(t, "# by hand\n"+triplex)
	require.NoError(t, os.Chmod(path, 0o664))
	f := open(t, path)
	k, err := f.Write(SetFinding("knock", "once"))
	require.NoError(t, err)
	assert.True(t, k.Shows("knock", "once"))
	assert.Equal(t, "# by hand\n"+triplex+"findings:\n  knock: once\n", read(t, path))
	assert.Equal(t, read(t, path), string(f.Text()))
	info, err := os.Stat(path)
	require.NoError(t, err)
	if runtime.GOOS != "windows" { // where a file is read-only or not, and no more
		assert.Equal(t, fs.FileMode(0o664), info.Mode().Perm())
	}
	require.NoError(t, f.Close())
	require.NoError(t, f.Close(), "twice")
	onlyFile(t, path)
	assert.Error(t, f.Save([]byte(triplex)), "after Close")
}

func TestANewFileIsStartedByTheFirstSave(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new.yaml")
	_, err := Open(path, words(), false)
	require.ErrorIs(t, err, fs.ErrNotExist)
	f, err := Open(path, words(), true)
	require.NoError(t, err)
	k, err := f.Case()
	require.NoError(t, err)
	require.Nil(t, k)
	require.NoFileExists(t, path)
	_, err = f.Write(SetPump("action", "triplex-single-acting"), SetPump("state", "running"))
	require.NoError(t, err)
	_, err = f.Write(SetPump("state", "stopped"))
	require.NoError(t, err)
	require.NoError(t, f.Close())
	assert.Equal(t, "pump:\n  action: triplex-single-acting\n  state: stopped\n", read(t, path))
	onlyFile(t, path)
}

func TestANewFileDoesNotOverwriteOneMadeInTheMeantime(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new.yaml")
	f, err := Open(path, words(), true)
	require.NoError(t, err)
	defer f.Close()
	require.NoError(t, os.WriteFile(path, []byte(duplex), 0o644))
	var changed *ChangedError
	require.ErrorAs(t, f.Save([]byte(triplex)), &changed)
	assert.Equal(t, duplex, string(changed.Now))
	assert.Equal(t, duplex, read(t, path))
}

func TestOnlyOneHasTheFile(t *testing.T) {
	path := write(t, triplex)
	f := open(t, path)
	_, err := Open(path, words(), false)
	var busy *BusyError
	require.ErrorAs(t, err, &busy)
	assert.EqualError(t, err, path+" is open in another telltale; end that one first")
	require.NoError(t, f.Close())
	again := open(t, path)
	require.NoError(t, again.Close())
}

func TestALinkIsFollowed(t *testing.T) {
	path := write(t, triplex)
	link := filepath.Join(t.TempDir(), "link.yaml")
	if err := os.Symlink(path, link); err != nil {
		t.Skip("no links here:", err)
	}
	f := open(t, link)
	_, err := Open(path, words(), false)
	var busy *BusyError
	require.ErrorAs(t, err, &busy, "one file, whatever it is called")
	_, err = f.Write(SetFinding("knock", "once"))
	require.NoError(t, err)
	info, err := os.Lstat(link)
	require.NoError(t, err)
	assert.NotZero(t, info.Mode()&fs.ModeSymlink)
	assert.Contains(t, read(t, path), "knock: once")

	require.NoError(t, os.Symlink(filepath.Join(t.TempDir(), "gone.yaml"), link+"2"))
	_, err = Open(link+"2", words(), true)
	assert.EqualError(t, err, link+"2 is a link that leads nowhere, not a case file")
}

func TestWhatIsNoFileIsRefused(t *testing.T) {
	folder := t.TempDir()
	_, err := Open(folder, words(), true)
	var no *NotAFileError
	require.ErrorAs(t, err, &no)
	assert.EqualError(t, err, folder+" is a folder, not a case file")
	if _, err := os.Stat(os.DevNull); err == nil && os.DevNull == "/dev/null" {
		_, err = Open(os.DevNull, words(), false)
		assert.EqualError(t, err, "/dev/null is a device, not a case file")
	}
	_, err = Open(filepath.Join(folder, "no", "case.yaml"), words(), true)
	assert.ErrorIs(t, err, fs.ErrNotExist)
}

func TestAnEditByHandInBetweenIsNotLost(t *testing.T) {
	path := write(t, triplex)
	f := open(t, path)
	byHand := triplex + "# Joe was here\nrecent: [valves-changed]\n"
	require.NoError(t, os.WriteFile(path, []byte(byHand), 0o644))
	_, err := f.Write(SetFinding("knock", "once"))
	var changed *ChangedError
	require.ErrorAs(t, err, &changed)
	assert.Equal(t, byHand, string(changed.Now))
	assert.Equal(t, byHand, read(t, path))
	assert.EqualError(t, err, path+" was changed by somebody since it was read; nothing was written")

	require.NoError(t, f.Reread())
	k, err := f.Write(SetFinding("knock", "once"))
	require.NoError(t, err)
	assert.Equal(t, []string{"valves-changed"}, k.Recent)
	assert.Equal(t, byHand+"findings:\n  knock: once\n", read(t, path))

	require.NoError(t, os.Remove(path))
	_, err = f.Write(SetFinding("knock", "twice"))
	assert.EqualError(t, err, path+" was moved or deleted since it was read; nothing was written")
	assert.NoFileExists(t, path)
}

func TestADamagedFileIsNeverOverwritten(t *testing.T) {
	for name, text := range map[string]string{
		"not YAML": "pump: [\n", "not a case": "hello: 1\n", "too large": strings.Repeat("# x\n", 80_000), "not text": "\x00",
	} {
		t.Run(name, func(t *testing.T) {
			path := write(t, text)
			f := open(t, path)
			_, err := f.Case()
			var damaged *DamagedError
			require.ErrorAs(t, err, &damaged)
			_, err = f.Write(SetPump("name", "x"))
			require.ErrorAs(t, err, &damaged)
			require.ErrorAs(t, f.Save([]byte(triplex)), &damaged)
			assert.Equal(t, text, read(t, path))
		})
	}
}

func TestWhatIsNoCaseIsNotSaved(t *testing.T) {
	path := write(t, triplex)
	f := open(t, path)
	var refused *RefusedError
	require.ErrorAs(t, f.Save([]byte("hello: 1\n")), &refused)
	assert.Equal(t, triplex, read(t, path))
}

func TestAReadOnlyFileOrFolderIsLeftAlone(t *testing.T) {
	path := write(t, triplex)
	require.NoError(t, os.Chmod(path, 0o444))
	f := open(t, path)
	if probe, err := os.OpenFile(path, os.O_WRONLY, 0); err == nil {
		probe.Close()
		t.Skip("this user may write anything")
	}
	_, err := f.Write(SetFinding("knock", "once"))
	assert.ErrorIs(t, err, fs.ErrPermission)
	require.NoError(t, os.Chmod(path, 0o644))
	require.NoError(t, os.Chmod(filepath.Dir(path), 0o555))
	defer os.Chmod(filepath.Dir(path), 0o755)
	_, err = f.Write(SetFinding("knock", "once"))
	assert.ErrorIs(t, err, fs.ErrPermission)
	assert.Equal(t, triplex, read(t, path))
}

var errStopped = errors.New("stopped by the test")

// stopAt makes steps that fail, or crash, at the step of this number.
func stopAt(number int, how func() error) steps {
	return func(string) error {
		number--
		if number < 0 {
			return how()
		}
		return nil
	}
}

// large is a case of several pieces, so that it can be written in part.
func large(n int) string {
	return fmt.Sprintf("pump: {action: triplex-single-acting, state: isolated, name: answer %d}\n%s# end %d\n", n, strings.Repeat("# what a crew writes\n", 400), n)
}

// TestSavingStoppedAnywhereLeavesOneTextWhole stops a thousand saves at random
// steps: by an error as of a full disk, and by a crash that leaves everything
// lying.
func TestSavingStoppedAnywhereLeavesOneTextWhole(t *testing.T) {
	path := write(t, large(0))
	random := rand.New(rand.NewPCG(1, 2))
	now := large(0)
	stopped, saved := map[string]int{}, 0
	for n := 1; n <= 1000; n++ {
		f, err := Open(path, words(), false)
		require.NoError(t, err)
		require.Equal(t, now, string(f.Text()))
		crash, last := random.IntN(2) == 0, ""
		stop := stopAt(random.IntN(12), func() error {
			if crash {
				panic(errStopped)
			}
			return syscall.ENOSPC
		})
		f.steps = func(step string) error { last = step; return stop(step) }
		err = crashing(func() error { return f.Save([]byte(large(n))) })
		got := read(t, path)
		require.Contains(t, []string{now, large(n)}, got)
		switch {
		case err == nil:
			saved++
			require.Equal(t, large(n), got, "saved is saved")
		case crash:
			stopped["crash: "+last]++
			require.Equal(t, last == "sync folder", got == large(n))
		default:
			stopped["full: "+last]++
			require.ErrorIs(t, err, syscall.ENOSPC)
			require.Equal(t, now, got)
			require.Equal(t, now, string(f.Text()))
			require.NoFileExists(t, f.beside("new"))
		}
		now = got
		if crash && err != nil {
			require.NoError(t, f.lock.Unlock()) // what the system does when a process dies
		} else {
			require.NoError(t, f.Close())
			onlyFile(t, path)
		}
	}
	t.Log(saved, stopped)
	assert.Greater(t, saved, 50)
	for _, step := range []string{"create", "write", "sync", "close", "look again", "rename"} {
		assert.NotZero(t, stopped["crash: "+step], step)
		assert.NotZero(t, stopped["full: "+step], step)
	}
}

func crashing(do func() error) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = r.(error)
		}
	}()
	return do()
}

// TestSomebodyElseWritesWhileWeSave changes the file after the new text was
// written beside it.
func TestSomebodyElseWritesWhileWeSave(t *testing.T) {
	path := write(t, triplex)
	f := open(t, path)
	f.steps = func(step string) error {
		if step == "look again" {
			return os.WriteFile(path, []byte(duplex), 0o644)
		}
		return nil
	}
	_, err := f.Write(SetFinding("knock", "once"))
	var changed *ChangedError
	require.ErrorAs(t, err, &changed)
	assert.Equal(t, duplex, read(t, path))
	require.NoFileExists(t, f.beside("new"))
}

func TestAPipeIsRefusedAndNotWaitedFor(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pipe")
	if err := makePipe(path); err != nil {
		t.Skip("no pipes here:", err)
	}
	_, err := Open(path, words(), true)
	assert.EqualError(t, err, path+" is a pipe, not a case file")
}
