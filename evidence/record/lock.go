package record

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"

	"github.com/gofrs/flock"
)

// A lock is held for one write: a few milliseconds. Whoever comes in between waits.
// Windows refuses a file for a moment that somebody else takes away just then.
const (
	longestWait = 10 * time.Second
	longestAway = 200 * time.Millisecond
	waitStep    = 5 * time.Millisecond
)

// locked does something while nobody else writes to the file. held says whether it is
// claimed still.
func (f *File) locked(do func(held func() bool) error) error {
	path := f.beside("lock")
	for begun := time.Now(); ; time.Sleep(waitStep) {
		lock, err := take(path)
		var inTheWay *NotAFileError
		if err != nil && (errors.As(err, &inTheWay) || time.Since(begun) > longestAway) {
			return err
		}
		if lock != nil {
			defer release(lock)
			mine, err := f.claim()
			if err != nil {
				return err
			}
			defer mine.take(mine.says)
			return do(mine.stands)
		}
		if time.Since(begun) > longestWait {
			return &BusyError{f.name}
		}
	}
}

// take gets an exclusive lock; nil if somebody else has it. The file of the lock
// is taken away with the lock, so it must be made sure that the one that was
// locked is still the one that everybody sees.
func take(path string) (*flock.Flock, error) {
	if info, err := os.Lstat(path); err == nil && !info.Mode().IsRegular() {
		return nil, &NotAFileError{path, "in the way of the lock and no ordinary file"}
	}
	l := flock.New(path, flock.SetPermissions(0o644))
	got, err := l.TryLock()
	if err != nil || !got {
		return nil, err
	}
	if seen(l) {
		return l, nil
	}
	return nil, l.Unlock()
}

// seen says whether the file that was locked is still the one of that name.
func seen(l *flock.Flock) bool {
	mine, err := l.Stat()
	if err != nil {
		return false
	}
	now, err := os.Stat(l.Path())
	return err == nil && os.SameFile(mine, now)
}

// release gives a lock back and takes its file away.
func release(l *flock.Flock) {
	removed := os.Remove(l.Path())
	_ = l.Unlock()
	if removed != nil && !errors.Is(removed, fs.ErrNotExist) {
		_ = os.Remove(l.Path()) // Windows keeps a file that is open, here or at who took the lock next
	}
}

// tidy takes away what a telltale left that was killed while it wrote.
func (f *File) tidy() {
	lock, err := take(f.beside("lock"))
	if lock == nil || err != nil {
		return
	}
	defer release(lock)
	mine := f.newClaim()
	says, err := f.claimed()
	if err == nil && says != "" && mine.outlives(says) {
		mine.take(says)
	}
	if err == nil && (says == "" || mine.outlives(says)) { // nobody writes
		_ = f.root.Remove(f.within(f.beside("new")))
	}
}

// exists says whether there is something of that name.
func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// BusyError says that another telltale does not stop writing to the case file.
type BusyError struct{ Name string }

func (e *BusyError) Error() string {
	return fmt.Sprintf("%s is being written by another telltale; nothing was written. Try again", e.Name)
}
