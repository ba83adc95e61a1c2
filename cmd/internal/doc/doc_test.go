package doc

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"reflect"
	"strings"
	"testing"

	"github.com/mattn/go-runewidth"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// all is a document with every kind of part.
func all() *Document {
	d := &Document{Title: "PLAN. Pump 2", Lines: []string{"Case: a.yaml"}, Foot: "Pump 2"}
	d.Add(
		Section{Heading: "Stop first", Panel: true, Parts: []Part{{Signal: "danger", Head: "AT ONCE: A rod is broken", Items: Items("Stop the pump.")}, Text("Read this.")}},
		Section{Heading: "Nothing", Parts: []Part{{Head: "A head alone"}, {}}},
		Section{Heading: "Causes", Aside: " (first)", Parts: []Part{
			{Ranks: []Rank{{Figure: "28 %", Text: "Guide worn", Note: "Unlikely.", Moved: []Weight{{"for", "+3", "It leaks"}, {"for", "+2", "It is hot"}, {"against", "-1", "It is quiet"}}}}},
			{Facts: []Fact{{Label: "Then", Text: "Measure again."}}},
			{Head: "In words", Figure: &Figure{Name: "f", Title: "The rod", Key: "Black is now.", Says: []string{"It is low."}, SVG: "<svg/>"}},
		}},
		Section{Heading: "Steps", Parts: []Part{
			{Text: []string{"Only if nothing was found."}, Strong: true},
			{Step: &Step{Number: 3, Kind: "check", Signal: "warning", Title: "Look", Notes: []string{"5 min"}, Do: "Look at it.", Facts: []Fact{{Label: "Tools", Text: "lamp"}}, Results: []Item{{Box: ToTick, Strong: "Dry:", Text: "Go on."}}}},
			{Step: &Step{Number: 4, Tick: true, Signal: "danger", Title: "Lock it", Do: "Own lock.", Initials: true}},
			{Step: &Step{Number: 5, Tick: true, Title: "Lift", Signal: "caution", Caution: "It slips.", Do: "Evenly.", Limits: []string{"5 mm"}, Gauges: []string{"Leaf"}, Boxes: []string{"good", "bad"}, Blanks: []Blank{{Label: "Back:", Items: []string{"top", "bottom"}}}}},
		}},
		Section{Heading: "Lists", Parts: []Part{
			{Items: []Item{{Box: ToTick, Strong: "Driller:", Text: "Tell him", Initials: true, Below: Items("and now")}, {Box: Ticked, Text: "Done"}, {Text: "Plain"}}},
			{Items: Items("one", "two"), Numbers: true},
			{Boxes: []string{"lamp", "pry bar"}, Blanks: []Blank{{Label: "State:", Boxes: []string{"running"}}, {Label: "Also:"}}},
			{Head: "Table", Table: &Table{Head: []string{"Place", "Now"}, Rows: [][]Cell{Cells("rear", "1.0"), Cells("front", "12.5")}}},
			{Table: &Table{Head: []string{"Sign", "Seen", "After"}, Room: true, Rows: [][]Cell{{{Text: "Leak"}, {Kinds: []Kind{{Text: "oil:", Boxes: []string{"1", "2"}}, {Text: "mud:", Boxes: []string{"1"}}}}, {}}}}},
		}},
	)
	return d
}

const allText = `PLAN. Pump 2
  Case: a.yaml

STOP FIRST =================================================
  DANGER, AT ONCE: A rod is broken
    - Stop the pump.
  Read this.
============================================================

CAUSES (first)
       28 %  Guide worn
             Unlikely.
             for       +3  It leaks
                       +2  It is hot
             against   -1  It is quiet
      Then     Measure again.

In words
  The rod. Black is now. It is low.

STEPS

  Only if nothing was found.

  3. [CHECK WARNING] Look (5 min)
     Look at it.
      Tools    lamp
      [ ] Dry: Go on.
  [ ] 4. DANGER: Lock it. Own lock. initials ______
  CAUTION: It slips.
  [ ] 5. Lift. Evenly.
        - Limit: 5 mm
        - With: Leaf
        - [ ] good [ ] bad
        - Back: top ________ bottom ________

LISTS
  [ ] Driller: Tell him initials ______
        - and now
  [x] Done
  - Plain
   1 one
   2 two
  [ ] lamp [ ] pry bar
  State: [ ] running
  Also: ________________

Table
   Place   Now
  -------------
   rear    1.0
   front  12.5
   Sign  Seen                          After
  ----------------------------------------------
   Leak  oil: [ ] 1 [ ] 2; mud: [ ] 1  ________
`

