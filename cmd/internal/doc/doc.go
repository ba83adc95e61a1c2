// Package doc holds the content of a page without a layout, and writes it as
// plain text (text.go), as Markdown (markdown.go) and as HTML (html.go,
// page.tmpl): one file that prints on paper, or what stands inside another page. Each writer writes all of a Document:
// none leaves out what another shows, but that text and Markdown say a figure
// in words. It knows nothing of pumps, and imports nothing of telltale.
package doc

import "slices"

// Document is one page.
type Document struct {
	Title    string
	Lines    []string // under the title
	Foot     string   // at the foot of each printed page; see SafeFoot
	Dense    bool     // as text without empty lines
	Sections []Section

	figures []string // names of those that stand at a step
}

// Section is a heading with what stands under it.
type Section struct {
	Heading string
	Aside   string // behind the heading, of less weight
	Panel   bool   // framed: what comes before everything else
	Keep    bool   // on one printed page, if it fits on one
	Page    bool   // begins a printed page
	Parts   []Part
}

// Part is one piece of a section. What is empty is left out; the order is that
// of the fields.
type Part struct {
	Signal  string // a signal word before the head
	Head    string // a smaller heading
	To      []Ref  // of the head
	Text    []string
	Strong  bool // the paragraphs
	Large   bool // the paragraphs, what is read first on the page
	Facts   []Fact
	Ranks   []Rank
	Figure  *Figure
	Items   []Item
	Numbers bool     // of the items
	Boxes   []string // boxes in a row, each with its word
	Blanks  []Blank
	Table   *Table
	Step    *Step

	Whole   bool // kept on one printed page
	With    bool // the same, and on one with the next part
	Half    bool // beside the next part, if that is half as well
	Columns bool // lists in two columns
}

// Fact is a line behind its label.
type Fact struct {
	Label, Text string
	To          []Ref
}

// Ref is something that a text names and that has a page of its own: its kind
// ("cause"), its id, and the words that name it, the id itself where there are
// none. The Refs of a text come in the order of their words in it. Only Body makes
// links of them.
type Ref struct{ Kind, ID, Words string }

// Rank is one of several things in order, behind its figure, with what moved
// it.
type Rank struct {
	Figure string // "30 %"
	Text   string
	To     []Ref
	Note   string // below it
	Moved  []Weight
}

// Weight is what moved a Rank, and by how much: "for", "+3", ...
type Weight struct{ Way, Figure, Text string }

// Figure is a picture with its equivalent in words.
type Figure struct {
	Name  string // unique on a page; letters, digits and dashes
	Title string
	Key   string   // how to read it
	Says  []string // what it shows, in sentences
	SVG   string   // an svg element, in which every text is escaped
	Told  bool     // a table of the page has all that it shows: it is not said again in words
}

// Box says whether a line has a box to tick.
type Box int

// The boxes.
const (
	NoBox Box = iota
	ToTick
	Ticked
)

// Item is one line of a list, with what belongs below it.
type Item struct {
	Box      Box
	Strong   string // before the text
	Text     string
	To       []Ref
	Initials bool // room for initials behind it
	Below    []Item
}

// Blank is a label with boxes to choose from, or with lines to write on, one
// for each item; a line across if there are neither.
type Blank struct {
	Label string
	Boxes []string
	Items []string
}

// Line says whether the blank is one line across.
func (b Blank) Line() bool { return len(b.Boxes)+len(b.Items) == 0 }

// Small says whether the blank is no longer than a line of a column.
func (b Blank) Small() bool { return len(b.Boxes) == 0 && len(b.Items) <= 1 }

// Table has a head and rows. In one with room to write, an empty cell is left
// open.
type Table struct {
	Head []string
	Rows [][]Cell
	Room bool // tall rows, to write in
	Flow bool // may run over pages however short
}

// Cell is text, or boxes each with its word, or both, and lines to write on.
type Cell struct {
	Text   string
	To     []Ref
	Boxes  []string
	Kinds  []Kind  // instead of both
	Blanks []Blank // behind both
	Typed  string  // the words that type it in
	Tight  bool    // kept on one line
	Wide   bool    // not squeezed by its neighbours
	Long   bool    // room for a sentence
}

