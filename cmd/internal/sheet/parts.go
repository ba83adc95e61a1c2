package sheet

import (
	"strings"

	"telltale/cmd/internal/doc"
)

// Page is one sheet: the structure that HTML and Markdown are written from.
type Page struct {
	Title    string
	Lines    []string // under the title
	Foot     string   // at the foot of each printed page
	Sections []Section
}

// Section is a heading with what stands under it.
type Section struct {
	Heading string
	Panel   bool // framed: what comes before everything else
	Keep    bool // on one page, if it fits on one
	Parts   []Part
}

// Part is one piece of a section. What is empty is left out; the order is that
// of the fields.
type Part struct {
	Head    string   // a smaller heading
	Signal  string   // a signal word before the head
	Text    []string // paragraphs
	Strong  bool     // the paragraphs
	Picture *doc.Figure
	Items   []string // a list
	Numbers bool     // of the list
	Boxes   []string // boxes, each with its word
	Ticks   []Tick
	Blanks  []Blank
	Table   *Table
	Step    *Step
	Whole   bool // kept on one page
	With    bool // the same, and on one with the next part
	Half    bool // beside the next part, if that is half as well
	Columns bool // lists in two columns
}

// Tick is a line with a box before it.
type Tick struct {
	Done     bool // ticked already
	Strong   string
	Text     string
	Initials bool     // with room for initials
	More     []string // further boxes behind the text
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

// Table is a table with room to write: an empty cell is left open.
type Table struct {
	Head []string
	Rows [][]Cell
	Room bool // tall rows, to write in
	Flow bool // may run over pages however short
}

// Cell is text, or boxes each with its word, or both.
type Cell struct {
	Text  string
	Boxes []string
	Kinds []Kind // instead of both
	Tight bool   // kept on one line
	Wide  bool   // not squeezed by its neighbours
	Long  bool   // room for a sentence
}

// Kind is a kind of a sign with its boxes.
type Kind struct {
	Text  string
	Boxes []string
}

// mostTight is how many letters the words of boxes may have together to stay
// on one line.
const mostTight = 12

// Keep says whether the part is kept on one page.
func (p *Part) Keep() bool { return p.Whole || p.Table != nil && p.Table.Small() }

// Small says whether the table is kept on one page.
func (t *Table) Small() bool { return len(t.Rows) <= 8 && !t.Flow }

// Class is the cell's class in the style sheet: open where there is room to
// write.
func (c Cell) Class() string {
	switch {
	case len(c.Kinds) > 0:
		return "kinds"
	case c.Tight, len(c.Boxes) > 0 && len(strings.Join(c.Boxes, "")) <= mostTight:
		return "tight"
	case len(c.Boxes) > 1:
		return "pairs"
	case c.Wide:
		return "wide"
	case c.Long:
		return "long"
	case c.Text == "" && len(c.Boxes) == 0:
		return "open"
	}
	return ""
}

// Step is one step of the job.
type Step struct {
	Number  int // 0: not numbered
	Signal  string
	Caution string // with the signal word, behind what to do
	Title   string
	Notes   []string
	Facts   []Fact
	Results []Tick
	Boxes   []string // results that need no words
	Limits  []string // of what is read
	Gauges  []string // what it is read with
	Blanks  []Blank
}

// Short says whether the step is said in one paragraph.
func (s *Step) Short() bool { return len(s.Results) == 0 }

// Fact is a labelled line of a step.
type Fact struct{ Label, Text string }

func text(lines ...string) Part { return Part{Text: lines} }

func cells(texts ...string) []Cell {
	out := make([]Cell, len(texts))
	for i, t := range texts {
		out[i].Text = t
	}
	return out
}

// add appends a section that has something to say.
func (p *Page) add(s Section) {
	if len(s.Parts) > 0 {
		p.Sections = append(p.Sections, s)
	}
}
