package sheet

import (
	_ "embed"
	"html/template"
	"io"
	"strings"
	"sync"
)

//go:embed page.tmpl
var pageText string

// safePicture hands a picture's svg through: package drawing has escaped every
// text in it.
func safePicture(svg string) template.HTML { return template.HTML(svg) }

// safeStyle hands the foot through: safeFoot left nothing in it that could end
// a string.
func safeStyle(foot string) template.CSS { return template.CSS(`"` + foot + `"`) }

// pageTemplate is parsed when a page is wanted: no other command waits for it.
var pageTemplate = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("page").Funcs(template.FuncMap{
		"svg": safePicture, "style": safeStyle, "upper": strings.ToUpper,
		"join": func(lines []string) string { return strings.Join(lines, " ") },
	}).Parse(pageText))
})

// HTML writes the page as one HTML file.
func (p *Page) HTML(w io.Writer) error {
	var out strings.Builder
	if err := pageTemplate().Execute(&out, p); err != nil {
		return err
	}
	_, err := io.WriteString(w, clean(strings.TrimSpace(out.String()))+"\n")
	return err
}
