package page

import (
	"io"
	"strings"
	"unicode/utf8"

	"github.com/mattn/go-runewidth"
	"github.com/olekukonko/tablewriter"
	"github.com/olekukonko/tablewriter/renderer"
	"github.com/olekukonko/tablewriter/tw"

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

// textBlocks writes blocks as text.
func (s *sheet) textBlocks(blocks []block) error {
	for _, b := range blocks {
		if b.heading != "" {
			s.heading(b.heading)
		}
		for _, p := range b.paras {
			s.para("  ", "  ", p)
		}
		if b.table != nil {
			if err := s.grid(b.table); err != nil {
				return err
			}
		}
		for i, item := range b.list {
			s.item(b.steps, i, item)
		}
	}
	return nil
}

// item writes one line of a list: numbered, with a box to tick, below the one
// before it, or with a dash.
func (s *sheet) item(numberIt bool, i int, text string) {
	switch {
	case numberIt:
		s.para(numbered(i+1), "     ", text)
	case strings.HasPrefix(text, box):
		s.para("  "+box, "      ", strings.TrimPrefix(text, box))
	case strings.HasPrefix(text, below):
		s.para("        - ", "          ", strings.TrimPrefix(text, below))
	default:
		s.para("  - ", "    ", text)
	}
}

// How a line of a list starts that has a box to tick, or that belongs below
// the line before it.
const (
	box   = "[ ] "
	below = "\t"
)

func numbered(n int) string {
	out := "  " + strings.Repeat(" ", 2)
	digits := string(rune('0' + n%10))
	if n >= 10 {
		digits = string(rune('0'+n/10%10)) + digits
	}
	return out[:4-len(digits)] + digits + " "
}

// grid writes a table without lines but one under its head.
func (s *sheet) grid(g *grid) error {
	var out strings.Builder
	table := tablewriter.NewTable(&out,
		tablewriter.WithRenderer(renderer.NewBlueprint(tw.Rendition{
			Borders:  tw.BorderNone,
			Symbols:  tw.NewSymbols(tw.StyleASCII),
			Settings: tw.Settings{Separators: tw.Separators{BetweenColumns: tw.Off}, Lines: tw.Lines{ShowHeaderLine: tw.On}},
		})),
		tablewriter.WithHeaderAutoFormat(tw.Off),
		tablewriter.WithHeaderAlignment(tw.AlignLeft),
		tablewriter.WithEastAsian(tw.Off),
		tablewriter.WithAlignment(alignment(len(g.header))),
	)
	if err := fillTable(table, g, func(s string) string { return s }); err != nil {
		return err
	}
	lines := strings.Split(strings.TrimRight(out.String(), "\n"), "\n")
	for _, line := range lines {
		if runewidth.StringWidth(line)+2 > s.width {
			s.rowByRow(g)
			return nil
		}
	}
	for _, line := range lines {
		s.WriteString(strings.TrimRight("  "+line, " ") + "\n")
	}
	return nil
}

// rowByRow writes a table that is too wide for the page, a paragraph a row.
func (s *sheet) rowByRow(g *grid) {
	for _, row := range g.rows {
		var parts []string
		for i, cell := range row[1:] {
			if cell != "" {
				parts = append(parts, strings.TrimSpace(g.header[i+1]+" "+cell))
			}
		}
		s.para("  ", "    ", row[0]+": "+strings.Join(parts, "; "))
	}
}

func alignment(columns int) tw.Alignment {
	out := tw.Alignment{tw.AlignLeft}
	for len(out) < columns {
		out = append(out, tw.AlignRight)
	}
	return out
}

func fillTable(table *tablewriter.Table, g *grid, cell func(string) string) error {
	head := make([]any, len(g.header))
	for i, h := range g.header {
		head[i] = cell(h)
	}
	table.Header(head...)
	for _, row := range g.rows {
		cells := make([]string, len(row))
		for i, c := range row {
			cells[i] = cell(c)
		}
		if err := table.Append(cells); err != nil {
			return err
		}
	}
	return table.Render()
}

// blocks writes blocks as Markdown.
func (d *document) blocks(blocks []block) error {
	for _, b := range blocks {
		if b.heading != "" {
			d.printf("\n## %s\n\n", plain(sentence(b.heading)))
		}
		for _, p := range b.paras {
			d.printf("%s  \n", plain(p))
		}
		if b.table != nil {
			d.printf("\n")
			if err := d.grid(b.table); err != nil {
				return err
			}
		}
		if len(b.list) > 0 {
			d.printf("\n")
		}
		for i, item := range b.list {
			if b.steps {
				d.printf("%d. %s\n", i+1, plain(item))
				continue
			}
			switch {
			case strings.HasPrefix(item, box):
				d.printf("- [ ] %s\n", plain(strings.TrimPrefix(item, box)))
			case strings.HasPrefix(item, below):
				d.printf("  - %s\n", plain(strings.TrimPrefix(item, below)))
			default:
				d.printf("- %s\n", plain(item))
			}
		}
	}
	return nil
}

// sentence turns a heading in capitals into one with a capital first.
func sentence(s string) string {
	if s == "" || s != strings.ToUpper(s) {
		return s
	}
	_, first := utf8.DecodeRuneInString(s)
	return s[:first] + strings.ToLower(s[first:])
}

func (d *document) grid(g *grid) error {
	table := tablewriter.NewTable(d,
		tablewriter.WithRenderer(renderer.NewMarkdown()),
		tablewriter.WithHeaderAutoFormat(tw.Off),
		tablewriter.WithHeaderAlignment(tw.AlignLeft),
		tablewriter.WithEastAsian(tw.Off),
		tablewriter.WithAlignment(alignment(len(g.header))),
	)
	return fillTable(table, g, plain)
}

// writeBlocks writes a whole page of blocks, as Markdown or as text.
func writeBlocks(w io.Writer, title []string, blocks []block, width int, markdown bool) error {
	if markdown {
		d := &document{}
		d.printf("# %s\n\n", plain(title[0]))
		for _, line := range title[1:] {
			d.printf("%s  \n", plain(line))
		}
		if err := d.blocks(blocks); err != nil {
			return err
		}
		_, err := w.Write(d.Bytes())
		return err
	}
	s := &sheet{width: width}
	for i, line := range title {
		indent := ""
		if i > 0 {
			indent = "  "
		}
		s.para(indent, "  ", line)
	}
	if err := s.textBlocks(blocks); err != nil {
		return err
	}
	return s.flush(w)
}
