package rules

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"sync"

	"telltale/evidence/source"
)

//go:embed book
var builtIn embed.FS

// BuiltInDir is how the built-in book's folder is called in messages.
const BuiltInDir = "rules/book"

// mostFiles and mostBytes bound one book, so that a hostile one costs bounded
// time and memory; the built-in book has one megabyte. See bounds.go too.
const (
	mostFiles = 100
	mostBytes = 2 << 20
)

// BuiltIn gives the book that comes with the program, read once.
var BuiltIn = sync.OnceValues(func() (*Book, error) { return Load(BuiltInFiles(), BuiltInDir) })

// BuiltInFiles is the folder of the built-in book, with its proving cases in
// the folder proofs.
func BuiltInFiles() fs.FS {
	files, err := fs.Sub(builtIn, "book")
	if err != nil {
		panic(err) // the folder is part of the program
	}
	return files
}

// Load reads every .yaml file of the folder as one book. dir is how the
// folder is called in messages. It gives a whole book or an
// *source.InputError with every mistake.
func Load(files fs.FS, dir string) (*Book, error) {
	l := newLoader()
	layer, digest := l.readLayer(files, dir)
	if layer == nil {
		return nil, l.problems.Err()
	}
	l.layer, l.book.Digest = *layer, digest
	return l.finish()
}

// LoadOver lays a local book over the built-in one: an id that the built-in
// book has changes the keys that it gives and keeps the others, a new id is
// added. Every local entry states its own basis.
func LoadOver(files fs.FS, dir string) (*Book, error) {
	l := newLoader()
	base, digest := l.readLayer(BuiltInFiles(), BuiltInDir)
	local, localDigest := l.readLayer(files, dir)
	if base == nil || local == nil {
		return nil, l.problems.Err()
	}
	l.book.Digest = digest
	l.book.Local = l.localName(local, localDigest)
	l.layer = l.overlay(base, local)
	var err error
	if l.book.Under, err = BuiltIn(); err != nil {
		return nil, err
	}
	return l.finish()
}

// finish reads what the layers hold.
func (l *loader) finish() (*Book, error) {
	l.fewEnough()
	l.fewEnoughAfter()
	if err := l.problems.Err(); err != nil {
		return nil, err
	}
	l.parse()
	if err := l.problems.Err(); err != nil {
		return nil, err
	}
	l.crossCheck()
	if err := l.problems.Err(); err != nil {
		return nil, err
	}
	l.book.mindLocalOpenings()
	return l.book, nil
}

// loader holds one loading of a book.
type loader struct {
	layer
	book     *Book
	problems source.Problems
	// conditions are those that were read, by their text.
	conditions map[string]Condition
	// asked, if there is one, hears which keys a section's entries can have.
	asked    func(section string, keys []string)
	standIns []*Opening // that stand for others
}

func newLoader() *loader { return &loader{book: &Book{}, conditions: map[string]Condition{}} }

// layer is the still unread entries of one folder.
type layer struct {
	sections map[string][]entry
	single   map[string]*source.Node
	index    map[string]map[string]int // of an id in its section
	ids      map[string][]string
}

// entry is one id of a section with its still unread value.
type entry struct {
	id    *source.Node
	value *source.Node
	local bool // new with a local book, or changed by it
	fresh bool // new with a local book
}

// tableSections hold entries by id; singleSections stand once in a book.
var (
	tableSections  = []string{"groups", "works", "muds", "limits", "signs", "causes", "openings", "safety", "checks", "return", "stops", "ratings", "thresholds", "parts", "advice", "procedures", "gauges", "told", "referrals", "trends", "upkeep", "forms", "same-words", "said-of-signs", "said-of-works", "said-of-checks"}
	singleSections = []string{"rulebook", "scale", "planning", "readings", "teardown", "practice", "haste", "due", "accepted"}
)

// readLayer gathers the entries of a folder, nil if a file could not be read,
// and the digest of the files.
func (l *loader) readLayer(files fs.FS, dir string) (*layer, string) {
	out := &layer{sections: map[string][]entry{}, single: map[string]*source.Node{}, index: map[string]map[string]int{}, ids: map[string][]string{}}
	here := source.Pos{File: dir, Line: 1, Col: 1}
	names, err := bookFiles(files)
	if err != nil {
		l.problems.Add(here, source.CannotRead, "cannot read the folder of the rulebook: %v", err)
		return nil, ""
	}
	if code := source.Missing; len(names) == 0 || len(names) > mostFiles {
		if len(names) > 0 {
			code = source.TooLarge
		}
		l.problems.Add(here, code, "a rulebook is 1 to %d .yaml files; found %d", mostFiles, len(names))
		return nil, ""
	}
	listed, bytes := readFiles(files, names)
	if bytes > mostBytes {
		l.problems.Add(here, source.TooLarge, "the rulebook's files have %.1f MiB together; at most %d MiB are read", float64(bytes)/(1<<20), mostBytes>>20)
		return nil, ""
	}
	parseFiles(dir, listed)
	digest, whole := sha256.New(), true // it tells one text of a book from another
	for _, file := range listed {
		full := path.Join(dir, file.name)
		if file.err != nil {
			l.problems.Add(source.Pos{File: full, Line: 1, Col: 1}, source.CannotRead, "cannot be read: %v", file.err)
			whole = false
			continue
		}
		fmt.Fprintf(digest, "%s\n%d\n", file.name, len(file.text))
		digest.Write(file.text)
		l.problems.Join(&file.problems)
		if file.root == nil {
			whole = false
			continue
		}
		l.gather(out, file.root)
	}
	if l.bounded(out); !whole {
		return nil, ""
	}
	return out, fmt.Sprintf("%x", digest.Sum(nil))[:12]
}

