package doc

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"github.com/mattn/go-runewidth"
	"github.com/olekukonko/tablewriter"
	"github.com/olekukonko/tablewriter/renderer"
	"github.com/olekukonko/tablewriter/tw"
)

// The columns that a text page can have.
const (
	LeastWidth = 60
	MostWidth  = 160
)

// Text writes the document as plain text of at most width columns, which is
// LeastWidth or more.
func (d *Document) Text(w io.Writer, width int) error {
	t := &text{width: width, dense: d.Dense}
	if d.Title != "" {
		t.para("", "  ", d.Title)
	}
	for _, line := range d.Lines {
		t.para("  ", "  ", line)
	}
	for i := range d.Sections {
		if err := t.section(&d.Sections[i]); err != nil {
			return err
		}
	}
	_, err := io.WriteString(w, Clean(typed.Replace(t.String())))
	return err
}

// text collects the lines of a page.
type text struct {
	bytes.Buffer
	width int
	dense bool
	in    string // blanks before each line
}

// gap writes an empty line, unless the page is dense.
func (t *text) gap() {
	if !t.dense {
		t.WriteString("\n")
	}
}

// Runes of private use, one column wide, that stand for a blank at which no line
// is broken, and for a stroke of a line to write on.
const (
	glue   = "\uE000"
	stroke = "\uE001"
)

// strokes are the lines to write on: a whole one, a short one, which is also an
// open cell, and where initials go.
var (
	room     = strings.Repeat(stroke, 16)
	short    = strings.Repeat(stroke, 8)
	initials = "initials" + glue + strings.Repeat(stroke, 6)
)

var typed = strings.NewReplacer(glue, " ", stroke, "_")

// para writes text wrapped to the width, the first line behind first and the
// others behind rest.
func (t *text) para(first, rest, text string) {
	first, rest = t.in+first, t.in+rest
	for i, line := range Wrap(text, t.width-runewidth.StringWidth(first), t.width-runewidth.StringWidth(rest)) {
		lead := rest
		if i == 0 {
			lead = first
		}
		t.WriteString(strings.TrimRight(lead+line, " ") + "\n")
	}
}

// Width is how many columns of a terminal a text takes.
func Width(text string) int { return runewidth.StringWidth(text) }

// Wrap breaks text at blanks to lines of at most firstWidth and then width
// columns; a word longer than the line is cut. No line has less than two
// columns, since a rune may take as many. A figure stays with its per cent sign.
func Wrap(text string, firstWidth, width int) []string {
	var lines []string
	var line strings.Builder
	used, room, width := 0, max(firstWidth, 2), max(width, 2)
	for _, word := range strings.Fields(strings.ReplaceAll(text, " %", glue+"%")) {
		for {
			piece := begins(word, room)
			size := runewidth.StringWidth(piece)
			if line.Len() > 0 && piece == word && used+1+size <= room {
				line.WriteString(" " + word)
				used += 1 + size
				break
			}
			if line.Len() > 0 {
				lines, room = append(lines, line.String()), width
				line.Reset()
				continue
			}
			if size > room {
				piece = runewidth.Truncate(piece, room, "")
			}
			if piece == word || piece == "" { // one of which no rune fits stays whole
				line.WriteString(word)
				used = size
				break
			}
			lines, word, room = append(lines, piece), word[len(piece):], width
		}
	}
	lines = append(lines, line.String())
	for i := range lines {
		lines[i] = strings.TrimSuffix(strings.ReplaceAll(lines[i], glue+"%", " %"), glue)
	}
	return lines
}

// mostBytes is how many bytes a column takes at most: in a letter with its marks, or in
// a picture of several.
const mostBytes = 16

// begins is as much of a word as a line can have, and no less: a word without an end
// is not measured again for each line that it takes.
func begins(word string, room int) string {
	if len(word) <= room*mostBytes {
		return word
	}
	end := room * mostBytes
	for end > 0 && !utf8.RuneStart(word[end]) {
		end--
	}
	return word[:end]
}

func (t *text) section(s *Section) error {
	if s.Heading+s.Aside != "" {
		t.gap()
		heading := strings.ToUpper(s.Heading) + s.Aside
		if fill := t.width - runewidth.StringWidth(heading) - 1; s.Panel && fill > 0 {
			heading += " " + strings.Repeat("=", fill)
		}
		t.para("", "  ", heading)
	}
	for i := range s.Parts {
		if err := t.part(&s.Parts[i], s.Panel); err != nil {
			return err
		}
	}
	if s.Panel {
		t.WriteString(strings.Repeat("=", t.width) + "\n")
	}
	return nil
}

