package record

import (
	"bufio"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// helperFile names the case for a process of this test that is to be killed;
// killsFrom says how often that is done.
const (
	helperFile = "TELLTALE_RECORD_HELPER"
	helperName = "TELLTALE_RECORD_NAME"
	killsFrom  = "TELLTALE_KILLS"
)

func TestMain(m *testing.M) {
	path, name := os.Getenv(helperFile), os.Getenv(helperName)
	switch {
	case strings.HasSuffix(path, "pump-2.yaml"):
		stands(path, name)
	case path != "" && name != "":
		adds(path, name)
	case path != "":
		answers(path)
	}
	os.Exit(m.Run())
}

// adds adds numbered lines to the log beside others who do, and prints each number
// once its line is saved, until it is killed.
func adds(path, name string) {
	f, err := Open("", path, words(), false)
	for n := 1; err == nil; {
		_, err = f.Write(AddLog(evidence.LogEntry{By: name, Did: strconv.Itoa(n)}))
		var changed *ChangedError
		if errors.As(err, &changed) {
			err = f.Reread()
			continue
		}
		if err == nil {
			fmt.Println(n)
		}
		n++
	}
	fmt.Fprintln(os.Stderr, err)
	os.Exit(1)
}

// stands writes figures into a pump's file beside others who do, as adds.
func stands(path, name string) {
	f, err := OpenPump("", path, limitsOf(), false)
	for n := 1; err == nil; {
		err = f.Write(SetManual(limitOf(name, n), "1 thou"))
		var changed *ChangedError
		if errors.As(err, &changed) {
			err = f.Reread()
			continue
		}
		if err == nil {
			fmt.Println(n)
		}
		n++
	}
	fmt.Fprintln(os.Stderr, err)
	os.Exit(1)
}

func limitOf(name string, n int) string { return fmt.Sprintf("%s-%d", name, n) }

// limitsOf are words with as many limits as some writers can write.
func limitsOf() evidence.Vocabulary {
	v := words()
	for writer := range 3 {
		for again := range 4 {
			for n := range 500 {
				v.Limits[limitOf(fmt.Sprintf("writer-%d-%d", writer, again), n+1)] = evidence.Length
			}
		}
	}
	return v
}

// The same with the file of a pump.
func TestNothingOfAPumpsFileIsLostWhenWritersAreKilled(t *testing.T) {
	path := openPump(t, standing).file.path
	printed := map[string]int{}
	var mine sync.Mutex
	var all sync.WaitGroup
	for n := range 3 {
		all.Go(func() {
			for again := range 4 {
				name := fmt.Sprintf("writer-%d-%d", n, again)
				last := killed(t, path, helperName+"="+name)
				mine.Lock()
				printed[name] = last
				mine.Unlock()
			}
		})
	}
	all.Wait()
	f, err := OpenPump("", path, limitsOf(), false)
	require.NoError(t, err)
	p, err := f.Pump()
	require.NoError(t, err)
	saved := 0
	for name, last := range printed {
		for n := range last {
			require.Contains(t, p.Manual, limitOf(name, n+1))
		}
		saved += last
	}
	require.Positive(t, saved)
	require.NoError(t, f.Write(SetPump("name", "after")))
	require.Equal(t, []string{"pump-2.yaml"}, entries(t, filepath.Dir(path)))
	require.True(t, strings.HasPrefix(read(t, path), "# The pump next to the shaker house.\n"))
	t.Logf("%d figures, %d seen as saved", len(p.Manual), saved)
}

// Three processes write to one file at once, each is killed at a random moment and
// another takes its place: every line that was saved is there, in order, and
// nobody is kept out by whoever was killed.
func TestNothingIsLostWhenWritersAreKilled(t *testing.T) {
	path := write(t, triplex)
	printed := map[string]int{}
	var mine sync.Mutex
	var all sync.WaitGroup
	for n := range 3 {
		all.Go(func() {
			for again := range 4 {
				name := fmt.Sprintf("writer %d.%d", n, again)
				last := killed(t, path, helperName+"="+name)
				mine.Lock()
				printed[name] = last
				mine.Unlock()
			}
		})
	}
	all.Wait()
	f := open(t, path)
	k, err := f.Case()
	require.NoError(t, err)
	written, saved := map[string]int{}, 0
	for _, entry := range k.Log {
		written[entry.By]++
		require.Equal(t, strconv.Itoa(written[entry.By]), entry.Did, entry.By)
	}
	for name, n := range printed {
		require.GreaterOrEqual(t, written[name], n, name)
		saved += n
	}
	require.Positive(t, saved)
	_, err = f.Write(SetPump("name", "after"))
	require.NoError(t, err)
	onlyFile(t, path)
	t.Logf("%d lines by %d writers, %d seen as saved", len(k.Log), len(written), saved)
}

// answers saves numbered answers, and prints each number once it is saved,
// until it is killed.
func answers(path string) {
	f, err := Open("", path, words(), true)
	for n := 1; err == nil; n++ {
		if err = f.Save([]byte(large(n))); err == nil {
			fmt.Println(n)
		}
	}
	fmt.Fprintln(os.Stderr, err)
	os.Exit(1)
}

// TestNoSavedAnswerIsLostWhenTheProcessIsKilled kills real processes at random
// moments. 40 of them; TELLTALE_KILLS=1000 for more.
func TestNoSavedAnswerIsLostWhenTheProcessIsKilled(t *testing.T) {
	kills := 40
	if asked, err := strconv.Atoi(os.Getenv(killsFrom)); err == nil {
		kills = asked
	}
	path := filepath.Join(t.TempDir(), "case.yaml")
	lost, most, early := 0, 0, 0
	for range kills {
		require.NoError(t, removed(path))
		printed := killed(t, path)
		most = max(most, printed)
		text, err := os.ReadFile(path)
		if printed == 0 && os.IsNotExist(err) {
			early++
			continue
		}
		require.NoError(t, err)
		k, err := evidence.ParseCase(path, text, words())
		require.NoError(t, err, "the file must always parse")
		n, err := strconv.Atoi(strings.TrimPrefix(k.Pump.Name, "answer "))
		require.NoError(t, err)
		require.Equal(t, large(n), string(text), "whole")
		if n < printed {
			lost++
		}
		f, err := Open("", path, words(), false)
		require.NoError(t, err)
		require.NoError(t, f.Save(append(f.Text(), "# on\n"...)), "the lock dies with the process")
		onlyFile(t, path)
	}
	t.Logf("%d processes killed, %d before the first answer, up to %d answers saved by one", kills, early, most)
	require.Zero(t, lost)
	require.Less(t, early, kills)
}

func removed(path string) error {
	if err := os.Remove(path); !os.IsNotExist(err) {
		return err
	}
	return nil
}

// killed runs a process that saves answers, kills it, and gives the last
// number that it had printed.
func killed(t *testing.T, path string, more ...string) int {
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(append(os.Environ(), helperFile+"="+path), more...)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	timer := time.AfterFunc(time.Duration(5+60*len(more))*time.Millisecond+rand.N(60*time.Millisecond), func() { _ = cmd.Process.Kill() })
	defer timer.Stop()
	last := 0
	for lines := bufio.NewScanner(out); lines.Scan(); {
		n, err := strconv.Atoi(lines.Text())
		require.NoError(t, err)
		require.Equal(t, last+1, n)
		last = n
	}
	require.Error(t, cmd.Wait(), "it must not end by itself")
	return last
}