// bookFile is one file of a book as it was read.
type bookFile struct {
	name     string
	text     []byte
	err      error
	root     *source.Node
	problems source.Problems
}

// readFiles reads the files and gives them in the order of their names, with
// the bytes that were read.
func readFiles(files fs.FS, names []string) (out []*bookFile, bytes int) {
	for _, name := range names {
		f := &bookFile{name: name}
		f.text, f.err = readBounded(files, name)
		out, bytes = append(out, f), bytes+len(f.text)
	}
	return out, bytes
}

// parseFiles parses the files side by side.
func parseFiles(dir string, files []*bookFile) {
	var wait sync.WaitGroup
	for _, f := range files {
		if f.err == nil {
			wait.Go(func() { f.root = source.Parse(path.Join(dir, f.name), f.text, source.BookLimits, &f.problems) })
		}
	}
	wait.Wait()
}

// readBounded reads one byte more than allowed at most, so that a huge file
// is refused, not loaded.
func readBounded(files fs.FS, name string) ([]byte, error) {
	f, err := files.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var out bytes.Buffer
	if info, err := f.Stat(); err == nil {
		out.Grow(int(min(info.Size(), int64(source.BookLimits.Bytes))) + bytes.MinRead)
	}
	_, err = out.ReadFrom(io.LimitReader(f, int64(source.BookLimits.Bytes)+1))
	return out.Bytes(), err
}

// gather sorts the entries of one file into their sections.
func (l *loader) gather(out *layer, root *source.Node) {
	o := root.Object(&l.problems, "the file")
	for _, section := range singleSections {
		n := o.Get(section)
		if n == nil {
			continue
		}
		if first := out.single[section]; first != nil {
			l.problems.Add(n.Pos, source.Twice, "%s stands once in a rulebook; also at %s", section, first.Pos)
			continue
		}
		out.single[section] = n
	}
	for _, section := range tableSections {
		l.gatherTable(out, section, o.Get(section))
	}
	o.Close()
}

func (l *loader) gatherTable(out *layer, section string, n *source.Node) {
	if n == nil {
		return
	}
	if n.Kind != source.Mapping {
		l.problems.Add(n.Pos, source.WrongForm, "%s must be entries by id (id: ...); read %s", section, n.Kind)
		return
	}
	for _, p := range n.Pairs {
		if !isID(p.Key.Text) {
			l.problems.Add(p.Key.Pos, source.BadName, "%q cannot be an id; expected lower-case words with hyphens, such as rod-clamp-loose", source.Clip(p.Key.Text))
			continue
		}
		if first := out.find(section, p.Key.Text); first != nil {
			l.problems.Add(p.Key.Pos, source.Twice, "%s is also defined at %s", p.Key.Text, first.id.Pos)
			continue
		}
		out.add(section, entry{id: p.Key, value: p.Value})
	}
}

func (l *layer) add(section string, e entry) {
	if l.index[section] == nil {
		l.index[section] = map[string]int{}
	}
	l.index[section][e.id.Text] = len(l.sections[section])
	l.sections[section] = append(l.sections[section], e)
	l.ids[section] = append(l.ids[section], e.id.Text)
}

// insert puts entries in at a place of a section.
func (l *layer) insert(section string, at int, entries []entry) {
	if len(entries) == 0 {
		return
	}
	all := slices.Insert(l.sections[section], at, entries...)
	l.sections[section], l.ids[section] = nil, nil
	for _, e := range all {
		l.add(section, e)
	}
}

func (l *layer) find(section, id string) *entry {
	if i, ok := l.index[section][id]; ok {
		return &l.sections[section][i]
	}
	return nil
}

// idsOf lists the ids of a section in the order of the files; it is not to be
// changed.
func (l *layer) idsOf(section string) []string { return l.ids[section] }

// isID accepts lower-case words and digits joined by single hyphens.
func isID(s string) bool {
	if s == "" || len(s) > 60 || s[0] < 'a' || s[0] > 'z' {
		return false
	}
	for i := 0; i < len(s); i++ {
		c := s[i]
		letter := c >= 'a' && c <= 'z' || c >= '0' && c <= '9'
		if !letter && (c != '-' || i+1 == len(s) || s[i+1] == '-') {
			return false
		}
	}
	return true
}
