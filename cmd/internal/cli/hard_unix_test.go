//go:build linux || darwin

package cli

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// asCommand makes this test's own program behave as telltale. Its value is how
// many bytes a file may grow to, or "any".
const asCommand = "TELLTALE_AS_COMMAND"

func TestMain(m *testing.M) {
	if most := os.Getenv(asCommand); most != "" {
		if err := boundFiles(most); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(99)
		}
		os.Exit(Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
	}
	os.Exit(m.Run())
}

// boundFiles lets every write past so many bytes of a file fail, as a full disk
// does: the system's own way to fail a write, for root too.
func boundFiles(most string) error {
	if most == "any" {
		return nil
	}
	n, err := strconv.ParseUint(most, 10, 64)
	if err != nil {
		return err
	}
	signal.Ignore(syscall.SIGXFSZ)
	return syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: n, Max: n})
}

// The lines of a record of exercises and of a case as they stand before.
const (
	oldRecord = `{"schema":1,"at":"","seed":1,"level":1,"pump":"","rulebook":"","causes":["piston-worn"],"named":[],"end":"gave-up","minutes":1,"best_minutes":1,"best_solved":true,"safety_faults":0,"corrections_right":0,"corrections_asked":0,"shims_right":0,"shims_asked":0}` + "\n"
	oldCase   = "# by hand\npump: {action: triplex-single-acting, state: running}\nfindings: {knock: absent}\n"
	oldSheet  = "JOB SHEET. An older one\nRulebook: telltale built-in, version 1, digest 0123456789ab\n"
	closed    = "pump: {action: triplex-single-acting, state: isolated}\nfindings: {wiper-leaks: {again: [2], absent: others}, rod-joint-out-of-line: {present: [2]}}\nconfirmed: [rod-clamp-misfitted: 2]\n"
)

// writing are the commands that write files, with what is typed into them.
var writing = map[string]struct {
	typed string
	args  []string
}{
	"a new sheet":         {"", []string{"sheet", "--blank", "valves", "-o", "new.html"}},
	"a sheet over an old": {"", []string{"sheet", "case.yaml", "-o", "old.html"}},
	"note":                {"", []string{"note", "case.yaml", "wiper-leaks", "again", "2"}},
	"note, a new case":    {"", []string{"note", "new.yaml", "pump", "triplex-single-acting", "running"}},
	"ask":                 {"wiper leak\ny\n", []string{"ask", "--width", "80", "case.yaml"}},
	"ask, a new case":     {"1\nLarkspur pump 2\n1\n", []string{"ask", "--width", "80", "new.yaml"}},
	"practice":            {"", []string{"practice", "--seed", "4", "--record", "me.jsonl"}},
	"practice, a new one": {"", []string{"practice", "--seed", "4", "--record", "new.jsonl"}},
	"study":               {"", []string{"study", "--layer", "layer", "closed.yaml"}},
}

// folderOfWork puts what those commands start from into a folder.
func folderOfWork(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{"case.yaml": oldCase, "me.jsonl": oldRecord, "old.html": oldSheet, "closed.yaml": strings.Repeat(closed+"---\n", 6)}
	for name, text := range files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666))
	}
	return files
}

// command runs telltale in a process of its own.
func command(t *testing.T, dir, most, typed string, args ...string) (out, errOut string, code int) {
	t.Helper()
	program, err := os.Executable()
	require.NoError(t, err)
	cmd := exec.Command(program, args...)
	return runCommand(t, cmd, dir, most, typed)
}

func runCommand(t *testing.T, cmd *exec.Cmd, dir, most, typed string) (out, errOut string, code int) {
	t.Helper()
	cmd.Dir, cmd.Env, cmd.Stdin = dir, append(os.Environ(), asCommand+"="+most), strings.NewReader(typed)
	var o, e bytes.Buffer
	cmd.Stdout, cmd.Stderr = &o, &e
	if err := cmd.Run(); err != nil {
		require.IsType(t, &exec.ExitError{}, err)
	}
	return o.String(), e.String(), cmd.ProcessState.ExitCode()
}

// asBefore wants each file as it was or, a record, longer; and nothing new.
func asBefore(t *testing.T, dir string, files map[string]string, what string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		if e.Name() == "new.jsonl" || e.Name() == "filler" {
			continue // a file of exercises is begun before the first of them
		}
		assert.Contains(t, files, e.Name(), "%s: left behind", what)
	}
	for name, text := range files {
		got, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err, "%s: %s", what, name)
		if name == "me.jsonl" {
			assert.True(t, strings.HasPrefix(string(got), text), "%s: %s lost an exercise", what, name)
			continue
		}
		assert.Equal(t, text, string(got), "%s: %s", what, name)
	}
}

// On a full disk no command writes half a file, loses an old one or says that
// all is well.
func TestFullDiskLosesNothing(t *testing.T) {
	for _, room := range []string{"0", "40"} {
		for what, c := range writing {
			t.Run(what+" in "+room+" bytes", func(t *testing.T) {
				t.Parallel()
				dir := t.TempDir()
				files := folderOfWork(t, dir)
				_, errOut, code := command(t, dir, room, c.typed, c.args...)
				assert.Equal(t, exitFile, code, errOut)
				assert.Contains(t, errOut, "file too large")
				asBefore(t, dir, files, what)
				_, errOut, code = command(t, dir, "any", c.typed, c.args...)
				assert.Equal(t, exitDone, code, "once there is room: %s", errOut)
			})
		}
	}
}

