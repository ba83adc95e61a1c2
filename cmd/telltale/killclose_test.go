package main

import (
	"bufio"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// A job on which all is done, with a new liner, and the file of its pump.
const (
	doneJob = `# All is done.
job: {pump: pump-2, date: 2026-10-20, hours: 1000 h}
pump: {state: running}
findings: {mud-in-wash: {present: [2]}}
confirmed: [liner-scored: 2]
corrected: [liner-scored: 2]
looked-again: [liner-scored: 2]
root-left: [liner-scored: 2]
`
	itsPump = `# Bought used.
pump: {action: triplex-single-acting, liner: 6 1/2 in, stroke: 11 in}   # by the plate
manual: {relief-setting: 3000 psi, dampener-charge: 900 psi}
hours:
  - {date: 2026-10-01, hours: 900 h}
`
)

// smallRig writes the rig of the job.
func smallRig(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range map[string]string{"jobs/job.yaml": doneJob, "pumps/pump-2.yaml": itsPump} {
		require.NoError(t, os.MkdirAll(filepath.Join(dir, filepath.Dir(name)), 0o755))
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	return dir
}

// jobAndPump are the two files, without the moments of the log and the day of the closing.
func jobAndPump(t *testing.T, dir string) [2]string {
	t.Helper()
	var out [2]string
	for i, name := range []string{"jobs/job.yaml", "pumps/pump-2.yaml"} {
		text, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		out[i] = strings.ReplaceAll(moment.ReplaceAllString(string(text), "at: then"), "closed: "+time.Now().UTC().Format(time.DateOnly), "closed: today")
	}
	return out
}

// closings are the answers of a crew that closes the job, by what is asked.
var closings = [][2]string{
	{"This job was closed", "1"}, {"Does it still stand so?", "1"}, {"close the job", "1"}, {"Which parts were put in new", "1"}, {"Was an old one", "1"},
	{"What size are they?", "6"}, {"What does the manual say", "3600"}, {"its meter showed", "1"},
}

// closes holds the talk that closes the job in a folder; between is called before each
// answer, with the process. What it was asked that it has no answer to is given.
func closes(t *testing.T, binary, dir string, between func(*exec.Cmd)) (unknown string) {
	t.Helper()
	cmd := exec.Command(binary, "ask", "--width", "80", "jobs/job.yaml")
	cmd.Dir = dir
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	screen := ""
	for r := bufio.NewReader(out); ; {
		part, err := r.ReadString('>')
		if screen += part; err != nil {
			break
		}
		flat := strings.Join(strings.Fields(screen), " ")
		i := slices.IndexFunc(closings, func(c [2]string) bool { return strings.Contains(flat, c[0]) })
		if screen = ""; i < 0 {
			unknown = flat
			in.Close()
			continue
		}
		between(cmd)
		_, _ = io.WriteString(in, closings[i][1]+"\n") // it may be killed
	}
	_ = cmd.Wait()
	return unknown
}

// However the talk is killed that closes a job and tells its pump's file what it changed,
// neither file is half written, the pump's has nothing of a job that is open, and the next
// talk asks what is left: at the end both hold the same as if nobody had been killed.
func TestAJobThatIsClosedAndItsPumpAgreeHoweverItIsKilled(t *testing.T) {
	binary := built(t)
	dir := smallRig(t)
	var states [][2]string
	begun := time.Now()
	require.Empty(t, closes(t, binary, dir, func(*exec.Cmd) { states = append(states, jobAndPump(t, dir)) }))
	takes := time.Since(begun)
	end := jobAndPump(t, dir)
	states = append(states, end)
	require.Contains(t, end[0], "closed: today")
	require.Contains(t, end[1], "{until: 2026-10-20, pump: {liner: 6 1/2 in}, manual: {relief-setting: 3000 psi}}")

	draw := rand.New(rand.NewPCG(uint64(os.Getpid()), 3))
	killedAt := map[int]int{}
	for n := range kills() {
		timeLeft(t, n)
		dir := smallRig(t)
		answered := 0
		var kill *time.Timer
		closes(t, binary, dir, func(cmd *exec.Cmd) {
			if answered++; answered == 1+draw.IntN(len(states)-1) || answered == 1 {
				if kill != nil {
					kill.Stop()
				}
				kill = time.AfterFunc(time.Duration(draw.Int64N(int64(takes)/int64(len(states)))), func() { _ = cmd.Process.Kill() })
			}
		})
		kill.Stop()
		got := jobAndPump(t, dir)
		at := slices.Index(states, got)
		require.GreaterOrEqual(t, at, 0, "after %d answers:\n%s\n%s", answered, got[0], got[1])
		later := slices.Index(states[max(0, answered-1):], got) // what was answered before the last is there
		require.GreaterOrEqual(t, later, 0, "after %d answers:\n%s\n%s", answered, got[0], got[1])
		killedAt[at]++
		for range 2 { // the second has nothing to write any more
			require.Empty(t, closes(t, binary, dir, func(*exec.Cmd) {}))
			require.Equal(t, end, jobAndPump(t, dir), "killed after %d answers", answered)
		}
		beside, err := filepath.Glob(filepath.Join(dir, "*", ".*"))
		require.NoError(t, err)
		require.Empty(t, beside)
	}
	t.Logf("%d kills, by what was written then: %v of %d states", kills(), killedAt, len(slices.Compact(slices.Clone(states))))
}

// note that closes a job, killed at any moment, leaves the job as it was or closed.
func TestAJobThatNoteClosesIsWholeHoweverItIsKilled(t *testing.T) {
	binary := built(t)
	open, closed := 0, 0
	draw := rand.New(rand.NewPCG(uint64(os.Getpid()), 4))
	note := func(dir string) *exec.Cmd {
		cmd := exec.Command(binary, "note", "jobs/job.yaml", "closed", "2026-10-21")
		cmd.Dir = dir
		return cmd
	}
	begun := time.Now()
	dir := smallRig(t)
	out, err := note(dir).CombinedOutput()
	require.NoError(t, err, "%s", out)
	takes := time.Since(begun)
	want := jobAndPump(t, dir)
	for n := range kills() {
		timeLeft(t, n)
		dir := smallRig(t)
		cmd := note(dir)
		require.NoError(t, cmd.Start())
		time.Sleep(takes/2 + time.Duration(draw.Int64N(int64(takes))))
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		switch got := jobAndPump(t, dir); got {
		case want:
			closed++
		default:
			open++
			require.Equal(t, [2]string{doneJob, itsPump}, got)
			out, err := note(dir).CombinedOutput()
			require.NoError(t, err, "%s", out)
			require.Equal(t, want, jobAndPump(t, dir))
		}
	}
	t.Logf("%d kills: %d as it was, %d closed", kills(), open, closed)
}
