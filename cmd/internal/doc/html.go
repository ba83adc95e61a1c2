package doc

import (
	"cmp"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"regexp"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"
)

//go:embed page.tmpl
var pageText string

// pageStyle is the style sheet of a document that is a whole file, insideStyle
// what one inside another page has besides.
var (
	//go:embed page.css
	pageStyle string
	//go:embed inside.css
	insideStyle string
)

// safePicture hands a figure's svg through: whoever draws it escapes every text
// in it.
func safePicture(svg string) template.HTML { return template.HTML(svg) }

// FootStyle is the style of printed pages with the foot of this document, to
// stand beside Style: SafeFoot leaves nothing in it that could end a string.
func (d *Document) FootStyle() string {
	const font = "vertical-align: top; padding-top: 1.5mm; font: 9pt Arial, Helvetica, sans-serif; color: #000;"
	return `@page { margin: 10mm 10mm 12mm 10mm; @bottom-left { content: "` + SafeFoot(d.Foot, len(d.Foot)) + `"; ` + font +
		` } @bottom-right { content: "page " counter(page) " of " counter(pages); ` + font + " } }\n"
}

// Style is the style sheet of documents inside other pages: what Body gives is
// to stand in an element of the class document, and nothing else is touched.
func Style() string {
	return rule.ReplaceAllStringFunc(pageStyle+insideStyle, func(found string) string {
		selectors, block, _ := strings.Cut(found, "{")
		lead := selectors[:len(selectors)-len(strings.TrimLeft(selectors, " \n"))]
		var out []string
		for _, s := range strings.Split(selectors, ",") {
			switch s = strings.TrimSpace(s); s {
			case "html", "body":
				out = append(out, ".document")
			default:
				out = append(out, ".document "+s)
			}
		}
		return lead + strings.Join(out, ", ") + " {" + block
	})
}

// rule is a rule of a style sheet that holds no other.
var rule = regexp.MustCompile(`[^{}]+\{[^{}]*\}`)

// pageTemplate is parsed when a page is wanted: no other command waits for it.
// It is never run itself, so that it can be cloned.
var pageTemplate = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("page").Funcs(template.FuncMap{
		"svg": safePicture, "upper": strings.ToUpper, "ended": Ended, "ticked": ticked,
		"join":  func(lines []string) string { return strings.Join(lines, " ") },
		"foot":  func(d *Document) template.CSS { return template.CSS(d.FootStyle()) },
		"style": func() template.CSS { return template.CSS(pageStyle) },
	}).Funcs(new(writing).funcs()).Parse(pageText))
})

// HTML writes the document as one HTML file that loads nothing from outside and
// prints on A4 and Letter in black and white.
func (d *Document) HTML(w io.Writer) error {
	page, err := d.write("page", &writing{})
	if err == nil {
		_, err = io.WriteString(w, page+"\n")
	}
	return err
}

// Body is the document as HTML to stand inside another page, with the styles of
// Style and FootStyle: its title as first heading, its lines and sections, each
// section with an id of its own. One without a title is part of a page: its
// sections have no ids. Every Ref for which link gives an address is a link to it;
// without link there are none.
func (d *Document) Body(link func(Ref) string) (template.HTML, error) {
	body, err := d.write("content", &writing{inside: true, whole: d.Title != "", link: link, ids: map[string]bool{}})
	return template.HTML(body), err
}

func (d *Document) write(name string, as *writing) (string, error) {
	page, err := pageTemplate().Clone()
	if err != nil {
		return "", err
	}
	var out strings.Builder
	err = page.Funcs(as.funcs()).ExecuteTemplate(&out, name, d)
	return Clean(strings.TrimSpace(out.String())), err
}

// writing is what one writing of a document remembers. Only one inside another
// page has ids, links and boxes that scroll.
type writing struct {
	inside, whole   bool
	link            func(Ref) string
	ids             map[string]bool
	tables, figures int
}

func (w *writing) funcs() template.FuncMap {
	return template.FuncMap{
		"inside": func() bool { return w.inside }, "id": w.id, "named": w.named,
		"table": func(t *Table) string {
			w.tables++
			return fmt.Sprintf("Table %d: %s", w.tables, strings.Join(Said(t.Head...), ", "))
		},
		"figure": func(f *Figure) string {
			w.figures++
			return fmt.Sprintf("Figure %d: %s", w.figures, f.Title)
		},
	}
}

// id makes an id of a heading: "section-do-next", and "section-do-next-2" where
// it comes again.
func (w *writing) id(s Section) string {
	words := strings.FieldsFunc(strings.ToLower(s.Heading), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	if !w.whole || len(words) == 0 {
		return ""
	}
	first := "section-" + strings.Join(words, "-")
	id := first
	for n := 2; w.ids[id]; n++ {
		id = fmt.Sprintf("%s-%d", first, n)
	}
	w.ids[id] = true
	return id
}

// span is a piece of a text, and the address that it leads to if any.
type span struct{ Text, At string }

// named cuts a text at what it names.
func (w *writing) named(text string, to []Ref) []span {
	var out []span
	for _, ref := range to {
		words := cmp.Or(ref.Words, ref.ID)
		if at := wordAt(text, words); at >= 0 && w.link != nil {
			out = append(out, span{Text: text[:at]}, span{words, w.link(ref)})
			text = text[at+len(words):]
		}
	}
	return append(out, span{Text: text})
}

// wordAt says where words stand by themselves in a text; -1 if nowhere.
func wordAt(text, words string) int {
	inWord := func(r rune) bool { return r == '-' || r == '_' || unicode.IsLetter(r) || unicode.IsDigit(r) }
	for from := 0; words != ""; {
		at := strings.Index(text[from:], words)
		if at < 0 {
			break
		}
		at += from
		before, _ := utf8.DecodeLastRuneInString(text[:at])
		after, _ := utf8.DecodeRuneInString(text[at+len(words):])
		if !inWord(before) && !inWord(after) {
			return at
		}
		from = at + len(words)
	}
	return -1
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
	case c.Typed != "" && len(c.Blanks) == 0:
		return "named"
	case c.Tight, len(c.Boxes) > 0 && len(strings.Join(c.Boxes, "")) <= mostTight:
		return "tight"
	case len(c.Boxes) > 1:
		return "pairs"
	case c.Wide:
		return "wide"
	case c.Long:
		return "long"
	case c.Text == "" && len(c.Boxes)+len(c.Blanks) == 0:
		return "open"
	}
	return ""
}