// An exercise that cannot be recorded is handed over as a line; with it the
// record is whole.
func TestAnExerciseIsNotLostOnAFullDisk(t *testing.T) {
	dir := t.TempDir()
	folderOfWork(t, dir)
	_, errOut, code := command(t, dir, "300", "", writing["practice"].args...)
	require.Equal(t, exitFile, code, errOut)
	_, line, found := strings.Cut(errOut, "Add this line by hand:\n")
	require.True(t, found, errOut)
	f, err := os.OpenFile(filepath.Join(dir, "me.jsonl"), os.O_APPEND|os.O_WRONLY, 0)
	require.NoError(t, err)
	_, err = f.WriteString("\n" + line)
	require.NoError(t, err)
	require.NoError(t, f.Close())
	out, errOut, code := command(t, dir, "any", "", "practice", "--progress", "me.jsonl")
	require.Equal(t, exitDone, code, errOut)
	assert.Contains(t, out, "Practice: 2 exercises")
}

// A record that cannot be written is told before the exercise, not after it.
func TestARecordThatCannotBeWrittenIsToldFirst(t *testing.T) {
	out, errOut, code := command(t, t.TempDir(), "any", "", "practice", "--seed", "4", "--record", ".")
	assert.Equal(t, exitFile, code)
	assert.Contains(t, errOut, "it is a folder; expected a file")
	assert.Empty(t, out)
}

// Nobody is a user without rights over what root made.
const nobody = 65534

// In a folder that must not be written to, commands that read still answer and
// commands that write say why not. Root may write anywhere, so root becomes
// nobody for this.
func TestReadOnlyFolder(t *testing.T) {
	dir, err := os.MkdirTemp("", "telltale-read-only")
	require.NoError(t, err)
	t.Cleanup(func() { _ = os.Chmod(dir, 0o755); _ = os.RemoveAll(dir) })
	files := folderOfWork(t, dir)
	program, err := os.Executable()
	require.NoError(t, err)
	var asNobody *syscall.SysProcAttr
	if os.Geteuid() == 0 {
		program, asNobody = "/proc/self/exe", &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: nobody, Gid: nobody}}
		for name := range files {
			require.NoError(t, os.Chown(filepath.Join(dir, name), nobody, nobody))
		}
	}
	require.NoError(t, os.Chmod(dir, 0o555))
	start := func(typed string, args ...string) (out, errOut string, code int) {
		cmd := exec.Command(program, args...)
		cmd.SysProcAttr = asNobody
		return runCommand(t, cmd, dir, "any", typed)
	}
	if asNobody != nil {
		if err := (&exec.Cmd{Path: program, Args: []string{program, "--help"}, Env: []string{asCommand + "=any"}, SysProcAttr: asNobody}).Run(); err != nil {
			t.Skip("root cannot become nobody here:", err)
		}
	}
	out, errOut, code := start("", "triage", "--full", "case.yaml")
	assert.Equal(t, exitDone, code, errOut)
	assert.Contains(t, out, "CAUSES, LIKELIEST FIRST")
	for what, c := range writing {
		if what == "practice" {
			continue // adds to a file that is there; the folder stays as it is
		}
		_, errOut, code := start(c.typed, c.args...)
		assert.Equal(t, exitFile, code, "%s: %s", what, errOut)
		assert.Contains(t, errOut, "permission denied", what)
		if c.args[0] == "ask" {
			assert.Contains(t, strings.Join(strings.Fields(errOut), " "), "The last answer was NOT written", what)
		}
		asBefore(t, dir, files, what)
	}
	_, errOut, code = start("", writing["practice"].args...)
	assert.Equal(t, exitDone, code, errOut)
}

// A folder in which nothing can be made, whoever asks.
func TestAFileIsNoFolder(t *testing.T) {
	dir := t.TempDir()
	files := folderOfWork(t, dir)
	for _, args := range [][]string{
		{"sheet", "--blank", "valves", "-o", "case.yaml/new.html"}, {"note", "case.yaml/new.yaml", "pump", "triplex-single-acting", "running"},
		{"ask", "case.yaml/new.yaml"}, {"practice", "--record", "case.yaml/me.jsonl"}, {"study", "--layer", "case.yaml/layer", "closed.yaml"},
	} {
		_, errOut, code := command(t, dir, "any", "", args...)
		assert.Equal(t, exitFile, code, "%v: %s", args, errOut)
		assert.Contains(t, errOut, "case.yaml", args)
		asBefore(t, dir, files, args[0])
	}
}

