package rules

import (
	"crypto/sha256"
	"fmt"
	"hash"
	"io/fs"
	"sort"
	"strings"
)

// bookDigest tells one text of a book from another.
type bookDigest struct{ sum hash.Hash }

func newDigest() bookDigest { return bookDigest{sha256.New()} }

// add takes in one file; the files come in the order of their names.
func (d bookDigest) add(name string, text []byte) {
	fmt.Fprintf(d.sum, "%s\n%d\n", name, len(text))
	d.sum.Write(text)
}

// String gives the first 12 hexadecimal digits.
func (d bookDigest) String() string { return fmt.Sprintf("%x", d.sum.Sum(nil))[:12] }

// bookFiles lists the files of a book in the order of their names.
func bookFiles(files fs.FS) ([]string, error) {
	listed, err := fs.ReadDir(files, ".")
	if err != nil {
		return nil, err
	}
	var names []string
	for _, f := range listed {
		if !strings.HasSuffix(f.Name(), ".yaml") {
			continue
		}
		read, err := isFile(files, f)
		if err != nil {
			return nil, err
		}
		if read {
			names = append(names, f.Name())
		}
	}
	sort.Strings(names)
	return names, nil
}

// isFile says whether an entry is a file, or a link to one: a link passed over
// would be a rule left out. A pipe would be waited for, so it is an error.
func isFile(files fs.FS, f fs.DirEntry) (bool, error) {
	if f.Type().IsRegular() || f.IsDir() {
		return !f.IsDir(), nil
	}
	info, err := fs.Stat(files, f.Name())
	if err != nil || info.IsDir() {
		return false, err
	}
	if !info.Mode().IsRegular() {
		return false, fmt.Errorf("%s is no ordinary file", f.Name())
	}
	return true, nil
}
