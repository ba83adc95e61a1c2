package page

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"

	"telltale/cmd/internal/doc"
	"telltale/engine"
)

// sheet collects the lines of a text page.
type sheet struct {
	bytes.Buffer
	width int
}

// para writes text wrapped to the width, the first line behind first and the
// others behind rest.
func (s *sheet) para(first, rest, text string) {
	for i, line := range doc.Wrap(text, s.width-utf8.RuneCountInString(first), s.width-utf8.RuneCountInString(rest)) {
		lead := rest
		if i == 0 {
			lead = first
		}
		s.WriteString(strings.TrimRight(lead+line, " "))
		s.WriteByte('\n')
	}
}

func (s *sheet) heading(text string) {
	s.WriteString("\n" + text + "\n")
}

// labelled writes a line under a cause or step, its label in a column.
func (s *sheet) labelled(label, text string) {
	if text != "" {
		s.para(fmt.Sprintf("      %-8s ", label), strings.Repeat(" ", 15), text)
	}
}

func groupLine(r *engine.Report) string {
	var parts []string
	for i, g := range r.Groups {
		if i == 0 || g.Probability >= leastGroup {
			parts = append(parts, strings.ToLower(g.Title)+" "+Percent(g.Probability))
		}
	}
	return strings.Join(parts, ", ")
}
