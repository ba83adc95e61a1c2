package sheet

import (
	"fmt"
	"io"
	"strings"

	"telltale/cmd/internal/page"
)

// Markdown writes the page as Markdown that reads well as plain text.
func (p *Page) Markdown(w io.Writer) error {
	m := &markdown{}
	m.line("# " + page.Plain(p.Title))
	m.line("")
	for _, l := range p.Lines {
		m.line(page.Plain(l) + "  ")
	}
	for _, s := range p.Sections {
		m.line("")
		if s.Heading != "" {
			m.line("## " + page.Plain(s.Heading))
			m.line("")
		}
		for i := range s.Parts {
			m.part(&s.Parts[i])
		}
	}
	_, err := io.WriteString(w, clean(m.out.String()))
	return err
}

type markdown struct{ out strings.Builder }

func (m *markdown) line(text string) { m.out.WriteString(text + "\n") }

// room stands for a line to write on.
const room = "____________"

func (m *markdown) part(p *Part) {
	if p.Head != "" || p.Signal != "" {
		m.line("")
		m.line("### " + page.Plain(strings.TrimSpace(signalled(p.Signal)+p.Head)))
		m.line("")
	}
	for _, t := range p.Text {
		if p.Strong {
			m.line("")
			m.line("**" + page.Plain(t) + "**")
			m.line("")
			continue
		}
		m.line(page.Plain(t) + "  ")
	}
	if p.Picture != nil {
		m.line("")
		m.line("*" + page.Plain(p.Picture.Title) + ".* " + page.Plain(p.Picture.Words()))
		m.line("")
	}
	for i, item := range p.Items {
		lead := "- "
		if p.Numbers {
			lead = fmt.Sprintf("%d. ", i+1)
		}
		m.line(lead + page.Plain(item))
	}
	for _, word := range p.Boxes {
		m.line("- [ ] " + page.Plain(word))
	}
	m.ticks("", p.Ticks)
	m.blanks("", p.Blanks)
	if p.Table != nil {
		m.table(p.Table)
	}
	if p.Step != nil {
		m.step(p.Step)
	}
}

func signalled(signal string) string {
	if signal == "" {
		return ""
	}
	return strings.ToUpper(signal) + ": "
}

func (m *markdown) ticks(indent string, ticks []Tick) {
	for _, t := range ticks {
		box := "[ ] "
		if t.Done {
			box = "[x] "
		}
		line := indent + "- " + box + page.Plain(strings.TrimSpace(t.Strong+" "+t.Text)) + boxes(t.More)
		if t.Initials {
			line += " initials ______"
		}
		m.line(line)
	}
}

func boxes(words []string) string {
	out := ""
	for _, word := range words {
		out += " [ ] " + page.Plain(word)
	}
	return out
}

func kinds(list []Kind) string {
	var out []string
	for _, k := range list {
		out = append(out, strings.TrimSpace(page.Plain(k.Text)+boxes(k.Boxes)))
	}
	return strings.Join(out, "; ")
}

func (m *markdown) blanks(indent string, blanks []Blank) {
	for _, b := range blanks {
		line := indent + "-"
		if label := strings.TrimSuffix(b.Label, ":"); label != "" {
			line += " " + page.Plain(label) + ":"
		}
		line += boxes(b.Boxes)
		if len(b.Items)+len(b.Boxes) == 0 {
			line += " " + room
		}
		for _, item := range b.Items {
			line += strings.TrimRight(" "+page.Plain(item), " ") + " " + room
		}
		m.line(line)
	}
}

func (m *markdown) table(t *Table) {
	m.line("")
	m.row(cells(t.Head...))
	m.line("|" + strings.Repeat(" --- |", len(t.Head)))
	for _, r := range t.Rows {
		m.row(r)
	}
	m.line("")
}

func (m *markdown) row(row []Cell) {
	line := "|"
	for _, c := range row {
		line += " " + strings.TrimSpace(page.Plain(c.Text)+boxes(c.Boxes)+kinds(c.Kinds)) + " |"
	}
	m.line(line)
}

func (m *markdown) step(s *Step) {
	title := s.Title
	if s.Caution == "" {
		title = signalled(s.Signal) + title
	}
	if s.Number > 0 {
		title = fmt.Sprintf("%d. %s", s.Number, title)
	}
	line := "- [ ] " + page.Plain(title)
	if len(s.Notes) > 0 {
		line += " (" + page.Plain(strings.Join(s.Notes, "; ")) + ")"
	}
	m.line(line)
	for _, f := range s.Facts {
		label := ""
		if f.Label != "" {
			label = f.Label + ": "
		}
		m.line("  - " + page.Plain(label+f.Text))
	}
	if s.Caution != "" {
		m.line("  - " + page.Plain(signalled(s.Signal)+s.Caution))
	}
	for _, limit := range s.Limits {
		m.line("  - Limit: " + page.Plain(limit))
	}
	for _, gauge := range s.Gauges {
		m.line("  - With: " + page.Plain(gauge))
	}
	m.ticks("  ", s.Results)
	if len(s.Boxes) > 0 {
		m.line("  -" + boxes(s.Boxes))
	}
	m.blanks("  ", s.Blanks)
	m.line("  - initials ______")
}
