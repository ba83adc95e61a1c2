package sheet

import (
	"time"

	"telltale/cmd/internal/page"
	"telltale/cmd/internal/words"
	"telltale/engine"
)

// PracticeInput is an exercise at the practice pump that is over.
type PracticeInput struct {
	Title   string
	Lines   []string
	Parts   []page.Part     // how it went, in words
	Causes  []words.Weighed // the hidden causes with what spoke for and against them
	Plan    *engine.Report  // the tool's list at the start; nil if there was none
	Written time.Time
}

// mostLinks keeps the picture of a long exercise on one page.
const mostLinks = 10

// Practice is the page of an exercise, with the evidence and the planned order
// as pictures.
func Practice(in PracticeInput) *Page {
	p := &Page{Title: in.Title, Lines: append(in.Lines[:len(in.Lines):len(in.Lines)], "Written: "+written(in.Written)+"."), Foot: "Practice pump, no real one - " + safeFoot(written(in.Written), 30)}
	addParts(p, in.Parts, nil)
	if len(in.Causes) > 0 {
		p.add(Section{Heading: "The hidden causes: what was seen, for and against", Parts: []Part{{Picture: evidencePicture(in.Causes, mostLinks)}}})
	}
	if in.Plan != nil {
		p.add(Section{Heading: "The tool's list at the start: how soon it finds the trouble", Parts: []Part{{Picture: foundPicture(in.Plan)}}})
	}
	return p
}
