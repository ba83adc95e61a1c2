package page

import (
	"telltale/engine"
	"telltale/engine/figures"
)

// RatingLines says in words which figures are nearer to their limit than they
// are known, and which limits nothing could be compared with; with all, what is
// past its limit (a stop condition says that first) and what is inside too.
func RatingLines(r *engine.Report, all bool) []string {
	var out []string
	for i := range r.Ratings {
		c := &r.Ratings[i]
		line := c.Title + " " + c.RunsAt + ". " + c.LimitTitle + ": " + c.Rated + "."
		switch c.Stand {
		case figures.Near:
			out = append(out, "NEAR: "+line+" Chance that it is past that, by what a figure may be off: "+Percent(c.Chance)+".")
		case figures.NotKnown:
			out = append(out, "NOT COMPARED: "+c.Title+". "+c.LimitTitle+": "+c.Rated+". To compare it, "+c.Why+".")
		case figures.Past:
			if all {
				out = append(out, "PAST: "+line)
			}
		default:
			if all {
				out = append(out, "Inside: "+line)
			}
		}
	}
	return out
}

// ratingBlock says what is near its limit or could not be compared.
func ratingBlock(r *engine.Report) block {
	return block{heading: "RATINGS", list: RatingLines(r, false)}
}

// allRatings has every figure beside its limit.
func allRatings(r *engine.Report) block {
	b := block{heading: "RATINGS", list: RatingLines(r, true)}
	if len(b.list) > 0 {
		b.list = append(b.list, "A figure is known to half of its last digit as typed, and no better than the rulebook takes a gauge for. Settings and sizes are taken as named.")
	}
	return b
}
