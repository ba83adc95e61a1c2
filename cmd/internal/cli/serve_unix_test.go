//go:build linux || darwin

package cli

import (
	"bufio"
	"bytes"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// shift is one user of one machine, who serves folders.
type shift struct{ env []string }

// newShift has a folder for what programs keep, and no screen.
func newShift(t *testing.T) *shift {
	home := t.TempDir()
	return &shift{[]string{asCommand + "=any", "HOME=" + home, "XDG_CACHE_HOME=" + filepath.Join(home, "cache"), "PATH=" + os.Getenv("PATH")}}
}

// serving is telltale in a process of its own.
type serving struct {
	cmd  *exec.Cmd
	out  *bufio.Reader
	said string // first, on standard output
	err  *os.File
	rest chan string // of standard output
}

var aDoor = regexp.MustCompile(`http://\S+`)

// start starts a serve and reads its first line.
func (s *shift) start(t *testing.T, args ...string) *serving {
	t.Helper()
	p := s.launch(t, args...)
	p.read()
	return p
}

// launch starts a serve.
func (s *shift) launch(t *testing.T, args ...string) *serving {
	t.Helper()
	program, err := os.Executable()
	require.NoError(t, err)
	p := &serving{rest: make(chan string, 1)}
	p.err, err = os.Create(filepath.Join(t.TempDir(), "errors"))
	require.NoError(t, err)
	p.cmd = exec.Command(program, append([]string{"serve"}, args...)...)
	p.cmd.Env, p.cmd.Stderr = s.env, p.err
	out, in, err := os.Pipe()
	require.NoError(t, err)
	p.cmd.Stdout = in
	require.NoError(t, p.cmd.Start())
	require.NoError(t, in.Close())
	t.Cleanup(func() { _ = p.cmd.Process.Kill(); _ = p.cmd.Wait(); out.Close(); p.err.Close() })
	p.out = bufio.NewReader(out)
	return p
}

// read waits for the first line, if there is one.
func (p *serving) read() {
	p.said, _ = p.out.ReadString('\n')
	go func() {
		rest, _ := io.ReadAll(p.out)
		p.rest <- string(rest)
	}()
}

func (p *serving) address() string { return aDoor.FindString(p.said) }

// end sends a signal, and gives the exit code and what was said.
func (p *serving) end(t *testing.T, s os.Signal) (code int, errOut string) {
	t.Helper()
	if s != nil {
		require.NoError(t, p.cmd.Process.Signal(s))
	}
	_ = p.cmd.Wait()
	return p.cmd.ProcessState.ExitCode(), p.errors(t)
}

// errors is what it said on standard error until now.
func (p *serving) errors(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile(p.err.Name())
	require.NoError(t, err)
	return string(text)
}

// opens says how a browser without any cookie fares with an address.
func opens(t *testing.T, address string) int {
	t.Helper()
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	answer, err := (&http.Client{Jar: jar, Transport: &http.Transport{DisableKeepAlives: true}}).Get(address)
	if err != nil {
		return 0
	}
	answer.Body.Close()
	return answer.StatusCode
}

// aRig is a folder to be served.
func aRig(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS(filepath.Join(root, "rig"))))
	dir, err := filepath.EvalSymlinks(dir)
	require.NoError(t, err)
	return dir
}

// One line says where, for whom and how to end it; each signal that ends it in order
// leaves nothing behind, and that is success.
func TestServeSaysWhereAndEndsInOrder(t *testing.T) {
	for name, signal := range map[string]os.Signal{"Ctrl-C": os.Interrupt, "the system": syscall.SIGTERM, "its window": syscall.SIGHUP} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			who, dir := newShift(t), aRig(t)
			p := who.start(t, "--no-open", dir)
			assert.Regexp(t, `^\S+ is shown to this machine alone, at http://127\.0\.0\.1:\d+/\?secret=[A-Z2-7]{26} until Ctrl-C ends it\.\n$`, p.said)
			assert.Contains(t, p.said, dir+" is shown")
			assert.Equal(t, http.StatusOK, opens(t, p.address()))
			without, _, _ := strings.Cut(p.address(), "?")
			assert.Equal(t, http.StatusForbidden, opens(t, without))
			code, errOut := p.end(t, signal)
			assert.Equal(t, exitDone, code)
			assert.Empty(t, errOut)
			assert.Empty(t, <-p.rest)
			assert.Zero(t, opens(t, p.address()), "nobody listens any more")
			left, err := filepath.Glob(filepath.Join(dir, "*", ".*"))
			require.NoError(t, err)
			assert.Empty(t, left)
			states, err := filepath.Glob(strings.TrimPrefix(who.env[2], "XDG_CACHE_HOME=") + "/telltale/*.json")
			require.NoError(t, err)
			assert.Empty(t, states, "no secret is left behind")
		})
	}
}

