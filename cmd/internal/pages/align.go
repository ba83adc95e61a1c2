package pages

import (
	"cmp"
	"fmt"
	"slices"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/figures"
	"telltale/evidence"
)

// alignNote says how the figures of align are to be read.
const alignNote = "A height below zero is low. Give or take covers about 95 in 100. A ? means nearer to the limit than the readings can tell. Where a reading is the largest leaf that enters, half a leaf is added."

// Align is where the rods stand in their openings, what shims would do, and
// what else was measured by the feeler.
func Align(in Input) *doc.Document {
	r := in.Measured
	d := in.begin("ALIGNMENT. ", r)
	d.Add(before(r)...)
	if r.LeavePump {
		d.Add(notes())
		return d
	}
	d.Add(ratings(r))
	for i := range r.Measured.Centring {
		c := &r.Measured.Centring[i]
		d.Add(doc.Section{Heading: words.Capital(words.Cylinder(c.Cylinder)), Parts: centring(c, rodPictures(c, in.Case, false))})
	}
	for i := range r.Measured.Gaps {
		d.Add(gap(&r.Measured.Gaps[i]))
	}
	for i := range r.Measured.Surveys {
		d.Add(survey(&r.Measured.Surveys[i]))
	}
	if len(r.Measured.Centring)+len(r.Measured.Gaps)+len(r.Measured.Surveys) == 0 {
		d.Add(doc.Section{Heading: "Nothing to work out", Parts: []doc.Part{doc.Text("The case has no readings of a rod, a guide, a face, a liner or a rod's size. Write them under measured:.")}})
	}
	foot := []string{doc.If(packs(r) > 1, "The shims on hand are counted for each cylinder by itself. Look whether there are enough for all."), alignNote}
	d.Add(signs(r, false), missing(r), gauges(r), notes(append(foot, doc.Each(r.Measured.Cautions, noteText)...)...))
	return d
}

// packs counts the cylinders that are to get shims.
func packs(r *engine.Report) int {
	n := 0
	for _, c := range r.Measured.Centring {
		if len(c.Packs) > 0 {
			n++
		}
	}
	return n
}

// centring says the decision first, then what it rests on, with its pictures.
func centring(c *figures.Centring, pictures []doc.Part) []doc.Part {
	first := doc.Text(append([]string{doc.Ended(c.Title)}, wantedLines(c)...)...)
	first.Items = doc.Items(doc.Each(c.Notes, noteText)...)
	out := append([]doc.Part{first}, pictures...)
	for i := range c.Planes {
		out = append(out, plane(c, i)...)
		if c.Planes[i].Side != nil {
			out = append(out, side(c, i))
		}
	}
	if len(c.Upper) > 0 {
		out = append(out, upper(c))
	}
	out = append(append(out, sums(c)...), doc.Part{Head: "How", Items: doc.Items(c.Do...), Numbers: true})
	return append(out, procedures(c)...)
}

func plane(c *figures.Centring, i int) []doc.Part {
	p, r := &c.Planes[i], words.Ruler{Metric: c.Metric}
	b := doc.Part{Head: "Rod in its opening" + doc.If(len(c.Planes) > 1, fmt.Sprintf(", plane %d", i+1))}
	line := "In " + r.Head() + "; " + c.Method + "."
	if p.At != nil {
		line += fmt.Sprintf(" Plane at %.1f in (%.0f mm) from the crosshead's centre.", *p.At/words.MetresPerInch, *p.At*1000)
	}
	b.Text = append(b.Text, line)
	if h := p.Height; h != nil && !suspect(p) {
		b.Text = append(b.Text, heightLine(r, h))
	}
	b.Table = positionTable(r, p, afterHead(c))
	if p.Rests != nil && p.Rests.Mean*p.Rests.Mean > leastRest*leastRest {
		return []doc.Part{b, doc.List("After that the rod would still stand " + r.Stands(*p.Rests, "low", "high") + " here. It is for the engineer to say what comes first.")}
	}
	return []doc.Part{b}
}

// heightLine says where the rod stands and what it does along the stroke.
func heightLine(r words.Ruler, h *figures.Trend) string {
	line := "On average " + r.Stands(h.Mean, "low", "high") + r.Give(h.Mean) + "."
	switch {
	case h.Change == nil:
	case !h.Changes:
		line += " From back to front it does not change by more than the doubt."
	default:
		line += " From back to front it gets " + r.Stands(*h.Change, "lower", "higher") + r.Give(*h.Change) + "."
	}
	return line
}

// afterHead heads what is foreseen: an "if" where the lift is not to be made.
func afterHead(c *figures.Centring) string { return cmp.Or(doc.If(c.IfRaised(), "if raised"), "after") }

