package hear

import (
	"math"

	"telltale/rules"
)

// leastKind is the share of a kind's words that must be there.
const leastKind = 0.5

// kind gives the kind of the sign that the sentence tells, "" if none: the one
// of whose phrases the words that the other kinds do not have are there.
func (h *hearing) kind(sign *rules.Sign, best hit, items []item, sentence int) string {
	if best.phrase.kind != "" && best.cover > 0.7 {
		return best.phrase.kind
	}
	if len(sign.Kinds) == 0 {
		return ""
	}
	there := map[int]bool{}
	for _, it := range items {
		if it.term >= 0 {
			there[it.term] = true
		}
	}
	in := map[int]map[string]bool{} // kinds that a term speaks of
	var phrases []*phrase
	common := map[int]bool{} // terms that say the sign whatever its kind
	for i := range h.l.phrases {
		p := &h.l.phrases[i]
		t := h.l.targets[p.target]
		if t.is != IsSign || t.id != sign.ID {
			continue
		}
		if p.kind == "" {
			if !p.absent {
				for _, t := range p.terms {
					common[t] = true
				}
			}
			continue
		}
		phrases = append(phrases, p)
		for _, t := range p.terms {
			if in[t] == nil {
				in[t] = map[string]bool{}
			}
			in[t][p.kind] = true
		}
	}
	bestKind, bestShare, second := "", 0.0, 0.0
	score := map[string]float64{}
	n := float64(len(sign.Kinds))
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
		if all > 0 && has/all > score[p.kind] {
			score[p.kind] = has / all
		}
	}
	for _, k := range sign.Kinds {
		if s := score[k.ID]; s > bestShare {
			bestKind, second, bestShare = k.ID, bestShare, s
		} else if s > second {
			second = s
		}
	}
	if bestShare < leastKind || bestShare < second*1.15 {
		return ""
	}
	return bestKind
}