// A second start on the same folder, whichever way leads to it, opens the one that
// runs; what that one keeps is said.
func TestServeASecondTime(t *testing.T) {
	if runtime.GOOS == "darwin" {
		t.Skip("the folder for what programs keep cannot be told here")
	}
	who, dir, book := newShift(t), aRig(t), t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(book, "a.yaml"), []byte(goodBook), 0o644))
	link := filepath.Join(t.TempDir(), "a link")
	require.NoError(t, os.Symlink(dir, link))
	first := who.start(t, "--no-open", dir)
	for name, c := range map[string]struct {
		args []string
		says []string
	}{
		"again":        {[]string{dir}, nil},
		"by a link":    {[]string{link}, nil},
		"a long way":   {[]string{filepath.Join(dir, "jobs", "..") + "/"}, nil},
		"its own port": {[]string{"--port", portOf(t, first.address()), dir}, nil},
		"another port": {[]string{"--port", "1", dir}, []string{"It keeps its port " + portOf(t, first.address()) + ". For port 1, end it and start again."}},
		"another book": {[]string{"--rulebook", book, dir}, []string{"It keeps the rulebook that it was started with."}},
	} {
		t.Run(name, func(t *testing.T) {
			p := who.start(t, append([]string{"--no-open"}, c.args...)...)
			rest := <-p.rest
			code, errOut := p.end(t, nil)
			assert.Equal(t, exitDone, code, errOut)
			assert.Contains(t, p.said, dir+" is shown already")
			assert.Equal(t, first.address(), p.address())
			if c.says == nil {
				assert.Empty(t, rest)
			}
			for _, says := range c.says {
				assert.Contains(t, rest, says)
			}
		})
	}
	other := who.start(t, "--no-open", filepath.Join(dir, "jobs"))
	assert.NotContains(t, other.said, "already", "another folder is served by itself")
	assert.Equal(t, http.StatusOK, opens(t, first.address()))
	kept := filepath.Join(strings.TrimPrefix(who.env[2], "XDG_CACHE_HOME="), "telltale")
	info, err := os.Stat(kept)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o700), info.Mode().Perm())
	states, err := os.ReadDir(kept)
	require.NoError(t, err)
	assert.Len(t, states, 4)
	for _, state := range states {
		info, err := state.Info()
		require.NoError(t, err)
		assert.Equal(t, os.FileMode(0o600), info.Mode().Perm(), state.Name())
	}
}

func portOf(t *testing.T, address string) string {
	t.Helper()
	u, err := url.Parse(address)
	require.NoError(t, err)
	return u.Port()
}

// What a killed one left is no obstacle, and its secret lets nobody in any more.
func TestServeAfterAKill(t *testing.T) {
	who, dir := newShift(t), aRig(t)
	killed := who.start(t, "--no-open", dir)
	killed.end(t, os.Kill)
	next := who.start(t, "--no-open", "--port", portOf(t, killed.address()), dir)
	require.NotEmpty(t, next.address(), "%s", next.said)
	assert.NotEqual(t, killed.address(), next.address())
	assert.Equal(t, http.StatusOK, opens(t, next.address()))
	assert.Equal(t, http.StatusForbidden, opens(t, killed.address()))
}

