package pages

import (
	"time"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine"
)

// PracticeInput is an exercise at the practice pump that is over.
type PracticeInput struct {
	Title   string
	Lines   []string
	Told    []doc.Section   // how it went, in words
	Causes  []words.Weighed // the hidden causes with what spoke for and against them
	Plan    *engine.Report  // the tool's list at the start; nil if there was none
	Written time.Time
}

// mostLinks keeps the picture of a long exercise on one page.
const mostLinks = 10

// Practice is the page of an exercise, with the evidence and the planned order
// as pictures.
func Practice(in PracticeInput) *doc.Document {
	when := words.When(in.Written)
	d := &doc.Document{Title: in.Title, Lines: append(in.Lines[:len(in.Lines):len(in.Lines)], "Written: "+when+"."), Foot: "Practice pump, no real one - " + doc.SafeFoot(when, 30)}
	d.Add(in.Told...)
	if len(in.Causes) > 0 {
		d.Add(doc.Section{Heading: "The hidden causes: what was seen, for and against", Parts: []doc.Part{drawn(evidencePicture(in.Causes, mostLinks), false)}})
	}
	if in.Plan != nil {
		if f := foundPicture(in.Plan); f != nil {
			d.Add(doc.Section{Heading: "The tool's list at the start: how soon it finds the trouble", Parts: []doc.Part{drawn(*f, false)}})
		}
	}
	return d
}
