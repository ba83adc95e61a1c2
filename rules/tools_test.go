package rules

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// work is something that a book has done with tools: a check, an opening with
// its closing, or the change of a part.
type work struct {
	id, words string
	tools     []string
	guards    []string
}

func workOf(b *Book) []work {
	var out []work
	for _, c := range b.Checks.List {
		words := []string{c.Title, c.Do}
		for _, r := range c.Read {
			words = append(words, r.What)
		}
		out = append(out, work{c.ID, strings.Join(words, " "), c.Tools, c.Safety})
	}
	for _, a := range b.Openings.List {
		out = append(out, work{a.ID, a.Do + " " + a.Close.Do, a.Tools, a.Safety})
	}
	return out
}

// What the words of a piece of work ask for in the hand is in its list of tools:
// common practice, no source.
func TestWorkHasTheToolsThatItsWordsAskFor(t *testing.T) {
	book, err := BuiltIn()
	require.NoError(t, err)
	for what, c := range map[string]struct {
		words, guard string // either asks for it
		tools        string
	}{
		"a torque":          {words: `torque|\{[a-z-]+-torque\}`, tools: `torque`},
		"a leaf or a gap":   {words: `\b(leaf|leaves|feeler)\b`, tools: `feeler|long feeler leaf`},
		"a long leaf":       {words: `\blong leaf\b`, tools: `long feeler leaf`},
		"a mark":            {words: `\b[Mm]ark (its|the|a|which)\b`, tools: `marker|chalk|marking`},
		"wiping":            {words: `\b(Wipe|Clean round|Clean both|Clean the joint)\b`, tools: `rag|hose`},
		"gasket faces":      {words: `new gasket|Sound gasket`, tools: `scraper`},
		"bar by hand":       {guard: "bar-by-hand", tools: `barring bar|barring gear|pry bar|\bbar\b`},
		"a heavy lift":      {guard: "lift-heavy-parts", tools: `hoist|sling`},
		"a puller":          {guard: "pull-not-hammer", tools: `puller`},
		"dial gauge":        {words: `dial gauge`, tools: `dial gauge`},
		"straight edge":     {words: `straight edge`, tools: `straight edge`},
		"new locking wire":  {words: `New locking wire`, tools: `locking-wire pliers`},
		"burrs off a face":  {words: `free of burrs|dressed`, tools: `fine stone`},
		"a look with light": {words: `with a lamp`, tools: `lamp`},
	} {
		t.Run(what, func(t *testing.T) {
			words, tools, asked := regexp.MustCompile(c.words), regexp.MustCompile(c.tools), 0
			for _, w := range workOf(book) {
				if c.words != "" && words.MatchString(w.words) || slices.Contains(w.guards, c.guard) {
					asked++
					assert.True(t, slices.ContainsFunc(w.tools, tools.MatchString), "%s: %v", w.id, w.tools)
				}
			}
			assert.Positive(t, asked, "nothing asks for it any more")
		})
	}
}

// What a mechanic carries out for a repair beside the tools of the opening:
// common practice, no source.
func TestPartsHaveTheToolsThatChangeThem(t *testing.T) {
	book, err := BuiltIn()
	require.NoError(t, err)
	for part, tools := range map[string][]string{
		"guide-shims":  {"pry bar", "micrometer", "long feeler leaf", "feeler gauges"},
		"locking-wire": {"locking-wire pliers"},
		"piston":       {"torque wrench"},
		"liner":        {"bore gauge", "micrometer"},
		"valve-seat":   {"seat puller"},
		"pin-bushing":  {"micrometer"},
		"packing-set":  {"packing hook", "micrometer"},
	} {
		t.Run(part, func(t *testing.T) {
			for _, tool := range tools {
				assert.Contains(t, book.Parts.Get(part).Tools, tool, part)
			}
		})
	}
	assert.Contains(t, book.Openings.Get("crosshead-cover-off").Tools, "pry bar")
}
