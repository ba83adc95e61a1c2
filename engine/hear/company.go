package hear

import (
	"cmp"
	"slices"

	"gonum.org/v1/gonum/floats"

	"telltale/evidence"
	"telltale/rules"
)

// How much the company of what was understood already can move a hit.
const companyWeight = 0.35

// How much likelier words that name no thing speak on of the same sign.
const sameSignWeight = 1.2

// How much less likely a sign of the whole pump is meant where a cylinder is told.
const ofPumpThough = 0.6

// names says whether a thing is named; "cylinder" alone is none, it goes with a place.
func names(items []item) bool {
	return slices.ContainsFunc(items, func(it item) bool { return it.role == rules.NamesThing && !it.same.Numbered })
}

// withCompany ranks nearly tied signs by the company that the rulebook gives
// them: causes that show what was understood already.
func (h *hearing) withCompany(items []item, hits []hit, where where) []hit {
	if len(hits) < 2 || len(h.sure) == 0 && h.lastSign == nil && !where.told {
		return hits
	}
	out := slices.Clone(hits)
	for i := range out {
		t := h.l.targets[out[i].phrase.target]
		if out[i].score < 0.6*hits[0].score {
			break
		}
		if t.is != IsSign {
			continue
		}
		if where.told && t.sign.Level == evidence.OfPump {
			out[i].score *= ofPumpThough
		}
		most := 0.0
		for _, sign := range h.sure {
			if sign != t.id {
				most = max(most, h.l.company(sign, t.id))
			}
		}
		out[i].score *= 1 + companyWeight*most
		if names(items) && where.told && out[i].absent() && slices.Contains(h.sure, t.id) {
			out[i].score *= sameSignWeight // "left packing blows, right packing is fine"
		}
		if h.lastSign != nil && h.lastSign.ID == t.id && !names(items) {
			out[i].score *= sameSignWeight // "1 and 3 are dry" speaks on of the wipers
		}
	}
	slices.SortStableFunc(out, func(a, b hit) int { return cmp.Compare(b.score, a.score) })
	return out
}

// goesOnShare is the share of the best score from which a sign that was spoken of is
// what goes on.
const goesOnShare = 0.35

// isOn are the stems of words that say that something goes on as it was.
var isOn = map[string]bool{"still": true, "same": true, "persist": true, "continu": true, "remain": true, "stay": true}

// goesOn takes, where words that name no thing say that something is still so, the last
// sign that was there and that they can say: "noise is same", "still drips".
func (h *hearing) goesOn(items []item, hits []hit) []hit {
	if len(hits) == 0 || len(h.sure) == 0 || names(items) || weight(items) > 2 || !slices.ContainsFunc(items, func(it item) bool { return isOn[it.stem] }) || slices.ContainsFunc(items, func(it item) bool { return it.role == rules.SaysStrokes }) {
		return hits
	}
	last := h.sure[max(0, len(h.sure)-lastOfSure):]
	for i, hit := range hits {
		if hit.score < goesOnShare*hits[0].score {
			break
		}
		if t := h.l.targets[hit.phrase.target]; t.is == IsSign && !hit.absent() && slices.Contains(last, t.id) {
			return slices.Insert(slices.Delete(slices.Clone(hits), i, i+1), 0, hit)
		}
	}
	return hits
}

// lastOfSure is how many of the signs that are there may be what goes on.
const lastOfSure = 4

// company is how alike the causes of two signs are: the cosine of how often
// each cause shows them.
func (l *Listener) company(a, b string) float64 {
	if l.shown[a] == nil || l.shown[b] == nil {
		return 0
	}
	return floats.Dot(l.shown[a], l.shown[b])
}

// shownBy gives how often each cause of the book shows each sign, of length one.
func shownBy(book *rules.Book) map[string][]float64 {
	out := map[string][]float64{}
	for i, c := range book.Causes.List {
		for _, s := range c.Shows {
			if out[s.Sign] == nil {
				out[s.Sign] = make([]float64, len(book.Causes.List))
			}
			out[s.Sign][i] = s.Total
		}
	}
	for _, v := range out {
		if n := floats.Norm(v, 2); n > 0 {
			floats.Scale(1/n, v)
		}
	}
	return out
}
