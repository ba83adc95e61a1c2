package prove

import (
	"io/fs"
	"path"
	"strings"

	"telltale/engine"
	"telltale/engine/hear"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// Folder is where the proving cases of a book stand, inside its folder.
const Folder = "proofs"

// Fact is something that tells look-alikes apart; proofs exercise it.
type Fact struct {
	ID    string
	Title string
	Basis string
	Pos   source.Pos
}

// Proof is one case with what the book must make of it.
type Proof struct {
	ID     string
	Title  string
	Basis  string
	Facts  []string
	Pos    source.Pos
	Case   *evidence.Case
	Expect []Expectation
}

// at is a cause at a place as a proof names it.
type at struct {
	cause string
	place evidence.Place
}

// step is a step of a list as a proof names it.
type step struct {
	id      string
	opening bool // something that is opened and closed
	closes  bool // its closing is meant
}

// Expectation is one thing that must hold.
type Expectation struct {
	Pos  source.Pos
	what string // its key: first, within, chance, group, below, first-check, before, stop, no-stop, no-step, haste, or one of rooted
	at   at     // the cause or the place that it is about
	id   string // the group, check, stop, step or verdict that it is about, or none
	// fault says what of an answer is not as it must be, "" if all is.
	fault func(*engine.Report) string
}

// Suite is all proofs, facts and told stories of one book.
type Suite struct {
	Facts  []*Fact
	Proofs []*Proof
	// Stories are told in a crew's words, with what must come of them.
	Stories []*Story
}

// reader gathers a suite from files.
type reader struct {
	book     *rules.Book
	words    evidence.Vocabulary
	problems source.Problems
	suite    Suite
	seen     map[string]source.Pos
	ids      map[hear.Is][]string // of what a story may mean
	cited    []citation
}

type citation struct {
	fact string
	node *source.Node
}

// Dir is a folder of a rulebook and how it is called in messages.
type Dir struct {
	Files fs.FS
	Name  string
}

// Load reads the proofs beside the given books, all judged with one book. A
// folder without proofs gives none.
func Load(book *rules.Book, dirs ...Dir) (*Suite, error) {
	r := reader{book: book, words: book.Vocabulary(), seen: map[string]source.Pos{}, ids: map[hear.Is][]string{
		hear.IsSign: book.Signs.IDs(), hear.IsWork: book.Works.IDs(), hear.IsCheck: book.Checks.IDs(), hear.IsReading: nil,
	}}
	for _, d := range dirs {
		r.readDir(d)
	}
	known := map[string]bool{}
	var ids []string
	for _, f := range r.suite.Facts {
		known[f.ID] = true
		ids = append(ids, f.ID)
	}
	for _, c := range r.cited {
		if !known[c.fact] {
			r.problems.Add(c.node.Pos, source.UnknownName, "unknown fact %q%s", source.Clip(c.fact), source.Expected(c.fact, ids))
		}
	}
	if err := r.problems.Err(); err != nil {
		return nil, err
	}
	return &r.suite, nil
}

func (r *reader) readDir(d Dir) {
	files, err := fs.Glob(d.Files, Folder+"/*.yaml")
	if err != nil {
		return // the pattern is fixed and valid
	}
	for _, name := range files {
		full := path.Join(d.Name, name)
		if info, err := fs.Stat(d.Files, name); err != nil || !info.Mode().IsRegular() {
			r.problems.Add(source.Pos{File: full, Line: 1, Col: 1}, source.CannotRead, "is not a plain file")
			continue
		}
		f, err := d.Files.Open(name)
		if err != nil {
			r.problems.Add(source.Pos{File: full, Line: 1, Col: 1}, source.CannotRead, "cannot be read: %v", err)
			continue
		}
		text, err := source.ReadBounded(f, source.BookLimits)
		f.Close()
		if err != nil {
			r.problems.Add(source.Pos{File: full, Line: 1, Col: 1}, source.CannotRead, "cannot be read: %v", err)
			continue
		}
		if root := source.Parse(full, text, source.BookLimits, &r.problems); root != nil {
			r.readFile(root)
		}
	}
}

func (r *reader) readFile(root *source.Node) {
	o := root.Object(&r.problems, "the file of proofs")
	facts, proofs, stories := o.Get("facts"), o.Get("proofs"), o.Get("stories")
	o.Close()
	r.entries(facts, "facts", func(id *source.Node, o *source.Object) {
		r.suite.Facts = append(r.suite.Facts, &Fact{ID: id.Text, Title: r.text(o, "title"), Basis: r.basis(o), Pos: id.Pos})
	})
	r.entries(proofs, "proofs", func(id *source.Node, o *source.Object) {
		r.suite.Proofs = append(r.suite.Proofs, r.proof(id, o))
	})
	r.entries(stories, "stories", func(id *source.Node, o *source.Object) {
		r.suite.Stories = append(r.suite.Stories, r.story(id, o))
	})
}

func (r *reader) text(o *source.Object, key string) string {
	return strings.Join(strings.Fields(o.Need(key).String(&r.problems, key)), " ")
}

func (r *reader) basis(o *source.Object) string {
	return rules.ReadBasis(o.Need("basis"), &r.problems)
}

func (r *reader) entries(n *source.Node, what string, read func(*source.Node, *source.Object)) {
	if n == nil {
		return
	}
	if n.Kind != source.Mapping {
		n.Object(&r.problems, what)
		return
	}
	for _, p := range n.Pairs {
		if first, twice := r.seen[p.Key.Text]; twice {
			r.problems.Add(p.Key.Pos, source.Twice, "%s is also defined at %s", p.Key.Text, first)
			continue
		}
		r.seen[p.Key.Text] = p.Key.Pos
		if p.Value.Kind == source.Null {
			r.problems.Add(p.Key.Pos, source.Missing, "%s is empty", source.Clip(p.Key.Text))
			continue
		}
		o := p.Value.Object(&r.problems, p.Key.Text)
		read(p.Key, o)
		o.Close()
	}
}

func (r *reader) proof(id *source.Node, o *source.Object) *Proof {
	p := &Proof{ID: id.Text, Title: r.text(o, "title"), Basis: r.basis(o), Pos: id.Pos}
	for _, f := range o.Get("facts").Scalars(&r.problems, "facts") {
		p.Facts = append(p.Facts, f.Text)
		r.cited = append(r.cited, citation{fact: f.Text, node: f})
	}
	node, expect := o.Need("case"), o.Need("expect")
	if node == nil || expect == nil {
		return p
	}
	before := r.problems.Len()
	p.Case = evidence.ReadCase(node, r.words, &r.problems)
	if r.problems.Len() > before {
		return p
	}
	p.Expect = r.expectations(expect, &p.Case.Pump)
	return p
}
