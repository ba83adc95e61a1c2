package pages

import (
	"html/template"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/doc"
	"telltale/rules"
)

// entries are the ids of a book by the kinds that a Ref names.
func entries(b *rules.Book) map[string][]string {
	return map[string][]string{
		"cause": b.Causes.IDs(), "sign": b.Signs.IDs(), "check": b.Checks.IDs(), "opening": b.Openings.IDs(), "safety": b.Safety.IDs(), "return": b.Returns.IDs(),
		"stop": b.Stops.IDs(), "rating": b.Ratings.IDs(), "limit": b.Limits.IDs(), "work": b.Works.IDs(), "mud": b.Muds.IDs(),
	}
}

var (
	linked  = regexp.MustCompile(`<a href="[^"]*">[^<]*</a>`)
	itself  = regexp.MustCompile(`<h2>.*?</h2>`)
	idWords = regexp.MustCompile(`[a-z0-9]+(-[a-z0-9]+)+`)
)

// Whatever a page of the rulebook names by its id leads to the page of that entry.
func TestEveryIDOfTheRulebookLeadsToItsEntry(t *testing.T) {
	b := builtIn(t)
	kinds := entries(b)
	named := map[string]bool{}
	for _, list := range kinds {
		for _, id := range list {
			named[id] = true
		}
	}
	for _, sign := range b.Signs.List {
		for _, kind := range sign.KindIDs() {
			delete(named, kind) // it is said behind its sign
		}
	}
	delete(named, "bottoms-up") // a word of the trade, too
	seen := map[string]bool{}
	read := func(name string, d *doc.Document) {
		body, err := d.Body(func(r doc.Ref) string {
			assert.Contains(t, kinds[r.Kind], r.ID, "%s names a %s", name, r.Kind)
			seen[r.Kind] = true
			return "/rulebook/" + r.ID
		})
		require.NoError(t, err)
		rest := itself.ReplaceAll(linked.ReplaceAll([]byte(body), nil), nil)
		for _, word := range idWords.FindAll(rest, -1) {
			assert.False(t, named[string(word)], "%s names %s without a link", name, word)
		}
		assert.NotEqual(t, template.HTML(rest), body, name)
	}
	read("the list", Rulebook(b, Pick{}))
	for _, list := range kinds {
		for _, id := range list {
			d, found := Entry(b, id, Pick{})
			require.True(t, found, id)
			read(id, d)
		}
	}
	assert.Len(t, seen, len(kinds)-1, "all but the return steps, which no entry names")
}
