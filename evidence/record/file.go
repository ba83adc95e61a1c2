package record

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/gofrs/flock"

	"telltale/evidence"
	"telltale/evidence/source"
)

// File is a case file that this process alone may change until Close, or
// until the process ends in whatever way. It is not for several goroutines at
// once.
type File struct {
	name  string // as given
	path  string // of the file itself, links followed
	words evidence.Vocabulary
	lock  *flock.Flock
	text  []byte
	there bool // there is a file; else the first Save starts it
	steps steps
}

// Open locks the case file at path, reads it and keeps what it read. With
// create a file that is not there yet is started by the first Save. A link is
// followed: what it leads to is read and written, the link stays.
//
// Errors: *BusyError if another telltale has the file open, *NotAFileError for
// a folder, a pipe or a device, else what the operating system says
// (errors.Is(err, fs.ErrNotExist) for a missing file). Mistakes inside the
// file are no error here: Case, Apply and Write report them.
func Open(path string, words evidence.Vocabulary, create bool) (*File, error) {
	real, err := ordinary(path)
	if err != nil && !(create && errors.Is(err, fs.ErrNotExist)) {
		return nil, err
	}
	if real == "" {
		folder, err := filepath.EvalSymlinks(filepath.Dir(path))
		if err != nil {
			return nil, err
		}
		real = filepath.Join(folder, filepath.Base(path))
	}
	f := &File{name: path, path: real, words: words}
	if f.lock, err = take(f.beside("lock")); err != nil {
		return nil, err
	}
	if f.lock == nil {
		return nil, &BusyError{path}
	}
	_ = os.Remove(f.beside("new")) // left by a telltale that was killed while saving
	if f.text, f.there, err = f.disk(); err == nil && !f.there && !create {
		err = &fs.PathError{Op: "open", Path: path, Err: fs.ErrNotExist}
	}
	if err != nil {
		return nil, errors.Join(err, f.Close())
	}
	return f, nil
}

// ordinary follows links and refuses what is not an ordinary file. A file that
// is not there gives "" and fs.ErrNotExist.
func ordinary(path string) (string, error) {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		if _, linked := os.Lstat(path); linked == nil {
			return "", &NotAFileError{path, "a link that leads nowhere"}
		}
	}
	if err != nil {
		return "", err
	}
	if what := kindOfFile(info.Mode()); what != "" {
		return "", &NotAFileError{path, what}
	}
	return filepath.EvalSymlinks(path)
}

func kindOfFile(mode fs.FileMode) string {
	switch {
	case mode.IsRegular():
		return ""
	case mode.IsDir():
		return "a folder"
	case mode&fs.ModeNamedPipe != 0:
		return "a pipe"
	case mode&fs.ModeSocket != 0:
		return "a socket"
	}
	return "a device"
}

// beside names a hidden file in the folder of the case.
func (f *File) beside(what string) string {
	return filepath.Join(filepath.Dir(f.path), "."+filepath.Base(f.path)+"."+what)
}

// take gets an exclusive lock; nil if somebody else has it. The file of the
// lock is taken away with the lock, so it must be made sure that the one that
// was locked is still the one that everybody sees.
func take(path string) (*flock.Flock, error) {
	for {
		l := flock.New(path, flock.SetPermissions(0o644))
		got, err := l.TryLock()
		if err != nil || !got {
			return nil, err
		}
		mine, err := l.Stat()
		if err != nil {
			return nil, errors.Join(err, l.Unlock())
		}
		if now, err := os.Stat(path); err == nil && os.SameFile(mine, now) {
			return l, nil
		}
		if err := l.Unlock(); err != nil {
			return nil, err
		}
	}
}

// disk reads what is in the file now; false if there is none.
func (f *File) disk() (text []byte, there bool, err error) {
	info, err := os.Stat(f.path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, false, nil
	}
	if err != nil {
		return nil, false, err
	}
	if what := kindOfFile(info.Mode()); what != "" {
		return nil, false, &NotAFileError{f.name, what}
	}
	in, err := os.Open(f.path)
	if err != nil {
		return nil, false, err
	}
	defer in.Close()
	text, err = source.ReadBounded(in, source.CaseLimits)
	return text, err == nil, err
}

// Name is the path as it was given to Open.
func (f *File) Name() string { return f.name }

// Text is the text as it was last read or saved. The caller must not change it.
func (f *File) Text() []byte { return f.text }

// Case reads the case in the text; nil without an error when the file is yet
// to be started, *DamagedError when it has mistakes.
func (f *File) Case() (*evidence.Case, error) {
	_, k, err := sound(f.name, f.text, f.words)
	if err != nil {
		return nil, damaged(err)
	}
	return k, nil
}

// Write is Apply on the text, and Save. It gives the new case. On an error the
// file and Text are as before.
func (f *File) Write(edits ...Edit) (*evidence.Case, error) {
	text, k, err := Apply(f.name, f.text, f.words, edits...)
	if err != nil {
		return nil, err
	}
	if err := f.Save(text); err != nil {
		return nil, err
	}
	return k, nil
}

// Reread takes over what is in the file now, after a *ChangedError. A file
// that is gone is one yet to be started.
func (f *File) Reread() error {
	text, there, err := f.disk()
	if err != nil {
		return err
	}
	f.text, f.there = text, there
	return nil
}

// Close gives the lock back. It is safe to call twice.
func (f *File) Close() error {
	if f.lock == nil {
		return nil
	}
	l := f.lock
	f.lock = nil
	removed := os.Remove(l.Path())
	err := l.Unlock()
	if removed != nil && !errors.Is(removed, fs.ErrNotExist) {
		_ = os.Remove(l.Path()) // Windows keeps a file that is open, here or at who took the lock next
	}
	return err
}

// unchanged wants the file to be as it was read or saved last.
func (f *File) unchanged() error {
	now, there, err := f.disk()
	if err != nil {
		return err
	}
	if there != f.there || !bytes.Equal(now, f.text) {
		return &ChangedError{Name: f.name, Now: now}
	}
	return nil
}

// BusyError says that another telltale has the case file open.
type BusyError struct{ Name string }

func (e *BusyError) Error() string {
	return fmt.Sprintf("%s is open in another telltale; end that one first", e.Name)
}

// NotAFileError says that a name is no ordinary file.
type NotAFileError struct{ Name, What string }

func (e *NotAFileError) Error() string {
	return fmt.Sprintf("%s is %s, not a case file", e.Name, e.What)
}

// ChangedError says that somebody changed the file between reading and saving.
type ChangedError struct {
	Name string
	Now  []byte // what the file holds now; nil if it is gone
}

func (e *ChangedError) Error() string {
	if e.Now == nil {
		return fmt.Sprintf("%s was moved or deleted since it was read; nothing was written", e.Name)
	}
	return fmt.Sprintf("%s was changed by somebody since it was read; nothing was written", e.Name)
}
