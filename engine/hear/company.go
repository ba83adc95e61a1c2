package hear

import (
	"cmp"
	"math"
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// How much the company of what was understood already can move a hit.
const companyWeight = 0.15

// withCompany ranks nearly tied signs by the company that the rulebook gives
// them: causes that show what was understood already.
func (h *hearing) withCompany(hits []hit) []hit {
	if len(hits) < 2 || len(h.heard) == 0 {
		return hits
	}
	out := slices.Clone(hits)
	for i := range out {
		t := h.l.targets[out[i].phrase.target]
		if t.is != IsSign || out[i].score < 0.6*hits[0].score {
			continue
		}
		most := 0.0
		for _, s := range h.heard {
			if s.Is == IsSign && s.Answer == string(evidence.Present) && s.ID != t.id && s.Strength != Weak {
				most = max(most, h.l.company(s.ID, t.id))
			}
		}
		out[i].score *= 1 + companyWeight*most
	}
	slices.SortStableFunc(out, func(a, b hit) int { return cmp.Compare(b.score, a.score) })
	return out
}

// company is how alike the causes of two signs are: the cosine of how often
// each cause shows them.
func (l *Listener) company(a, b string) float64 {
	var ab, aa, bb float64
	for _, c := range l.book.Causes.List {
		x, y := shows(c, a), shows(c, b)
		ab, aa, bb = ab+x*y, aa+x*x, bb+y*y
	}
	if ab == 0 {
		return 0
	}
	return ab / math.Sqrt(aa*bb)
}

func shows(c *rules.Cause, sign string) float64 {
	most := 0.0
	for _, s := range c.Shows {
		if s.Sign == sign {
			most = max(most, s.Total)
		}
	}
	return most
}
