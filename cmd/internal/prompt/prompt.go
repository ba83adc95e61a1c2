package prompt

import "telltale/evidence"

// Prompt is one thing that is put to somebody. As JSON:
//
//	{"id": "where wiper-leaks", "rests": "9f86d081884c7d65",
//	 "about": [{"kind": "sign", "id": "wiper-leaks"}],
//	 "body": [{"kind": "block", "text": "Does the wiper leak?"}], "ask": "Where?",
//	 "options": [{"id": "at 2", "title": "cylinder 2", "together": true, "about": {"kind": "place", "cylinder": "2"}},
//	             {"id": "unknown", "title": "don't know, did not look", "aside": true}],
//	 "back": "back to the last answer"}
//
// Without options and without an entry nothing is asked any more: the talk is
// over.
type Prompt struct {
	ID string `json:"id"`
	// Rests is the digest of the case that it was made from; "" without a case.
	Rests   string   `json:"rests,omitempty"`
	About   []About  `json:"about,omitempty"`
	News    []Line   `json:"news,omitempty"` // said once, before all else
	Body    []Line   `json:"body,omitempty"`
	Ask     string   `json:"ask,omitempty"` // what the options answer, where Body does not ask it
	Options []Option `json:"options,omitempty"`
	// Ticked is the title of answering with those that are chosen together, where it says
	// more than that.
	Ticked string `json:"ticked,omitempty"`
	// Whole: all options are shown at once, however many: who answers has read them all.
	Whole bool   `json:"whole,omitempty"`
	Entry *Entry `json:"entry,omitempty"`
	Back  string `json:"back,omitempty"`  // the title of going back; "" where there is no way back
	Leave string `json:"leave,omitempty"` // the title of leaving; "" where it is not offered
}

// Over says that nothing is asked any more.
func (p *Prompt) Over() bool { return len(p.Options) == 0 && p.Entry == nil }

// About names what a prompt or an option is about: a sign, step, check, cause or
// place.
type About struct {
	Kind     string `json:"kind"`
	ID       string `json:"id,omitempty"`
	Cylinder string `json:"cylinder,omitempty"`
	End      string `json:"end,omitempty"`
}

// Option is one answer that can be chosen by its id.
type Option struct {
	ID    string `json:"id"`
	Title string `json:"title"`
	// Together: it can be chosen with others of this kind; else it stands alone.
	Together bool `json:"together,omitempty"`
	// Says is what choosing it says of it, where that is not plain, as "not so".
	Says string `json:"says,omitempty"`
	// Aside: it stands beside the answers proper, as "none of them" or "report
	// something else".
	Aside bool   `json:"aside,omitempty"`
	About *About `json:"about,omitempty"`
	// Heading stands above it and those that follow.
	Heading string `json:"heading,omitempty"`
	// Shows makes it no answer: these lines are shown, such as why it is asked,
	// and the prompt stands as it did.
	Shows []Line `json:"shows,omitempty"`
}

// Entry is an answer in somebody's own words.
type Entry struct {
	Hint  string `json:"hint,omitempty"`  // what it can be, beside the options
	Blank string `json:"blank,omitempty"` // what an empty answer does, as "leaves it out"; "" if there must be one
	// Beside: words are no answer to what is asked; they tell of something else.
	Beside bool `json:"beside,omitempty"`
	// Long: it may be a whole story.
	Long bool `json:"long,omitempty"`
	// Of and Unit make it a quantity: its dimension, and the unit of a bare number.
	Of   evidence.Dimension `json:"of,omitempty"`
	Unit string             `json:"unit,omitempty"`
}

// LineKind is what a Line is.
type LineKind string

// The kinds of a line.
const (
	Head  LineKind = "head"  // a heading
	Text  LineKind = "text"  // a paragraph
	Block LineKind = "block" // a paragraph that begins something else
	Below LineKind = "below" // a paragraph that belongs to the one above
	Item  LineKind = "item"  // an entry of a list below
	Under LineKind = "under" // a paragraph that belongs to an entry above
	Done  LineKind = "done"  // an entry of a list that is done
	Open  LineKind = "open"  // an entry of a list that is not
)

// Line is one paragraph.
type Line struct {
	Kind LineKind `json:"kind"`
	Mark string   `json:"mark,omitempty"` // of an entry that has a figure of its own before it, as "3."
	Text string   `json:"text"`
}

// Lines makes lines of one kind.
func Lines(kind LineKind, texts ...string) []Line {
	var out []Line
	for _, text := range texts {
		out = append(out, Line{Kind: kind, Text: text})
	}
	return out
}
