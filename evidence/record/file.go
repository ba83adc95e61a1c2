package record

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"telltale/evidence"
	"telltale/evidence/rig"
	"telltale/evidence/source"
)

// File is a case file as it was last read. Nobody is kept out in between: it is
// locked only while it is written, and then compared with what was read. It is
// not for several goroutines at once.
type File struct {
	name  string   // as given
	path  string   // of the file itself, links followed
	root  *os.Root // nothing outside of it is read or written
	words evidence.Vocabulary
	text  []byte
	there bool                    // there is a file; else the first Save starts it
	check func(text []byte) error // what the file must be; nil: a case
	alone evidence.Vocabulary     // the words without those of its pump
	pump  pumpSeen                // the file of its pump as it was read
	steps steps
}

// Open reads the case file at path and keeps what it read. With create a file
// that is not there yet is started by the first Save. A link is followed: what it
// leads to is read and written, the link stays.
//
// Errors: *NotAFileError for a folder, a pipe or a device, else what the operating
// system says (errors.Is(err, fs.ErrNotExist) for a missing file). Mistakes inside
// the file are no error here: Case, Apply and Write report them.
//
// Within the folder in, no link is followed out of it, now or later: one that leads out
// is a *NotAFileError. "" is anywhere.
func Open(in, path string, words evidence.Vocabulary, create bool) (*File, error) {
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
	if in == "" {
		in = filepath.Dir(real)
	} else if in, err = filepath.EvalSymlinks(in); err != nil {
		return nil, err
	}
	if within, err := filepath.Rel(in, real); err != nil || !filepath.IsLocal(within) {
		return nil, &NotAFileError{path, "behind a link that leads out of the folder"}
	}
	f := &File{name: path, path: real, words: words}
	if f.root, err = os.OpenRoot(in); err != nil {
		return nil, err
	}
	if exists(f.beside("new")) || exists(f.beside("lock")) || exists(f.beside("claim")) {
		f.tidy()
	}
	if err := f.Reread(); err != nil {
		return nil, err
	}
	if !f.there && !create {
		return nil, &fs.PathError{Op: "open", Path: path, Err: fs.ErrNotExist}
	}
	return f, nil
}

// within is a path as the root of the file takes it.
func (f *File) within(path string) string {
	rel, err := filepath.Rel(f.root.Name(), path)
	if err != nil {
		return path // which the root refuses
	}
	return rel
}

// OpenCase is Open for a case that may be a job on a pump of a rig: it is read with
// what stands of its pump. The error is also that of rig.Words.
func OpenCase(in, path string, words evidence.Vocabulary, create bool) (*File, error) {
	f, err := Open(in, path, words, create)
	if err != nil {
		return nil, err
	}
	f.alone = words
	if f.words, err = rig.Words(path, f.text, words); err != nil {
		return nil, err
	}
	f.pump = f.pumpNow()
	return f, nil
}

// pumpSeen is by what a file is known to be the one that was read.
type pumpSeen struct {
	when time.Time
	size int64
	jobs string // names the other files beside the job, as they are
}

// pumpNow is the file of its pump as it lies there; the zero value where there is none.
func (f *File) pumpNow() pumpSeen {
	if f.words.Pump == nil {
		return pumpSeen{}
	}
	info, err := os.Stat(filepath.Join(filepath.Dir(f.name), "..", rig.PumpsFolder, f.words.Pump.Name+".yaml"))
	if err != nil {
		return pumpSeen{}
	}
	return pumpSeen{info.ModTime(), info.Size(), f.jobsNow()}
}

// jobsNow names the files beside the job, with their sizes and times: some of them are
// other jobs on its pump.
func (f *File) jobsNow() string {
	sum := sha256.New()
	entries, err := os.ReadDir(filepath.Dir(f.path))
	if err != nil {
		return ""
	}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".") || e.Name() == filepath.Base(f.path) {
			continue
		}
		if info, err := e.Info(); err == nil {
			fmt.Fprintln(sum, e.Name(), info.Size(), info.ModTime().UnixNano())
		}
	}
	return string(sum.Sum(nil))
}

