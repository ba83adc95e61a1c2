package doc

import (
	"fmt"
	"io"
	"regexp"
	"strings"

	"github.com/mattn/go-runewidth"
	"github.com/olekukonko/tablewriter/tw"
)

// Markdown writes the document as Markdown that reads well as plain text.
func (d *Document) Markdown(w io.Writer) error {
	m := &markdown{}
	m.line("# " + plain(d.Title))
	m.line("")
	for _, l := range d.Lines {
		m.line(para(l) + "  ")
	}
	for i := range d.Sections {
		m.section(&d.Sections[i])
	}
	_, err := io.WriteString(w, clean(typed.Replace(m.String())))
	return err
}

// markdown collects the lines; list says that the last one belongs to a list.
type markdown struct {
	strings.Builder
	list bool
}

func (m *markdown) line(text string) {
	m.WriteString(text + "\n")
	m.list = false
}

// escapes keep text from acting as Markdown or HTML.
var escapes = strings.NewReplacer(
	"["+glue+"]", "["+glue+"]", "\\", "\\\\", "`", "\\`", "*", "\\*", "_", "\\_", "[", "\\[", "]", "\\]", "~", "\\~",
	"&", "&amp;", "<", "&lt;", ">", "&gt;", "|", "\\|", "#", "\\#",
)

// plain makes a text safe inside a line; it has no line breaks.
func plain(text string) string { return escapes.Replace(strings.Join(strings.Fields(text), " ")) }

// leads are what begins a list, a rule or a heading at the start of a line.
var leads = regexp.MustCompile(`^([-+=]*|\d*)([-+=.)]( |$)|` + stroke + `)`)

// para makes a text safe at the start of a line.
func para(text string) string { return leads.ReplaceAllString(plain(text), `$1\$2`) }

func (m *markdown) section(s *Section) {
	m.line("")
	if s.Heading+s.Aside != "" {
		m.line("## " + plain(s.Heading+s.Aside))
		m.line("")
	}
	for i := range s.Parts {
		m.part(&s.Parts[i])
	}
}

// part writes one part, with an empty line before what would else be taken into
// what stands before it.
func (m *markdown) part(p *Part) {
	if head := signalled(p.Signal, ", ", p.Head); head != "" {
		m.gap()
		m.line("### " + plain(head))
		m.line("")
	}
	if len(p.Text) > 0 {
		m.gap()
	}
	for _, t := range p.Text {
		if p.Strong {
			m.line("**" + plain(t) + "**")
			continue
		}
		m.line(para(t) + "  ")
	}
	if f := p.Figure; f != nil && !f.Told {
		m.gap()
		m.line("*" + plain(f.Title) + ".* " + plain(f.Words()))
	}
	for _, f := range p.Facts {
		m.item("", "- ", Item{Strong: f.Label + ":", Text: f.Text})
	}
	for _, r := range p.Ranks {
		m.rank(r)
	}
	for i, item := range p.Items {
		lead := "- "
		if p.Numbers {
			lead = fmt.Sprintf("%d. ", i+1)
		}
		m.item("", lead, item)
	}
	for _, word := range p.Boxes {
		m.item("", "- ", Item{Box: ToTick, Text: word})
	}
	for _, b := range p.Blanks {
		m.item("", "- ", Item{Text: b.words()})
	}
	if p.Table != nil {
		m.table(p.Table)
	}
	if p.Step != nil {
		m.step(p.Step)
	}
}

// gap writes an empty line if there is none yet.
func (m *markdown) gap() {
	if !strings.HasSuffix(m.String(), "\n\n") {
		m.line("")
	}
}

// item writes a line of a list, and what belongs below it.
func (m *markdown) item(in, lead string, item Item) {
	box := map[Box]string{ToTick: "[ ] ", Ticked: "[x] "}[item.Box]
	words := plain(item.words())
	if box == "" {
		words = para(item.words())
	}
	m.inList(in + lead + box + words)
	for _, below := range item.Below {
		m.item(in+strings.Repeat(" ", len(lead)), "- ", below)
	}
}

// inList writes a line of a list, with an empty line before the list.
func (m *markdown) inList(text string) {
	if !m.list {
		m.gap()
	}
	m.line(text)
	m.list = true
}

// rank writes one of several in order, with what moved it below it.
func (m *markdown) rank(r Rank) {
	m.inList("- **" + plain(r.Figure) + "** " + plain(r.Text))
	for _, w := range r.Moved {
		m.item("  ", "- ", Item{Strong: w.Way + " " + w.Figure + ":", Text: w.Text})
	}
}

// table writes a table, its columns of figures to the right, and all of them as
// wide as their cells if the page has room for it.
func (m *markdown) table(t *Table) {
	m.gap()
	grid, align := t.grid(), alignment(t.grid())
	wide, all := make([]int, len(grid[0])), 0
	for i, row := range grid {
		for n := range row {
			if t.Room && row[n] == short && t.Rows[i-1][n].words() == "" {
				row[n] = "" // the cell itself is the room
			}
			row[n] = plain(row[n])
			wide[n] = max(wide[n], runewidth.StringWidth(row[n]), 3)
		}
	}
	for _, w := range wide {
		all += w + 3
	}
	for i, row := range grid {
		line, rule := "|", "|"
		for n, cell := range row {
			fill, mark := strings.Repeat(" ", max(0, wide[n]-runewidth.StringWidth(cell))), " "
			if align[n] == tw.AlignRight {
				cell, fill, mark = fill+cell, "", ":"
			}
			if all > MostWidth {
				cell, fill, wide[n] = strings.TrimSpace(cell), "", 3
			}
			line += " " + cell + fill + " |"
			rule += " " + strings.Repeat("-", wide[n]) + mark + "|"
		}
		m.line(line)
		if i == 0 {
			m.line(rule)
		}
	}
	m.line("")
}

// step writes a step: to be ticked as one line of a list, else told at length.
func (m *markdown) step(s *Step) {
	lead := "- "
	if s.Tick {
		m.item("", lead, s.line())
	} else {
		if s.Number > 0 {
			lead = fmt.Sprintf("%d. ", s.Number)
		}
		notes := s.Notes
		if s.Kind != "" {
			notes = append([]string{strings.TrimSuffix(s.Kind+", "+strings.ToUpper(s.Signal), ", ")}, notes...)
		}
		m.inList(lead + "**" + plain(s.Title) + "** (" + plain(strings.Join(notes, "; ")) + ")  ")
		m.inList(strings.Repeat(" ", len(lead)) + para(s.Do))
	}
	in := strings.Repeat(" ", len(lead))
	for _, f := range s.Facts {
		m.item(in, "- ", Item{Strong: f.Label + ":", Text: f.Text})
	}
	for _, below := range s.below() {
		m.item(in, "- ", below)
	}
}
