package record

import (
	"fmt"

	"telltale/evidence"
)

// File is a case file that this process alone may change until Close, or
// until the process ends in whatever way. It is not for several goroutines at
// once.
type File struct{}

// Open locks the case file at path, reads it and keeps what it read. With
// create a file that is not there yet is started by the first Save.
//
// Errors: *BusyError if another telltale has the file open, *NotAFileError for
// a folder, a pipe or a device, else what the operating system says
// (errors.Is(err, fs.ErrNotExist) for a missing file). Mistakes inside the
// file are no error here: Apply and Write report them.
func Open(path string, words evidence.Vocabulary, create bool) (*File, error) { panic("soon") }

// Name is the path as it was given to Open.
func (f *File) Name() string { panic("soon") }

// Text is the text as it was last read or saved. The caller must not change it.
func (f *File) Text() []byte { panic("soon") }

// Case reads the case in the text; nil without an error when the file is yet
// to be started, *DamagedError when it has mistakes.
func (f *File) Case() (*evidence.Case, error) { panic("soon") }

// Write is Apply on the text, and Save. It gives the new case. On an error the
// file and Text are as before.
func (f *File) Write(edits ...Edit) (*evidence.Case, error) { panic("soon") }

// Save puts text in place of the file's. Afterwards the file holds the old
// text or the new one, never a mixture, even if the process or the machine
// stops half-way; when Save returns nil it holds the new one.
//
// Errors: *ChangedError if somebody changed the file since it was read,
// *DamagedError if the file has mistakes, *RefusedError if text has; else what
// the operating system says. With all of them the file is left as it was.
func (f *File) Save(text []byte) error { panic("soon") }

// Reread takes over what is in the file now, after a *ChangedError.
func (f *File) Reread() error { panic("soon") }

// Close gives the lock back. It is safe to call twice.
func (f *File) Close() error { panic("soon") }

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
