package source

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
)

// StreamDocument is one document of a stream, with the line on which it starts.
type StreamDocument struct {
	Line int
	Text []byte
	// Err says that the document is larger than the limit; Text is then not
	// whole.
	Err error
}

// Splitter takes a stream apart: JSON Lines, where every line is a document,
// if the first thing in it is a brace; else YAML documents, which lines of ---
// part. It holds one document at a time. Empty documents are passed over.
type Splitter struct {
	in     *bufio.Reader
	most   int
	line   int  // of the next line to be read
	begun  bool // the form is known
	lines  bool // JSON Lines
	ending error
}

// NewSplitter splits r into documents of at most limits.Bytes.
func NewSplitter(r io.Reader, limits Limits) *Splitter {
	return &Splitter{in: bufio.NewReaderSize(r, 64<<10), most: limits.Bytes, line: 1}
}

// Next gives the next document; io.EOF after the last one.
func (s *Splitter) Next() (StreamDocument, error) {
	if s.ending != nil {
		return StreamDocument{}, s.ending
	}
	if !s.begun {
		if err := s.begin(); err != nil {
			return StreamDocument{}, s.end(err)
		}
	}
	for {
		d, err := s.document()
		if len(bytes.TrimSpace(d.Text)) > 0 || d.Err != nil {
			if err != nil {
				s.ending = err
			}
			return d, nil
		}
		if err != nil {
			return StreamDocument{}, s.end(err)
		}
	}
}

func (s *Splitter) end(err error) error {
	s.ending = err
	return err
}

// begin looks at the first byte that is no blank.
func (s *Splitter) begin() error {
	s.begun = true
	if mark, err := s.in.Peek(3); err == nil && bytes.Equal(mark, []byte("\xef\xbb\xbf")) {
		if _, err := s.in.Discard(3); err != nil {
			return err
		}
	}
	for {
		b, err := s.in.ReadByte()
		if err != nil {
			return err
		}
		switch b {
		case '\n':
			s.line++
			continue
		case ' ', '\t', '\r':
			continue
		}
		s.lines = b == '{'
		return s.in.UnreadByte()
	}
}

// document reads one document, which may be empty.
func (s *Splitter) document() (StreamDocument, error) {
	d := StreamDocument{Line: s.line}
	for {
		line, err := s.readLine(&d)
		if !s.lines && err == nil && isBreak(line) {
			return d, nil
		}
		if d.Err == nil {
			d.Text = append(d.Text, line[:min(len(line), s.most+1-len(d.Text))]...)
			if len(d.Text) > s.most {
				d.Err = fmt.Errorf("the document is larger than %d bytes", s.most)
			}
		}
		if err != nil || s.lines {
			return d, err
		}
	}
}

// readLine reads one line with its end, at most one byte more than a document
// may have; the rest of a longer one is passed over.
func (s *Splitter) readLine(d *StreamDocument) ([]byte, error) {
	var out []byte
	for {
		part, err := s.in.ReadSlice('\n')
		if room := s.most + 1 - len(out); room > 0 {
			out = append(out, part[:min(room, len(part))]...)
		}
		if errors.Is(err, bufio.ErrBufferFull) {
			continue
		}
		if err == nil {
			s.line++
		}
		return out, err
	}
}

// isBreak says whether a line parts two YAML documents.
func isBreak(line []byte) bool {
	line = bytes.TrimRight(line, " \t\r\n")
	return bytes.Equal(line, []byte("---")) || bytes.Equal(line, []byte("..."))
}
