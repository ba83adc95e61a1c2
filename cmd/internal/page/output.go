package page

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"telltale/engine"
	"telltale/engine/figures"
	"telltale/evidence"
)

// Conversions of figures that are worked out and not measured, exact but for
// the last digits (NIST SP 811, appendix B).
const (
	cubicMetresPerGallon = 0.003785411784
	cubicMetresPerBarrel = 42 * cubicMetresPerGallon
	newtonsPerPound      = 4.4482216152605
	pascalsPerPSI        = 6894.757293168361
	wattsPerHorsepower   = 745.69987158227022
)

func outputBlocks(r *engine.Report) []block {
	m := r.Measured
	blocks := stopBlocks(r)
	if r.LeavePump {
		return append(blocks, footBlock())
	}
	blocks = append(blocks, present([]block{allRatings(r)})...)
	if m.Pump != nil {
		blocks = append(blocks, pumpBlock(m.Pump))
	}
	if m.Tank != nil {
		blocks = append(blocks, tankBlock(m.Tank))
	}
	if m.Suction != nil {
		blocks = append(blocks, suctionBlock(m.Suction))
	}
	for i := range m.Parts {
		blocks = append(blocks, partBlocks(&m.Parts[i])...)
	}
	if m.Pump == nil && len(m.Parts) == 0 && len(r.Ratings) == 0 {
		blocks = append(blocks, block{heading: "NOTHING TO WORK OUT", paras: []string{"Give the pump's liner: and stroke:, and of a duplex its piston-rod:. With speed: and discharge: more comes out."}})
	}
	foot := outputFoot
	if len(m.Parts) > 0 {
		foot = append(slices.Clip(foot), livesFoot)
	}
	return append(blocks, signBlock(r, true), missingBlock(r), footBlock(foot...))
}

// livesFoot says what the record of parts takes as a life.
const livesFoot = "A whole life is one from fitting to failure inside the record. Parts that still run, or were changed while good, count as having lasted at least so long."

var outputFoot = []string{
	"A stroke is one full turn of the crank, as a stroke counter counts.",
	"Loads are from the fluid alone. The ratings of pump, liner and fluid end in the manual govern; the lowest counts.",
}

func row(name string, figures ...string) []string { return append([]string{name}, figures...) }

func pumpBlock(p *figures.Pump) block {
	g := &grid{header: []string{"At 100 % efficiency", "", ""}}
	add := func(name, field, metric string) { g.rows = append(g.rows, row(name, field, metric)) }
	add("one stroke", significant(p.PerStroke/cubicMetresPerBarrel, 4)+" bbl", significant(p.PerStroke*1000, 4)+" L")
	for _, c := range p.Chambers {
		add("of it, "+c.Name, fmt.Sprintf("%.1f %%", 100*c.Share), "")
	}
	if p.PerMinute != nil {
		add("one minute", significant(*p.PerMinute/cubicMetresPerGallon, 4)+" gal", significant(*p.PerMinute*1000, 4)+" L")
	}
	add("flow over a turn", fmt.Sprintf("%.0f to %.0f %% of the mean", 100*p.FlowLeast, 100*p.FlowMost), "")
	if p.PistonSpeed != nil {
		add("piston speed, mean", significant(*p.PistonSpeed*60/metresPerFoot, 3)+" ft/min", significant(*p.PistonSpeed, 3)+" m/s")
		add("piston speed, most", significant(*p.PistonPeak*60/metresPerFoot, 3)+" ft/min", significant(*p.PistonPeak, 3)+" m/s")
	}
	if p.Push != nil {
		add("rod load, push", force(*p.Push), kilonewtons(*p.Push))
		if *p.Pull != 0 {
			add("rod load, pull", force(*p.Pull), kilonewtons(*p.Pull))
		}
		add("guide, most side force", force(*p.Side), kilonewtons(*p.Side))
	}
	if p.Power != nil {
		add("hydraulic power", significant(*p.Power/wattsPerHorsepower, 3)+" hp", significant(*p.Power/1000, 3)+" kW")
	}
	if p.Allowed != nil {
		add("pressure at rated rod load", significant(*p.Allowed/pascalsPerPSI, 4)+" psi", significant(*p.Allowed/1e5, 4)+" bar")
	}
	if p.Largest != nil {
		add("largest liner by rod load", significant(*p.Largest/metresPerInch, 3)+" in", significant(*p.Largest*1000, 3)+" mm")
	}
	b := block{heading: "WHAT THE PUMP DISPLACES AND CARRIES", table: g}
	if p.Rating == nil {
		b.list = append(b.list, "No rated rod load is given; write it from the manual under manual: rod-load-most.")
	}
	if p.RatioAssumed {
		b.list = append(b.list, "The connecting rod is not given; speed, side force and flow over a turn take it as five cranks long.")
	}
	return b
}

