package pages

import (
	"fmt"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/figures"
	"telltale/rules"
)

// leastPast is the chance of being past its threshold from which a sign is worth a line.
const leastPast = 0.1

// ofPump says whether a sign is about what the pump does, not about how its
// parts stand.
func ofPump(r *engine.Report, f chances.MeasuredFinding) bool {
	return slices.ContainsFunc(r.Measured.Parts, func(p figures.Part) bool { return p.Part == f.Of }) ||
		slices.Contains([]string{"tank-test", "before-and-now", "suction-line"}, rules.MeasuredValue(f.Of).Kind().Block)
}

// signs says what the readings of one page say, and what of it was
// weighed.
func signs(r *engine.Report, pump bool) doc.Section {
	part := doc.List(signLines(r, pump)...)
	switch held := slices.ContainsFunc(r.Measured.Thresholds, func(f chances.MeasuredFinding) bool { return ofPump(r, f) == pump }); {
	case len(part.Items) > 0:
	case held:
		part = doc.Text("No sign of trouble in what was measured.")
	default:
		part = doc.Text("Nothing here could be held against a sign of trouble.")
	}
	return doc.Section{Heading: "What the readings say", Parts: []doc.Part{part}}
}

func signLines(r *engine.Report, pump bool) []string {
	var out []string
	for _, f := range r.Measured.Thresholds {
		if f.Chance < leastPast || ofPump(r, f) != pump {
			continue
		}
		out = append(out, fmt.Sprintf("%s: %s (%s).", words.Titled(f.Title, f.Place), words.Percent(f.Chance), f.Past)+doc.If(!f.Counted, " Not weighed: "+f.Why+"."))
	}
	return out
}

func missing(r *engine.Report) doc.Section {
	return doc.Section{Heading: "What is wanted for more", Parts: []doc.Part{doc.List(r.Measured.Missing...)}}
}

// measured sums up what was measured.
func measured(r *engine.Report) doc.Section {
	if r.Measured == nil {
		return doc.Section{}
	}
	out := doc.Each(r.Measured.Centring, centringLine)
	if t := r.Measured.Tank; t != nil {
		out = append(out, tankLine(t))
	}
	if b := r.Measured.BeforeAndNow; b != nil {
		out = append(out, changeLines(b)...)
	}
	if s := r.Measured.Suction; s != nil {
		feet, metres := head(s.Margin, s.Doubt)
		out = append(out, fmt.Sprintf("Suction: margin %s ft (%s m) of mud. telltale output shows the reckoning.", feet, metres))
	}
	for i := range r.Measured.Parts {
		p := &r.Measured.Parts[i]
		out = append(out, "Record of "+strings.ToLower(p.Title)+": "+worstLine(p)+" "+trendLine(p))
	}
	out = append(append(append(out, signLines(r, true)...), signLines(r, false)...), r.Measured.Missing...)
	return doc.Section{Heading: "Measured", Parts: []doc.Part{doc.List(out...)}}
}

// gauges names the gauges where readings are to be taken.
func gauges(r *engine.Report) doc.Section {
	wants := len(r.Measured.Centring) == 0
	for _, c := range r.Measured.Centring {
		wants = wants || c.MeasureAgain
	}
	if !wants || len(r.Measured.Gauges) == 0 {
		return doc.Section{}
	}
	return doc.Section{Heading: "What to measure with", Parts: []doc.Part{{
		Text: []string{"What each shows is judged, in a practised hand. Write the smallest step under resolution:."}, Items: doc.Items(gaugeLines(r.Measured.Gauges)...),
	}}}
}

// gaugeLines say each gauge in one line: what it is, what it shows and how.
func gaugeLines(gauges []figures.Gauge) []string {
	return doc.Each(gauges, func(g figures.Gauge) string {
		return g.Title + ". Shows about " + words.InThou.Say(g.Shows) + ". " + g.Do
	})
}
