package record

import (
	"path/filepath"
	"strings"
	"time"

	"telltale/evidence"
	"telltale/evidence/source"
)

// PumpFile is the file of a pump of a rig as it was last read. It is written like a
// case: under a lock, only over what was read, whole or not at all, and everything
// that no edit touches stays as it was written.
type PumpFile struct{ file *File }

// OpenPump reads the file of a pump, pumps/NAME.yaml, as Open does a case.
func OpenPump(in, path string, words evidence.Vocabulary, create bool) (*PumpFile, error) {
	f, err := Open(in, path, words, create)
	if err != nil {
		return nil, err
	}
	f.check = func(text []byte) error {
		_, err := parsePump(f.name, text, words)
		return err
	}
	return &PumpFile{f}, nil
}

func parsePump(file string, text []byte, words evidence.Vocabulary) (*evidence.PumpFile, error) {
	return evidence.ParsePump(file, strings.TrimSuffix(filepath.Base(file), ".yaml"), text, words)
}

// Name is the path as it was given.
func (f *PumpFile) Name() string { return f.file.name }

// Pump reads what stands in the text. The error is the *source.InputError of its
// mistakes.
func (f *PumpFile) Pump() (*evidence.PumpFile, error) {
	return parsePump(f.file.name, f.file.text, f.file.words)
}

// Start writes the text of a pump that has no file yet. Errors as of File.Save: with
// a *ChangedError somebody else was there first.
func (f *PumpFile) Start(text []byte) error {
	if f.file.there {
		return &ChangedError{Name: f.file.name, Now: f.file.text}
	}
	return f.file.Save(text)
}

// Write carries out edits in order and saves the file. On an error, as of
// File.Write, it is as it was.
func (f *PumpFile) Write(edits ...Edit) error {
	text, err := ApplyPump(f.file.name, f.file.text, f.file.words, edits...)
	if err != nil {
		return err
	}
	return f.file.Save(text)
}

// ApplyPump is Apply on the text of a pump's file.
func ApplyPump(name string, text []byte, words evidence.Vocabulary, edits ...Edit) ([]byte, error) {
	if _, err := parsePump(name, text, words); err != nil {
		return nil, damaged(err)
	}
	doc, err := source.NewEditor(name, text)
	if err != nil {
		return nil, err
	}
	d := &draft{name: name, words: words, doc: doc}
	for _, e := range edits {
		if err := e.do(d); err != nil {
			return nil, d.refused(err)
		}
	}
	if _, err := parsePump(name, doc.Text(), words); err != nil {
		return nil, d.refused(err)
	}
	return doc.Text(), nil
}

// Reread takes over what is in the file now, after a *ChangedError.
func (f *PumpFile) Reread() error { return f.file.Reread() }

// AddMeter notes in a pump's file what its hour meter showed on a day.
func AddMeter(day time.Time, hours string) Edit {
	return addLine("hours", "date", day.Format(evidence.DateForm), "hours", hours)
}

// Was notes in a pump's file what stood until a day: under pump: or manual:, at a
// key. What is said of that day and key already stays. It goes to the end of what
// was: a day before the last is refused by whoever reads it.
func Was(until time.Time, of, key, value string) Edit {
	return Edit{func(d *draft) error {
		day := until.Format(evidence.DateForm)
		said := source.Field{Key: of, Value: source.Fields(source.Field{Key: key, Value: source.Word(value)})}
		list := d.doc.Get("was")
		if list == nil || list.Kind != source.List || len(list.Items) == 0 || textAt(list.Items[len(list.Items)-1], "until") != day {
			return d.refused(d.doc.Add(source.Fields(source.Field{Key: "until", Value: source.Word(day)}, said), "was"))
		}
		last := len(list.Items) - 1
		return d.refused(d.doc.SetItem(last, list.Items[last].Over(source.Fields(said)), "was"))
	}}
}
