package pages

import (
	"html/template"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/doc"
	"telltale/engine/upkeep"
	"telltale/engine/work"
	"telltale/evidence/rig"
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

var anID = regexp.MustCompile(` id="([^"]*)"`)

// refs are what a document leads to, as it stands in it. No id in it comes twice.
func refs(t *testing.T, d *doc.Document) (out []doc.Ref, body string) {
	t.Helper()
	html, err := d.Body(func(r doc.Ref) string {
		out = append(out, r)
		return "/" + r.Kind + "/" + r.ID
	})
	require.NoError(t, err)
	ids := map[string]bool{}
	for _, id := range anID.FindAllStringSubmatch(string(html), -1) {
		assert.False(t, ids[id[1]], "%s: %s comes twice", d.Title, id[1])
		ids[id[1]] = true
	}
	assert.NotContains(t, html, " style=")
	return out, string(html)
}

// The causes and steps of a case lead to their entries of the rulebook.
func TestThePagesOfACaseLeadToTheRulebook(t *testing.T) {
	for _, file := range []string{"wiper-again", "broken-rod", "two-faults", "opened-up"} {
		text, err := os.ReadFile(filepath.Join("../../../testdata/cases", file+".yaml"))
		require.NoError(t, err)
		in := input(t, string(text))
		r, kinds := in.Plan.Report, entries(in.Book)
		for name, d := range map[string]*doc.Document{"full": Triage(r, true), "short": Glance(r, ""), "teardown": Teardown(in.Plan), "sheet": JobSheet(in)} {
			found, body := refs(t, d)
			for _, ref := range found {
				assert.Contains(t, kinds[ref.Kind], ref.ID, "%s, %s", file, name)
			}
			for _, trouble := range r.Troubles[:min(len(r.Troubles), 1)] {
				assert.True(t, strings.Contains(body, `<a href="/cause/`+trouble.Failed[0].Cause+`">`), "%s, %s", file, name)
			}
			for _, c := range r.Confirmed {
				assert.True(t, strings.Contains(body, `<a href="/cause/`+c.Cause+`">`), "%s, %s", file, name)
			}
		}
		_, body := refs(t, Triage(r, true))
		for _, c := range r.Causes {
			assert.True(t, strings.Contains(body, `</b> <a href="/cause/`+c.Cause+`">`+template.HTMLEscapeString(c.Title)+`</a>`), "%s: %s", file, c.Title)
		}
		for _, s := range r.Steps {
			if s.Kind == work.StepReturn {
				continue
			}
			assert.True(t, strings.Contains(body, `. <a href="/`+s.Kind+`/`+s.ID+`">`+template.HTMLEscapeString(s.Title)+`</a>`), "%s: %s", file, s.Title)
		}
	}
}

// The pages of a rig lead to its pumps, its jobs and what they proved.
func TestThePagesOfARigLeadToPumpsAndJobs(t *testing.T) {
	book := builtIn(t)
	all, err := rig.Read("../../../testdata/rig", book.Vocabulary())
	require.NoError(t, err)
	report, err := upkeep.OfRig(book, all, upkeep.Options{Now: day, Brief: true})
	require.NoError(t, err)
	kinds := entries(book)
	for _, p := range all.Pumps {
		kinds["pump"] = append(kinds["pump"], p.Name)
		for _, k := range p.Jobs {
			kinds["job"] = append(kinds["job"], filepath.Base(k.File))
		}
	}
	seen := map[string]bool{}
	check := func(d *doc.Document) string {
		found, body := refs(t, d)
		for _, ref := range found {
			assert.Contains(t, kinds[ref.Kind], ref.ID)
			seen[ref.Kind] = true
		}
		return body
	}
	body := check(Rig(report, book))
	for _, p := range report.Pumps {
		assert.True(t, strings.Contains(body, `<a href="/pump/`+p.Pump+`">`+p.Title+`</a>`), p.Pump)
		body := check(Pump(p, book))
		for _, j := range p.Open {
			assert.True(t, strings.Contains(body, `<h3><a href="/job/`+filepath.Base(j.File)+`">`), p.Pump)
		}
		for _, x := range p.Troubles {
			assert.True(t, strings.Contains(body, `<a href="/job/`+filepath.Base(x.Job)+`">`+x.Date+`</a>`), p.Pump)
		}
	}
	assert.True(t, seen["pump"] && seen["job"] && seen["cause"], seen)
}