// Kind is a kind of a sign with its boxes.
type Kind struct {
	Text  string
	Boxes []string
	Typed string // the word that types it in
}

// Step is one step of a job.
type Step struct {
	Number  int    // 0: not numbered
	Tick    bool   // with a box to tick
	Kind    string // said before the title: "check"
	Signal  string
	Title   string
	To      []Ref    // of the title
	Notes   []string // behind the title
	Do      string
	Caution string // before the step, with the signal word, which then does not stand before the title
	Facts   []Fact
	Limits  []string // of what is read
	Gauges  []string // what it is read with
	Results []Item
	Boxes   []string // results that need no words
	Blanks  []Blank
	Figure  *Figure // of how it is done

	Initials bool // room for initials, if it is to be ticked
	Short    bool // on few lines: what to do behind the title, the results in two columns
}

// Add appends those of the sections that have something to say, without the
// parts that say nothing; a heading that belongs with the next part stays. The
// figure of a step stands once in a document: a later step only names it.
func (d *Document) Add(sections ...Section) {
	for _, s := range sections {
		says := slices.ContainsFunc(s.Parts, Part.says)
		s.Parts = slices.DeleteFunc(slices.Clone(s.Parts), func(p Part) bool { return !p.says() && (p.Head == "" || !p.With) })
		if says {
			d.figuresOnce(s.Parts)
			d.Sections = append(d.Sections, s)
		}
	}
}

// figuresOnce takes the figures from the steps that are not the first to have
// them, and names them there instead.
func (d *Document) figuresOnce(parts []Part) {
	for i, p := range parts {
		if p.Step == nil || p.Step.Figure == nil {
			continue
		}
		name := p.Step.Figure.Name
		if !slices.Contains(d.figures, name) {
			d.figures = append(d.figures, name)
			continue
		}
		later := *p.Step
		later.Facts, later.Figure = append(slices.Clone(p.Step.Facts), Fact{Label: "Picture above", Text: p.Step.Figure.Title}), nil
		parts[i].Step = &later
	}
}

func (p Part) says() bool {
	return len(p.Text)+len(p.Facts)+len(p.Ranks)+len(p.Items)+len(p.Boxes)+len(p.Blanks) > 0 || p.Figure != nil || p.Table != nil && len(p.Table.Rows) > 0 || p.Step != nil
}

// Said drops the texts that are empty.
func Said(texts ...string) (out []string) {
	for _, t := range texts {
		if t != "" {
			out = append(out, t)
		}
	}
	return out
}

// Each makes one thing of each in a list.
func Each[T, U any](list []T, one func(T) U) (out []U) {
	for _, t := range list {
		out = append(out, one(t))
	}
	return out
}

// Only gives those of a list that are so.
func Only[T any](list []T, so func(T) bool) (out []T) {
	for _, x := range list {
		if so(x) {
			out = append(out, x)
		}
	}
	return out
}

// If is a text that is said only where something holds; else it is empty.
func If(holds bool, text string) string {
	if holds {
		return text
	}
	return ""
}

// Text is a part of paragraphs; an empty text is none.
func Text(lines ...string) Part { return Part{Text: Said(lines...)} }

// List is a part with a line for each text.
func List(texts ...string) Part { return Part{Items: Items(texts...)} }

// Items gives a line for each text; an empty one is none.
func Items(texts ...string) []Item {
	return Each(Said(texts...), func(text string) Item { return Item{Text: text} })
}

// Cells gives a cell for each text.
func Cells(texts ...string) []Cell {
	out := make([]Cell, len(texts))
	for i, t := range texts {
		out[i].Text = t
	}
	return out
}

// Rows gives empty rows to write in.
func Rows(rows, columns int) [][]Cell {
	out := make([][]Cell, rows)
	for i := range out {
		out[i] = make([]Cell, columns)
	}
	return out
}
