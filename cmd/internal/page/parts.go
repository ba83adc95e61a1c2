package page

import (
	"strings"

	"telltale/engine"
	"telltale/engine/figures"
	"telltale/evidence"
)

// What follows is for views that lay a page out themselves: the same words,
// without a layout.

// Govern is printed on every page.
const Govern = govern

// WhenFound says when to leave the list of steps.
const WhenFound = whenFound

// OnlyIfNothing is said before the step that RestFrom names.
const OnlyIfNothing = onlyIfNothing

// RestFrom gives the number of the first step that is only for when nothing
// was found so far; 0 if there is none.
func RestFrom(steps []engine.StepReport) int { return restFrom(steps) }

// Part is one part of a page.
type Part struct {
	Heading  string
	Paras    []string
	Head     []string // of the table, empty if there is none
	Rows     [][]string
	List     []string
	Numbered bool
	// Procedure, if there is one, has its steps in List.
	Procedure *figures.Procedure
}

func parts(blocks []block) []Part {
	var out []Part
	for _, b := range present(blocks) {
		p := Part{Heading: sentence(b.heading), Paras: b.paras, List: b.list, Numbered: b.steps, Procedure: b.procedure}
		if b.table != nil {
			p.Head, p.Rows = b.table.header, b.table.rows
		}
		out = append(out, p)
	}
	return out
}

// AlignParts is what Align writes.
func AlignParts(r *engine.Report) []Part { return parts(alignBlocks(r)) }

// OutputParts is what Output writes.
func OutputParts(r *engine.Report) []Part { return parts(outputBlocks(r)) }

// CentringParts is what Align writes of one cylinder's rod and guides.
func CentringParts(c *figures.Centring) []Part { return parts(centring(c)) }

// Heading describes the pump in a few lines, the rulebook last.
func Heading(r *engine.Report) []string { return measuredTitle(r) }

// Signals explains the signal words that the report uses.
func Signals(r *engine.Report) []string { return signalLegend(r) }

// Likely picks the causes that a page shows.
func Likely(r *engine.Report) []engine.CauseReport { return likely(r, false) }

// At says a place in words, "cylinder 2" or "left cylinder, head end"; empty
// for the whole pump.
func At(w evidence.Place) string { return at(w) }

// SpareText names a part with the places where it is needed.
func SpareText(s engine.SpareReport) string { return spareText(s) }

// BesidesText says what must be opened besides to fit a part; empty if the
// plan gets at it.
func BesidesText(s engine.SpareReport) string { return besidesText(s) }

// WornText says how long a part has run past its life.
func WornText(w engine.WornReport) string { return wornText(w) }

// People counts people in words.
func People(n int) string { return people(n) }

// Plain makes text safe inside Markdown.
func Plain(text string) string { return plain(text) }

// Lengths prints lengths with the crew's own unit first.
type Lengths struct{ ruler }

// InCrewUnits prints lengths in mm if metric, else in thou.
func InCrewUnits(metric bool) Lengths { return Lengths{ruler{metric}} }

// Unit is the crew's own unit, "thou" or "mm".
func (l Lengths) Unit() string {
	unit, _ := l.units()
	return unit
}

// Short prints a length in the crew's own unit without naming it, as the first
// figure of a table's cell.
func (l Lengths) Short(x figures.Length) string {
	first, _ := l.parts(x)
	return first
}

// Stands prints a height as Short without a sign: "12.0 low".
func (l Lengths) Stands(x figures.Length, under, over string) string {
	text := l.Short(x)
	switch {
	case strings.Trim(text, "0.-") == "":
		return text
	case strings.HasPrefix(text, "-"):
		return text[1:] + " " + under
	}
	return text + " " + over
}

// Force prints a force in both systems.
func Force(newtons float64) string { return force(newtons) + " (" + kilonewtons(newtons) + ")" }

// GaugeLine says a gauge in one line.
func GaugeLine(g figures.Gauge) string { return gaugeLine(g) }
