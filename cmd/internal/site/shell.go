package site

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"html/template"
	"io"
	"net/http"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/evidence/source"
)

//go:embed *.tmpl
var templateFiles embed.FS

//go:embed site.css
var ownStyle string

//go:embed comfort.js
var script string

// style is the style sheet of documents with that of the pages around them.
var style = doc.Style() + ownStyle

// styleAddress and scriptAddress change with what they lead to: a browser keeps it.
var (
	styleAddress  = "/style-" + digest(style) + ".css"
	scriptAddress = "/comfort-" + digest(script) + ".js"
)

func digest(text string) string {
	sum := sha256.Sum256([]byte(text))
	return hex.EncodeToString(sum[:6])
}

// asset serves what never changes under its address.
func asset(text, kind string) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", kind)
		w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
		_, _ = w.Write([]byte(text))
	}
}

var templates = template.Must(template.New("site").Funcs(template.FuncMap{
	"style":   func() string { return styleAddress },
	"script":  func() string { return scriptAddress },
	"capital": words.Capital,
}).ParseFS(templateFiles, "*.tmpl"))

// shell is what stands around every page.
type shell struct {
	Title string
	Ways  []way // where else one can go from here
	Pages []way // of the job
	Foot  template.CSS
	Nonce string
	Body  any // of the template that the page is made with
}

// way leads to another page.
type way struct {
	Text, Address string
	Here          bool
}

// show writes a page that is made with one of the templates.
func (s *Site) show(w http.ResponseWriter, status int, name string, page shell) error {
	page.Ways = append(s.ways(), page.Ways...)
	var out bytes.Buffer
	if err := templates.ExecuteTemplate(&out, name, page); err != nil {
		return err
	}
	text := doc.Clean(out.String())
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Content-Length", fmt.Sprint(len(text)))
	w.WriteHeader(status)
	_, _ = io.WriteString(w, text) // if whoever asked is gone, nobody is left to be told
	return nil
}

// ways are where one can go from every page.
func (s *Site) ways() []way {
	first := way{Text: "Jobs", Address: "/"}
	if s.isRig() {
		first.Text = "Rig and jobs"
	}
	return []way{first, {Text: "Blank forms", Address: formsAddress}, {Text: "Practice", Address: "/practice"}, {Text: "Rulebook", Address: "/rulebook"}}
}

// trouble is a page that says what went wrong.
func (s *Site) trouble(w http.ResponseWriter, r *http.Request, status int, title string, err error) {
	body := struct{ Title, Text, Typed string }{title, doc.Shown(source.Plain(err)), strings.TrimSpace(r.PostForm.Get(fieldText))}
	if s.show(w, status, "trouble", shell{Title: title, Body: body}) != nil {
		http.Error(w, body.Text, status)
	}
}

// document is a page of a document, to read and to print.
func (s *Site) document(w http.ResponseWriter, r *http.Request, d *doc.Document, ofJob ...way) error {
	return s.documentIn(w, r, d, ofJob[:min(len(ofJob), 1)], ofJob...)
}

// documentIn is the same with the ways that lead from it.
func (s *Site) documentIn(w http.ResponseWriter, r *http.Request, d *doc.Document, ways []way, ofJob ...way) error {
	body, err := d.Body(addressOf)
	if err != nil {
		return err
	}
	page := shell{Title: d.Title, Ways: ways, Pages: ofJob, Body: body, Nonce: s.nonce(r), Foot: template.CSS(d.FootStyle())}
	return s.show(w, http.StatusOK, "document", page)
}
