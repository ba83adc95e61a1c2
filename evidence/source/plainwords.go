package source

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

// Plain is the text of an error for whoever works with the files. What the system said is
// told without the name of the call, and what only programmers know, in plain words.
func Plain(err error) string {
	var inside error
	told := ""
	switch e := err.(type) {
	case *fs.PathError:
		return shownPath(e.Path) + ": " + plainReason(e.Err)
	case *os.LinkError:
		return shownPath(e.New) + ": " + plainReason(e.Err)
	case *os.SyscallError:
		return plainReason(e.Err)
	case *json.SyntaxError:
		return fmt.Sprintf("it is no JSON from its byte %d on", e.Offset)
	case *json.UnmarshalTypeError:
		at := e.Field
		if at == "" {
			at = "it"
		}
		return at + " is " + withArticle(e.Value) + " that does not belong there"
	case interface{ Unwrap() []error }:
		told = err.Error()
		for _, inside := range e.Unwrap() {
			told = strings.Replace(told, inside.Error(), Plain(inside), 1)
		}
		return told
	default:
		told, inside = err.Error(), errors.Unwrap(err)
	}
	switch {
	case inside != nil:
		return strings.Replace(told, inside.Error(), Plain(inside), 1)
	case err == io.ErrUnexpectedEOF || err == io.EOF: //nolint:errorlint // what they wrap is none
		return "it ends too early"
	}
	return strings.TrimPrefix(told, "json: ")
}

// besideFile is in the name of a file that stands beside another only while that is written.
const besideFile = ".telltale-"

// shownPath is a path as the user knows it: of a file that stands beside another only while
// that is written, that one, or its folder where the name does not tell it.
func shownPath(path string) string {
	if path == "" {
		return "no file is named"
	}
	switch of, _, hidden := strings.Cut(filepath.Base(path), besideFile); {
	case !hidden:
		return path
	case of == "":
		return filepath.Dir(path)
	default:
		return filepath.Join(filepath.Dir(path), strings.TrimPrefix(of, "."))
	}
}

// reasons are what the system says that is not plain.
var reasons = []struct {
	is   error
	told string
}{
	{syscall.EISDIR, "it is a folder; expected a file"},
	{syscall.ENOTDIR, "a file stands where a folder is expected"},
	{syscall.ELOOP, "its links lead in a circle"},
	{syscall.EINVAL, "that cannot be done with a file of this kind, or of this name"},
	{syscall.ENAMETOOLONG, "the name is too long"},
	{syscall.EXDEV, "it lies on another disk"},
}

func plainReason(err error) string {
	for _, r := range reasons {
		if errors.Is(err, r.is) {
			return r.told
		}
	}
	if err.Error() == "path escapes from parent" { // of os.Root, which has no name for it
		return "it leads out of this folder, and nothing outside of it is read"
	}
	return err.Error()
}

// withArticle is what a value of JSON is called.
func withArticle(value string) string {
	kind, _, _ := strings.Cut(value, " ")
	if strings.HasPrefix(kind, "a") || strings.HasPrefix(kind, "o") {
		return "an " + kind
	}
	return "a " + kind
}

// UnreadError says why a file cannot be read, without its name; of a link where it leads,
// and what to do.
type UnreadError struct {
	Link string // where it leads; "" where it is none
	Err  error  // what the system said
}

// WhyUnread words why the file of a name in a folder cannot be read.
func WhyUnread(in *os.Root, name string, err error) *UnreadError {
	link, notLink := in.Readlink(name)
	if notLink != nil {
		link = ""
	}
	return &UnreadError{link, err}
}

// Error says it.
func (e *UnreadError) Error() string {
	var path *fs.PathError
	why := Plain(e.Err)
	if errors.As(e.Err, &path) {
		why = plainReason(path.Err)
	}
	if e.Link == "" {
		return why
	}
	return fmt.Sprintf("it is a link to %s: %s. Put the file itself here, or take the link away", Clip(OneLine(e.Link)), why)
}

// Unwrap gives what the system said.
func (e *UnreadError) Unwrap() error { return e.Err }