const allMarkdown = `# PLAN. Pump 2

Case: a.yaml  

## Stop first

### DANGER, AT ONCE: A rod is broken

- Stop the pump.

Read this.  

## Causes (first)

- **28 %** Guide worn
  - Unlikely.
  - for +3: It leaks
  - for +2: It is hot
  - against -1: It is quiet
- Then: Measure again.

### In words

*The rod.* Black is now. It is low.

## Steps

**Only if nothing was found.**

3. **Look** (check, WARNING; 5 min)  
   Look at it.
   - Tools: lamp
   - [ ] Dry: Go on.
- [ ] 4. DANGER: Lock it. Own lock. initials ______
- CAUTION: It slips.
- [ ] 5. Lift. Evenly.
  - Limit: 5 mm
  - With: Leaf
  - [ ] good [ ] bad
  - Back: top ________ bottom ________

## Lists

- [ ] Driller: Tell him initials ______
  - and now
- [x] Done
- Plain
1. one
2. two
- [ ] lamp
- [ ] pry bar
- State: [ ] running
- Also: ________________

### Table

| Place |  Now |
|:------|-----:|
| rear  |  1.0 |
| front | 12.5 |

| Sign | Seen                         | After |
|:-----|:-----------------------------|:------|
| Leak | oil: [ ] 1 [ ] 2; mud: [ ] 1 |       |

`

func written(t testing.TB, d *Document, width int) (text, markdown, html string) {
	t.Helper()
	var a, b, c strings.Builder
	require.NoError(t, d.Text(&a, width))
	require.NoError(t, d.Markdown(&b))
	require.NoError(t, d.HTML(&c))
	return a.String(), b.String(), c.String()
}

func TestEveryPartInEveryForm(t *testing.T) {
	text, markdown, html := written(t, all(), 60)
	assert.Equal(t, allText, text)
	assert.Equal(t, allMarkdown, markdown)
	got := words(t, html)
	for _, want := range []string{
		"PLAN. Pump 2", "Case: a.yaml", "DANGER AT ONCE: A rod is broken", "Stop the pump.", "Causes (first)", "28 % Guide worn Unlikely. for +3: It leaks",
		"Then: Measure again.", "The rod. Black is now. It is low.", "3. Look. (check; 5 min )", "Do: Look at it. Tools: lamp Dry: Go on.", "DANGER 4. Lock it. Own lock.",
		"5. Lift. Evenly.", "CAUTION It slips.", "Limit: 5 mm With: Leaf Back: top bottom", "good bad", "Driller: Tell him and now initials", "one two", "lamp pry bar", "State: running", "rear 1.0 front 12.5", "oil: 1 2 mud: 1",
	} {
		assert.Contains(t, got, want)
	}
	assert.NotContains(t, text+markdown+html, "A head alone")
}

// marked puts a word of its own into every text of a document, and gives them.
func marked(d *Document) []string {
	var out []string
	var walk func(v reflect.Value, name string)
	walk = func(v reflect.Value, name string) {
		switch v.Kind() {
		case reflect.String:
			if v.String() == "" || name == "Signal" || name == "Name" || name == "Foot" || name == "SVG" {
				return
			}
			out = append(out, fmt.Sprintf("Mark%dx", len(out)))
			v.SetString(out[len(out)-1])
		case reflect.Slice:
			for i := range v.Len() {
				walk(v.Index(i), name)
			}
		case reflect.Struct:
			for i := range v.NumField() {
				walk(v.Field(i), v.Type().Field(i).Name)
			}
		case reflect.Pointer:
			if !v.IsNil() {
				walk(v.Elem(), name)
			}
		}
	}
	walk(reflect.ValueOf(d), "")
	return out
}

// No writer leaves out what another shows.
func TestEveryTextIsInEveryForm(t *testing.T) {
	d := all()
	texts := marked(d)
	require.Greater(t, len(texts), 70)
	text, markdown, html := written(t, d, 80)
	html = words(t, html)
	inside := words(t, "<!DOCTYPE html><div>"+body(t, d)+"</div>")
	for _, s := range texts {
		for form, page := range map[string]string{"text": text, "Markdown": markdown, "HTML": html, "inside": inside} {
			assert.Contains(t, strings.ToLower(page), strings.ToLower(s), form)
		}
	}
}

// words parses a page as XML, in which it must be well-formed, and gives its
// text outside the style sheet; nothing in it may run or load anything.
func words(t testing.TB, page string) string {
	t.Helper()
	body, ok := strings.CutPrefix(page, "<!DOCTYPE html>")
	require.True(t, ok)
	d := xml.NewDecoder(strings.NewReader(body))
	var out []string
	style := false
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return strings.Join(strings.Fields(strings.Join(out, " ")), " ")
		}
		require.NoError(t, err)
		switch x := token.(type) {
		case xml.StartElement:
			style = x.Name.Local == "style"
			assert.NotContains(t, []string{"script", "img", "link", "iframe", "a"}, x.Name.Local)
			for _, a := range x.Attr {
				assert.False(t, strings.HasPrefix(a.Name.Local, "on"), "%s has %s", x.Name.Local, a.Name.Local)
				assert.NotContains(t, []string{"src", "href", "style"}, a.Name.Local)
			}
		case xml.CharData:
			if !style {
				out = append(out, string(x))
			}
		}
	}
}

