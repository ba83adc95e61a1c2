package record

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// steps is told each step of a save before it is taken, and can stop it: tests
// do. nil takes every step.
type steps func(step string) error

func (s steps) before(step string) error {
	if s == nil {
		return nil
	}
	return s(step)
}

// pieceSize is how much is written at once, in bytes.
const pieceSize = 4096

// newFile is how the system is asked for a file that was not there: its mask
// takes away what it wants.
const newFile fs.FileMode = 0o666

// Save puts text in place of the file's, under the lock, if the file still holds
// what was read. Afterwards it holds the old text or the new one, never a mixture,
// even if the process or the machine stops half-way; when Save returns nil it holds
// the new one. It keeps the permissions and the owner.
//
// Errors: *ChangedError if somebody changed the file since it was read,
// *DamagedError if the file has mistakes, *RefusedError if text has, *BusyError if
// another telltale does not let go of it, *UnkeptError if the new file would not be to
// everybody what the old one is; else what the operating system says. With
// all of them the file is left as it was.
func (f *File) Save(text []byte) error {
	if err := f.mended(); err != nil {
		return err
	}
	if err := f.sound(text); err != nil {
		return (&draft{name: f.name}).refused(err)
	}
	return f.locked(func(held func() bool) error {
		if err := f.Unchanged(); err != nil {
			return err
		}
		if f.there && bytes.Equal(text, f.text) {
			return nil
		}
		if err := f.replace(text, held); err != nil {
			if held() || !exists(f.beside("claim")) { // else it is what somebody else writes
				_ = f.root.Remove(f.within(f.beside("new")))
			}
			return err
		}
		f.text, f.there = bytes.Clone(text), true
		f.syncFolder()
		return nil
	})
}

// mended wants the text as it was read to be right, if there is any.
func (f *File) mended() error {
	if f.check == nil {
		_, err := f.Case()
		return err
	}
	if !f.there {
		return nil
	}
	return f.check(f.text)
}

// Move gives the file another name in a folder, one that is free. It is refused with
// fs.ErrExist if the name is taken, with *ChangedError if the file is not as it was
// read; then it keeps its name. A process that is killed in between leaves at most an
// empty file of the new name.
func (f *File) Move(path string) error {
	to := &File{name: path, root: f.root, path: filepath.Join(filepath.Dir(f.path), filepath.Base(path))}
	err := f.locked(func(func() bool) error {
		if err := f.Unchanged(); err != nil {
			return err
		}
		return to.locked(func(func() bool) error {
			taken, err := f.root.OpenFile(f.within(to.path), os.O_WRONLY|os.O_CREATE|os.O_EXCL, newFile)
			if err != nil {
				return err
			}
			if err := errors.Join(taken.Close(), f.steps.before("move")); err != nil {
				return errors.Join(err, f.root.Remove(f.within(to.path)))
			}
			if err := f.root.Rename(f.within(f.path), f.within(to.path)); err != nil {
				return errors.Join(err, f.root.Remove(f.within(to.path)))
			}
			return nil
		})
	})
	if err == nil {
		f.name, f.path = to.name, to.path
		f.syncFolder()
	}
	return err
}

// replace writes text beside the file and puts it in its place in one step of
// the file system, if it is claimed still: else somebody else may write at the same
// moment. Then it is looked at once more.
func (f *File) replace(text []byte, held func() bool) error {
	if err := f.writeBeside(text); err != nil {
		return err
	}
	if err := f.steps.before("look again"); err != nil {
		return err
	}
	if err := f.Unchanged(); err != nil {
		return err
	}
	if err := f.steps.before("rename"); err != nil {
		return err
	}
	if !held() {
		return &BusyError{f.name}
	}
	if err := f.root.Rename(f.within(f.beside("new")), f.within(f.path)); err != nil {
		return err
	}
	now, there, err := f.disk()
	if err == nil && (!there || !bytes.Equal(now, text)) {
		return &ChangedError{Name: f.name, Now: now, Changes: Changes(text, now)}
	}
	return nil // one that cannot be read now was written all the same
}

func (f *File) writeBeside(text []byte) error {
	if err := f.steps.before("create"); err != nil {
		return err
	}
	_ = f.root.Remove(f.within(f.beside("new")))
	old, err := f.old()
	if err != nil {
		return err
	}
	mode := newFile
	if old != nil {
		mode = old.Mode().Perm()
	}
	out, err := f.root.OpenFile(f.within(f.beside("new")), os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		return err
	}
	err = f.fill(out, text, old)
	if err == nil {
		err = f.steps.before("close")
	}
	return errors.Join(err, out.Close())
}

// old says what the file is that is to be replaced; nil if there is none. One that was
// made read-only is left alone, although the folder would let it be replaced, and so is
// one with a second name, which would keep the old text.
func (f *File) old() (fs.FileInfo, error) {
	if !f.there {
		return nil, nil
	}
	old, err := f.root.OpenFile(f.within(f.path), os.O_WRONLY, 0)
	if err != nil {
		return nil, err
	}
	defer old.Close()
	info, err := old.Stat()
	if err != nil {
		return nil, err
	}
	if names(info) > 1 {
		return nil, &UnkeptError{f.name, "it has a second name (a hard link), under which the old text would go on. Copy it, and put the copy in its place"}
	}
	return info, nil
}

func (f *File) fill(out *os.File, text []byte, old fs.FileInfo) error {
	if old != nil {
		if err := keepOwner(out, old); err != nil {
			return &UnkeptError{f.name, "it belongs to somebody else, and would become yours (" + err.Error() + "). Let its owner write, or give the file to a group of you both, with the right to write"}
		}
		if err := out.Chmod(old.Mode().Perm()); err != nil { // what the mask took away
			return err
		}
	}
	for start := 0; start < len(text); start += pieceSize {
		if err := f.steps.before("write"); err != nil {
			return err
		}
		if _, err := out.Write(text[start:min(start+pieceSize, len(text))]); err != nil {
			return err
		}
	}
	if err := f.steps.before("sync"); err != nil {
		return err
	}
	return out.Sync()
}

// syncFolder asks the system to remember the new name too. Not every system
// can; the text itself is safe already.
func (f *File) syncFolder() {
	if f.steps.before("sync folder") != nil {
		return
	}
	folder, err := f.root.Open(f.within(filepath.Dir(f.path)))
	if err != nil {
		return
	}
	_ = folder.Sync()
	_ = folder.Close()
}

// UnkeptError says that a new file in place of the old one would not be the same to
// everybody who uses it.
type UnkeptError struct{ Name, Why string }

func (e *UnkeptError) Error() string {
	return fmt.Sprintf("%s is left as it is, nothing was written: %s", e.Name, e.Why)
}
