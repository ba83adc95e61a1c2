package main

import (
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A real browser gets in by the printed address and its own forms go through; what a
// page of another site has it send does not, though it has the cookie. Who comes by a
// link on such a page is one press from the first page.
func TestWhoIsLetInInABrowser(t *testing.T) {
	needsBrowser(t)
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS(filepath.Join(repository, "testdata", "rig"))))
	address := serving(t, dir)
	w := newWindow(t, chromium(t), address, true)
	title := func() string { return eval[string](w, "document.querySelector('h1').textContent") }
	click := func(what string) { eval[bool](w, "document.querySelector("+asJSON(what)+").click() || true") }
	elsewhere := func(page string) string { return "data:text/html," + url.PathEscape(page) }
	first, _, _ := strings.Cut(address, "?")

	w.open(first)
	assert.Equal(t, "This browser was not let in", title())
	w.open(elsewhere(`<a href="` + address + `">telltale</a>`))
	w.loading(func() { click("a") })
	assert.Equal(t, "This browser was not let in", title())
	w.loading(func() { click("a") })
	assert.Equal(t, "Rig and jobs", title())
	assert.Equal(t, first, eval[string](w, "location.href"))
	assert.Empty(t, eval[string](w, "document.cookie"), "no script reads it")

	files := func() int {
		all, err := fs.Glob(os.DirFS(dir), "jobs/*")
		require.NoError(t, err)
		return len(all)
	}
	before := files()
	w.open(elsewhere(`<form method="post" action="` + first + `new"><input name="alone" value="new pump-1"><button>go</button></form>`))
	w.loading(func() { click("button") })
	assert.Equal(t, "This browser was not let in", title())
	assert.Equal(t, before, files())

	w.open(first)
	w.loading(func() { click(`button[value="new pump-1"]`) })
	assert.NotEqual(t, first, eval[string](w, "location.href"))
	assert.NotContains(t, title(), "another page", "a form of its own")

	other := newWindow(t, w.ctx, address, true)
	other.open(address)
	assert.Equal(t, "Rig and jobs", eval[string](other, "document.querySelector('h1').textContent"))
}