func force(n float64) string       { return significant(n/newtonsPerPound, 3) + " lbf" }
func kilonewtons(n float64) string { return significant(n/1000, 3) + " kN" }

func tankBlock(t *figures.Tank) block {
	b := block{heading: "TANK TEST"}
	line := fmt.Sprintf("Volumetric efficiency %s %%, give or take %s.", figure(100*t.Efficiency, 100*t.U, 2), upTo(200*t.U))
	if t.Impossible {
		b.paras = append(b.paras, line, "More came than the pump can displace. Check the liner's size, the stroke counter and the tank. It is not weighed.")
		return b
	}
	b.paras = append(b.paras, line+fmt.Sprintf(" Lost: %s %%.", figure(100*t.Loss, 100*t.U, 2)))
	b.table = &grid{header: []string{"What the loss is like", "Expected", "Measured less expected", "Fits"}}
	for _, l := range t.Like {
		fits := "no"
		if l.Fits {
			fits = "yes"
		}
		b.table.rows = append(b.table.rows, row(l.Name, fmt.Sprintf("%.0f %%", 100*l.Loss), difference(100*(t.Loss-l.Loss)), fits))
	}
	if t.Advice != nil {
		b.list = append([]string{ended(t.Advice.Title) + " It is not weighed."}, t.Advice.Do...)
	}
	return b
}

// difference prints a difference in per cent without a sign before nothing.
func difference(x float64) string {
	if x = math.Round(x); x == 0 {
		return "0 %"
	}
	return fmt.Sprintf("%+.0f %%", x)
}

func head(m float64) (feet, metres string) {
	return fmt.Sprintf("%.1f", m/metresPerFoot), fmt.Sprintf("%.1f", m)
}

func suctionBlock(s *figures.Suction) block {
	b := block{heading: "SUCTION, in head of this mud"}
	g := &grid{header: []string{"Head", "ft", "m"}}
	add := func(name string, m float64) {
		feet, metres := head(m)
		g.rows = append(g.rows, row(name, feet, metres))
	}
	pressure := "air pressure on the pit"
	if s.Charged {
		pressure = "charge pressure, absolute"
	}
	add(pressure, s.Pressure)
	if !s.Charged {
		add("mud level over the pump", s.Static)
		if s.Friction > 0 {
			add("less friction", -s.Friction)
		}
	}
	add("less vapour pressure", -s.Vapour)
	add("less acceleration head", -s.Acceleration)
	if s.Available < 0 {
		g.rows = append(g.rows, row("left at the pump", "none", "none"))
	} else {
		add("left at the pump", s.Available)
	}
	if s.Needed != nil {
		add("the pump needs", *s.Needed)
	}
	add("margin", s.Margin)
	b.table = g
	b.list = append(b.list, fmt.Sprintf("Acceleration head with C = %s from this crank and K of the rulebook. It holds for short lines without a stabiliser.", significant(s.Constant, 3)))
	if s.Needed == nil {
		b.list = append(b.list, "What the pump needs is not given; write it from the manual as head-needed. The margin is then only to boiling.")
	}
	if s.Charged {
		b.list = append(b.list, "The charge pressure counts; the mud level and the friction before the gauge are in it.")
	}
	if len(s.Assumed) > 0 {
		b.list = append(b.list, "Assumed: "+strings.Join(s.Assumed, "; ")+".")
	}
	if s.Available < 0 {
		b.list = append(b.list, "Nothing is left: by this reckoning the mud parts from the pistons.")
	}
	if s.Margin < 0 {
		b.list = append(b.list, "The margin is below zero: slow the pump, shorten or widen the line, raise the mud or the charge pressure.")
	}
	return b
}

