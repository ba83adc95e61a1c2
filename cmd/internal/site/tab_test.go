package site

import (
	"io"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"telltale/rules"
)

var demoRig = filepath.Join("..", "..", "..", "testdata", "rig")

func onADay() time.Time { return time.Date(2026, 10, 20, 9, 0, 0, 0, time.UTC) }

var builtIn = sync.OnceValues(rules.BuiltIn)

// siteOver is the pages over a folder.
func siteOver(t testing.TB, dir string) *Site {
	t.Helper()
	book, err := builtIn()
	require.NoError(t, err)
	s, err := New(book, dir, onADay, func(*http.Request) string { return "once" })
	require.NoError(t, err)
	t.Cleanup(func() { _ = s.Close() })
	return s
}

// folderOf is one with files in it.
func folderOf(t testing.TB, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		path := filepath.Join(dir, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	}
	return dir
}

// copied is a folder with what another one has in it.
func copied(t testing.TB, from string) string {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS(from)))
	require.NoError(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			err = os.Chmod(path, 0o600)
		}
		return err
	}))
	return dir
}

// window is one tab of a browser: it shows a page, presses its buttons and follows where
// they lead.
type window struct {
	t      testing.TB
	to     http.Handler
	at     string
	status int
	text   string // of the page as it was sent
	page   *html.Node
}

func open(t testing.TB, s *Site, at string) *window {
	t.Helper()
	b := &window{t: t, to: s.Handler()}
	b.get(at)
	return b
}

func (b *window) get(at string) *window {
	b.t.Helper()
	return b.send(httptest.NewRequest(http.MethodGet, at, nil), at)
}

func (b *window) post(at string, form url.Values) *window {
	b.t.Helper()
	r := httptest.NewRequest(http.MethodPost, at, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return b.send(r, at)
}

func (b *window) send(r *http.Request, at string) *window {
	b.t.Helper()
	w := httptest.NewRecorder()
	b.to.ServeHTTP(w, r)
	if w.Code == http.StatusSeeOther {
		return b.get(w.Header().Get("Location"))
	}
	b.at, b.status, b.text = at, w.Code, w.Body.String()
	var err error
	b.page, err = html.Parse(strings.NewReader(b.text))
	require.NoError(b.t, err)
	b.plain()
	return b
}

// plain wants the page to have nothing in it that a text from outside could have
// brought: what is no character, or turns the text around it; a script, an address or a
// style of its own.
func (b *window) plain() {
	b.t.Helper()
	require.True(b.t, utf8.ValidString(b.text), "a page is UTF-8")
	for _, r := range b.text {
		require.False(b.t, r != '\n' && unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || r == utf8.RuneError, "%U on %s", r, b.at)
	}
	for n := range b.page.Descendants() {
		if n.Type != html.ElementNode {
			continue
		}
		switch n.Data {
		case "script":
			require.Equal(b.t, scriptAddress, attr(n, "src"))
			require.Nil(b.t, n.FirstChild)
		case "iframe", "object", "embed", "base", "img", "foreignobject":
			require.Fail(b.t, "there is no such element on a page", "%s on %s", n.Data, b.at)
		case "link":
			require.Equal(b.t, styleAddress, attr(n, "href"))
		}
		for _, a := range n.Attr {
			require.False(b.t, strings.HasPrefix(a.Key, "on"), "%s on %s", a.Key, b.at)
			if slices.Contains([]string{"href", "action", "src", "formaction"}, a.Key) {
				require.Regexp(b.t, "^(#|/([^/]|$))", a.Val, b.at)
			}
		}
	}
}

// all gives the elements of a name.
func all(n *html.Node, name string) (out []*html.Node) {
	for d := range n.Descendants() {
		if d.Type == html.ElementNode && d.Data == name {
			out = append(out, d)
		}
	}
	return out
}

func attr(n *html.Node, key string) string {
	i := slices.IndexFunc(n.Attr, func(a html.Attribute) bool { return a.Key == key })
	if i < 0 {
		return ""
	}
	return n.Attr[i].Val
}

func has(n *html.Node, key string) bool {
	return slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == key })
}

