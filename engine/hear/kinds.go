package hear

import (
	"math"

	"telltale/rules"
)

// leastKind is the share of a kind's words that must be there.
const leastKind = 0.55

// kind gives the kind of the sign that the words tell, else the sentence, else the
// phrase that was hit; "" if none.
func (h *hearing) kind(sign *rules.Sign, best hit, items []item, c cut) string {
	if len(sign.Kinds) == 0 {
		return ""
	}
	if k := h.l.kindIn(sign, items); k != "" {
		return k
	}
	if best.phrase.kind != "" && best.cover > 0.7 {
		return best.phrase.kind
	}
	from, to := c.from, c.to // the sentence, not too far off
	for from > 0 && c.from-from < mostClauses && h.clauses[from-1].sentence == h.clauses[c.from].sentence {
		from--
	}
	for to < len(h.clauses) && to-c.to < mostClauses && h.clauses[to].sentence == h.clauses[c.from].sentence {
		to++
	}
	return h.l.kindIn(sign, h.itemsOf(from, to))
}

// kindIn gives the kind of whose phrases the words that the other kinds do not
// have are there.
func (l *Listener) kindIn(sign *rules.Sign, items []item) string {
	there := map[int]bool{}
	for i, it := range items {
		switch {
		case it.isNumber && it.number == 0:
			there[l.zero] = true
		case it.isNumber && i+1 < len(items) && items[i+1].role == rules.SaysPressure:
			there[l.pressure] = true
		case it.term >= 0 && it.role != rules.SaysOnly:
			there[it.term] = true
		}
	}
	var phrases []*phrase
	in := map[int]map[string]bool{} // kinds that a term speaks of
	common := map[int]bool{}        // terms that say the sign whatever its kind
	for _, i := range l.ofSign[sign.ID] {
		p := &l.phrases[i]
		switch {
		case p.kind != "":
			phrases = append(phrases, p)
			for _, t := range p.terms {
				if in[t] == nil {
					in[t] = map[string]bool{}
				}
				in[t][p.kind] = true
			}
		case !p.absent:
			for _, t := range p.terms {
				common[t] = true
			}
		}
	}
	n := float64(len(sign.Kinds))
	share := map[string]float64{}
	for _, p := range phrases {
		var has, all float64
		for _, t := range p.terms {
			w := math.Log(1+n) - math.Log(float64(len(in[t])))
			if len(in[t]) == len(sign.Kinds) && n > 1 {
				w = 0
			}
			if common[t] {
				w *= 0.3
			}
			all += w
			if there[t] {
				has += w
			}
		}
		if all > 0.3 {
			share[p.kind] = max(share[p.kind], has/all)
		}
	}
	best, most, second := "", 0.0, 0.0
	for _, k := range sign.Kinds {
		if s := share[k.ID]; s > most {
			best, second, most = k.ID, most, s
		} else if s > second {
			second = s
		}
	}
	if most < leastKind || most < second*1.15 {
		return ""
	}
	return best
}
