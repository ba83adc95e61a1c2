package pages

import (
	"fmt"
	"math"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine/chances"
	"telltale/engine/figures"
)

// sameFoot says for what the gauges are held against those before.
const sameFoot = "This only holds for the same mud, depth, nozzles and way of the mud, and for the same gauges."

// beforeAndNow is the gauges now beside what they said before the trouble.
func beforeAndNow(b *figures.BeforeAndNow) doc.Section {
	lines := changeLines(b)
	if len(lines) == 0 {
		return doc.Section{}
	}
	return doc.Section{Heading: "The gauges, before and now", Parts: []doc.Part{doc.List(lines...), doc.Text(sameFoot)}}
}

// changeLines say each gauge in one line: "Pressure: 2800 psi before, 2400 psi now,
// same strokes: 14 % low, give or take 4."
func changeLines(b *figures.BeforeAndNow) []string {
	var out []string
	add := func(what, besides string, c *figures.Change) {
		if c != nil {
			out = append(out, fmt.Sprintf("%s: %s before, %s now%s: %s.", what, c.Before, c.Now, besides, changed(c.By)))
		}
	}
	same := doc.If(b.SameStrokes, ", same strokes")
	if b.Exponent != nil {
		same = fmt.Sprintf(", other strokes, which alone make it %s (%s)", b.Pressure.Expected, exponent(b.Exponent))
	}
	add("Pressure", same, b.Pressure)
	add("Charge pressure", ", same strokes", b.Charge)
	add("Strokes", ", same setting of the drive", b.Strokes)
	add("Drive load", ", same strokes", b.Load)
	switch {
	case b.Followed == nil:
	case b.Followed.NotKnown:
		out = append(out, "How the drive load went with the pressure: "+lostInDoubt+".")
	default:
		out = append(out, fmt.Sprintf("The drive load made %s %% of the change of the pressure, give or take %s. 100 %%: it went with it. 0 %%: it stayed.",
			words.Figure(100*b.Followed.Mean, 100*b.Followed.U, 2), words.UpTo(200*b.Followed.U)))
	}
	return out
}

// lostInDoubt is said of a figure that is not weighed.
const lostInDoubt = "not known from these readings: the doubt is larger than the figure"

// changed says a change: "14 % low, give or take 4".
func changed(by figures.Share) string {
	if by.NotKnown {
		return lostInDoubt
	}
	word := "high"
	if by.Mean < 0 {
		word = "low"
	}
	take := ", give or take " + words.UpTo(200*by.U)
	if math.Abs(by.Mean) < 0.005 {
		return "the same" + take + " %"
	}
	return words.Figure(100*math.Abs(by.Mean), 100*by.U, 2) + " % " + word + take
}

// exponent says how the pressure was taken to go with the strokes.
func exponent(e *figures.Exponent) string {
	by := "whatever the mud"
	switch {
	case e.Fitted:
		by = "by two readings of this rig"
	case e.Mud != "":
		by = chances.LowerFirst(e.Mud)
	}
	return fmt.Sprintf("by a power of %.2g to %.2g, %s", e.Least, e.Most, by)
}
