package page

import (
	"fmt"
	"io"
	"strings"

	"telltale/engine"
	"telltale/engine/figures"
)

// Align writes where the rods stand in their openings, what shims would do and
// what else was measured by the feeler.
func Align(w io.Writer, r *engine.Report, width int, markdown bool) error {
	blocks := stopBlocks(r)
	for i := range r.Measured.Centring {
		blocks = append(blocks, centring(&r.Measured.Centring[i])...)
	}
	for i := range r.Measured.Gaps {
		blocks = append(blocks, gap(&r.Measured.Gaps[i]))
	}
	for i := range r.Measured.Surveys {
		blocks = append(blocks, survey(&r.Measured.Surveys[i]))
	}
	if len(r.Measured.Centring)+len(r.Measured.Gaps)+len(r.Measured.Surveys) == 0 {
		blocks = append(blocks, block{heading: "NOTHING TO WORK OUT", paras: []string{"The case has no readings of a rod, a guide, a face, a liner or a rod's size. Write them under measured:."}})
	}
	blocks = append(blocks, signBlock(r), missingBlock(r), footBlock(alignFoot...))
	return writeBlocks(w, measuredTitle(r), blocks, width, markdown)
}

var alignFoot = []string{
	"Tables give thou / mm. A height below zero is low. Give or take covers about 95 in 100.",
	"Hands go in only behind the isolation: telltale triage lists its steps. Turn the crank by hand under the lock to move the crosshead; if it must be moved by power, take everybody clear and isolate again.",
}

func measuredTitle(r *engine.Report) []string { return append(pumpLines(r), bookLine(r)) }

func footBlock(lines ...string) block {
	return block{heading: "NOTES", list: append(append([]string{}, lines...), govern)}
}

func stopBlocks(r *engine.Report) []block {
	var out []block
	for _, stop := range r.Stop {
		out = append(out, block{heading: "STOP FIRST", paras: []string{strings.ToUpper(stop.Signal) + ": " + stop.Title}, list: stop.Do})
	}
	return out
}

func cylinderHeading(name string) string { return strings.ToUpper(at(engine.Where{Cylinder: name})) }

// centring says the decision first, then what it rests on.
func centring(c *figures.Centring) []block {
	if len(c.Planes) == 0 {
		return []block{{heading: cylinderHeading(c.Cylinder)}, upperBlock(c)}
	}
	first := block{heading: cylinderHeading(c.Cylinder), paras: []string{c.Title + "."}}
	first.paras = append(first.paras, wantedLines(c)...)
	for _, n := range c.Notes {
		first.list = append(first.list, noteText(n))
	}
	out := []block{first}
	for i := range c.Planes {
		out = append(out, planeBlock(c, i))
		if c.Planes[i].Side != nil {
			out = append(out, sideBlock(&c.Planes[i]))
		}
	}
	if len(c.Upper) > 0 {
		out = append(out, upperBlock(c))
	}
	if len(c.Do) > 0 {
		out = append(out, block{heading: "How", list: c.Do, steps: true})
	}
	return out
}

func noteText(n figures.Note) string {
	text := n.Title
	if n.Where != "" {
		text += " (" + n.Where + ")"
	}
	if !strings.HasSuffix(text, "?") {
		text += "."
	}
	return strings.TrimSpace(text + " " + strings.Join(n.Do, " "))
}

// wantedLines say what is wanted, the packs, and what is left.
func wantedLines(c *figures.Centring) []string {
	var out []string
	if w := c.Wanted; w != nil {
		out = append(out, wantedLine(w))
	}
	for _, p := range c.Packs {
		out = append(out, packLine(p))
	}
	if u := c.UpperFix; u != nil && u.Pack != nil {
		out = append(out, packLine(*u.Pack))
	}
	if s := c.Short; s != nil {
		out = append(out, fmt.Sprintf("Over the crosshead at the %s it would be %s short of the least.", s.Spot, thou(s.By)))
	}
	if g := c.Guide; g != nil {
		out = append(out, guideLine(g))
	}
	return out
}

func wantedLine(w *figures.Ends) string {
	if !w.Equal {
		return fmt.Sprintf("Wanted: %s at the front end%s; %s at the rear end%s.", lift(w.Front), give(w.Front), lift(w.Rear), give(w.Rear))
	}
	return fmt.Sprintf("Wanted: %s at both ends%s (half of upper less lower clearance).", lift(w.Front), give(w.Front))
}

func lift(l figures.Length) string {
	if l.Metres < 0 {
		l.Metres = -l.Metres
		return thou(l) + " taken out"
	}
	return thou(l) + " of shim"
}

