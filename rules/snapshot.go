package rules

import (
	"bytes"
	_ "embed"
	"encoding/gob"
)

// snapshot is the built-in book as it was loaded when the file was last
// written: reading YAML and checking it is most of what a short run costs.
// "go test ./rules -update" writes it.
//
//go:embed book.snapshot
var snapshot []byte

// builtInBook gives the built-in book from its snapshot. The YAML files are
// what counts: when the snapshot does not belong to them, they are read.
func builtInBook() (*Book, error) {
	digest, err := digestOf(BuiltInFiles())
	if err == nil {
		if book := fromSnapshot(snapshot, digest); book != nil {
			return book, nil
		}
	}
	return Load(BuiltInFiles(), BuiltInDir)
}

// fromSnapshot reads a snapshot, nil if it is none of the files with this
// digest.
func fromSnapshot(data []byte, digest string) *Book {
	book := &Book{}
	if err := gob.NewDecoder(bytes.NewReader(data)).Decode(book); err != nil || book.Digest != digest {
		return nil
	}
	for _, table := range []indexed{
		&book.Groups, &book.Works, &book.Limits, &book.Signs, &book.Causes, &book.Openings, &book.Safety, &book.Checks,
		&book.Returns, &book.Told, &book.Referrals, &book.Stops, &book.Ratings, &book.Thresholds, &book.Parts, &book.Advice,
		&book.Procedures, &book.Gauges,
	} {
		table.index()
	}
	return book
}

// indexed is a table of any kind of entries.
type indexed interface{ index() }

// index finds the entries by id again, which the snapshot does not hold.
func (t *Table[T]) index() {
	t.byID = make(map[string]*T, len(t.List))
	for _, entry := range t.List {
		t.byID[any(entry).(interface{ id() string }).id()] = entry
	}
}

// writeSnapshot gives the snapshot of a book. Its conditions are kept as text
// and compiled when they are asked.
func writeSnapshot(book *Book) ([]byte, error) {
	var out bytes.Buffer
	err := gob.NewEncoder(&out).Encode(book)
	return out.Bytes(), err
}
