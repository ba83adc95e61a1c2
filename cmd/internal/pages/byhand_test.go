package pages

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/doc"
	"telltale/engine/figures"
	"telltale/evidence"
	"telltale/rules"
)

// Every picture that the rulebook can name is drawn, under its name.
func TestEveryPictureOfTheBookIsDrawn(t *testing.T) {
	assert.Len(t, byHand, len(rules.Pictures()))
	for _, name := range rules.Pictures() {
		f := Picture(name)
		require.NotNil(t, f, name)
		assert.Equal(t, string(name), f.Name)
	}
	assert.Nil(t, Picture(""))
}

// A picture names what the book asks for at its steps, in the book's own words:
// the kinds of the signs that are looked for there.
func TestPicturesNameTheKindsOfTheBook(t *testing.T) {
	book := builtIn(t)
	for name, signs := range map[rules.Picture][]string{
		rules.ValvePot:    {"valve-damage", "spring-damage", "seat-damage"},
		rules.RoundFlange: {"flange-gap"},
		rules.LoadedGuide: {"guide-wear"},
	} {
		f := Picture(name)
		said := strings.ToLower(f.Title + " " + f.Words())
		for _, id := range signs {
			sign := book.Signs.Get(id)
			require.NotEmpty(t, sign.Kinds)
			for _, kind := range sign.Kinds {
				for _, word := range strings.FieldsFunc(kind.Title, func(r rune) bool { return r == ' ' || r == ';' }) {
					if len(word) > 3 {
						assert.Contains(t, said, word, "%s: %s, kind %q", name, id, kind.Title)
					}
				}
			}
		}
	}
	// The points are numbered in the order in which they are written down.
	for _, read := range book.Checks.Get("rod-centring").Read {
		_, points, ok := strings.Cut(read.What, ": ")
		require.True(t, ok)
		require.Equal(t, "top, bottom, left, right", points)
	}
	assert.Contains(t, Picture(rules.RoundRod).Words(), "1 top, 2 bottom, 3 left, 4 right")
	// Over the crosshead: the places of the readings.
	over := Picture(rules.OverCrosshead).Words()
	for _, place := range []string{"rear", "middle", "front", "left", "right"} {
		assert.Contains(t, over, place)
	}
	tell := book.Signs.Get("packing-turned").Tell
	require.Contains(t, tell, "Lips look toward the pressure")
	assert.Contains(t, Picture(rules.PackingOrder).Words(), "lip looks toward the pressure")
	assert.Contains(t, book.Openings.Get("box-open").Close.Do, "joints staggered")
	assert.Contains(t, Picture(rules.PackingOrder).Words(), "joints of split rings are staggered")
}

// The picture says of each way of turning what the load of the guides comes to,
// on a single-acting and on a double-acting pump.
func TestLoadedGuideIsTheOneThatTheForceSays(t *testing.T) {
	book := builtIn(t)
	says := Picture(rules.LoadedGuide).Says
	for action, text := range map[evidence.Action]string{
		evidence.Triplex: "pump: {action: triplex-single-acting, state: stopped, liner: 6 in, stroke: 11 in, discharge: 2000 psi}",
		evidence.Duplex:  "pump: {action: duplex-double-acting, state: stopped, liner: 6 in, stroke: 14 in, discharge: 2000 psi, piston-rod: 2 1/2 in}",
	} {
		k, err := evidence.ParseCase("case.yaml", []byte(text), book.Vocabulary())
		require.NoError(t, err)
		turn, err := figures.GuideTurn(book, k)
		require.NoError(t, err)
		for i, force := range [][]float64{turn.Forward, turn.Reverse} {
			require.NotNil(t, force)
			back, forward := force[len(force)/4], force[3*len(force)/4]
			guide := map[bool]string{true: "lower", false: "upper"}[forward > 0] // down is positive
			assert.Contains(t, says[i], "pressed on the "+guide+" guide", "%s %d", action, i)
			if action == evidence.Duplex {
				assert.Positive(t, back*forward, "both strokes press on the same guide")
			} else {
				assert.Zero(t, back, "the forward stroke alone")
			}
		}
	}
	assert.Contains(t, strings.Join(says, " "), "A double-acting pump presses on both strokes, on the same guide; a single-acting one on the forward stroke alone.")
}

// On a plan a picture stands at the first step that names it, once.
func TestAPlanShowsAPictureOnce(t *testing.T) {
	in := input(t, `
pump: {action: triplex-single-acting, state: running, liner: 6 in, stroke: 11 in, discharge: 2000 psi}
findings: {wiper-leaks: {again: [2]}}
`)
	d := Teardown(in.Plan)
	first := map[string]int{}
	for _, s := range d.Sections {
		for _, part := range s.Parts {
			if part.Step == nil {
				continue
			}
			if f := part.Step.Figure; f != nil {
				assert.NotContains(t, first, f.Name, "it stands once")
				first[f.Name] = part.Step.Number
			}
		}
	}
	for _, s := range in.Plan.Steps { // the first of the list that names it
		if f := Picture(s.Picture); f != nil && first[f.Name] != 0 {
			assert.Equal(t, s.Number, first[f.Name], f.Name)
			first[f.Name] = 0
		}
	}
	require.Contains(t, first, "round-flange")
	page := html(t, d)
	assert.Equal(t, 1, strings.Count(page, `aria-labelledby="round-flange-t`))
	var text strings.Builder
	require.NoError(t, d.Text(&text, 100))
	assert.Contains(t, strings.Join(strings.Fields(text.String()), " "), "Feeler leaf round the flange: Wipe the joint.")
}

// A later step of a page says which picture is meant.
func TestFiguresOfStepsStandOnce(t *testing.T) {
	step := func() doc.Part { return doc.Part{Step: &doc.Step{Title: "Wire", Figure: Picture(rules.LockingWire)}} }
	shared := step()
	var d doc.Document
	d.Add(doc.Section{Parts: []doc.Part{shared, step()}}, doc.Section{Parts: []doc.Part{step()}})
	assert.NotNil(t, d.Sections[0].Parts[0].Step.Figure)
	for _, later := range []*doc.Step{d.Sections[0].Parts[1].Step, d.Sections[1].Parts[0].Step} {
		assert.Nil(t, later.Figure)
		assert.Equal(t, []doc.Fact{{Label: "Picture above", Text: "Which way the locking wire runs"}}, later.Facts)
	}
}