// RereadPump takes over what stands of the pump of a job now, and says whether somebody
// changed its file, or how another job says that it stands, since it was read. The error is that of rig.Words: then the words are
// those of before, and it is tried again the next time.
func (f *File) RereadPump() (changed bool, err error) {
	now := f.pumpNow()
	if now == f.pump {
		return false, nil
	}
	words, err := rig.Words(f.name, f.text, f.alone)
	if err != nil {
		f.pump = pumpSeen{}
		return true, err
	}
	changed = !now.when.Equal(f.pump.when) || now.size != f.pump.size ||
		f.words.Pump == nil || evidence.HoldsAs(f.words.Pump.Others) != evidence.HoldsAs(words.Pump.Others)
	f.pump, f.words = now, words
	return changed, nil
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
	case mode&fs.ModeSymlink != 0:
		return "a link now, and was none when it was opened"
	case mode&fs.ModeNamedPipe != 0:
		return "a pipe"
	case mode&fs.ModeSocket != 0:
		return "a socket"
	}
	return "a device"
}

// beside names a hidden file in the folder of the case, by a name that nobody else
// gives.
func (f *File) beside(what string) string {
	return filepath.Join(filepath.Dir(f.path), "."+filepath.Base(f.path)+".telltale-"+what)
}

// disk reads what is in the file now; false if there is none.
func (f *File) disk() (text []byte, there bool, err error) {
	info, err := f.root.Lstat(f.within(f.path))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, false, nil
	}
	if err != nil {
		return nil, false, err
	}
	if what := kindOfFile(info.Mode()); what != "" {
		return nil, false, &NotAFileError{f.name, what}
	}
	in, err := f.root.Open(f.within(f.path))
	if err != nil {
		return nil, false, err
	}
	defer in.Close()
	text, err = source.ReadBounded(in, source.CaseLimits)
	return text, err == nil, err
}

// Name is the path as it was given to Open.
func (f *File) Name() string { return f.name }

// Words are the words with which the file is read.
func (f *File) Words() evidence.Vocabulary { return f.words }

// Text is the text as it was last read or saved. The caller must not change it.
func (f *File) Text() []byte { return f.text }

// Case reads the case in the text, as Read.
func (f *File) Case() (*evidence.Case, error) { return Read(f.name, f.text, f.words) }

// sound wants a text to be what the file is to hold.
func (f *File) sound(text []byte) error {
	if f.check != nil {
		return f.check(text)
	}
	_, err := evidence.ParseCase(f.name, text, f.words)
	return err
}

// Read reads the case in a text; nil without an error when it is yet to be
// started, *DamagedError when it has mistakes.
func Read(name string, text []byte, words evidence.Vocabulary) (*evidence.Case, error) {
	_, k, err := sound(name, text, words)
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

// Unchanged wants the file to be as it was read or saved last: else it gives a
// *ChangedError.
func (f *File) Unchanged() error {
	now, there, err := f.disk()
	if err != nil {
		return err
	}
	if there != f.there || !bytes.Equal(now, f.text) {
		return &ChangedError{Name: f.name, Now: now, Changes: Changes(f.text, now)}
	}
	return nil
}

// NotAFileError says that a name is no ordinary file.
type NotAFileError struct{ Name, What string }

func (e *NotAFileError) Error() string {
	return fmt.Sprintf("%s is %s, not a case file", e.Name, e.What)
}

// ChangedError says that somebody changed the file between reading and saving.
type ChangedError struct {
	Name    string
	Now     []byte // what the file holds now; nil if it is gone
	Changes []Change
}

func (e *ChangedError) Error() string {
	if e.Now == nil {
		return fmt.Sprintf("%s was moved or deleted since it was read; nothing was written", e.Name)
	}
	out := fmt.Sprintf("%s was changed by somebody since it was read; nothing was written", e.Name)
	for _, c := range e.Changes {
		out += "\n- " + c.String()
	}
	return out
}
