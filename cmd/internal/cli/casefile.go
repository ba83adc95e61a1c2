package cli

import (
	"errors"

	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/evidence/rig"
	"telltale/evidence/source"
	"telltale/rules"
)

// parseCase reads a case; a job on a pump of a rig with what stands of its pump.
func parseCase(name string, text []byte, book *rules.Book) (*evidence.Case, error) {
	words, err := caseWords(name, text, book)
	if err != nil {
		return nil, err
	}
	return evidence.ParseCase(name, text, words)
}

// caseWords are the words with which a case is read.
func caseWords(name string, text []byte, book *rules.Book) (evidence.Vocabulary, error) {
	words, err := rig.Words(name, text, book.Vocabulary())
	var input *source.InputError
	if err != nil && !errors.As(err, &input) {
		err = fileError{err}
	}
	return words, err
}

// openCase opens a case to be edited, as record.Open does.
func openCase(book *rules.Book, path string, create bool) (*record.File, error) {
	file, err := record.Open(path, book.Vocabulary(), create)
	if err != nil {
		return nil, fileError{err}
	}
	words, err := caseWords(path, file.Text(), book)
	if err != nil {
		return nil, err
	}
	file.ReadWith(words)
	return file, nil
}