// What is written through a link is in the file that it leads to; the link
// stays a link. One that leads nowhere is refused, or its file is made.
func TestLinksStayLinks(t *testing.T) {
	link := map[string]string{"case.yaml": "note", "old.html": "a sheet over an old", "me.jsonl": "practice"}
	for name, what := range link {
		t.Run(name, func(t *testing.T) {
			dir, away := t.TempDir(), t.TempDir()
			files := folderOfWork(t, dir)
			target := filepath.Join(away, "target")
			require.NoError(t, os.Rename(filepath.Join(dir, name), target))
			require.NoError(t, os.Symlink(target, filepath.Join(dir, name)))
			_, errOut, code := command(t, dir, "any", writing[what].typed, writing[what].args...)
			assert.Equal(t, exitDone, code, "%s: %s", what, errOut)
			leadsTo, err := os.Readlink(filepath.Join(dir, name))
			require.NoError(t, err, "%s: no link any more", what)
			assert.Equal(t, target, leadsTo)
			text, err := os.ReadFile(target)
			require.NoError(t, err)
			assert.NotEqual(t, files[name], string(text), what)
		})
	}
	for _, args := range [][]string{
		{"sheet", "--blank", "valves", "-o", "gone"}, {"note", "gone", "pump", "triplex-single-acting", "running"}, {"ask", "gone"},
		{"study", "--layer", "gone", "closed.yaml"},
	} {
		dir := t.TempDir()
		folderOfWork(t, dir)
		require.NoError(t, os.Symlink("nowhere", filepath.Join(dir, "gone")))
		_, errOut, code := command(t, dir, "any", "1\nx\n1\n", args...)
		assert.Equal(t, exitFile, code, "%v: %s", args, errOut)
		_, err := os.Readlink(filepath.Join(dir, "gone"))
		assert.NoError(t, err, "%v: no link any more", args)
		assert.NoFileExists(t, filepath.Join(dir, "nowhere"), args)
	}
}

// A rulebook's file that is a link is read, not passed over; one that leads
// nowhere, or out of the folder, whose mistakes would tell what it leads to, and a
// pipe, which would be waited for, are refused.
func TestLinksInARulebook(t *testing.T) {
	away := filepath.Join(t.TempDir(), "a.yaml")
	const text = "works:\n  mud-changed: {title: Mud was changed, basis: judgement}\n"
	require.NoError(t, os.WriteFile(away, []byte(text), 0o644))
	for name, c := range map[string]struct {
		put  func(path string) error
		says string
	}{
		"a link": {func(path string) error {
			dir := filepath.Join(filepath.Dir(path), "common")
			err := errors.Join(os.Mkdir(dir, 0o755), os.WriteFile(filepath.Join(dir, "a.yaml"), []byte(text), 0o644))
			return errors.Join(err, os.Symlink("common/a.yaml", path))
		}, ""},
		"out":     {func(path string) error { return os.Symlink(away, path) }, "b.yaml is a link that leads nowhere, or out of the folder; put the file itself there"},
		"nowhere": {func(path string) error { return os.Symlink("nowhere", path) }, "leads nowhere, or out of the folder"},
		"a pipe":  {func(path string) error { return syscall.Mkfifo(path, 0o600) }, "b.yaml is no ordinary file"},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			require.NoError(t, os.WriteFile(filepath.Join(dir, "a.yaml"), []byte("rulebook: {name: local, version: '1'}\n"), 0o644))
			require.NoError(t, c.put(filepath.Join(dir, "b.yaml")))
			path := filepath.Join(t.TempDir(), "case.yaml")
			require.NoError(t, os.WriteFile(path, []byte("recent: [mud-changed]\n"+goodCase), 0o644))
			out, errOut, code := run(t, "triage", "--full", "--rulebook", dir, path)
			if c.says == "" {
				assert.Zero(t, code, errOut)
				assert.Contains(t, out, "Mud was changed")
				return
			}
			assert.Equal(t, exitBadInput, code, errOut)
			assert.Contains(t, errOut, c.says)
			assert.NotContains(t, errOut, "Mud was changed")
		})
	}
}

// A file that somebody puts another in place of, again and again, is read as
// the one or the other.
func TestAFileReplacedWhileItIsRead(t *testing.T) {
	dir := t.TempDir()
	texts := [2]string{oldCase, strings.Replace(oldCase, "absent", "unknown", 1) + strings.Repeat("# long\n", 20_000)}
	path := filepath.Join(dir, "case.yaml")
	want := map[string]bool{}
	for _, text := range texts {
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
		out, errOut, code := run(t, "triage", path)
		require.Zero(t, code, errOut)
		want[out] = true
	}
	stop, stopped := make(chan struct{}), make(chan error)
	go func() {
		var err error
		for i := 0; err == nil; i++ {
			select {
			case <-stop:
				stopped <- nil
				return
			default:
				next := filepath.Join(dir, "next")
				if err = os.WriteFile(next, []byte(texts[i%2]), 0o644); err == nil {
					err = os.Rename(next, path)
				}
			}
		}
		stopped <- err
	}()
	for range 20 {
		out, errOut, code := run(t, "triage", path)
		assert.Zero(t, code, errOut)
		assert.True(t, want[out], "a mixture:\n%s", clipped(out))
		runtime.Gosched()
	}
	close(stop)
	require.NoError(t, <-stopped)
}
