package record

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// write makes a case file in a folder of its own.
func write(t *testing.T, text string) string {
	path := filepath.Join(t.TempDir(), "case.yaml")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
	return path
}

func open(t *testing.T, path string) *File {
	f, err := Open("", path, words(), false)
	require.NoError(t, err)
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
	onlyFile(t, path)
}

func TestANewFileIsStartedByTheFirstSave(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new.yaml")
	_, err := Open("", path, words(), false)
	require.ErrorIs(t, err, fs.ErrNotExist)
	f, err := Open("", path, words(), true)
	require.NoError(t, err)
	k, err := f.Case()
	require.NoError(t, err)
	require.Nil(t, k)
	require.NoFileExists(t, path)
	_, err = f.Write(SetPump("action", "triplex-single-acting"), SetPump("state", "running"))
	require.NoError(t, err)
	_, err = f.Write(SetPump("state", "stopped"))
	require.NoError(t, err)
	assert.Equal(t, "pump:\n  action: triplex-single-acting\n  state: stopped\n", read(t, path))
	onlyFile(t, path)
}

func TestANewFileDoesNotOverwriteOneMadeInTheMeantime(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new.yaml")
	f, err := Open("", path, words(), true)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, []byte(duplex), 0o644))
	var changed *ChangedError
	require.ErrorAs(t, f.Save([]byte(triplex)), &changed)
	assert.Equal(t, duplex, string(changed.Now))
	assert.Equal(t, duplex, read(t, path))
}

// Two have the file at once. What one writes the other does not write over: he is
// told what changed, reads again and writes.
func TestASecondWriterIsToldWhatChanged(t *testing.T) {
	path := write(t, triplex+"findings: {knock: once}\n")
	one, two := open(t, path), open(t, path)
	_, err := one.Write(SetFinding("knock", "twice"), Confirm("clamp-loose", at("2")))
	require.NoError(t, err)
	_, err = two.Write(SetPump("state", "stopped"))
	var changed *ChangedError
	require.ErrorAs(t, err, &changed)
	assert.Equal(t, []Change{{"findings: knock", "once", "twice"}, {"confirmed", "", "{clamp-loose: 2}"}}, changed.Changes)
	assert.EqualError(t, err, path+" was changed by somebody since it was read; nothing was written\n- findings: knock: was once, is now twice\n- confirmed: added: {clamp-loose: 2}")
	assert.Equal(t, string(one.Text()), read(t, path))
	require.NoError(t, two.Reread())
	k, err := two.Write(SetPump("state", "stopped"))
	require.NoError(t, err)
	assert.True(t, k.Shows("knock", "twice"))
	assert.Len(t, k.Confirmed, 1)
	onlyFile(t, path)
}

// Many write at once, each what he read and one thing more: every one comes
// through in the end, and nothing of anybody is lost.
func TestManyWritersLoseNothing(t *testing.T) {
	path := write(t, triplex)
	const writers, each = 8, 6
	var all sync.WaitGroup
	for n := range writers {
		all.Go(func() {
			f, err := Open("", path, words(), false)
			for i := 0; err == nil && i < each; {
				_, err = f.Write(AddLog(evidence.LogEntry{Did: fmt.Sprintf("%d did %d", n, i)}))
				var changed *ChangedError
				if errors.As(err, &changed) {
					err = f.Reread()
					continue
				}
				i++
			}
			assert.NoError(t, err)
		})
	}
	all.Wait()
	k, err := open(t, path).Case()
	require.NoError(t, err)
	next := map[string]int{}
	for _, entry := range k.Log {
		who, did, _ := strings.Cut(entry.Did, " did ")
		assert.Equal(t, strconv.Itoa(next[who]), did, "in order")
		next[who]++
	}
	assert.Len(t, k.Log, writers*each)
	onlyFile(t, path)
}

// Who holds the lock too long is not waited for without end.
func TestALockThatIsNotLetGo(t *testing.T) {
	f := open(t, write(t, triplex))
	lock, err := take(f.beside("lock"))
	require.NoError(t, err)
	defer release(lock)
	again, err := take(f.beside("lock"))
	require.NoError(t, err)
	assert.Nil(t, again)
	assert.Equal(t, triplex, string(open(t, f.Name()).Text()), "it can be read meanwhile")
}

