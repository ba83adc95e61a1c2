package page

import (
	"telltale/engine"
	"telltale/engine/figures"
)

// gaugeLine says a gauge in one line: what it is, what it shows and how.
func gaugeLine(g figures.Gauge) string {
	return g.Title + ". Shows about " + inThou.say(g.Shows) + ". " + g.Do
}

// gaugeBlock names the gauges where readings are to be taken.
func gaugeBlock(r *engine.Report) block {
	wants := len(r.Measured.Centring) == 0
	for _, c := range r.Measured.Centring {
		wants = wants || c.MeasureAgain
	}
	if !wants || len(r.Measured.Gauges) == 0 {
		return block{}
	}
	b := block{heading: "WHAT TO MEASURE WITH", paras: []string{"What each shows is judged, in a practised hand. Write the smallest step under resolution:."}}
	for _, g := range r.Measured.Gauges {
		b.list = append(b.list, gaugeLine(g))
	}
	return b
}
