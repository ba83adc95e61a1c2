package sheet

import (
	"strings"

	"telltale/cmd/internal/page"
	"telltale/engine/figures"
	"telltale/evidence"
)

// Align is the page of align with its pictures.
func Align(in Input) *Page {
	p := in.page("ALIGNMENT. ", in.Measured)
	if in.Measured.LeavePump {
		addParts(p, page.AlignParts(in.Measured), nil)
		return p
	}
	pictures := map[string][]Part{}
	for i := range in.Measured.Measured.Centring {
		c := &in.Measured.Measured.Centring[i]
		pictures[page.CentringParts(c)[0].Heading] = picturesOf(c, in.Case)
	}
	addParts(p, page.AlignParts(in.Measured), pictures)
	return p
}

// Output is the page of output with its picture.
func Output(in Input) *Page {
	p := in.page("OUTPUT. ", in.Measured)
	parts := page.OutputParts(in.Measured)
	if pic := turnPicture(in.Measured, in.Turn); pic != nil && !in.Measured.LeavePump {
		addParts(p, parts[:len(parts)-1], nil)
		p.add(Section{Heading: "Which guide carries the crosshead", Parts: []Part{{Picture: pic}}})
		parts = parts[len(parts)-1:]
	}
	addParts(p, parts, nil)
	return p
}

// addParts makes sections of the parts of a page, with pictures behind the
// part that they belong to.
func addParts(p *Page, parts []page.Part, pictures map[string][]Part) {
	for _, part := range parts {
		s := Section{Heading: part.Heading, Panel: part.Heading == "Stop first", Parts: partsOf(part, false)}
		s.Parts = append(s.Parts, pictures[part.Heading]...)
		p.add(s)
	}
}

// partsOf lays a part of a page out, its list behind its table; with head its
// heading stands over it.
func partsOf(p page.Part, head bool) []Part {
	first := Part{Text: p.Paras}
	if head {
		first.Head = p.Heading
	}
	if p.Procedure != nil {
		first.With = true
		return append([]Part{first}, procedureSteps(p.Procedure)...)
	}
	list := Part{Numbers: p.Numbered}
	for _, item := range p.List {
		list.Items = append(list.Items, strings.TrimSpace(item))
	}
	if len(p.Rows) == 0 { // one piece: a heading and its list stay together
		first.Items, first.Numbers = list.Items, list.Numbers
		return []Part{first}
	}
	first.Table = &Table{Head: p.Head}
	for _, row := range p.Rows {
		first.Table.Rows = append(first.Table.Rows, cells(row...))
		for i, text := range row {
			if text == page.Room {
				first.Whole, first.Table.Room, first.Table.Rows[len(first.Table.Rows)-1][i].Text = true, true, ""
			}
		}
	}
	if len(list.Items) == 0 {
		return []Part{first}
	}
	return []Part{first, list}
}

// procedureSteps lays the steps of a procedure out, each with its box.
func procedureSteps(p *figures.Procedure) []Part {
	var out []Part
	for _, s := range p.Steps {
		step := &Step{Number: s.Number, Title: s.Title, Signal: s.Signal, Caution: s.Caution, Facts: []Fact{{"Do", s.Do}}}
		switch s.Writes {
		case "name":
			step.Blanks = []Blank{{Label: "Decided by:", Items: []string{"name", "front", "rear"}}}
		case "before", "after":
			step.Blanks = []Blank{{Label: "In the table below.", Items: []string{"taken by"}}}
		}
		out = append(out, Part{Step: step})
	}
	return out
}

func picturesOf(c *figures.Centring, k *evidence.Case) []Part {
	var out []Part
	for _, p := range rodPictures(c, k) {
		out = append(out, Part{Picture: &p})
	}
	return append(out, Part{Picture: sidePicture(c, k)})
}

// centringParts is one cylinder's decision, pictures and tables.
func centringParts(c *figures.Centring, k *evidence.Case) []Part {
	var out []Part
	for i, p := range page.CentringParts(c) {
		out = append(out, partsOf(p, true)...)
		if i == 0 {
			out = append(out, picturesOf(c, k)...)
		}
	}
	return out
}