// partBlocks says what a record of changed parts shows.
func partBlocks(p *figures.Part) []block {
	b := block{heading: "RECORD: " + strings.ToUpper(p.Title)}
	b.paras = append(b.paras, fmt.Sprintf("%d changes in %s h.", p.Changes, significant(p.Hours, 4)))
	g := &grid{header: []string{"Place", "Changes", "Whole lives", "Shortest, h", "Longest, h", "Now in for, h"}}
	for _, l := range p.PerPlace {
		shortest, longest := "-", "-"
		if l.Failed > 0 {
			shortest, longest = significant(l.Shortest, 3), significant(l.Longest, 3)
		}
		g.rows = append(g.rows, row(cmp.Or(l.Place.String(), "pump"), fmt.Sprint(l.Changes), fmt.Sprint(l.Failed), shortest, longest, significant(l.Running, 3)))
	}
	b.table = g
	b.list = append(b.list, worstLine(p))
	var do []string
	for i := range p.Ends {
		b.list = append(b.list, endLine(&p.Ends[i]))
		for _, line := range p.Ends[i].Do {
			if !slices.Contains(do, line) {
				do = append(do, line)
			}
		}
	}
	b.list = append(append(b.list, do...), trendLine(p))
	if p.Together > 0 {
		b.list = append(b.list, fmt.Sprintf("%d changes share their hour with another place. Parts changed as a set are not failures of their own: write those that were still good under still-good-at.", p.Together))
	}
	return []block{b}
}

func worstLine(p *figures.Part) string {
	w := p.Worst
	switch {
	case w == nil || p.Changes == 0:
		return "No place can be compared."
	case !w.Enough:
		return "Too few lives to show that parts last less at one place."
	case len(w.Places) == 0:
		return "No place is shown to be worse."
	case w.Shown:
		return fmt.Sprintf("Parts last less at %s than at the sisters, by more than luck (so bad a worst place comes by luck %s of the time).", placesOf(w.Places), chanceText(w.P))
	}
	return fmt.Sprintf("No place is shown to be worse (so bad a worst place as %s comes by luck %s of the time).", placesOf(w.Places), chanceText(w.P))
}

// endLine says how parts end and how long they last.
func endLine(e *figures.PartEnd) string {
	of := ""
	switch {
	case e.Others:
		of = "Elsewhere: "
	case len(e.Places) > 0:
		of = capital(placesOf(e.Places)) + ": "
	}
	line := of + ended(e.Title)
	if e.Shape != nil {
		line += fmt.Sprintf(" Half have failed by %s h, one in ten by %s h (Weibull shape %s; limits 95 in 100, rough below ten lives).", limits(e.Median, 2), limits(e.Tenth, 2), limits(e.Shape, 2))
	}
	return line
}

// limits prints a figure with what it lies between: "560 (510 to 620)".
func limits(l *figures.Limits, digits int) string {
	if l.High == nil {
		return fmt.Sprintf("%s (%s or more)", significant(l.Value, digits), significant(l.Low, digits))
	}
	return fmt.Sprintf("%s (%s to %s)", significant(l.Value, digits), significant(l.Low, digits), significant(*l.High, digits))
}

// placesOf names places: "cylinder 1 and left cylinder, head end".
func placesOf(places []evidence.Place) string {
	var out []string
	for _, p := range places {
		out = append(out, at(p))
	}
	return strings.Join(out, " and ")
}

func trendLine(p *figures.Part) string {
	switch p.Trend.Says {
	case "too few":
		return "Too few whole lives to tell whether they get shorter."
	case "worse":
		return fmt.Sprintf("The lives get shorter and shorter (by luck %s of the time).", chanceText(p.Trend.P))
	case "better":
		return fmt.Sprintf("The lives get longer and longer (by luck %s of the time).", chanceText(p.Trend.P))
	}
	return "The lives are not shown to get shorter or longer."
}

func chanceText(p float64) string { return Percent(p) }

// tankLine sums up a tank test.
func tankLine(t *figures.Tank) string {
	if t.Impossible {
		return "Tank test: more came than the pump can displace; check liner, counter and tank."
	}
	line := fmt.Sprintf("Tank test: lost %s %%, give or take %s.", figure(100*t.Loss, 100*t.U, 2), upTo(200*t.U))
	if t.Advice != nil {
		return line + " " + ended(t.Advice.Title) + " It is not weighed. " + strings.Join(t.Advice.Do, " ")
	}
	for _, l := range t.Like {
		if l.Fits {
			line += " It is like: " + l.Name + "."
		}
	}
	return line
}