// said is the text of a page or a part of it, with single blanks.
func said(n *html.Node) string {
	var out strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			out.WriteString(d.Data + " ")
		}
	}
	return strings.Join(strings.Fields(out.String()), " ")
}

// asked is what is asked on the page.
func (b *window) asked() string {
	for _, h := range all(b.page, "h2") {
		if attr(h, "id") == "asked" {
			return said(h)
		}
	}
	return ""
}

// refused is what is said of an answer that was not taken; "" if it was.
func (b *window) refused() string {
	for _, name := range []string{"div", "p"} {
		for _, d := range all(b.page, name) {
			if attr(d, "class") == "refused" {
				return said(d)
			}
		}
	}
	return ""
}

// fieldsOf gives what the fields of a form of the page hold.
func fieldsOf(n *html.Node) url.Values {
	out := url.Values{}
	for _, in := range all(n, "input") {
		if attr(in, "type") != "checkbox" || has(in, "checked") {
			out.Add(attr(in, "name"), attr(in, "value"))
		}
	}
	for _, in := range all(n, "textarea") {
		out.Add(attr(in, "name"), said(in))
	}
	return out
}

// button is what the press of a button with such a title would send, and where.
func (b *window) button(title string) (at string, sends url.Values) {
	b.t.Helper()
	for _, f := range all(b.page, "form") {
		for _, button := range all(f, "button") {
			if strings.Contains(strings.ToLower(said(button)), strings.ToLower(title)) {
				sends = fieldsOf(f)
				if name := attr(button, "name"); name != "" {
					sends.Add(name, attr(button, "value"))
				}
				return attr(f, "action"), sends
			}
		}
	}
	require.Fail(b.t, "there is no such button", "%q on\n%s", title, said(b.page))
	return "", nil
}

// offers says whether there is such a button.
func (b *window) offers(title string) bool {
	return slices.ContainsFunc(all(b.page, "button"), func(n *html.Node) bool {
		return strings.Contains(strings.ToLower(said(n)), strings.ToLower(title))
	})
}

// press presses a button.
func (b *window) press(title string) *window {
	b.t.Helper()
	return b.post(b.button(title))
}

// tick ticks boxes by their values and presses the button below them.
func (b *window) tick(button string, values ...string) *window {
	b.t.Helper()
	at, sends := b.button(button)
	for _, v := range values {
		if !slices.Contains(sends[fieldChosen], v) {
			sends.Add(fieldChosen, v)
		}
	}
	return b.post(at, sends)
}

// words types words into the field of the page and sends them.
func (b *window) words(text string) *window {
	b.t.Helper()
	at, sends := b.typing(text)
	return b.post(at, sends)
}

func (b *window) typing(text string) (at string, sends url.Values) {
	b.t.Helper()
	for _, f := range all(b.page, "form") {
		if sends = fieldsOf(f); sends.Has(fieldText) && attr(f, "method") == "post" {
			sends.Set(fieldText, text)
			return attr(f, "action"), sends
		}
	}
	require.Fail(b.t, "there is no field for words", "%s", said(b.page))
	return "", nil
}

// ticked are the boxes of the page that are ticked, and typed what stands in its field.
func (b *window) ticked() (out []string) {
	for _, in := range all(b.page, "input") {
		if attr(in, "type") == "checkbox" && has(in, "checked") {
			out = append(out, attr(in, "value"))
		}
	}
	return out
}

func (b *window) typed() string {
	for _, f := range all(b.page, "form") {
		if text := fieldsOf(f).Get(fieldText); text != "" {
			return text
		}
	}
	return ""
}

func read(t testing.TB, path string) string {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	text, err := io.ReadAll(f)
	require.NoError(t, err)
	return string(text)
}
