package record

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// helperFile names the case for a process of this test that is to be killed;
// killsFrom says how often that is done.
const (
	helperFile = "TELLTALE_RECORD_HELPER"
	killsFrom  = "TELLTALE_KILLS"
)

func TestMain(m *testing.M) {
	if path := os.Getenv(helperFile); path != "" {
		answers(path)
	}
	os.Exit(m.Run())
}

// answers saves numbered answers, and prints each number once it is saved,
// until it is killed.
func answers(path string) {
	f, err := Open(path, words(), true)
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
		f, err := Open(path, words(), false)
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
func killed(t *testing.T, path string) int {
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), helperFile+"="+path)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	timer := time.AfterFunc(5*time.Millisecond+rand.N(60*time.Millisecond), func() { _ = cmd.Process.Kill() })
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
