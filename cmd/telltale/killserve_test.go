package main

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
)

// served is a real serve process with a browser in front of it.
type served struct {
	cmd    *exec.Cmd
	client *http.Client
	at     string
}

// serve starts one over a folder, and lets the browser in.
func serve(t *testing.T, binary, dir string) *served {
	t.Helper()
	s := &served{cmd: exec.Command(binary, "serve", "--no-open", dir)}
	out, err := s.cmd.StdoutPipe()
	require.NoError(t, err)
	s.cmd.Stderr = os.Stderr
	require.NoError(t, s.cmd.Start())
	line, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err, line)
	address := regexp.MustCompile(`http://\S+`).FindString(line)
	at, err := url.Parse(address)
	require.NoError(t, err, line)
	s.at = "http://" + at.Host
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	s.client = &http.Client{Jar: jar, Transport: &http.Transport{}}
	letIn, err := s.client.Get(address)
	require.NoError(t, err)
	letIn.Body.Close()
	require.Equal(t, http.StatusOK, letIn.StatusCode)
	s.client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return s
}

// kill ends it at once.
func (s *served) kill() {
	_ = s.cmd.Process.Kill()
	_ = s.cmd.Wait()
	s.client.CloseIdleConnections()
}

// jobPage is a page of a job, and what the browser would send from it.
type jobPage struct {
	status int
	sends  url.Values // the first answer of the page; nil: there is none
}

// get loads the page of a job; nil if the process is gone.
func (s *served) get(job string) *jobPage {
	answer, err := s.client.Get(s.at + "/job/" + job)
	if err != nil {
		return nil
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		return nil
	}
	root, err := html.Parse(strings.NewReader(string(text)))
	if err != nil {
		return nil
	}
	p := &jobPage{status: answer.StatusCode}
	var form url.Values
	done := false
	for n := range root.Descendants() {
		at := map[string]string{}
		for _, a := range n.Attr {
			at[a.Key] = a.Val
		}
		switch {
		case n.Data == "form" && !done:
			form = url.Values{}
		case n.Data == "input" && form != nil && (at["type"] != "checkbox" || form["chosen"] == nil):
			form.Add(at["name"], at["value"])
		case n.Data == "button" && form != nil && !done:
			form.Add(at["name"], at["value"])
			form.Del("")
			if form.Has("text") {
				form.Set("text", "J. Reed")
			}
			p.sends, done = form, true
		}
	}
	return p
}

// post sends an answer, and says whether it was acknowledged.
func (s *served) post(job string, sends url.Values) (status int) {
	answer, err := s.client.PostForm(s.at+"/job/"+job, sends)
	if err != nil {
		return 0
	}
	defer answer.Body.Close()
	_, _ = io.Copy(io.Discard, answer.Body)
	return answer.StatusCode
}

// isolatedWiper is a case whose talk begins with the proof of the isolation.
const isolatedWiper = `# Kept as it is.
pump: {name: Larkspur pump 2, action: triplex-single-acting, state: isolated}
findings:
  wiper-leaks: {again: [2]}
`

// Pages that are killed while answers are posted: each answer that was acknowledged is
// in the file, the file is that of a whole answer, and the next start goes on and has
// the isolation proved again. TELLTALE_KILLS=1000 makes it a thousand times.
func TestNoAnswerFromAPageIsLost(t *testing.T) {
	binary := built(t)
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	dir := t.TempDir()
	begin := func(job string) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, job+".yaml"), []byte(isolatedWiper), 0o600))
	}
	holds := func(job string) string {
		text, err := os.ReadFile(filepath.Join(dir, job+".yaml"))
		require.NoError(t, err)
		return moment.ReplaceAllString(string(text), "at: then")
	}
	const most = 12
	proof := "" // what the first step of the isolation is called
	// talks answers until it is over, or the process is gone; it gives how many answers
	// were acknowledged.
	talks := func(s *served, job string, after func()) (acknowledged int) {
		for range most {
			p := s.get(job)
			if p != nil && strings.HasPrefix(p.sends.Get("prompt"), aStep) {
				proof = cmp.Or(proof, p.sends.Get("prompt"))
			}
			if p == nil || p.sends == nil || s.post(job, p.sends) != http.StatusSeeOther {
				return acknowledged
			}
			acknowledged++
			after()
		}
		return acknowledged
	}

	begin("undisturbed")
	states := []string{holds("undisturbed")}
	s := serve(t, binary, dir)
	begun := time.Now()
	whole := talks(s, "undisturbed", func() { states = append(states, holds("undisturbed")) })
	takes := time.Since(begun)
	s.kill()
	require.Greater(t, whole, 5)
	require.NotEmpty(t, proof, "the isolation is proved, step by step")
	require.Greater(t, len(slices.Compact(slices.Clone(states))), 3, "it writes something")

	draw := rand.New(rand.NewPCG(uint64(os.Getpid()), 2))
	acknowledged, killedInAnswer, left := 0, 0, 0
	before := "undisturbed"
	for n := range kills() {
		timeLeft(t, n)
		job := fmt.Sprintf("job-%d", n)
		begin(job)
		s := serve(t, binary, dir)
		p := s.get(before)
		require.NotNil(t, p)
		require.Equal(t, http.StatusOK, p.status)
		require.Equal(t, "still isolated", p.sends.Get("prompt"), "how the pump stands is asked first")
		require.Equal(t, http.StatusSeeOther, s.post(before, p.sends))
		for p = s.get(before); n%proves == 0 && !strings.HasPrefix(p.sends.Get("prompt"), aStep); p = s.get(before) {
			require.Equal(t, http.StatusSeeOther, s.post(before, p.sends))
		}
		if n%proves == 0 {
			require.Equal(t, proof, p.sends.Get("prompt"), "what was proved before the kill counts no more")
		}
		before = job

		time.AfterFunc(time.Duration(draw.Int64N(int64(takes))), func() { _ = s.cmd.Process.Kill() })
		done := talks(s, job, func() {})
		s.kill()
		acknowledged += done
		got := holds(job)
		at := slices.Index(states[done:min(done+2, len(states))], got)
		assert.GreaterOrEqual(t, at, 0, "%d answers were acknowledged, and the file holds:\n%s", done, got)
		if at > 0 {
			killedInAnswer++
		}
		beside, err := filepath.Glob(filepath.Join(dir, ".*.yaml.*"))
		require.NoError(t, err)
		left += len(beside)
	}
	s = serve(t, binary, dir)
	defer s.kill()
	for n := range kills() {
		p := s.get(fmt.Sprintf("job-%d", n))
		require.Equal(t, http.StatusOK, p.status)
	}
	beside, err := filepath.Glob(filepath.Join(dir, ".*.yaml.*"))
	require.NoError(t, err)
	assert.Empty(t, beside, "what was left beside a case is taken away when it is opened")
	t.Logf("%d kills, %d answers acknowledged, none lost; %d killed behind the write and before its acknowledgement; %d files left beside a case, all taken away", kills(), acknowledged, killedInAnswer, left)
}

// aStep begins the id of the prompt of a step. Of so many kills one is followed to the first
// step of the isolation, which takes a while.
const (
	aStep  = "step "
	proves = 5
)