func packLine(p figures.Pack) string {
	line := fmt.Sprintf("Pack %s: %s = %s.", p.Where, strings.Join(p.Pieces, " + "), thou(p.Thickness))
	if off := p.Off / metresPerThou; off >= 0.05 || off <= -0.05 {
		word := "more"
		if off < 0 {
			word, off = "less", -off
		}
		line += fmt.Sprintf(" That is %.1f thou %s than wanted.", off, word)
	}
	return line
}

func guideLine(g *figures.Guide) string {
	slope := func(l figures.Length) string { // thou over a foot, mm over a metre
		return fmt.Sprintf("%s thou/ft (%s mm/m)", figure(l.Metres*metresPerFoot/metresPerThou, l.U*metresPerFoot/metresPerThou, 2), figure(l.Metres*1000, l.U*1000, 3))
	}
	line := "Guide against the bore line: " + heightWords(g.Height, "low", "high") + " at mid stroke, slope toward the fluid end " + slope(g.Slope)
	if !g.Slopes {
		line += " (no more than the doubt)"
	}
	line += ". Rod out of square with the guide: " + slope(g.Skew)
	if !g.Skewed {
		line += " (no more than the doubt)"
	}
	return line + "."
}

func planeBlock(c *figures.Centring, i int) block {
	p := &c.Planes[i]
	b := block{heading: "Rod in its opening"}
	if len(c.Planes) > 1 {
		b.heading += fmt.Sprintf(", plane %d", i+1)
	}
	line := "Thou / mm; " + c.Method + "."
	if p.At != nil {
		line += fmt.Sprintf(" Plane at %.1f in (%.0f mm) from the crosshead's centre.", *p.At/metresPerInch, *p.At*1000)
	}
	b.paras = append(b.paras, line)
	if h := p.Height; h != nil {
		b.paras = append(b.paras, heightLine(h))
	}
	b.table = positionTable(p)
	return b
}

// heightLine says where the rod stands and what it does along the stroke.
func heightLine(h *figures.Trend) string {
	line := "On average " + heightWords(h.Mean, "low", "high") + give(h.Mean) + "."
	if h.Change != nil {
		line += " From back to front it " + heightWords(*h.Change, "lower", "higher") + give(*h.Change) + "."
		line = strings.Replace(line, "it ", "it gets ", 1)
	}
	return line
}

func positionTable(p *figures.Plane) *grid {
	after := false
	for _, s := range p.Positions {
		after = after || s.After != nil
	}
	g := &grid{header: []string{"Crosshead", "Top", "Bottom", "Height"}}
	if after {
		g.header = append(g.header, "Height after")
	}
	for _, s := range p.Positions {
		row := []string{positionName(s), bothOf(s.Top), bothOf(s.Bottom), bothOf(s.Height)}
		if after {
			row = append(row, afterHeight(s.After))
		}
		g.rows = append(g.rows, row)
	}
	return g
}

func positionName(p figures.Position) string {
	if p.Suspect {
		return p.Name + " ?"
	}
	return p.Name
}

// sideBlock shows how far the rod stands aside; no shim moves it.
func sideBlock(p *figures.Plane) block {
	b := block{heading: "Rod aside in its opening"}
	b.paras = append(b.paras, fmt.Sprintf("On average %s%s. Shims under a guide do not move it.", heightWords(p.Side.Mean, "to the left", "to the right"), give(p.Side.Mean)))
	b.table = &grid{header: []string{"Crosshead", "Left", "Right", "To the right"}}
	for _, s := range p.Positions {
		b.table.rows = append(b.table.rows, []string{positionName(s), bothOf(s.Left), bothOf(s.Right), bothOf(s.Side)})
	}
	return b
}

func afterHeight(c *figures.Clearing) string {
	if c == nil {
		return "-"
	}
	return both(c.Height)
}

func upperBlock(c *figures.Centring) block {
	b := block{heading: "Over the crosshead, at the upper guide"}
	if c.Least != nil && c.Most != nil {
		b.paras = append(b.paras, fmt.Sprintf("Keep %s to %s.", thou(figures.Length{Metres: *c.Least}), thou(figures.Length{Metres: *c.Most})))
	}
	after, fix := false, false
	for _, u := range c.Upper {
		after, fix = after || u.After != nil, fix || u.AfterBoth != nil
	}
	g := &grid{header: []string{"Place", "Now", "Now it is"}}
	if after {
		g.header = append(g.header, "After", "Then it is")
	}
	if fix {
		g.header = append(g.header, "With upper shims")
	}
	for _, u := range c.Upper {
		row := []string{u.Name, both(u.Length), u.Stand}
		if after {
			row = append(row, bothOf(u.After), u.AfterStand)
		}
		if fix {
			row = append(row, bothOf(u.AfterBoth))
		}
		g.rows = append(g.rows, row)
	}
	b.table = g
	return b
}

