package doc

import (
	_ "embed"
	"html/template"
	"io"
	"strings"
	"sync"
)

//go:embed page.tmpl
var pageText string

// safePicture hands a figure's svg through: whoever draws it escapes every text
// in it.
func safePicture(svg string) template.HTML { return template.HTML(svg) }

// safeStyle hands the foot through: SafeFoot leaves nothing in it that could end
// a string.
func safeStyle(foot string) template.CSS { return template.CSS(`"` + SafeFoot(foot, len(foot)) + `"`) }

// pageTemplate is parsed when a page is wanted: no other command waits for it.
var pageTemplate = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("page").Funcs(template.FuncMap{
		"svg": safePicture, "style": safeStyle, "upper": strings.ToUpper, "ended": Ended, "ticked": ticked,
		"join": func(lines []string) string { return strings.Join(lines, " ") },
	}).Parse(pageText))
})

// HTML writes the document as one HTML file that loads nothing from outside and
// prints on A4 and Letter in black and white.
func (d *Document) HTML(w io.Writer) error {
	var out strings.Builder
	if err := pageTemplate().Execute(&out, d); err != nil {
		return err
	}
	_, err := io.WriteString(w, clean(strings.TrimSpace(out.String()))+"\n")
	return err
}

// ticked says whether a list has a box to tick.
func ticked(items []Item) bool {
	for _, i := range items {
		if i.Box != NoBox {
			return true
		}
	}
	return false
}

// mostTight is how many letters the words of boxes may have together to stay
// on one line.
const mostTight = 12

// Small says whether the table is kept on one page.
func (t *Table) Small() bool { return len(t.Rows) <= 8 && !t.Flow }

// Class is the cell's class in the style sheet: open where there is room to
// write.
func (c Cell) Class() string {
	switch {
	case len(c.Kinds) > 0:
		return "kinds"
	case c.Tight, len(c.Boxes) > 0 && len(strings.Join(c.Boxes, "")) <= mostTight:
		return "tight"
	case len(c.Boxes) > 1:
		return "pairs"
	case c.Wide:
		return "wide"
	case c.Long:
		return "long"
	case c.Text == "" && len(c.Boxes) == 0:
		return "open"
	}
	return ""
}