// The figure of a step stands in it on a page, and is said in words where there
// is none.
func TestAFigureStandsInItsStep(t *testing.T) {
	var d Document
	d.Add(Section{Parts: []Part{{Step: &Step{Title: "Wire", Do: "Pull it.", Figure: &Figure{Name: "wire", Title: "The wire", Key: "Black.", Says: []string{"It pulls."}, SVG: "<svg/>"}}}}})
	text, markdown, html := written(t, &d, 60)
	assert.Contains(t, text, "- The wire: It pulls.")
	assert.Contains(t, markdown, "- The wire: It pulls.")
	_, step, _ := strings.Cut(html, `<article class="step">`)
	step, _, _ = strings.Cut(step, "</article>")
	assert.Contains(t, step, "<svg/>")
	assert.Contains(t, step, "<b>The wire.</b> Black.")
}

// everywhere puts one text wherever a document takes one from a file.
func everywhere(s string) *Document {
	d := &Document{Title: s, Lines: []string{s}, Foot: s}
	d.Add(
		Section{Heading: s, Aside: s, Panel: true, Parts: []Part{{Head: s, Text: []string{s}, Items: []Item{{Strong: s, Text: s, Below: Items(s)}, {Box: ToTick, Text: s}}}}},
		Section{Heading: s, Parts: []Part{
			{Text: []string{s}, Strong: true, Facts: []Fact{{Label: s, Text: s}}, Ranks: []Rank{{Figure: "1 %", Text: s, Note: s, Moved: []Weight{{"for", "+1", s}}}}, Items: Items(s, s), Numbers: true, Boxes: []string{s}},
			{Blanks: []Blank{{Label: s, Boxes: []string{s}}, {Label: s, Items: []string{s}}, {}}},
			{Figure: &Figure{Title: s, Key: s, Says: []string{s}}},
			{Table: &Table{Head: []string{s, s}, Room: true, Rows: [][]Cell{{{Text: s}, {Boxes: []string{s}}}, {{Kinds: []Kind{{Text: s, Boxes: []string{s}, Typed: s}}}, {}}}}},
			{Step: &Step{Number: 1, Kind: "check", Signal: "danger", Title: s, Notes: []string{s}, Do: s, Facts: []Fact{{Label: s, Text: s}}, Results: []Item{{Box: ToTick, Strong: s, Text: s}}}},
			{Step: &Step{Number: 2, Tick: true, Signal: "danger", Caution: s, Title: s, Do: s, Limits: []string{s}, Gauges: []string{s}, Boxes: []string{s}, Blanks: []Blank{{Label: s}}, Figure: &Figure{Name: "by-hand", Title: s, Key: s, Says: []string{s}}}},
		}},
	)
	return d
}

// Whatever stands in a text, it stays text: no line of the page is longer than
// the page, no heading, list, table row or element comes of it.
func stays(t testing.TB, s string) {
	d := everywhere(s)
	for _, width := range []int{LeastWidth, 80, MostWidth} {
		var page strings.Builder
		require.NoError(t, d.Text(&page, width))
		text := page.String()
		for _, line := range strings.Split(text, "\n") {
			assert.LessOrEqual(t, runewidth.StringWidth(line), width, "%q", line)
			assert.NotRegexp(t, "[\x00-\x08\x0b-\x1f\x7f\u202e]", line)
		}
	}
	_, markdown, html := written(t, d, 80)
	_, plainMarkdown, plainHTML := written(t, everywhere("a"), 80)
	assert.Equal(t, shape(plainMarkdown), shape(markdown), "%q", markdown)
	assert.Equal(t, strings.Count(plainHTML, "<"), strings.Count(html, "<"), "%q", html)
	words(t, html)
	inside := body(t, d)
	assert.Equal(t, strings.Count(body(t, everywhere("a")), "<"), strings.Count(inside, "<"), "%q", inside)
	words(t, "<!DOCTYPE html><div>"+inside+"</div>")
}

// shape is what each line of a Markdown page begins with, and how many cells a
// row of a table has.
func shape(markdown string) []string {
	var out []string
	for _, line := range strings.Split(markdown, "\n") {
		mark := strings.TrimLeft(line, " ")
		switch {
		case mark == "":
			out = append(out, "")
		case strings.HasPrefix(mark, "|"):
			out = append(out, strings.Repeat("|", strings.Count(strings.ReplaceAll(mark, `\|`, ""), "|")))
		case strings.HasPrefix(mark, "#"), strings.HasPrefix(mark, "- "), strings.HasPrefix(mark, "1. "), strings.HasPrefix(mark, "2. "):
			lead, _, _ := strings.Cut(mark, " ")
			out = append(out, lead)
		default:
			out = append(out, "text")
		}
	}
	return out
}