// part writes one part; in a panel what stands under a head is moved in.
func (t *text) part(p *Part, panel bool) error {
	switch head := signalled(p.Signal, ", ", p.Head); {
	case head == "":
	case panel:
		t.para("  ", "      ", head)
		t.in = "  "
		defer func() { t.in = "" }()
	default:
		t.gap()
		t.para("", "  ", head)
	}
	for _, line := range p.Text {
		if p.Strong || p.Large {
			t.gap()
		}
		t.para("  ", "  ", line)
	}
	t.facts(p.Facts)
	for _, r := range p.Ranks {
		t.rank(r)
	}
	if f := p.Figure; f != nil && !f.Told {
		t.para("  ", "  ", f.Title+". "+f.Words())
	}
	for i, item := range p.Items {
		lead := "- "
		if p.Numbers {
			lead = fmt.Sprintf("%2d ", i+1)
		}
		t.item("  "+lead, item)
	}
	if len(p.Boxes) > 0 {
		t.para("  ", "  ", boxes(p.Boxes))
	}
	for _, b := range p.Blanks {
		t.para("  ", "    ", b.words())
	}
	if p.Step != nil {
		t.step(p.Step)
	}
	if p.Table != nil {
		return t.table(p.Table)
	}
	return nil
}

// facts writes lines behind their labels, which stand in a column.
func (t *text) facts(facts []Fact) {
	for _, f := range facts {
		if fill := 9 - runewidth.StringWidth(f.Label); fill > 0 { // one that is too long may be broken
			t.para("      "+f.Label+strings.Repeat(" ", fill), strings.Repeat(" ", 15), f.Text)
			continue
		}
		t.para("      ", strings.Repeat(" ", 15), f.Label+" "+f.Text)
	}
}

func (t *text) rank(r Rank) {
	t.para(fmt.Sprintf("  %9s  ", r.Figure), strings.Repeat(" ", 13), r.Text)
	if r.Note != "" {
		t.para(strings.Repeat(" ", 13), strings.Repeat(" ", 13), r.Note)
	}
	last := ""
	for _, m := range r.Moved {
		way := m.Way
		if way == last {
			way = ""
		}
		t.para(fmt.Sprintf("             %-8s%4s  ", way, m.Figure), strings.Repeat(" ", 27), m.Text)
		last = m.Way
	}
}

// item writes a line of a list behind its lead, or behind its box.
func (t *text) item(lead string, item Item) {
	switch item.Box {
	case ToTick:
		lead = strings.TrimSuffix(lead, "- ") + "[ ] "
	case Ticked:
		lead = strings.TrimSuffix(lead, "- ") + "[x] "
	}
	t.para(lead, strings.Repeat(" ", runewidth.StringWidth(lead)), item.words())
	for _, below := range item.Below {
		t.item("        - ", below)
	}
}

// words is a line of a list without its mark.
func (i *Item) words() string {
	out := strings.TrimSpace(i.Strong + " " + i.Text)
	if i.Initials {
		out += " " + initials
	}
	return out
}

// boxes is a row of boxes, each kept beside its word.
func boxes(words []string) string {
	box := func(word string) string { return strings.TrimSuffix("["+glue+"]"+glue+strings.TrimSpace(word), glue) }
	return strings.Join(Each(words, box), " ")
}

func (b Blank) words() string {
	out := b.Label
	if len(b.Boxes) > 0 {
		out += " " + boxes(b.Boxes)
	}
	for _, item := range b.Items {
		out += " " + item + " " + short
	}
	if b.Line() {
		out += " " + room
	}
	return out
}

// inBrackets sets off the words that type something in.
func inBrackets(typed string) string {
	if typed == "" {
		return ""
	}
	return "(" + typed + ")"
}

func (c *Cell) words() string {
	out := c.Text + " " + inBrackets(c.Typed) + " " + boxes(c.Boxes)
	for i, k := range c.Kinds {
		if i > 0 {
			out += ";"
		}
		out += " " + k.Text + " " + inBrackets(k.Typed) + " " + boxes(k.Boxes)
	}
	for _, b := range c.Blanks {
		out += " " + b.words()
	}
	return strings.Join(strings.Fields(out), " ")
}

// Words is the figure's equivalent in words.
func (f *Figure) Words() string {
	return strings.TrimSpace(f.Key + " " + strings.Join(f.Says, " "))
}

// signalled is a text behind its signal word.
func signalled(signal, between, text string) string {
	if signal == "" {
		return text
	}
	return strings.ToUpper(signal) + between + text
}

// step writes a step: to be ticked as one line of a list, else told at length.
func (t *text) step(s *Step) {
	title, in := s.headline(), "        "
	if s.Caution != "" {
		t.para("  ", "    ", signalled(s.Signal, ": ", s.Caution))
	}
	if s.Tick {
		t.item("  - ", s.line())
		for _, f := range s.Facts {
			t.item(in+"- ", Item{Strong: f.Label + ":", Text: f.Text})
		}
	} else {
		in = "      "
		t.gap()
		lead := "     "
		if s.Number > 0 {
			lead = fmt.Sprintf("%3d. ", s.Number)
		}
		t.para(lead, "     ", title)
		if s.Do != "" {
			t.para("     ", "     ", s.Do)
		}
		t.facts(s.Facts)
	}
	for _, item := range s.below() {
		t.item(in+"- ", item)
	}
}

// line is a step to be ticked as one line of a list.
func (s *Step) line() Item {
	return Item{Box: ToTick, Text: strings.TrimSpace(s.headline() + " " + s.Do), Initials: s.Initials}
}

