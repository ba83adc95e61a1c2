package site

import (
	"net/http"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/rules"
)

// formsAddress is where the blank forms are found.
const formsAddress = "/forms"

// formsPage lists the blank forms.
func (s *Site) formsPage(w http.ResponseWriter, r *http.Request) error {
	return s.document(w, r, pages.FormList(s.book))
}

// formPage is a blank form for a kind of pump, to print.
func (s *Site) formPage(w http.ResponseWriter, r *http.Request) error {
	form := s.book.Forms.Get(r.PathValue("form"))
	for _, kind := range pages.PumpKinds() {
		if form != nil && kind.Name == r.PathValue("pump") {
			return s.document(w, r, pages.Forms(s.book, []*rules.Form{form}, kind.Action, s.now()))
		}
	}
	return &notFoundError{"There is no blank form " + doc.Shown(r.PathValue("form")) + " for " + doc.Shown(r.PathValue("pump")) + "."}
}