var hostile = []string{
	"plain text", "two\nlines\r\n# three", "# heading", "- item", "1. item", "2) item", "=====", "-----", "| a | b |", "<script>alert(1)</script>", "</style>\"'><img src=x onerror=y>",
	"[a](http://b)", "![a](b)", "`code`", "~~~", "***", "___", "&lt;b&gt;", "\\", strings.Repeat("long", 60), strings.Repeat("汉字", 60), "e\u0301\u200dx", "\x1b[31mred\x07", "\u202ereversed\u202c", "   ", "\t- x", "1\\. y", "{{.}}",
	"\uE000\uE001", strings.Repeat("a ", 300), "👩‍👩‍👧‍👦 family", "+", "9.", "\xec",
}

func TestHostileTextStaysText(t *testing.T) {
	for _, s := range hostile {
		t.Run(runewidth.Truncate(s, 20, ""), func(t *testing.T) { stays(t, s+"x") })
	}
}

func FuzzWriters(f *testing.F) {
	for _, s := range hostile {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) { stays(t, s+"x") })
}

// A dense page says the same as any other, without the empty lines.
func TestADensePageHasNoEmptyLine(t *testing.T) {
	d := all()
	d.Dense = true
	var dense strings.Builder
	require.NoError(t, d.Text(&dense, 60))
	assert.NotContains(t, dense.String(), "\n\n")
	assert.Equal(t, strings.ReplaceAll(allText, "\n\n", "\n"), dense.String())
}

// A heading without anything under it would stand over what comes next: it
// stays only where that belongs under it.
func TestAHeadAloneIsLeftOut(t *testing.T) {
	d := &Document{}
	d.Add(Section{Heading: "Panel", Parts: []Part{{Head: "Empty"}, {Head: "No row", Table: &Table{Head: []string{"Sign"}}}, {Head: "Kept", With: true}, Text("Said.")}})
	text, markdown, html := written(t, d, 80)
	for _, page := range []string{text, markdown, html} {
		assert.NotContains(t, page, "Empty")
		assert.NotContains(t, page, "No row")
		assert.Contains(t, page, "Kept")
	}
}

func TestNoLineIsBrokenWithinABox(t *testing.T) {
	d := &Document{}
	d.Add(Section{Parts: []Part{{Boxes: strings.Fields(strings.Repeat("lamp ", 40))}}})
	text, _, _ := written(t, d, 61)
	assert.Equal(t, 40, strings.Count(text, "[ ] lamp"), text)
}

// A table that is too wide for the page is written row by row.
func TestWideTableIsWrittenRowByRow(t *testing.T) {
	long := strings.Repeat("word ", 20)
	d := &Document{}
	d.Add(Section{Parts: []Part{{Table: &Table{Head: []string{"Place", "Now", "After"}, Room: true, Rows: [][]Cell{Cells("rear", long, "")}}}}})
	text, _, _ := written(t, d, 60)
	assert.True(t, strings.HasPrefix(text, "  rear: Now word word"), text)
	assert.Contains(t, text, "After ________")
	_, markdown, _ := written(t, &Document{Sections: []Section{{Parts: []Part{{Table: &Table{Head: []string{"Place", "Now"}, Room: true, Rows: append(Rows(2, 2), Cells("rear", long+long+long))}}}}}}, 60)
	assert.Contains(t, markdown, "| Place | Now |\n| --- | --- |\n| | |\n| | |\n| rear | word word")
}

// Nothing that ends a string of a style sheet is left in a page's foot.
func TestFootIsSafe(t *testing.T) {
	for _, s := range hostile {
		assert.NotRegexp(t, `["'\\<>{};()\n\r\f&@/]`, SafeFoot(s, 40))
		assert.LessOrEqual(t, len([]rune(SafeFoot(s, 40))), 40)
	}
	assert.Equal(t, "Pump 2 style script", SafeFoot(`Pump 2 </style> <script>"`, 40))
}

// No line begins with a per cent sign whose figure ends the line before.
func TestAFigureStaysWithItsPerCent(t *testing.T) {
	for width := 2; width < 40; width++ {
		lines := Wrap("left cylinder or right cylinder (13 %). Under 1 % of 100 %", width, width)
		for _, line := range lines {
			assert.False(t, width > 6 && strings.HasPrefix(line, "%"), "%d: %q", width, lines)
			assert.NotContains(t, line, glue, "%d: %q", width, lines)
		}
		assert.Equal(t, "leftcylinderorrightcylinder(13%).Under1%of100%", strings.ReplaceAll(strings.Join(lines, ""), " ", ""), width)
	}
}