// headline is what stands before what to do: the number if the step is one line
// of a list, the signal word, the title, and the notes.
func (s *Step) headline() string {
	out := s.Title
	switch {
	case s.Kind != "":
		out = "[" + strings.ToUpper(strings.TrimSpace(s.Kind+" "+s.Signal)) + "] " + out
	case s.Caution == "":
		out = signalled(s.Signal, ": ", out)
	}
	if s.Number > 0 && s.Tick {
		out = fmt.Sprintf("%d. %s", s.Number, out)
	}
	if len(s.Notes) > 0 {
		out += " (" + strings.Join(s.Notes, "; ") + ")"
		if s.Do == "" || !s.Tick {
			return out
		}
	}
	return Ended(out)
}

// Ended closes a sentence.
func Ended(text string) string {
	if strings.HasSuffix(text, "?") || strings.HasSuffix(text, ".") {
		return text
	}
	return text + "."
}

// below is what stands below a step, line by line.
func (s *Step) below() []Item {
	var out []Item
	out = append(out, Each(s.Limits, func(limit string) Item { return Item{Strong: "Limit:", Text: limit} })...)
	out = append(out, Each(s.Gauges, func(gauge string) Item { return Item{Strong: "With:", Text: gauge} })...)
	out = append(append(out, s.Results...), Items(boxes(s.Boxes))...)
	if f := s.Figure; f != nil && !f.Told {
		out = append(out, Item{Strong: f.Title + ":", Text: strings.Join(f.Says, " ")})
	}
	return append(out, Items(Each(s.Blanks, Blank.words)...)...)
}

// table writes a table without lines but one under its head, or, if it is too
// wide for the page, a paragraph a row.
func (t *text) table(table *Table) error {
	grid := table.grid()
	lines, err := drawn(grid, renderer.NewBlueprint(tw.Rendition{
		Borders:  tw.BorderNone,
		Symbols:  tw.NewSymbols(tw.StyleASCII),
		Settings: tw.Settings{Separators: tw.Separators{BetweenColumns: tw.Off}, Lines: tw.Lines{ShowHeaderLine: tw.On}},
	}))
	if err != nil {
		return err
	}
	if widest(lines)+runewidth.StringWidth(t.in)+2 > t.width {
		t.rowByRow(grid)
		return nil
	}
	for _, line := range lines {
		t.WriteString(strings.TrimRight(t.in+"  "+line, " ") + "\n")
	}
	return nil
}

// drawn lays the head and rows of a table out in lines.
func drawn(grid [][]string, as tw.Renderer) ([]string, error) {
	var out strings.Builder
	w := tablewriter.NewTable(&out,
		tablewriter.WithRenderer(as),
		tablewriter.WithHeaderAutoFormat(tw.Off),
		tablewriter.WithHeaderAlignment(tw.AlignLeft),
		tablewriter.WithEastAsian(tw.Off),
		tablewriter.WithAlignment(alignment(grid)),
	)
	w.Header(grid[0])
	if err := w.Bulk(grid[1:]); err != nil {
		return nil, err
	}
	err := w.Render()
	return strings.Split(strings.TrimRight(out.String(), "\n"), "\n"), err
}

func widest(lines []string) int {
	most := 0
	for _, line := range lines {
		most = max(most, runewidth.StringWidth(line))
	}
	return most
}

// grid is the table's head and rows as text, each row as long as the head.
func (table *Table) grid() [][]string {
	out := [][]string{make([]string, len(table.Head))}
	for i, h := range table.Head {
		out[0][i] = strings.Join(strings.Fields(h), " ")
	}
	for _, row := range table.Rows {
		line := make([]string, len(table.Head))
		for i := range min(len(row), len(line)) {
			if line[i] = row[i].words(); line[i] == "" && table.Room {
				line[i] = short
			}
		}
		out = append(out, line)
	}
	return out
}

// mostFigures is how many letters a column of figures has at most; a wider one
// is of words.
const mostFigures = 24

// alignment puts columns of figures to the right, but for the first, and all
// others to the left.
func alignment(grid [][]string) tw.Alignment {
	out := tw.Alignment{tw.AlignLeft}
	for i := range grid[0][1:] {
		align, most, figures := tw.AlignLeft, 0, false
		for _, row := range grid[1:] {
			most, figures = max(most, len(row[i+1])), figures || strings.ContainsAny(row[i+1], "0123456789")
		}
		if figures && most <= mostFigures {
			align = tw.AlignRight
		}
		out = append(out, align)
	}
	return out
}

// rowByRow writes a table that is too wide for the page, a paragraph a row.
func (t *text) rowByRow(grid [][]string) {
	for _, row := range grid[1:] {
		var parts []string
		for i, cell := range row[1:] {
			if cell != "" {
				parts = append(parts, strings.TrimSpace(grid[0][i+1]+" "+cell))
			}
		}
		if len(parts) == 0 {
			t.para("  ", "    ", row[0])
			continue
		}
		t.para("  ", "    ", row[0]+": "+strings.Join(parts, "; "))
	}
}
