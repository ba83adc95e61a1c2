package pages

import (
	"slices"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/drawing"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// blockTitles are the blocks of readings in words.
var blockTitles = map[string]string{
	"rod-in-opening": "Rod in its opening", "upper-guide": "Clearance over the crosshead",
	"rod-face-gap": "Gap at the extension rod's face", "fluid-end-gap": "Gap between fluid end and power end",
	"liner-bore": "Liner bore", "piston-rod": "Piston rod", "extension-rod": "Extension rod",
	"tank-test": "Tank test", "before-and-now": "Gauges before and now", "suction-line": "Suction",
	"shims": "Shims under the lower guide",
}

// BlockTitle is a block of readings of a case file in words.
func BlockTitle(block string) string { return blockTitles[block] }

// rodHow says how a rod is measured in its opening, gaugesHow where the gauges before
// come from.
const (
	rodHow    = "Rods parted, crosshead seated on its lower guide. Turn by hand under the lock. Top and bottom must add up to the same at all three places, else read again."
	gaugesHow = "Before: what it ran at while it was sound, from the tour sheet or the driller's log. Leave empty what nobody wrote down."
)

// BlockHow says how the readings of a block are taken; "" where the words beside the
// figures say all.
func BlockHow(block string) string {
	switch block {
	case "rod-in-opening":
		return rodHow
	case "before-and-now":
		return gaugesHow
	}
	return ""
}

// Readings is what the readings of one block say at one place: what comes before
// everything else, the picture, where things stand, what shims would do and what they
// would leave, and when to ask. The first line sums it up.
func Readings(in Input, block string, at evidence.Place) *doc.Document {
	r := in.Measured
	d := &doc.Document{}
	d.Add(stops(r), contradictions(r))
	if r.LeavePump {
		return d
	}
	said := blockSays(in, block, at)
	if len(said.Sections) == 0 && block == "rod-in-opening" {
		said.Add(doc.Section{Heading: BlockTitle(block), Parts: []doc.Part{openRod(in, at)}})
	}
	d.Lines = said.Lines
	d.Add(said.Sections...)
	d.Add(blockSigns(r, block, at), missing(r), haste(r))
	if slices.ContainsFunc(r.Beside, func(b chances.Beside) bool { return b.Name == block }) {
		d.Lines = []string{"Taken beside moving parts: it is not used."}
	}
	return d
}

// blockSays is what a block comes to, with a line that sums it up.
func blockSays(in Input, block string, at evidence.Place) *doc.Document {
	m := in.Measured.Measured
	d := &doc.Document{}
	switch block {
	case "rod-in-opening", "upper-guide":
		for i := range m.Centring {
			if c := &m.Centring[i]; c.Cylinder == at.Cylinder {
				if c.Outcome != "" {
					d.Lines = []string{centringSum(*c)}
				}
				d.Add(doc.Section{Heading: words.Capital(words.Place(at)), Parts: centring(c, rodPictures(c, in.Case, true))})
				d.Add(notes(append([]string{alignNote}, doc.Each(m.Cautions, noteText)...)...))
			}
		}
	case "rod-face-gap", "fluid-end-gap":
		for i := range m.Gaps {
			if g := &m.Gaps[i]; g.Of == block && g.Cylinder == at.Cylinder {
				d.Add(gap(g))
			}
		}
	case "liner-bore", "piston-rod", "extension-rod":
		for i := range m.Surveys {
			if s := &m.Surveys[i]; s.Of == block && s.Cylinder == at.Cylinder {
				d.Add(survey(s))
			}
		}
	case "tank-test":
		if m.Tank != nil {
			d.Lines = []string{tankLine(m.Tank)}
			d.Add(tank(m.Tank))
		}
	case "before-and-now":
		if m.BeforeAndNow != nil {
			d.Lines = changeLines(m.BeforeAndNow)
			d.Add(beforeAndNow(m.BeforeAndNow))
		}
	case "suction-line":
		if m.Suction != nil {
			d.Add(suction(m.Suction))
		}
	}
	return d
}

// openRod is the rod in its opening of which nothing was read yet.
func openRod(in Input, at evidence.Place) doc.Part {
	r := drawing.Rod{Name: slug("rod", in.Case, at.Cylinder), Cylinder: words.Place(at), Unit: words.InThou.Unit()}
	r.Open()
	return drawn(r.Draw(), false)
}

// blockSigns are the signs that the readings of a block tell of, there.
func blockSigns(r *engine.Report, block string, at evidence.Place) doc.Section {
	of := *r
	measured := *r.Measured
	measured.Thresholds = doc.Only(measured.Thresholds, func(f chances.MeasuredFinding) bool {
		return rules.MeasuredValue(f.Of).Kind().Block == block && f.Place == at
	})
	of.Measured = &measured
	if len(measured.Thresholds) == 0 {
		return doc.Section{}
	}
	return signs(&of, ofPump(&of, measured.Thresholds[0]))
}
