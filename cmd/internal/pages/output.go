package pages

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine/figures"
)

// Output is the pump's numbers: what it displaces, how it is loaded, what a tank
// test lost, what the suction has left, and the record of its parts.
func Output(in Input) *doc.Document {
	r := in.Measured
	m := r.Measured
	d := in.begin("OUTPUT. ", r)
	d.Add(before(r)...)
	if r.LeavePump {
		d.Add(notes())
		return d
	}
	d.Add(allRatings(r))
	if m.Pump != nil {
		d.Add(pump(m.Pump))
	}
	if m.Tank != nil {
		d.Add(tank(m.Tank))
	}
	if m.BeforeAndNow != nil {
		d.Add(beforeAndNow(m.BeforeAndNow))
	}
	if m.Suction != nil {
		d.Add(suction(m.Suction))
	}
	for i := range m.Parts {
		d.Add(record(&m.Parts[i]))
	}
	if m.Pump == nil && len(m.Parts) == 0 && len(r.Ratings) == 0 && m.BeforeAndNow == nil {
		d.Add(doc.Section{Heading: "Nothing to work out", Parts: []doc.Part{doc.Text("Give the pump's liner: and stroke:, and of a duplex its piston-rod:. With speed: and discharge: more comes out.")}})
	}
	d.Add(signs(r, true), missing(r), turn(in), notes(doc.Said(strokeFoot, loadsFoot, doc.If(len(m.Parts) > 0, livesFoot))...))
	return d
}

// What stands under the figures: how they are counted.
const (
	strokeFoot = "A stroke is one full turn of the crank, as a stroke counter counts."
	loadsFoot  = "Loads are from the fluid alone. The ratings of pump, liner and fluid end in the manual govern; the lowest counts."
	livesFoot  = "A whole life is one from fitting to failure inside the record. Parts that still run, or were changed while good, count as having lasted at least so long."
)

func pump(p *figures.Pump) doc.Section {
	g := &doc.Table{Head: []string{"At 100 % efficiency", "", ""}}
	add := func(name, field, metric string) { g.Rows = append(g.Rows, doc.Cells(name, field, metric)) }
	add("one stroke", words.Significant(p.PerStroke/words.CubicMetresPerBarrel, 4)+" bbl", words.Significant(p.PerStroke*1000, 4)+" L")
	for _, c := range p.Chambers {
		add("of it, "+c.Name, fmt.Sprintf("%.1f %%", 100*c.Share), "")
	}
	// inBoth adds a figure that is known, in the field's unit and in the metric one.
	inBoth := func(name string, x *float64, digits int, field float64, fieldUnit string, metric float64, metricUnit string) {
		if x != nil {
			add(name, words.Significant(*x/field, digits)+" "+fieldUnit, words.Significant(*x/metric, digits)+" "+metricUnit)
		}
	}
	inBoth("one minute", p.PerMinute, 4, words.CubicMetresPerGallon, "gal", 1e-3, "L")
	add("flow over a turn", fmt.Sprintf("%.0f to %.0f %% of the mean", 100*p.FlowLeast, 100*p.FlowMost), "")
	inBoth("piston speed, mean", p.PistonSpeed, 3, words.MetresPerFoot/60, "ft/min", 1, "m/s")
	inBoth("piston speed, most", p.PistonPeak, 3, words.MetresPerFoot/60, "ft/min", 1, "m/s")
	inBoth("rod load, push", p.Push, 3, words.NewtonsPerPound, "lbf", 1000, "kN")
	if p.Pull != nil && *p.Pull != 0 {
		inBoth("rod load, pull", p.Pull, 3, words.NewtonsPerPound, "lbf", 1000, "kN")
	}
	inBoth("guide, most side force", p.Side, 3, words.NewtonsPerPound, "lbf", 1000, "kN")
	inBoth("hydraulic power", p.Power, 3, words.WattsPerHorsepower, "hp", 1000, "kW")
	inBoth("pressure at rated rod load", p.Allowed, 4, words.PascalsPerPSI, "psi", 1e5, "bar")
	inBoth("largest liner by rod load", p.Largest, 3, words.MetresPerInch, "in", 1e-3, "mm")
	return doc.Section{Heading: "What the pump displaces and carries", Parts: []doc.Part{{Table: g}, doc.List(
		doc.If(p.Rating == nil, "No rated rod load is given; write it from the manual under manual: rod-load-most."),
		doc.If(p.RatioAssumed, "The connecting rod is not given; speed, side force and flow over a turn take it as five cranks long."),
	)}}
}