// Of several that are started at the same moment one serves, and the others open it.
func TestServeAtTheSameMoment(t *testing.T) {
	if runtime.GOOS == "darwin" {
		t.Skip("the folder for what programs keep cannot be told here")
	}
	who, dir := newShift(t), aRig(t)
	var several []*serving
	for range 5 {
		several = append(several, who.launch(t, "--no-open", dir))
	}
	addresses, servers := map[string]bool{}, 0
	for _, p := range several {
		p.read()
		addresses[p.address()] = true
		if strings.Contains(p.said, "until Ctrl-C") {
			servers++
		}
	}
	assert.Equal(t, 1, servers)
	assert.Len(t, addresses, 1)
}

// Where nothing can be kept it goes on all the same, and says what that costs.
func TestServeWithoutAFolderForWhatItKeeps(t *testing.T) {
	who, dir := newShift(t), aRig(t)
	blocked := filepath.Join(t.TempDir(), "a file")
	require.NoError(t, os.WriteFile(blocked, nil, 0o644))
	for name, env := range map[string][]string{"none": {"HOME=", "XDG_CACHE_HOME="}, "a file": {"HOME=" + blocked, "XDG_CACHE_HOME=" + blocked}} {
		t.Run(name, func(t *testing.T) {
			p := (&shift{append(who.env[:len(who.env):len(who.env)], env...)}).start(t, "--no-open", dir)
			assert.Equal(t, http.StatusOK, opens(t, p.address()))
			code, errOut := p.end(t, os.Interrupt)
			assert.Equal(t, exitDone, code)
			assert.Contains(t, errOut, "it goes on, but a second start on this folder will not find this one")
		})
	}
}

// screenOf gives a shift a screen, with a program that opens addresses on it.
func (s *shift) screenOf(t *testing.T, script string) *shift {
	t.Helper()
	if runtime.GOOS != "linux" {
		t.Skip("the browser is opened by another program here")
	}
	bin := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(bin, "xdg-open"), []byte("#!/bin/sh\n"+script), 0o755))
	return &shift{append(s.env[:len(s.env):len(s.env)], "DISPLAY=:0", "PATH="+bin+":/usr/bin:/bin")}
}

// The browser is opened at an address that lets in. The lasting secret is not in it:
// everybody on the machine may read what programs are started with. A second start
// opens it again.
func TestServeOpensTheBrowser(t *testing.T) {
	opened := filepath.Join(t.TempDir(), "opened")
	who, dir := newShift(t).screenOf(t, `printf '%s\n' "$*" > `+opened+`.new; mv `+opened+`.new `+opened), aRig(t)
	for _, start := range []string{"first", "second"} {
		p := who.start(t, dir)
		require.Eventually(t, func() bool { _, err := os.Stat(opened); return err == nil }, time.Minute, 5*time.Millisecond, start)
		address, err := os.ReadFile(opened)
		require.NoError(t, err)
		require.NoError(t, os.Remove(opened))
		_, secret, _ := strings.Cut(p.address(), "=")
		assert.NotContains(t, string(address), secret)
		assert.Equal(t, http.StatusOK, opens(t, strings.TrimSpace(string(address))), start)
	}
}

// Where the browser cannot be opened that is said, and the printed address is enough.
func TestServeWhereNoBrowserOpens(t *testing.T) {
	for name, c := range map[string]struct {
		who  func() *shift
		says string
	}{
		"no screen":          {func() *shift { return newShift(t) }, "there is no screen here"},
		"it says so":         {func() *shift { return newShift(t).screenOf(t, "exit 3") }, "exit status 3"},
		"nothing opens here": {func() *shift { s := newShift(t).screenOf(t, ""); s.env = append(s.env, "PATH="); return s }, "xdg-open"},
	} {
		t.Run(name, func(t *testing.T) {
			if runtime.GOOS != "linux" {
				t.Skip("there is always a screen here")
			}
			p := c.who().start(t, aRig(t))
			require.Eventually(t, func() bool { return strings.Contains(p.errors(t), "Open the address above") }, time.Minute, 5*time.Millisecond)
			assert.Contains(t, p.errors(t), c.says)
			assert.Equal(t, http.StatusOK, opens(t, p.address()))
			code, _ := p.end(t, os.Interrupt)
			assert.Equal(t, exitDone, code)
		})
	}
}

