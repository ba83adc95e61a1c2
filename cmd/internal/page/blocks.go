package page

import (
	"io"
	"strings"
	"unicode/utf8"

	"telltale/cmd/internal/doc"
	"telltale/engine/figures"
)

// block is one part of a page that is written as text or as Markdown alike.
type block struct {
	heading string
	paras   []string
	table   *grid
	list    []string // numbered if steps is set
	steps   bool
	// procedure: the list holds its steps.
	procedure *figures.Procedure
}

// grid is a table of short cells; all but the first column are figures.
type grid struct {
	header []string
	rows   [][]string
}

// How a line of a list starts that has a box to tick, or that belongs below
// the line before it.
const (
	box   = "[ ] "
	below = "\t"
)

// sentence turns a heading in capitals into one with a capital first.
func sentence(s string) string {
	if s == "" || s != strings.ToUpper(s) {
		return s
	}
	_, first := utf8.DecodeRuneInString(s)
	return s[:first] + strings.ToLower(s[first:])
}

// writeBlocks writes a whole page of blocks, as Markdown or as text.
func writeBlocks(w io.Writer, title []string, blocks []block, width int, markdown bool) error {
	d := &doc.Document{Title: title[0], Lines: title[1:]}
	for _, b := range blocks {
		s := doc.Section{Heading: b.heading, Parts: []doc.Part{{Text: b.paras}}}
		if b.table != nil {
			s.Parts[0].Table = &doc.Table{Head: b.table.header}
			for _, row := range b.table.rows {
				s.Parts[0].Table.Rows = append(s.Parts[0].Table.Rows, doc.Cells(row...))
			}
		}
		s.Parts = append(s.Parts, doc.List(b.list...))
		d.Add(s)
	}
	if markdown {
		return d.Markdown(w)
	}
	return d.Text(w, width)
}
