package record

import (
	"errors"
	"slices"
	"strings"

	"telltale/evidence"
	"telltale/evidence/source"
)

// Edit is one change of a case file: one thing that somebody said. Edits are
// made by the functions of this package and carried out by Apply or
// File.Write. Ids and answers are the rulebook's; the zero Place is the whole
// pump.
type Edit struct {
	do func(*draft) error
}

// Apply carries out edits in order on the text of a case file and gives the
// new text with the case that it holds. Everything that no edit touches stays
// as it was written. An empty text is a file yet to be started.
//
// On any error nothing is given:
//   - *DamagedError: the text as it stands has mistakes; it must be mended by
//     hand first.
//   - *RefusedError: the text is right, but cannot take an edit (an unknown
//     word, something open on a running pump, corrected but not confirmed).
//
// Both carry the *source.InputError of the text, which errors.As finds.
func Apply(name string, text []byte, words evidence.Vocabulary, edits ...Edit) ([]byte, *evidence.Case, error) {
	doc, _, err := sound(name, text, words)
	if err != nil {
		return nil, nil, damaged(err)
	}
	d := &draft{name: name, words: words, doc: doc}
	for _, e := range edits {
		if e.do == nil {
			continue
		}
		if err := e.do(d); err != nil {
			return nil, nil, d.refused(err)
		}
	}
	k, err := evidence.ParseCase(name, d.doc.Text(), words)
	if err != nil {
		return nil, nil, d.refused(err)
	}
	return d.doc.Text(), k, nil
}

func damaged(err error) error {
	var input *source.InputError
	if errors.As(err, &input) {
		return &DamagedError{input}
	}
	return err
}

// DamagedError says that a case file has mistakes before any edit.
type DamagedError struct{ Err *source.InputError }

// Error gives the mistakes with their places in the file.
func (e *DamagedError) Error() string {
	return "the case file has mistakes; nothing was written until they are mended by hand\n" + e.Err.Error()
}

// Unwrap gives the mistakes.
func (e *DamagedError) Unwrap() error { return e.Err }

// RefusedError says that an edit would make the case wrong. The places in Err
// are those of the text that it would have become.
type RefusedError struct{ Err *source.InputError }

// Error gives the reasons, each once, without places, which are not in the
// file.
func (e *RefusedError) Error() string {
	var out []string
	for _, p := range e.Err.Problems {
		if !slices.Contains(out, p.Text) {
			out = append(out, p.Text)
		}
	}
	if e.Full() {
		out = append(out, "Strike old remarks or old lines of its log out of the file, or begin a new case")
	}
	return strings.Join(out, "\n")
}

// Full says whether the file would become larger than is read.
func (e *RefusedError) Full() bool {
	return slices.ContainsFunc(e.Err.Problems, func(p source.Problem) bool { return p.Code == source.TooLarge })
}

// Unwrap gives the mistakes that the text would have had.
func (e *RefusedError) Unwrap() error { return e.Err }

// draft is a text on its way from edit to edit.
type draft struct {
	name  string
	words evidence.Vocabulary
	doc   *source.Editor
}

func (d *draft) set(value *source.Node, path ...string) error {
	return d.refused(d.doc.Set(value, path...))
}

// setFields changes a mapping key by key, so that it keeps its lines: it then has
// the kept keys as they are and these fields. What is no mapping is replaced.
func (d *draft) setFields(kept []string, fields []source.Field, path ...string) error {
	n := d.doc.Get(path...)
	if n == nil || n.Kind != source.Mapping {
		return d.set(source.Fields(fields...), path...)
	}
	for _, f := range fields {
		kept = append(kept, f.Key)
		if err := d.set(f.Value, slices.Concat(path, []string{f.Key})...); err != nil {
			return err
		}
	}
	for _, p := range n.Pairs {
		if p.Value.Kind != source.Null && !slices.Contains(kept, p.Key.Text) {
			if err := d.remove(slices.Concat(path, []string{p.Key.Text})...); err != nil {
				return err
			}
		}
	}
	return nil
}

func (d *draft) remove(path ...string) error { return d.refused(d.doc.Remove(path...)) }

// pump reads the pump of the draft as it stands; a draft between two edits
// may still have mistakes elsewhere.
func (d *draft) pump() (*evidence.Pump, error) {
	var ps source.Problems
	k := evidence.ReadCase(d.doc.Root(), d.words, &ps)
	if len(k.Pump.Cylinders) == 0 {
		return nil, d.refused(ps.Err())
	}
	return &k.Pump, nil
}

// refused makes a *RefusedError of any error.
func (d *draft) refused(err error) error {
	if err == nil {
		return nil
	}
	var already *RefusedError
	if errors.As(err, &already) {
		return err
	}
	var input *source.InputError
	if errors.As(err, &input) {
		return &RefusedError{input}
	}
	var ps source.Problems
	ps.Add(source.Pos{File: d.name, Line: 1, Col: 1}, source.DoesNotFit, "%s", err)
	return &RefusedError{&source.InputError{Problems: ps.All()}}
}

// started says whether there is a case in a text at all.
func started(doc *source.Editor) bool { return doc.Root().Kind != source.Null }

// sound reads a case; nil without an error if the text is yet to be started.
func sound(name string, text []byte, words evidence.Vocabulary) (*source.Editor, *evidence.Case, error) {
	doc, err := source.NewEditor(name, text)
	if err != nil || !started(doc) {
		return doc, nil, err
	}
	k, err := evidence.ParseCase(name, text, words)
	return doc, k, err
}