func TestWhatChangedIsSaidInWords(t *testing.T) {
	for name, c := range map[string]struct{ was, now, says string }{
		"nothing":           {triplex, triplex, ""},
		"remarks":           {triplex, triplex + "# Joe\n", "remarks or blanks only"},
		"another state":     {"pump: {state: isolated, open: [a: 1]}\n", "pump: {state: running}\n", "pump: state: was isolated, is now running / pump: open: gone: {a: 1}"},
		"a section":         {triplex, triplex + "findings: {knock: once, rod-marked: {present: [2]}}\n", "findings: knock: added: once / findings: rod-marked: added: {present: [2]}"},
		"one place more":    {"findings: {rod-marked: {present: [2]}}\n", "findings: {rod-marked: {present: [2, 3], absent: [1]}}\n", "findings: rod-marked: present: added: 3 / findings: rod-marked: absent: added: 1"},
		"another form":      {"findings: {rod-marked: {present: [2]}}\n", "findings: {rod-marked: absent}\n", "findings: rod-marked: was {present: [2]}, is now absent"},
		"lines of a list":   {"log: [{did: a}, {did: a}, {did: b}]\n", "log: [{did: a}, {did: c}]\n", "log: gone: {did: a} / log: gone: {did: b} / log: added: {did: c}"},
		"a reading":         {"measured: {guide: {2: {top: 1 thou}}}\n", "measured: {guide: {2: {top: 2 thou}}}\n", "measured: guide: 2: top: was 1 thou, is now 2 thou"},
		"a file of nothing": {"", "recent: [valves-changed]\n", "recent: added: valves-changed"},
		"unreadable":        {"recent: [valves-changed]\n", "pump: [\n", "recent: gone: valves-changed"},
	} {
		t.Run(name, func(t *testing.T) {
			var said []string
			for _, change := range Changes([]byte(c.was), []byte(c.now)) {
				said = append(said, change.String())
			}
			assert.Equal(t, c.says, strings.Join(said, " / "), name)
		})
	}
}

func TestALinkIsFollowed(t *testing.T) {
	path := write(t, triplex)
	link := filepath.Join(t.TempDir(), "link.yaml")
	if err := os.Symlink(path, link); err != nil {
		t.Skip("no links here:", err)
	}
	f := open(t, link)
	assert.Equal(t, open(t, path).beside("lock"), f.beside("lock"), "one lock, whatever it is called")
	_, err := f.Write(SetFinding("knock", "once"))
	require.NoError(t, err)
	info, err := os.Lstat(link)
	require.NoError(t, err)
	assert.NotZero(t, info.Mode()&fs.ModeSymlink)
	assert.Contains(t, read(t, path), "knock: once")

	require.NoError(t, os.Symlink(filepath.Join(t.TempDir(), "gone.yaml"), link+"2"))
	_, err = Open("", link+"2", words(), true)
	assert.EqualError(t, err, link+"2 is a link that leads nowhere, not a case file")
}

func TestWhatIsNoFileIsRefused(t *testing.T) {
	folder := t.TempDir()
	_, err := Open("", folder, words(), true)
	var no *NotAFileError
	require.ErrorAs(t, err, &no)
	assert.EqualError(t, err, folder+" is a folder, not a case file")
	if _, err := os.Stat(os.DevNull); err == nil && os.DevNull == "/dev/null" {
		_, err = Open("", os.DevNull, words(), false)
		assert.EqualError(t, err, "/dev/null is a device, not a case file")
	}
	_, err = Open("", filepath.Join(folder, "no", "case.yaml"), words(), true)
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
	assert.EqualError(t, err, path+" was changed by somebody since it was read; nothing was written\n- recent: added: valves-changed")

	require.NoError(t, f.Reread())
	k, err := f.Write(SetFinding("knock", "once"))
	require.NoError(t, err)
	assert.True(t, k.WasDone("valves-changed"))
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
		f, err := Open("", path, words(), false)
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
		if !crash || err == nil {
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
	_, err := Open("", path, words(), true)
	assert.EqualError(t, err, path+" is a pipe, not a case file")
}
