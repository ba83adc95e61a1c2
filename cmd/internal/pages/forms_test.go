package pages

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/doc"
	"telltale/evidence"
	"telltale/rules"
)

// The isolation of a blank form keeps to what the rulebook puts before each step.
func TestBlankFormsIsolateInOrder(t *testing.T) {
	for _, kind := range PumpKinds() {
		b := blankForm{book: builtIn(t), bare: rules.BareCase(kind.Action)}
		steps := b.isolation()
		require.Greater(t, len(steps), 8)
		at := map[string]int{}
		for i, s := range steps {
			at[s.ID] = i
		}
		for i, s := range steps {
			for _, before := range s.After {
				if n, there := at[before]; there {
					assert.Less(t, n, i, "%s comes before %s", before, s.ID)
				}
			}
		}
	}
}

// A blank form has what it asks in the words of the rulebook, behind what guards it:
// hands go in behind the isolation and the cautions of what is opened.
func TestBlankFormsAreGuarded(t *testing.T) {
	book := builtIn(t)
	for _, kind := range PumpKinds() {
		bare := rules.BareCase(kind.Action)
		for _, f := range book.Forms.List {
			guarded := map[string]bool{}
			for _, s := range Forms(book, []*rules.Form{f}, kind.Action, day).Sections {
				if s.Panel {
					guarded[s.Heading] = true
				}
				for _, a := range f.Asks {
					if (a.Title != "" && a.Title == s.Heading || a.Readings != "" && BlockTitle(a.Readings) == s.Heading) && book.BehindIsolation(a) {
						assert.True(t, guarded["BEFORE HANDS GO IN"], "%s, %s: %s", kind.Name, f.ID, s.Heading)
					}
				}
			}
			_, said := tags(t, html(t, Forms(book, []*rules.Form{f}, kind.Action, day)))
			for _, c := range book.Cautions(f, bare) {
				assert.Contains(t, said, c.Title, f.ID)
				assert.Contains(t, said, book.Fill(bare, c.Do), f.ID)
			}
			for _, a := range f.Asks {
				for _, id := range a.Signs {
					if s := book.Signs.Get(id); s.When.Holds(bare, book) {
						assert.Contains(t, said, s.Title, f.ID)
					}
				}
				for _, id := range a.Limits {
					assert.Contains(t, said, book.Limits.Get(id).Title, f.ID)
				}
			}
		}
	}
	alignment := book.Cautions(book.Forms.Get("alignment"), rules.BareCase(evidence.Triplex))
	assert.Contains(t, doc.Each(alignment, func(s *rules.Safety) string { return s.ID }), "bar-by-hand")
}

// The readings of a form come in the order of the pages that take them, and what is
// typed of a block has each of its fields once.
func TestBlankFormsReadInTheOrderOfThePages(t *testing.T) {
	for _, f := range builtIn(t).Forms.List {
		last := -1
		for _, a := range f.Asks {
			if a.Readings == "" {
				continue
			}
			at := slices.IndexFunc(Blocks, func(b Block) bool { return b.Name == a.Readings })
			assert.Greater(t, at, last, "%s: %s", f.ID, a.Readings)
			last = at
		}
	}
	for i := range Blocks {
		b := &Blocks[i]
		at := evidence.Place{}
		if b.Level == evidence.OfCylinder {
			at.Cylinder = "2"
		}
		var keys []string
		for _, asides := range []bool{false, true} {
			for _, c := range b.Commands(at, asides) {
				for _, field := range slices.Concat(c.Taken, c.Fields) {
					keys = append(keys, field.Key)
				}
			}
		}
		for _, field := range b.AllFields() {
			assert.Contains(t, keys, field.Key, b.Name)
		}
		before := len(keys)
		slices.Sort(keys)
		assert.Len(t, slices.Compact(keys), before, b.Name)
	}
}
