package doc

import (
	"encoding/xml"
	"errors"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// body is a document inside another page, with links to its Refs.
func body(t testing.TB, d *Document) string {
	t.Helper()
	out, err := d.Body(func(r Ref) string { return "/" + r.Kind + "/" + r.ID })
	require.NoError(t, err)
	return string(out)
}

// elements reads what stands inside a page as XML, in which it must be
// well-formed.
func elements(t testing.TB, body string) (out []xml.StartElement) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader("<div>" + body + "</div>"))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out[1:]
		}
		require.NoError(t, err)
		if e, is := token.(xml.StartElement); is {
			out = append(out, e.Copy())
		}
	}
}

func attribute(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// Inside another page stands all that the file holds, under headings in order,
// and nothing that such a page forbids or has itself.
func TestBodySaysWhatTheFileSays(t *testing.T) {
	d := all()
	d.Sections = append(d.Sections, d.Sections...)
	_, _, html := written(t, d, 80)
	inside := body(t, d)
	assert.Equal(t, "PLAN. Pump 2 "+words(t, "<!DOCTYPE html><div>"+inside+"</div>"), words(t, html))
	ids, labels, level := map[string]bool{}, map[string]bool{}, 0
	for _, e := range elements(t, inside) {
		assert.NotContains(t, []string{"html", "head", "title", "style", "body", "main"}, e.Name.Local)
		if id := attribute(e, "id"); id != "" {
			assert.False(t, ids[id], "%s comes twice", id)
			ids[id] = true
		}
		if at := slices.Index([]string{"h1", "h2", "h3"}, e.Name.Local); at >= 0 {
			assert.LessOrEqual(t, at, level)
			level = at + 1
		}
		switch {
		case e.Name.Local == "th":
			assert.Equal(t, "col", attribute(e, "scope"))
		case attribute(e, "class") == "scroll":
			assert.Equal(t, "region 0", attribute(e, "role")+" "+attribute(e, "tabindex"))
			label := attribute(e, "aria-label")
			assert.False(t, labels[label], "%s comes twice", label)
			labels[label] = true
		}
	}
	assert.True(t, ids["section-stop-first"] && ids["section-stop-first-2"], ids)
	assert.True(t, labels["Table 1: Place, Now"] && labels["Figure 2: The rod"], labels)
	assert.Equal(t, strings.Count(inside, "<table")+strings.Count(inside, "<svg"), len(labels))
}

// What stands within a page has no title and no ids of its own, which the page
// might have too.
func TestAPartOfAPageHasNoIDs(t *testing.T) {
	d := all()
	d.Title = ""
	assert.NotRegexp(t, `<h1|<section id`, body(t, d))
}

// A head without words is no head of anything.
func TestBodyHasNoEmptyHead(t *testing.T) {
	d := &Document{}
	d.Add(Section{Parts: []Part{{Table: &Table{Head: []string{"", "Now"}, Rows: [][]Cell{Cells("rear", "1")}}}}})
	assert.Contains(t, body(t, d), `<tr><td></td><th scope="col">Now</th></tr>`)
}

// What a text names is a link inside another page, and nowhere else.
func TestRefsAreLinks(t *testing.T) {
	worn, leak := Ref{Kind: "cause", ID: "rod-worn"}, Ref{Kind: "sign", ID: "leak"}
	for name, c := range map[string]struct {
		item Item
		want string
	}{
		"the id is the link":           {Item{Text: "often: rod-worn: Rod worn", To: []Ref{worn}}, `often: <a href="/cause/rod-worn">rod-worn</a>: Rod worn`},
		"several, in order":            {Item{Text: "rod-worn & leak, leak", To: []Ref{worn, leak}}, `<a href="/cause/rod-worn">rod-worn</a> &amp; <a href="/sign/leak">leak</a>, leak`},
		"a word, not a piece of one":   {Item{Text: "leak-look, oleak, leak_2: leak", To: []Ref{leak}}, `leak-look, oleak, leak_2: <a href="/sign/leak">leak</a>`},
		"words of its own":             {Item{Text: "Rod worn, cylinder 2", To: []Ref{{"cause", "rod-worn", "Rod worn"}}}, `<a href="/cause/rod-worn">Rod worn</a>, cylinder 2`},
		"words that are not said":      {Item{Text: "Rod bent, leak", To: []Ref{worn, leak}}, `Rod bent, <a href="/sign/leak">leak</a>`},
		"nowhere to go":                {Item{Text: "Rod worn", To: []Ref{{"", "rod-worn", "Rod worn"}}}, `Rod worn`},
		"an address that runs nothing": {Item{Text: "Rod worn", To: []Ref{{"javascript", "x", "Rod"}}}, `<a href="#ZgotmplZ">Rod</a> worn`},
	} {
		t.Run(name, func(t *testing.T) {
			d := &Document{Title: "Page"}
			d.Add(Section{Parts: []Part{{Head: c.item.Text, To: c.item.To, Items: []Item{c.item}, Facts: []Fact{{Label: "On", Text: c.item.Text, To: c.item.To}}, Ranks: []Rank{{Text: c.item.Text, To: c.item.To}},
				Table: &Table{Head: []string{"Cause"}, Rows: [][]Cell{{{Text: c.item.Text, To: c.item.To}}}}}, {Step: &Step{Title: c.item.Text + ".", To: c.item.To}}}})
			out, err := d.Body(func(r Ref) string {
				switch r.Kind {
				case "":
					return ""
				case "javascript":
					return "javascript:alert(1)"
				}
				return "/" + r.Kind + "/" + r.ID
			})
			require.NoError(t, err)
			assert.Equal(t, 6, strings.Count(string(out), c.want), out)
			_, _, html := written(t, d, 80)
			words(t, html)
			plain, err := d.Body(nil)
			require.NoError(t, err)
			assert.NotContains(t, plain, "<a ")
		})
	}
}

// Every rule of the style sheet touches a document alone: the page around it
// keeps its own.
func TestStyleTouchesDocumentsAlone(t *testing.T) {
	style := Style()
	assert.Equal(t, strings.Count(style, "{"), strings.Count(style, "}"))
	found := rule.FindAllString(style, -1)
	require.Greater(t, len(found), 80)
	for _, r := range found {
		selectors, _, _ := strings.Cut(r, "{")
		for _, s := range strings.Split(selectors, ",") {
			assert.Regexp(t, `^\s*\.document( [^ ].*)?\s*$`, s)
		}
	}
	assert.NotRegexp(t, `url\(|@import|expression`, style)
	assert.Contains(t, style, "\n.document ul, .document ol {")
	assert.Contains(t, style, "@media screen { .document { font-size: 12pt;")
}

// Every class that a document uses inside another page is in its style sheet.
func TestEveryClassHasItsStyle(t *testing.T) {
	style := Style()
	for _, e := range elements(t, body(t, all())) {
		for _, class := range strings.Fields(attribute(e, "class")) {
			assert.Regexp(t, `\.`+regexp.QuoteMeta(class)+`\b`, style)
		}
	}
}

func TestFootStyleHoldsTheFoot(t *testing.T) {
	assert.Contains(t, (&Document{Foot: `Pump 2 "</style>`}).FootStyle(), `@bottom-left { content: "Pump 2 style"; `)
	_, _, html := written(t, all(), 80)
	assert.Contains(t, html, "<style>\n"+all().FootStyle()+"* {")
}