func positionTable(r words.Ruler, p *figures.Plane, foreseen string) *doc.Table {
	g := &doc.Table{Head: []string{"Crosshead", "Top", "Bottom", "Height"}}
	if slices.ContainsFunc(p.Positions, func(s figures.Position) bool { return s.After != nil }) {
		g.Head = append(g.Head, "Height "+foreseen)
	}
	for _, s := range p.Positions {
		row := doc.Cells(positionName(s), r.Cell(s.Top), r.Cell(s.Bottom), r.Cell(s.Height), r.Cell(nil))
		if s.After != nil {
			row[4].Text = r.Cell(&s.After.Height)
		}
		g.Rows = append(g.Rows, row[:len(g.Head)])
	}
	return g
}

// side shows how far the rod stands aside; no shim moves it.
func side(c *figures.Centring, i int) doc.Part {
	p, r := &c.Planes[i], words.Ruler{Metric: c.Metric}
	return doc.Part{
		Head: "Rod aside in its opening",
		Text: []string{fmt.Sprintf("On average %s%s. Shims under a guide do not move it.", r.Stands(p.Side.Mean, "to the left", "to the right"), r.Give(p.Side.Mean))},
		Table: &doc.Table{Head: []string{"Crosshead", "Left", "Right", "To the right"}, Rows: doc.Each(p.Positions, func(s figures.Position) []doc.Cell {
			return doc.Cells(positionName(s), r.Cell(s.Left), r.Cell(s.Right), r.Cell(s.Side))
		})},
	}
}

func upper(c *figures.Centring) doc.Part {
	r := words.Ruler{Metric: c.Metric}
	b := doc.Part{Head: "Over the crosshead, at the upper guide", Text: []string{"In " + r.Head() + "."}}
	if c.Least != nil && c.Most != nil {
		b.Text[0] += fmt.Sprintf(" Keep %s to %s (%s; this pump's manual governs).", r.Say(figures.Length{Mean: *c.Least}), r.Say(figures.Length{Mean: *c.Most}), c.LimitsBasis)
	}
	after := slices.ContainsFunc(c.Upper, func(u figures.UpperSpot) bool { return u.After != nil })
	fix := slices.ContainsFunc(c.Upper, func(u figures.UpperSpot) bool { return u.AfterBoth != nil })
	g := &doc.Table{Head: []string{"Place", "Now", ""}}
	if after {
		g.Head = append(g.Head, words.Capital(afterHead(c)), "")
	}
	if fix {
		g.Head = append(g.Head, "Upper shims too")
	}
	for _, u := range c.Upper {
		row := []string{u.Name, r.Cell(&u.Length), stands[u.Stand]}
		if after {
			row = append(row, afterUpper(r, u.After), stands[u.AfterStand])
		}
		if fix {
			row = append(row, r.Cell(u.AfterBoth))
		}
		g.Rows = append(g.Rows, doc.Cells(row...))
	}
	b.Table = g
	return b
}

func afterUpper(r words.Ruler, l *figures.Length) string {
	if l != nil && l.Mean <= 0 {
		return "would bind"
	}
	return r.Cell(l)
}

func gap(g *figures.Gap) doc.Section {
	b := doc.Text("In thou / mm; " + g.Method + ".")
	b.Table = &doc.Table{Head: []string{"Place", "Gap"}, Rows: doc.Each(g.Points, func(p figures.Spot) []doc.Cell { return doc.Cells(p.Name, words.InThou.Cell(&p.Length)) })}
	if g.Uneven != nil {
		b.Table.Rows = append(b.Table.Rows, doc.Cells("uneven by", words.InThou.Cell(g.Uneven)))
	}
	return doc.Section{Heading: words.Titled(BlockTitle(g.Of), evidence.Place{Cylinder: g.Cylinder}), Parts: []doc.Part{b}}
}

func survey(s *figures.Survey) doc.Section {
	b := doc.Text("In inch / mm; " + s.Method + "." + doc.If(s.New != "", " New: "+s.New+"."))
	b.Table = &doc.Table{Head: []string{"Station", "Up-down", "Across"}}
	for i, st := range s.Stations {
		b.Table.Rows = append(b.Table.Rows, doc.Cells(fmt.Sprint(i+1), inches(st.UpDown), inches(st.Across)))
	}
	result := "Taper " + words.InThou.Say(s.Taper) + "." + doc.If(s.OvalAt > 0, fmt.Sprintf(" Most out of round: %s, at station %d.", words.InThou.Say(s.Oval), s.OvalAt))
	if s.Wear != nil {
		result += " Most wear: " + words.InThou.Say(*s.Wear) + "."
	}
	return doc.Section{Heading: words.Titled(BlockTitle(s.Of), evidence.Place{Cylinder: s.Cylinder}), Parts: []doc.Part{b, doc.List(result)}}
}

func inches(l *figures.Length) string {
	if l == nil {
		return "-"
	}
	return words.Figure(l.Mean/words.MetresPerInch, l.U/words.MetresPerInch, 4) + " / " + words.Figure(l.Mean*1000, l.U*1000, 2)
}

// leastRest is what may be left of a rod's height after the packs without a
// word, in metres.
const leastRest = 2 * words.MetresPerThou
