package hear

import (
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// mostOthers is how many other readings a statement carries.
const mostOthers = 4

// othersFrom is the share of the best score from which another hit is offered.
const othersFrom = 0.25

// others gives what else the words of a statement may say, beside the hit that it
// is ("" : none was taken). They come from several sources, so that they do not
// all rest on the same word: the next hit, the sign spoken of last where no thing
// is named, what each clause says apart, then the further hits.
func (h *hearing) others(c cut, items []item, s *span, hits []hit, taken string) []Other {
	var out []Other
	offer := func(o Other) {
		if len(out) < mostOthers && o.ID != taken && !slices.ContainsFunc(out, func(p Other) bool { return p.ID == o.ID }) {
			out = append(out, o)
		}
	}
	next := slices.DeleteFunc(slices.Clone(hits[:min(len(hits), mostOthers+1)]), func(n hit) bool {
		return n.score < othersFrom*hits[0].score || h.l.targets[n.phrase.target].id == taken
	})
	if len(next) > 0 {
		offer(h.other(next[0], items))
	}
	if c.to > c.from+1 {
		for _, clause := range h.clauses[c.from:c.to] {
			if apart := h.l.hits(h.l.spanOf(h.words, clause.items, nil), h.ear); len(apart) > 0 && apart[0].score >= leastScore {
				offer(h.other(apart[0], clause.items))
			}
		}
	}
	if n := len(h.sure); n > 0 && !names(items) {
		well := slices.ContainsFunc(items, func(it item) bool { return it.role == rules.SaysWell })
		offer(Other{Is: IsSign, ID: h.sure[n-1], Answer: presentUnless(well != s.not), Strength: Weak})
	}
	for _, n := range next {
		offer(h.other(n, items))
	}
	return out
}

// other is a hit as another reading.
func (h *hearing) other(n hit, items []item) Other {
	t := h.l.targets[n.phrase.target]
	o := Other{Is: t.is, ID: t.id, Answer: presentUnless(n.absent()), Strength: Weak}
	if t.is == IsSign && !n.absent() {
		if o.Kind = h.l.kindIn(t.sign, items); o.Kind == "" {
			o.Kind = n.phrase.kind
		}
	}
	return o
}

func presentUnless(absent bool) string {
	if absent {
		return string(evidence.Absent)
	}
	return string(evidence.Present)
}