func tank(t *figures.Tank) doc.Section {
	if t.NotKnown {
		return doc.Section{Heading: "Tank test", Parts: []doc.Part{doc.Text("Volumetric efficiency: "+lostInDoubt+".", "Do the test again with more strokes, counted closer, into a tank with finer marks. It is not weighed.")}}
	}
	line := fmt.Sprintf("Volumetric efficiency %s %%, give or take %s.", words.Figure(100*t.Efficiency, 100*t.U, 2), words.UpTo(200*t.U))
	if t.Impossible {
		return doc.Section{Heading: "Tank test", Parts: []doc.Part{doc.Text(line, "More came than the pump can displace. Check the liner's size, the stroke counter and the tank. It is not weighed.")}}
	}
	b := doc.Text(line + fmt.Sprintf(" Lost: %s %%.", words.Figure(100*t.Loss, 100*t.U, 2)))
	b.Table = &doc.Table{Head: []string{"What the loss is like", "Expected", "Measured less expected", "Fits"}, Rows: doc.Each(t.Like, func(l figures.Like) []doc.Cell {
		return doc.Cells(l.Name, fmt.Sprintf("%.0f %%", 100*l.Loss), difference(100*(t.Loss-l.Loss)), cmp.Or(doc.If(l.Fits, "yes"), "no"))
	})}
	s := doc.Section{Heading: "Tank test", Parts: []doc.Part{b}}
	if t.Advice != nil {
		s.Parts = append(s.Parts, doc.List(append([]string{doc.Ended(t.Advice.Title) + " It is not weighed."}, t.Advice.Do...)...))
	}
	return s
}

// difference prints a difference in per cent without a sign before nothing.
func difference(x float64) string {
	if x = math.Round(x); x == 0 {
		return "0 %"
	}
	return fmt.Sprintf("%+.0f %%", x)
}

// head prints a head of mud in feet and in metres, to no more digits than its
// uncertainty leaves.
func head(m, u float64) (feet, metres string) {
	in := func(unit float64) string {
		if u >= 10*unit {
			return words.Significant(m/unit, max(1, 1+int(math.Floor(math.Log10(math.Abs(m/unit)))-math.Floor(math.Log10(u/unit)))))
		}
		return words.Figure(m/unit, u/unit, 1)
	}
	return in(words.MetresPerFoot), in(1)
}

func suction(s *figures.Suction) doc.Section {
	g := &doc.Table{Head: []string{"Head", "ft", "m"}}
	add := func(name string, m, u float64) {
		feet, metres := head(m, u)
		g.Rows = append(g.Rows, doc.Cells(name, feet, metres))
	}
	if s.Charged {
		add("charge pressure, absolute", s.Pressure, 0)
	} else {
		add("air pressure on the pit", s.Pressure, 0)
		add("mud level over the pump", s.Static, 0)
		if s.Friction > 0 {
			add("less friction", -s.Friction, 0)
		}
	}
	add("less vapour pressure", -s.Vapour, 0)
	add("less acceleration head", -s.Acceleration, s.Doubt)
	if s.Available < 0 {
		g.Rows = append(g.Rows, doc.Cells("left at the pump", "none", "none"))
	} else {
		add("left at the pump", s.Available, s.Doubt)
	}
	if s.Needed != nil {
		add("the pump needs", *s.Needed, 0)
	}
	add("margin", s.Margin, s.Doubt)
	more := doc.List(
		fmt.Sprintf("Acceleration head with C = %s from this crank and K of the rulebook. It holds for short lines without a stabiliser.", words.Significant(s.Constant, 3)),
		doc.If(s.Needed == nil, "What the pump needs is not given; write it from the manual as head-needed. The margin is then only to boiling."),
		doc.If(s.Charged, "The charge pressure counts; the mud level and the friction before the gauge are in it."),
		doc.If(len(s.Assumed) > 0, "Assumed: "+strings.Join(s.Assumed, "; ")+"."),
		doc.If(s.Available < 0, "Nothing is left: by this reckoning the mud parts from the pistons."),
		doc.If(s.MostlyFrom != "", "Most of the acceleration head comes from "+s.MostlyFrom+". Is that as it stands on the rig?"),
		doc.If(s.Margin < 0, "The margin is below zero: slow the pump, shorten or widen the line, raise the mud or the charge pressure."),
	)
	return doc.Section{Heading: "Suction", Aside: ", in head of this mud", Parts: []doc.Part{{Table: g}, more}}
}

