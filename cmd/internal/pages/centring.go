package pages

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine/figures"
)

// leastOff is the error of a pack that is worth a word, in metres.
const leastOff = 0.05 * words.MetresPerThou

func noteText(n figures.Note) string {
	return strings.TrimSpace(doc.Ended(bracketed(n.Title, n.Where)) + " " + strings.Join(n.Do, " "))
}

// wantedLines say what is wanted, the packs, and what is left.
func wantedLines(c *figures.Centring) []string {
	r := words.Ruler{Metric: c.Metric}
	var out []string
	if w := c.Wanted; w != nil {
		out = append(out, wantedLine(r, w))
	}
	out = append(out, packLines(r, c.Packs...)...)
	if u := c.UpperFix; u != nil && u.Pack != nil {
		out = append(out, packLines(r, *u.Pack)...)
	}
	if s := c.Short; s != nil {
		out = append(out, fmt.Sprintf("Over the crosshead at the %s it would be %s short of the least.", s.Spot, r.Say(s.By)))
	}
	if n := c.TooNear; n != nil {
		out = append(out, fmt.Sprintf("Guide against the bore line: not known. The planes stand too near each other: %s apart. At least %s is needed for a line whose height is known to %s.",
			inBoth(words.Significant, n.Apart), inBoth(upTo, n.Needed), r.Say(figures.Length{Mean: n.Known, U: words.MetresPerThou})))
	}
	if g := c.Guide; g != nil {
		out = append(out, guideLine(r, g))
	}
	return out
}

// inBoth prints a distance along the rod to two digits.
func inBoth(say func(x float64, digits int) string, x float64) string {
	return say(x/words.MetresPerInch, 2) + " in (" + say(x*1000, 2) + " mm)"
}

// upTo rounds up: less would not do.
func upTo(x float64, _ int) string { return words.UpTo(x) }

func wantedLine(r words.Ruler, w *figures.Ends) string {
	if !w.Equal {
		return fmt.Sprintf("Wanted: %s at the front end%s; %s at the rear end%s.", lift(r, w.Front), r.Give(w.Front), lift(r, w.Rear), r.Give(w.Rear))
	}
	return fmt.Sprintf("To centre the rod: %s at both ends%s. That is half of the clearance above the rod less the clearance below it.", lift(r, w.Front), r.Give(w.Front))
}

func lift(r words.Ruler, l figures.Length) string { return r.Stands(l, "taken out", "of shim") }

// packLines say what each pack is made of, and what it is off by.
func packLines(r words.Ruler, packs ...figures.Pack) []string {
	var out []string
	for _, p := range packs {
		line := fmt.Sprintf("Pack %s: %s = %s.", p.Where, strings.Join(p.Pieces, " + "), r.Say(p.Thickness))
		if math.Abs(p.Off) >= leastOff {
			line += fmt.Sprintf(" That is %s than wanted.", r.Stands(figures.Length{Mean: p.Off, U: leastOff}, "less", "more"))
		}
		out = append(out, line)
	}
	return out
}

func guideLine(r words.Ruler, g *figures.Guide) string {
	slope := func(l figures.Length, beyond bool) string { // thou over a foot, mm over a metre
		const thouPerFoot = words.MetresPerFoot / words.MetresPerThou
		return fmt.Sprintf("%s thou/ft (%s mm/m)", words.Figure(l.Mean*thouPerFoot, l.U*thouPerFoot, 2), words.Figure(l.Mean*1000, l.U*1000, 3)) + doc.If(!beyond, " (no more than the doubt)")
	}
	return "Guide against the bore line: " + r.Stands(g.Height, "low", "high") + " at mid stroke, slope toward the fluid end " + slope(g.Slope, g.Slopes) +
		". Rod out of square with the guide: " + slope(g.Skew, g.Skewed) + "."
}

func suspect(p *figures.Plane) bool {
	return slices.ContainsFunc(p.Positions, func(s figures.Position) bool { return s.Suspect })
}

func positionName(p figures.Position) string { return p.Name + doc.If(p.Suspect, " ?") }

// centringLine sums up where the rods of a cylinder stand and what to do; empty
// where nothing came of it.
func centringLine(c figures.Centring) string {
	if c.Outcome == "" {
		return ""
	}
	return centringSum(c) + " telltale align shows what it will do, how, and when not to."
}

// centringSum is where the rods of a cylinder stand and what to do.
func centringSum(c figures.Centring) string {
	line := rodStands(c)
	if c.PacksStand() {
		for _, pack := range packLines(words.Ruler{Metric: c.Metric}, c.Packs...) {
			line += " " + pack
		}
	}
	return line
}

// rodStands is the same without the shims.
func rodStands(c figures.Centring) string {
	line := words.Capital(words.Cylinder(c.Cylinder)) + ": "
	r := words.Ruler{Metric: c.Metric}
	if len(c.Planes) > 0 && c.Planes[0].Height != nil && !suspect(&c.Planes[0]) {
		line += "rod " + r.Stands(c.Planes[0].Height.Mean, "low", "high") + ". "
	}
	return line + doc.Ended(c.Title)
}

// stands are the verdicts on a clearance as a table shows them.
var stands = map[string]string{
	"inside": "inside", "under": "UNDER", "over": "over",
	"in doubt, rather inside": "inside ?", "in doubt, rather under": "UNDER ?", "under common practice": "ask", "in doubt, rather over": "over ?",
}
