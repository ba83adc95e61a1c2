package rules

import (
	"fmt"
	"io/fs"
	"sort"
	"strings"
)

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
	if err != nil {
		return false, fmt.Errorf("%s is a link that leads nowhere, or out of the folder; put the file itself there", f.Name())
	}
	if info.IsDir() {
		return false, nil
	}
	if !info.Mode().IsRegular() {
		return false, fmt.Errorf("%s is no ordinary file", f.Name())
	}
	return true, nil
}
