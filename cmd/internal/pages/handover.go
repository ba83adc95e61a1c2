package pages

import (
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/evidence"
)

// handOver is what the next crew needs, in short: what stands, what was found and
// done, room for what was done besides, and the names.
func (j *jobSheet) handOver() doc.Section {
	now := j.standsNow()
	now.Items = append(now.Items, doc.Items(append(j.foundNow(), doc.Only(j.doneSoFar(), func(line string) bool { return line != nothingDone })...)...)...)
	boxes := doc.Part{}
	tick := func(label string, texts []string) {
		if len(texts) > 0 {
			boxes.Blanks = append(boxes.Blanks, doc.Blank{Label: label, Boxes: texts})
		}
	}
	tick("Closed again:", doc.Each(j.Case.Pump.Open, func(at evidence.At) string { return words.Titled(j.Book.Openings.Get(at.ID).Title, at.Place) }))
	tick("Roots looked at:", doc.Each(allRootBlanks(j.Plan.Report), func(b doc.Blank) string {
		return strings.TrimSuffix(strings.TrimPrefix(b.Label, rootLooked), ":")
	}))
	room := doc.Part{Columns: true, Blanks: []doc.Blank{
		{Label: "Found:"}, {Label: "Corrected:"}, {Label: "Looked at again:"}, {Label: "Parts used, wanted:"},
		{Label: "Locks that hang, whose:"}, {Label: "Bleeds, valves left open:"}, {Label: "Left open or half done:"}, {Label: "Turned by hand:"},
		{Label: "Handed over by, time:"}, {Label: "Taken over by, time:"}, {Label: "Second person:"}, {Label: "In charge of the permit:"},
	}}
	return doc.Section{Heading: "Hand-over", Parts: []doc.Part{now, boxes, room}}
}

// tickedIf is a box that is ticked if the list has it.
func tickedIf(list []evidence.At, at evidence.At) doc.Box {
	if slices.ContainsFunc(list, func(a evidence.At) bool { return a.ID == at.ID && a.Place == at.Place }) {
		return doc.Ticked
	}
	return doc.ToTick
}
