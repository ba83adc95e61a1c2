package dialogue

import (
	"telltale/cmd/internal/talk"
	"telltale/engine/interview"
	"telltale/evidence/record"
)

// lately asks what was done on the pump in the last days.
func (d *Dialogue) lately() error {
	if err := d.term.Gap(); err != nil {
		return err
	}
	i, err := d.choose("In the last days: was work done on this pump, or something changed in mud, lines or string?",
		[]talk.Option{{Text: "yes"}, {Text: "no"}, {Text: "don't know"}})
	if err != nil {
		return err
	}
	if i > 0 {
		d.remember()
		d.sitting.Declined[interview.LatelyKey] = true
		return nil
	}
	return d.whichWork()
}

// whichWork takes the works by their numbers.
func (d *Dialogue) whichWork() error {
	works := d.book.Works.List
	var options []talk.Option
	for _, w := range works {
		options = append(options, talk.Option{Text: w.Title})
	}
	options = append(options, talk.Option{Key: "n", Text: "none of these"}, talk.Option{Key: "b", Text: "back"}, talk.Option{Key: "q", Text: "leave"})
	chosen, err := d.term.Several("What was it? (several numbers with blanks between)", options)
	if err != nil {
		return err
	}
	switch options[chosen[0]].Key {
	case "n":
		d.remember()
		d.sitting.Declined[interview.LatelyKey] = true
		return nil
	case "b":
		return errBack
	case "q":
		return errLeave
	}
	var edits []record.Edit
	for _, c := range chosen {
		edits = append(edits, record.AddRecent(works[c].ID))
	}
	return d.write(edits...)
}
