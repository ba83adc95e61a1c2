package site

import (
	"net/http"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
)

// bookPage is what the rulebook holds.
func (s *Site) bookPage(w http.ResponseWriter, r *http.Request) error {
	return s.document(w, r, pages.Rulebook(s.book, pages.Pick{}))
}

// bookEntry tells of one entry of the rulebook.
func (s *Site) bookEntry(w http.ResponseWriter, r *http.Request) error {
	d, found := pages.Entry(s.book, r.PathValue("id"), pages.Pick{})
	if !found {
		return &notFoundError{"The rulebook has no " + doc.Shown(r.PathValue("id")) + "."}
	}
	return s.document(w, r, d)
}
