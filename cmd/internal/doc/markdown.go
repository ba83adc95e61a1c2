package doc

import (
	"fmt"
	"io"
	"regexp"
	"strings"

	"github.com/olekukonko/tablewriter/renderer"
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
		if err := m.section(&d.Sections[i]); err != nil {
			return err
		}
	}
	_, err := io.WriteString(w, Clean(typed.Replace(m.String())))
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

func (m *markdown) section(s *Section) error {
	m.line("")
	if s.Heading+s.Aside != "" {
		m.line("## " + plain(s.Heading+s.Aside))
		m.line("")
	}
	for i := range s.Parts {
		if err := m.part(&s.Parts[i]); err != nil {
			return err
		}
	}
	return nil
}

// part writes one part, with an empty line before what would else be taken into
// what stands before it.
func (m *markdown) part(p *Part) error {
	if head := signalled(p.Signal, ", ", p.Head); head != "" {
		m.gap()
		m.line("### " + plain(head))
		m.line("")
	}
	if len(p.Text) > 0 {
		m.gap()
	}
	for _, t := range p.Text {
		if p.Strong || p.Large {
			m.line("**" + plain(t) + "**")
			continue
		}
		m.line(para(t) + "  ")
	}
	for _, f := range p.Facts {
		m.item("", "- ", Item{Strong: f.Label + ":", Text: f.Text})
	}
	for _, r := range p.Ranks {
		m.rank(r)
	}
	if f := p.Figure; f != nil && !f.Told {
		m.gap()
		m.line("*" + plain(f.Title) + ".* " + plain(f.Words()))
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
	if p.Step != nil {
		m.step(p.Step)
	}
	if p.Table != nil {
		return m.table(p.Table)
	}
	return nil
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
	if r.Note != "" {
		m.item("  ", "- ", Item{Text: r.Note})
	}
	for _, w := range r.Moved {
		m.item("  ", "- ", Item{Strong: w.Way + " " + w.Figure + ":", Text: w.Text})
	}
}

// fills are the blanks that put a table in columns.
var fills = regexp.MustCompile(` {2,}`)

// table writes a table, in columns if they are no wider than a page.
func (m *markdown) table(t *Table) error {
	m.gap()
	grid := t.grid()
	for i, row := range grid {
		for n := range row {
			if i > 0 && row[n] == short {
				row[n] = "" // the cell itself is the room
			}
			row[n] = plain(row[n])
		}
	}
	lines, err := drawn(grid, renderer.NewMarkdown())
	for i, line := range lines {
		if i == 1 && widest(lines) > MostWidth {
			line = strings.Repeat("| --- ", len(t.Head)) + "|"
		} else if widest(lines) > MostWidth {
			line = fills.ReplaceAllString(line, " ")
		}
		m.line(strings.TrimSpace(line))
	}
	m.line("")
	return err
}

// step writes a step: to be ticked as one line of a list, else told at length.
func (m *markdown) step(s *Step) {
	lead := "- "
	if s.Caution != "" {
		m.item("", lead, Item{Text: signalled(s.Signal, ": ", s.Caution)})
	}
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
		m.inList(lead + "**" + plain(s.Title) + "**" + If(len(notes) > 0, " ("+plain(strings.Join(notes, "; "))+")") + "  ")
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