// record says what a record of changed parts shows.
func record(p *figures.Part) doc.Section {
	b := doc.Text(fmt.Sprintf("%d changes in %s h.", p.Changes, words.Significant(p.Hours, 4)))
	g := &doc.Table{Head: []string{"Place", "Changes", "Whole lives", "Shortest, h", "Longest, h", "Now in for, h"}}
	for _, l := range p.PerPlace {
		shortest, longest := "-", "-"
		if l.Failed > 0 {
			shortest, longest = words.Significant(l.Shortest, 3), words.Significant(l.Longest, 3)
		}
		g.Rows = append(g.Rows, doc.Cells(cmp.Or(l.Place.String(), "pump"), fmt.Sprint(l.Changes), fmt.Sprint(l.Failed), shortest, longest, words.Significant(l.Running, 3)))
	}
	b.Table = g
	list := []string{worstLine(p)}
	var do []string
	for i := range p.Ends {
		list = append(list, endLine(&p.Ends[i]))
		for _, line := range p.Ends[i].Do {
			if !slices.Contains(do, line) {
				do = append(do, line)
			}
		}
	}
	list = append(append(list, do...), trendLine(p))
	list = append(list, doc.If(p.Together > 0, fmt.Sprintf("%d changes share their hour with another place. Parts changed as a set are not failures of their own: write those that were still good under still-good-at.", p.Together)))
	return doc.Section{Heading: "Record: " + p.Title, Parts: []doc.Part{b, doc.List(list...)}}
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
		return fmt.Sprintf("Parts last less at %s than at the sisters, by more than luck (so bad a worst place comes by luck %s of the time).", words.Places(w.Places, " and "), luck(w.P))
	}
	return fmt.Sprintf("No place is shown to be worse (so bad a worst place as %s comes by luck %s of the time).", words.Places(w.Places, " and "), luck(w.P))
}

// endLine says how parts end and how long they last.
func endLine(e *figures.PartEnd) string {
	of := ""
	switch {
	case e.Others:
		of = "Elsewhere: "
	case len(e.Places) > 0:
		of = words.Capital(words.Places(e.Places, " and ")) + ": "
	}
	line := of + doc.Ended(e.Title)
	if e.Shape != nil {
		line += fmt.Sprintf(" Half have failed by %s h, one in ten by %s h (Weibull shape %s; limits 95 in 100).", limits(e.Median, 2), limits(e.Tenth, 2), limits(e.Shape, 2))
	}
	return line
}

// limits prints a figure with what it lies between: "560 (510 to 620)".
func limits(l *figures.Limits, digits int) string {
	if l.High == nil {
		return fmt.Sprintf("%s (%s or more)", words.Significant(l.Value, digits), words.Significant(l.Low, digits))
	}
	return fmt.Sprintf("%s (%s to %s)", words.Significant(l.Value, digits), words.Significant(l.Low, digits), words.Significant(*l.High, digits))
}

// luck prints how often something comes by luck, as a permutation test has it.
func luck(p float64) string {
	return cmp.Or(doc.If(p < 0.01, "under 1 %"), fmt.Sprintf("%.0f %%", 100*p))
}

func trendLine(p *figures.Part) string {
	byLuck := fmt.Sprintf("(by luck %s of the time).", luck(p.Trend.P))
	switch p.Trend.Says {
	case "too few":
		return "Too few whole lives to tell whether they get shorter."
	case "worse":
		return "The lives get shorter and shorter " + byLuck
	case "better":
		return "The lives get longer and longer " + byLuck
	}
	return "The lives are not shown to get shorter or longer."
}

// tankLine sums up a tank test.
func tankLine(t *figures.Tank) string {
	if t.NotKnown {
		return "Tank test: " + lostInDoubt + "."
	}
	if t.Impossible {
		return "Tank test: more came than the pump can displace; check liner, counter and tank."
	}
	line := fmt.Sprintf("Tank test: lost %s %%, give or take %s.", words.Figure(100*t.Loss, 100*t.U, 2), words.UpTo(200*t.U))
	if t.Advice != nil {
		return line + " " + doc.Ended(t.Advice.Title) + " It is not weighed. " + strings.Join(t.Advice.Do, " ")
	}
	for _, l := range t.Like {
		if l.Fits {
			line += " It is like: " + l.Name + "."
		}
	}
	return line
}