// A browser that stays in the foreground is not waited for, and Ctrl-C in this terminal
// does not reach it.
func TestServeLetsTheBrowserLive(t *testing.T) {
	stays := filepath.Join(t.TempDir(), "stays")
	who := newShift(t).screenOf(t, "echo $$ > "+stays+"; exec sleep 60")
	p := who.start(t, aRig(t))
	var pid int
	require.Eventually(t, func() bool {
		text, _ := os.ReadFile(stays)
		pid = 0
		for _, r := range strings.TrimSpace(string(text)) {
			pid = 10*pid + int(r-'0')
		}
		return strings.HasSuffix(string(text), "\n")
	}, time.Minute, 5*time.Millisecond)
	t.Cleanup(func() { _ = syscall.Kill(pid, syscall.SIGKILL) })
	group, err := syscall.Getpgid(pid)
	require.NoError(t, err)
	assert.Equal(t, pid, group, "it is in a group of its own")
	code, _ := p.end(t, os.Interrupt)
	assert.Equal(t, exitDone, code)
	assert.NoError(t, syscall.Kill(pid, 0), "the browser lives")
}

// What cannot be served is refused before anything is listened on.
func TestServeRefuses(t *testing.T) {
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer taken.Close()
	dir, who := aRig(t), newShift(t)
	file := filepath.Join(dir, "pumps", "pump-2.yaml")
	for name, c := range map[string]struct {
		code int
		says string
		args []string
	}{
		"every address":     {exitUsage, "ssh -L 8765:127.0.0.1:8765 THIS-MACHINE", []string{"--address", "0.0.0.0", dir}},
		"another address":   {exitUsage, "ssh -L 99:127.0.0.1:99 THIS-MACHINE", []string{"--address", "192.168.1.7", "--port", "99", dir}},
		"no such port":      {exitUsage, "--port is 65536; expected 1 to 65535", []string{"--port", "65536", dir}},
		"two folders":       {exitUsage, "usage: telltale serve", []string{dir, dir}},
		"a case":            {exitFile, "is not a folder; serve takes the folder of a rig, or one of cases", []string{file}},
		"nothing":           {exitFile, "no such file", []string{filepath.Join(dir, "nothing")}},
		"a port of another": {exitFile, "address already in use\nAnother program may have this port", []string{"--port", portOf(t, "http://"+taken.Addr().String()), dir}},
		"no rulebook":       {exitFile, "is not a folder; --rulebook takes", []string{"--rulebook", file, dir}},
	} {
		t.Run(name, func(t *testing.T) {
			p := who.start(t, append([]string{"--no-open"}, c.args...)...)
			code, errOut := p.end(t, nil)
			assert.Equal(t, c.code, code, errOut)
			assert.Contains(t, errOut, c.says)
			assert.Empty(t, p.said)
		})
	}
	for name, full := range map[string]io.Writer{"a little": &fullDisk{room: 10}, "nothing": nothing(t)} {
		t.Run("the line cannot be written: "+name, func(t *testing.T) {
			t.Setenv("HOME", t.TempDir())
			t.Setenv("XDG_CACHE_HOME", t.TempDir())
			var errs bytes.Buffer
			code := Main([]string{"serve", "--no-open", dir}, strings.NewReader(""), full, &errs)
			assert.Equal(t, exitFile, code)
			assert.Contains(t, errs.String(), "no space left on device")
		})
	}
}

// A window that goes with the program stays until what went wrong was read.
func TestAWindowStaysUntilItWasRead(t *testing.T) {
	var out, errs bytes.Buffer
	in := strings.NewReader("\nnot read")
	code := start([]string{"serve", filepath.Join(t.TempDir(), "nothing")}, streams{in: in, out: &out, err: &errs, clicked: true})
	assert.Equal(t, exitFile, code)
	assert.Contains(t, errs.String(), "no such file or directory\nPress Enter to close this window.\n")
	_, errOut, _ := run(t, "serve", filepath.Join(t.TempDir(), "nothing"))
	assert.NotContains(t, errOut, "Press Enter")
	assert.Equal(t, filepath.Dir(os.Args[0]), ownFolder())
}
