package page

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"telltale/engine"
	"telltale/engine/figures"
	"telltale/evidence"
	"telltale/rules"
)

func alignBlocks(r *engine.Report) []block {
	blocks := stopBlocks(r)
	if r.LeavePump {
		return append(blocks, footBlock())
	}
	blocks = append(blocks, present([]block{ratingBlock(r)})...)
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
	foot := slices.Clone(alignFoot)
	for _, n := range r.Measured.Cautions {
		foot = append(foot, noteText(n))
	}
	if packs(r) > 1 {
		foot = append([]string{"The shims on hand are counted for each cylinder by itself. Look whether there are enough for all."}, foot...)
	}
	return append(blocks, signBlock(r, false), missingBlock(r), gaugeBlock(r), footBlock(foot...))
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

var alignFoot = []string{
	"A height below zero is low. Give or take covers about 95 in 100. A ? means nearer to the limit than the readings can tell. Where a reading is the largest leaf that enters, half a leaf is added.",
}

func measuredTitle(r *engine.Report) []string { return append(pumpLines(r), bookLine(r)) }

func footBlock(lines ...string) block {
	return block{heading: "NOTES", list: append(append([]string{}, lines...), govern)}
}

// stopBlocks are the stop conditions, and then how long it can wait.
func stopBlocks(r *engine.Report) []block {
	var out []block
	for _, stop := range r.Stop {
		out = append(out, block{heading: "STOP FIRST", paras: []string{StopHead(stop)}, list: stop.Do})
	}
	return append(out, hasteBlocks(r)...)
}

func cylinderHeading(name string) string {
	heading := capital(at(evidence.Place{Cylinder: name}))
	if all := strings.ToUpper(heading); sentence(all) == heading {
		return all
	}
	return heading // capitals would change the crew's name where they are taken back
}

// centring says the decision first, then what it rests on.
func centring(c *figures.Centring) []block {
	first := block{heading: cylinderHeading(c.Cylinder), paras: []string{ended(c.Title)}}
	first.paras = append(first.paras, wantedLines(c)...)
	for _, n := range c.Notes {
		first.list = append(first.list, noteText(n))
	}
	out := []block{first}
	for i := range c.Planes {
		out = append(out, planeBlock(c, i))
		if c.Planes[i].Side != nil {
			out = append(out, sideBlock(c, i))
		}
	}
	if len(c.Upper) > 0 {
		out = append(out, upperBlock(c))
	}
	if sums := sumsBlock(c); len(sums.list) > 0 {
		out = append(out, sums)
	}
	if len(c.Do) > 0 {
		out = append(out, block{heading: "How", list: c.Do, steps: true})
	}
	return append(out, procedureBlocks(c)...)
}

// ended closes a sentence.
func ended(text string) string {
	if strings.HasSuffix(text, "?") || strings.HasSuffix(text, ".") {
		return text
	}
	return text + "."
}

func noteText(n figures.Note) string {
	text := n.Title
	if n.Where != "" {
		text += " (" + n.Where + ")"
	}
	return strings.TrimSpace(ended(text) + " " + strings.Join(n.Do, " "))
}

// wantedLines say what is wanted, the packs, and what is left.
func wantedLines(c *figures.Centring) []string {
	r := ruler{c.Metric}
	var out []string
	if w := c.Wanted; w != nil {
		out = append(out, wantedLine(r, w))
	}
	for _, p := range c.Packs {
		out = append(out, packLine(r, p))
	}
	if u := c.UpperFix; u != nil && u.Pack != nil {
		out = append(out, packLine(r, *u.Pack))
	}
	if s := c.Short; s != nil {
		out = append(out, fmt.Sprintf("Over the crosshead at the %s it would be %s short of the least.", s.Spot, r.say(s.By)))
	}
	if g := c.Guide; g != nil {
		out = append(out, guideLine(r, g))
	}
	return out
}

func wantedLine(r ruler, w *figures.Ends) string {
	if !w.Equal {
		return fmt.Sprintf("Wanted: %s at the front end%s; %s at the rear end%s.", lift(r, w.Front), r.give(w.Front), lift(r, w.Rear), r.give(w.Rear))
	}
	return fmt.Sprintf("To centre the rod: %s at both ends%s. That is half of the clearance above the rod less the clearance below it.", lift(r, w.Front), r.give(w.Front))
}

func lift(r ruler, l figures.Length) string {
	if l.Mean < 0 {
		l.Mean = -l.Mean
		return r.say(l) + " taken out"
	}
	return r.say(l) + " of shim"
}

// leastOff is the error of a pack that is worth a word, in metres.
const leastOff = 0.05 * metresPerThou

func packLine(r ruler, p figures.Pack) string {
	line := fmt.Sprintf("Pack %s: %s = %s.", p.Where, strings.Join(p.Pieces, " + "), r.say(p.Thickness))
	if off := p.Off; off >= leastOff || off <= -leastOff {
		word := "more"
		if off < 0 {
			word, off = "less", -off
		}
		line += fmt.Sprintf(" That is %s %s than wanted.", r.say(figures.Length{Mean: off, U: leastOff}), word)
	}
	return line
}

func guideLine(r ruler, g *figures.Guide) string {
	slope := func(l figures.Length) string { // thou over a foot, mm over a metre
		return fmt.Sprintf("%s thou/ft (%s mm/m)", figure(l.Mean*metresPerFoot/metresPerThou, l.U*metresPerFoot/metresPerThou, 2), figure(l.Mean*1000, l.U*1000, 3))
	}
	line := "Guide against the bore line: " + r.stands(g.Height, "low", "high") + " at mid stroke, slope toward the fluid end " + slope(g.Slope)
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
	p, r := &c.Planes[i], ruler{c.Metric}
	b := block{heading: "Rod in its opening"}
	if len(c.Planes) > 1 {
		b.heading += fmt.Sprintf(", plane %d", i+1)
	}
	line := "In " + r.head() + "; " + c.Method + "."
	if p.At != nil {
		line += fmt.Sprintf(" Plane at %.1f in (%.0f mm) from the crosshead's centre.", *p.At/metresPerInch, *p.At*1000)
	}
	b.paras = append(b.paras, line)
	if h := p.Height; h != nil && !suspect(p) {
		b.paras = append(b.paras, heightLine(r, h))
	}
	b.table = positionTable(r, p, afterHead(c))
	if p.Rests != nil && p.Rests.Mean*p.Rests.Mean > leastRest*leastRest {
		b.list = append(b.list, "After that the rod would still stand "+r.stands(*p.Rests, "low", "high")+" here. It is for the engineer to say what comes first.")
	}
	return b
}

func suspect(p *figures.Plane) bool {
	for _, s := range p.Positions {
		if s.Suspect {
			return true
		}
	}
	return false
}

// leastRest is what may be left of a rod's height after the packs without a
// word, in metres.
const leastRest = 2 * metresPerThou

// heightLine says where the rod stands and what it does along the stroke.
func heightLine(r ruler, h *figures.Trend) string {
	line := "On average " + r.stands(h.Mean, "low", "high") + r.give(h.Mean) + "."
	switch {
	case h.Change == nil:
	case !h.Changes:
		line += " From back to front it does not change by more than the doubt."
	default:
		line += " From back to front it gets " + r.stands(*h.Change, "lower", "higher") + r.give(*h.Change) + "."
	}
	return line
}

// afterHead heads what is foreseen: an "if" where the lift is not to be made.
func afterHead(c *figures.Centring) string {
	if c.IfRaised() {
		return "if raised"
	}
	return "after"
}

func positionTable(r ruler, p *figures.Plane, foreseen string) *grid {
	after := false
	for _, s := range p.Positions {
		after = after || s.After != nil
	}
	g := &grid{header: []string{"Crosshead", "Top", "Bottom", "Height"}}
	if after {
		g.header = append(g.header, "Height "+foreseen)
	}
	for _, s := range p.Positions {
		row := []string{positionName(s), r.cell(s.Top), r.cell(s.Bottom), r.cell(s.Height)}
		if after {
			row = append(row, afterHeight(r, s.After))
		}
		g.rows = append(g.rows, row)
	}
	return g
}

func afterHeight(r ruler, c *figures.Clearing) string {
	if c == nil {
		return "-"
	}
	return r.cell(&c.Height)
}

func positionName(p figures.Position) string {
	if p.Suspect {
		return p.Name + " ?"
	}
	return p.Name
}

// sideBlock shows how far the rod stands aside; no shim moves it.
func sideBlock(c *figures.Centring, i int) block {
	p, r := &c.Planes[i], ruler{c.Metric}
	b := block{heading: "Rod aside in its opening"}
	b.paras = append(b.paras, fmt.Sprintf("On average %s%s. Shims under a guide do not move it.", r.stands(p.Side.Mean, "to the left", "to the right"), r.give(p.Side.Mean)))
	b.table = &grid{header: []string{"Crosshead", "Left", "Right", "To the right"}}
	for _, s := range p.Positions {
		b.table.rows = append(b.table.rows, []string{positionName(s), r.cell(s.Left), r.cell(s.Right), r.cell(s.Side)})
	}
	return b
}

// stands are the verdicts on a clearance as a table shows them.
var stands = map[string]string{
	"inside": "inside", "under": "UNDER", "over": "over",
	"in doubt, rather inside": "inside ?", "in doubt, rather under": "UNDER ?", "under common practice": "ask", "in doubt, rather over": "over ?",
}

func upperBlock(c *figures.Centring) block {
	r := ruler{c.Metric}
	b := block{heading: "Over the crosshead, at the upper guide", paras: []string{"In " + r.head() + "."}}
	if c.Least != nil && c.Most != nil {
		b.paras[0] += fmt.Sprintf(" Keep %s to %s (%s; this pump's manual governs).", r.say(figures.Length{Mean: *c.Least}), r.say(figures.Length{Mean: *c.Most}), c.LimitsBasis)
	}
	after, fix := false, false
	for _, u := range c.Upper {
		after, fix = after || u.After != nil, fix || u.AfterBoth != nil
	}
	g := &grid{header: []string{"Place", "Now", ""}}
	if after {
		g.header = append(g.header, capital(afterHead(c)), "")
	}
	if fix {
		g.header = append(g.header, "Upper shims too")
	}
	for _, u := range c.Upper {
		now := u.Length
		row := []string{u.Name, r.cell(&now), stands[u.Stand]}
		if after {
			row = append(row, afterUpper(r, u.After), stands[u.AfterStand])
		}
		if fix {
			row = append(row, r.cell(u.AfterBoth))
		}
		g.rows = append(g.rows, row)
	}
	b.table = g
	return b
}

func afterUpper(r ruler, l *figures.Length) string {
	if l != nil && l.Mean <= 0 {
		return "would bind"
	}
	return r.cell(l)
}

// inThou prints gaps and wear with thou first.
var inThou = ruler{}

func gap(g *figures.Gap) block {
	names := map[string]string{"rod-face-gap": "Gap at the extension rod's face", "fluid-end-gap": "Gap between fluid end and power end"}
	b := block{heading: Titled(names[g.Of], evidence.Place{Cylinder: g.Cylinder}), paras: []string{"In thou / mm; " + g.Method + "."}}
	b.table = &grid{header: []string{"Place", "Gap"}}
	for _, p := range g.Points {
		b.table.rows = append(b.table.rows, []string{p.Name, inThou.cell(&p.Length)})
	}
	if g.Uneven != nil {
		b.table.rows = append(b.table.rows, []string{"uneven by", inThou.cell(g.Uneven)})
	}
	return b
}

func survey(s *figures.Survey) block {
	names := map[string]string{"liner-bore": "Liner bore", "piston-rod": "Piston rod", "extension-rod": "Extension rod"}
	b := block{heading: Titled(names[s.Of], evidence.Place{Cylinder: s.Cylinder})}
	line := "In inch / mm; " + s.Method + "."
	if s.New != "" {
		line += " New: " + s.New + "."
	}
	b.paras = append(b.paras, line)
	b.table = &grid{header: []string{"Station", "Up-down", "Across"}}
	for i, st := range s.Stations {
		b.table.rows = append(b.table.rows, []string{fmt.Sprint(i + 1), inches(st.UpDown), inches(st.Across)})
	}
	result := "Taper " + inThou.say(s.Taper) + "."
	if s.OvalAt > 0 {
		result += " Most out of round: " + inThou.say(s.Oval) + fmt.Sprintf(", at station %d.", s.OvalAt)
	}
	if s.Wear != nil {
		result += " Most wear: " + inThou.say(*s.Wear) + "."
	}
	b.list = []string{result}
	return b
}

func inches(l *figures.Length) string {
	if l == nil {
		return "-"
	}
	return figure(l.Mean/metresPerInch, l.U/metresPerInch, 4) + " / " + figure(l.Mean*1000, l.U*1000, 2)
}

// leastChance is the chance from which a sign is worth a line.
const leastPast = 0.1

// ofPump says whether a sign is about what the pump does, not about how its
// parts stand.
func ofPump(r *engine.Report, f engine.MeasuredFinding) bool {
	for _, p := range r.Measured.Parts {
		if p.Part == f.Of {
			return true
		}
	}
	return f.Of == string(rules.OutputLoss) || f.Of == string(rules.OutputChambers) || f.Of == string(rules.SuctionMargin)
}

// signBlock says what the readings of one page say, and what of it was
// weighed.
func signBlock(r *engine.Report, pump bool) block {
	b := block{heading: "WHAT THE READINGS SAY", list: signLines(r, pump)}
	if len(b.list) > 0 {
		return b
	}
	b.paras = []string{"Nothing here could be held against a sign of trouble."}
	for _, f := range r.Measured.Thresholds {
		if ofPump(r, f) == pump {
			b.paras[0] = "No sign of trouble in what was measured."
		}
	}
	return b
}

func signLines(r *engine.Report, pump bool) []string {
	var out []string
	for _, f := range r.Measured.Thresholds {
		if f.Chance < leastPast || ofPump(r, f) != pump {
			continue
		}
		line := fmt.Sprintf("%s: %s (%s).", Titled(f.Title, f.Place), Percent(f.Chance), f.Past)
		if !f.Counted {
			line += " Not weighed: " + f.Why + "."
		}
		out = append(out, line)
	}
	return out
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
	b.list = append(append(append(b.list, signLines(r, true)...), signLines(r, false)...), r.Measured.Missing...)
	return b
}

func centringLine(c *figures.Centring) string {
	if c.Outcome == "" {
		return ""
	}
	line := capital(at(evidence.Place{Cylinder: c.Cylinder})) + ": "
	r := ruler{c.Metric}
	if len(c.Planes) > 0 && c.Planes[0].Height != nil && !suspect(&c.Planes[0]) {
		line += "rod " + r.stands(c.Planes[0].Height.Mean, "low", "high") + ". "
	}
	line += ended(c.Title)
	if c.PacksStand() {
		for _, p := range c.Packs {
			line += " " + packLine(r, p)
		}
	}
	return line + " telltale align shows what it will do, how, and when not to."
}

func capital(s string) string {
	_, first := utf8.DecodeRuneInString(s)
	return strings.ToUpper(s[:first]) + s[first:]
}