func gap(g *figures.Gap) block {
	names := map[string]string{"rod-face-gap": "Gap at the extension rod's face", "fluid-end-gap": "Gap between fluid end and power end"}
	b := block{heading: titled(names[g.Of], engine.Where{Cylinder: g.Cylinder}), paras: []string{"Thou / mm; " + g.Method + "."}}
	b.table = &grid{header: []string{"Place", "Gap"}}
	for _, p := range g.Points {
		b.table.rows = append(b.table.rows, []string{p.Name, both(p.Length)})
	}
	if g.Uneven != nil {
		b.table.rows = append(b.table.rows, []string{"uneven by", both(*g.Uneven)})
	}
	return b
}

func survey(s *figures.Survey) block {
	names := map[string]string{"liner-bore": "Liner bore", "piston-rod": "Piston rod", "extension-rod": "Extension rod"}
	b := block{heading: titled(names[s.Of], engine.Where{Cylinder: s.Cylinder})}
	line := "Inch / mm; " + s.Method + "."
	if s.New != "" {
		line += " New: " + s.New + "."
	}
	b.paras = append(b.paras, line)
	b.table = &grid{header: []string{"Station", "Up-down", "Across"}}
	for i, st := range s.Stations {
		b.table.rows = append(b.table.rows, []string{fmt.Sprint(i + 1), inches(st.UpDown), inches(st.Across)})
	}
	result := "Taper " + thou(s.Taper) + "."
	if s.OvalAt > 0 {
		result += " Most out of round: " + thou(s.Oval) + fmt.Sprintf(", at station %d.", s.OvalAt)
	}
	if s.Wear != nil {
		result += " Most wear: " + thou(*s.Wear) + "."
	}
	b.list = []string{result}
	return b
}

func inches(l *figures.Length) string {
	if l == nil {
		return "-"
	}
	return figure(l.Metres/metresPerInch, l.U/metresPerInch, 4) + " / " + figure(l.Metres*1000, l.U*1000, 2)
}

// leastSign is the chance from which a sign that was not found is worth a line.
const leastSign = 0.05

// signBlock says what the readings say, and what of it was weighed.
func signBlock(r *engine.Report) block {
	b := block{heading: "WHAT THE READINGS SAY"}
	for _, f := range r.Measured.Signs {
		if f.Chance < leastSign {
			continue
		}
		line := fmt.Sprintf("%s: %s (%s).", titled(f.Title, engine.Where{Cylinder: f.Cylinder, End: f.End}), percent(f.Chance), f.Threshold)
		if !f.Counted {
			line += " Not weighed beside what the crew says or another kind."
		}
		b.list = append(b.list, line)
	}
	if len(b.list) == 0 {
		b.paras = []string{"No sign of trouble in what was measured."}
	}
	return b
}

func missingBlock(r *engine.Report) block {
	if len(r.Measured.Missing) == 0 {
		return block{}
	}
	return block{heading: "WHAT IS WANTED FOR MORE", list: r.Measured.Missing}
}

// measuredBlock sums up for triage what was measured.
func measuredBlock(r *engine.Report) block {
	if r.Measured == nil {
		return block{}
	}
	b := block{heading: "MEASURED"}
	for i := range r.Measured.Centring {
		if line := centringLine(&r.Measured.Centring[i]); line != "" {
			b.list = append(b.list, line)
		}
	}
	if t := r.Measured.Tank; t != nil {
		b.list = append(b.list, tankLine(t))
	}
	if s := r.Measured.Suction; s != nil {
		feet, metres := head(s.Margin)
		b.list = append(b.list, fmt.Sprintf("Suction: margin %s ft (%s m) of mud. telltale output shows the reckoning.", feet, metres))
	}
	for i := range r.Measured.Parts {
		p := &r.Measured.Parts[i]
		b.list = append(b.list, "Record of "+strings.ToLower(p.Title)+": "+worstLine(p)+" "+trendLine(p))
	}
	b.list = append(append(b.list, signBlock(r).list...), r.Measured.Missing...)
	return b
}

func centringLine(c *figures.Centring) string {
	if c.Outcome == "" {
		return ""
	}
	line := capital(at(engine.Where{Cylinder: c.Cylinder})) + ": "
	if h := c.Planes[0].Height; h != nil {
		line += "rod " + heightWords(h.Mean, "low", "high") + ". "
	}
	line += c.Title + "."
	for _, p := range c.Packs {
		line += " " + packLine(p)
	}
	return line + " telltale align shows what it will do, how, and when not to."
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
