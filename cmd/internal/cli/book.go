package cli

import (
	"fmt"
	"os"
	"path/filepath"

	"telltale/rules"
)

// bookOption is which rulebook a command uses.
type bookOption struct{ dir string }

// load gives the built-in book, with the local one laid over it if there is
// one.
func (o *bookOption) load() (*rules.Book, error) {
	if o.dir == "" {
		return rules.BuiltIn()
	}
	info, err := os.Stat(o.dir)
	if err != nil {
		return nil, fileError{err}
	}
	if !info.IsDir() {
		return nil, fileError{fmt.Errorf("%s is not a folder; --rulebook takes the folder of a local rulebook", o.dir)}
	}
	return rules.LoadOver(os.DirFS(o.dir), filepath.ToSlash(o.dir))
}
