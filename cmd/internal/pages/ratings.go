package pages

import (
	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/figures"
)

// RatingLines says which figures are nearer to their limit than they are known,
// and which limits nothing could be compared with; with all, what is past its
// limit (a stop condition says that first) and what is inside too.
func RatingLines(r *engine.Report, all bool) []string {
	var out []string
	for i := range r.Ratings {
		c := &r.Ratings[i]
		line := c.Title + " " + c.RunsAt + ". " + c.LimitTitle + ": " + c.Rated + "."
		switch {
		case c.Stand == figures.Near:
			out = append(out, "NEAR: "+line+" Chance that it is past that, by what a figure may be off: "+words.Percent(c.Chance)+".")
		case c.Stand == figures.NotKnown:
			out = append(out, "NOT COMPARED: "+c.Title+". "+c.LimitTitle+": "+c.Rated+". To compare it, "+c.Why+".")
		case !all:
		case c.Stand == figures.Past:
			out = append(out, "PAST: "+line)
		default:
			out = append(out, "Inside: "+line)
		}
	}
	return out
}

// ratings says what is near its limit or could not be compared.
func ratings(r *engine.Report) doc.Section {
	return doc.Section{Heading: "Ratings", Parts: []doc.Part{doc.List(RatingLines(r, false)...)}}
}

// allRatings has every figure beside its limit.
func allRatings(r *engine.Report) doc.Section {
	lines := RatingLines(r, true)
	known := doc.If(len(lines) > 0, "A figure is known to half of its last digit as typed, and no better than the rulebook takes a gauge for. Settings and sizes are taken as named.")
	return doc.Section{Heading: "Ratings", Parts: []doc.Part{doc.List(append(lines, known)...)}}
}
