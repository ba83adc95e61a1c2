package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// newFileMode is that of a file which was not there before.
const newFileMode fs.FileMode = 0o644

// putFile writes a whole file or none of it: beside it first, then in its
// place. A link keeps pointing where it does.
func putFile(name string, text []byte) error {
	path, mode, err := placeOf(name)
	if err == nil {
		err = replaceFile(path, text, mode)
	}
	if err != nil {
		return fmt.Errorf("%s: nothing was written: %w", name, err)
	}
	return nil
}

// holdsPage says whether a file is empty or begins as a page does, which a page may
// take the place of. The error tells that there is none to look into.
func holdsPage(name string) (bool, error) {
	if at, err := os.Stat(name); err != nil || !at.Mode().IsRegular() {
		return false, err
	}
	f, err := os.Open(name)
	if err != nil {
		return false, err
	}
	defer f.Close()
	head, err := io.ReadAll(io.LimitReader(f, int64(len(pageHead))))
	return len(head) == 0 || string(head) == pageHead, err
}

// pageHead is what each page begins with.
const pageHead = "<!DOCTYPE html>"

// placeOf follows links to where a file is to stand, and gives the mode that it
// is to have. A file that was made read-only is left alone, although its folder
// would let it be replaced.
func placeOf(name string) (path string, mode fs.FileMode, err error) {
	if _, err := os.Lstat(name); errors.Is(err, fs.ErrNotExist) {
		return name, newFileMode, nil
	}
	path, err = filepath.EvalSymlinks(name)
	if errors.Is(err, fs.ErrNotExist) {
		return "", 0, errors.New("it is a link that leads nowhere")
	}
	if err != nil {
		return "", 0, err
	}
	info, err := os.Stat(path)
	if err != nil {
		return "", 0, err
	}
	if !info.Mode().IsRegular() {
		return "", 0, errors.New("it is no ordinary file")
	}
	old, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return "", 0, err
	}
	return path, info.Mode().Perm(), old.Close()
}

// besides begins the name of what is written beside a file before it takes its place; the
// rest are figures. One that is older than stale was left by a process that was killed: no
// write takes as long.
const (
	besides = ".telltale-"
	stale   = 10 * time.Minute
)

// takeAwayLeft takes away what was left in a folder. What cannot be is left.
func takeAwayLeft(dir string) {
	found, _ := os.ReadDir(dir)
	for _, f := range found {
		figures, ours := strings.CutPrefix(f.Name(), besides)
		if _, err := strconv.ParseUint(figures, 10, 64); !ours || err != nil {
			continue
		}
		if info, err := f.Info(); err == nil && info.Mode().IsRegular() && time.Since(info.ModTime()) > stale {
			_ = os.Remove(filepath.Join(dir, f.Name()))
		}
	}
}

func replaceFile(path string, text []byte, mode fs.FileMode) (err error) {
	dir := filepath.Dir(path)
	takeAwayLeft(dir)
	f, err := os.CreateTemp(dir, besides+"*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	if _, err = f.Write(text); err != nil {
		return err
	}
	if err = f.Chmod(mode); err != nil {
		return err
	}
	if err = f.Sync(); err != nil {
		return err
	}
	if err = f.Close(); err != nil {
		return err
	}
	if err = os.Rename(f.Name(), path); err != nil {
		return err
	}
	if folder, err := os.Open(dir); err == nil { // not every system can; the text itself is safe
		_ = folder.Sync()
		_ = folder.Close()
	}
	return nil
}
