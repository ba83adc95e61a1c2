package record

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// Two machines write over a share whose locks do not reach the other one: here the
// file of the lock is taken away all the time. What was said to be written is there at
// the end; whoever was refused was told so.
func TestNothingThatWasWrittenIsLostWithoutLocks(t *testing.T) {
	const writers, each = 4, 60
	path := write(t, triplex)
	lock := open(t, path).beside("lock")
	over := make(chan struct{})
	var taking, all sync.WaitGroup
	taken := 0
	taking.Go(func() {
		for {
			select {
			case <-over:
				return
			default:
			}
			if os.Remove(lock) == nil {
				taken++
			}
		}
	})
	written := make([][]string, writers)
	refused := make([]int, writers)
	for n := range writers {
		all.Go(func() {
			for i := range each {
				f, err := Open("", path, words(), false)
				if !assert.NoError(t, err) {
					return
				}
				did := fmt.Sprintf("%d did %d", n, i)
				var changed *ChangedError
				var busy *BusyError
				switch _, err := f.Write(AddLog(evidence.LogEntry{Did: did})); {
				case err == nil:
					written[n] = append(written[n], did)
				case errors.As(err, &changed) || errors.As(err, &busy):
					refused[n]++
				default:
					assert.NoError(t, err)
				}
			}
		})
	}
	all.Wait()
	close(over)
	taking.Wait()
	k, err := open(t, path).Case()
	require.NoError(t, err)
	holds := map[string]int{}
	for _, entry := range k.Log {
		holds[entry.Did]++
	}
	done, no := 0, 0
	for n := range writers {
		for _, did := range written[n] {
			assert.Equal(t, 1, holds[did], did)
		}
		done, no = done+len(written[n]), no+refused[n]
	}
	assert.Equal(t, writers*each, done+no)
	assert.Len(t, k.Log, done)
	assert.Positive(t, taken, "the lock was taken away")
	t.Logf("%d written, %d refused, the lock taken away %d times", done, no, taken)
}

// What a process left that is gone is taken over at once; a claim of another machine
// when it has not changed for long; one that somebody holds is waited for, and told.
func TestAClaimThatWasLeft(t *testing.T) {
	path := write(t, triplex)
	f := open(t, path)
	leave := func(says string) {
		require.NoError(t, os.WriteFile(f.beside("claim"), []byte(says), 0o644))
		require.NoError(t, os.WriteFile(f.beside("new"), []byte("half a te"), 0o644))
	}
	host, err := os.Hostname()
	require.NoError(t, err)

	leave(fmt.Sprintf("%s %d 1\n", host, 1<<30))
	open(t, path)
	onlyFile(t, path)

	leave("another-machine 1 1\n")
	begun := time.Now()
	_, err = open(t, path).Write(SetFinding("knock", "once"))
	require.NoError(t, err)
	assert.GreaterOrEqual(t, time.Since(begun), claimIsLeft)
	onlyFile(t, path)
}

// A claim that is no file is told, and left.
func TestWhatIsInTheWayOfAClaimIsLeft(t *testing.T) {
	path := write(t, triplex)
	f := open(t, path)
	require.NoError(t, os.Mkdir(f.beside("claim"), 0o755))
	_, err := f.Write(SetFinding("knock", "once"))
	assert.ErrorContains(t, err, "in the way of the write")
	assert.Equal(t, triplex, read(t, path))
	assert.DirExists(t, f.beside("claim"))
}

// A file of somebody else that only looks like what telltale writes beside a case is
// left where it is, and so is a case in whose place a link was put.
func TestWhatIsNotOursIsLeft(t *testing.T) {
	path := write(t, triplex)
	dir := filepath.Dir(path)
	for _, name := range []string{".case.yaml.new", ".case.yaml.lock", ".case.yaml.swp"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte("not ours"), 0o644))
	}
	f := open(t, path)
	_, err := f.Write(SetFinding("knock", "once"))
	require.NoError(t, err)
	for _, name := range []string{".case.yaml.new", ".case.yaml.lock", ".case.yaml.swp"} {
		assert.Equal(t, "not ours", read(t, filepath.Join(dir, name)))
	}

	behind := filepath.Join(dir, "behind.yaml")
	require.NoError(t, os.Rename(path, behind))
	if err := os.Symlink(behind, path); err != nil {
		t.Skip("no links here:", err)
	}
	was := read(t, behind)
	_, err = f.Write(SetFinding("knock", "absent"))
	assert.ErrorContains(t, err, "a link now, and was none when it was opened")
	assert.Equal(t, was, read(t, behind))
	_, err = open(t, path).Write(SetFinding("knock", "absent"))
	require.NoError(t, err, "opened anew, what it leads to is written")
	assert.Contains(t, read(t, behind), "knock: absent")
}
