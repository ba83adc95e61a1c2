package cli

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"

	"telltale/evidence/rig"
	"telltale/rules"
)

// bookOption is which rulebook a command uses.
type bookOption struct{ dir string }

// load gives the built-in book, with the local one laid over it if there is
// one.
func (o *bookOption) load() (*rules.Book, error) { return o.over("") }

// loadFor is load for a case: where nobody named a local book, a job of a rig is read
// with the rig's own.
func (o *bookOption) loadFor(file string) (*rules.Book, error) { return o.over(rig.Book(file)) }

// loadIn is loadFor for all of a rig.
func (o *bookOption) loadIn(dir string) (*rules.Book, error) { return o.over(rig.BookIn(dir)) }

func (o *bookOption) over(own string) (*rules.Book, error) {
	dir := cmp.Or(o.dir, own)
	if dir == "" {
		return rules.BuiltIn()
	}
	info, err := os.Stat(dir)
	if err != nil {
		return nil, fileError{err}
	}
	if !info.IsDir() {
		return nil, fileError{fmt.Errorf("%s is not a folder; --rulebook takes the folder of a local rulebook", dir)}
	}
	root, err := os.OpenRoot(dir) // no link out of the folder is followed: what it leads to is not to be told
	if err != nil {
		return nil, fileError{err}
	}
	defer root.Close()
	return rules.LoadOver(root.FS(), filepath.ToSlash(dir))
}
