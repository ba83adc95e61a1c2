package hear

import (
	"math"

	"telltale/rules"
)

const (
	leastKind    = 0.4  // the share of a kind's words that must be there
	clearKind    = 1.15 // how many times that of the next kind it must be
	commonShare  = 0.3  // what is left of a word that says the sign whatever its kind
	leastTelling = 0.3  // a phrase whose words weigh less tells no kind
)

// kind gives the kind of the sign that the words tell, else the sentence, else the
// phrase that was hit; "" if none.
func (h *hearing) kind(sign *rules.Sign, best hit, items []item, c cut) string {
	if len(sign.Kinds) == 0 {
		return ""
	}
	if k := h.l.kindIn(sign, items); k != "" {
		return k
	}
	if best.phrase.kind != "" && best.cover > 0.55 {
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
			there[l.pressure], there[l.lowPressure] = true, true
		case it.term >= 0 && it.role != rules.SaysOnly:
			there[it.term] = true
		}
	}
	best, most, second := "", 0.0, 0.0
	for _, k := range sign.Kinds {
		share := 0.0
		for _, p := range l.ofKind[kindOf{sign.ID, k.ID}] {
			has := 0.0
			for i, t := range p.terms {
				if there[t] {
					has += p.weights[i]
				}
			}
			share = max(share, has/p.weight)
		}
		if share > most {
			best, second, most = k.ID, most, share
		} else if share > second {
			second = share
		}
	}
	if most < leastKind || most < clearKind*second {
		return ""
	}
	return best
}

type kindOf struct{ sign, kind string }

// kindPhrase is a phrase of a kind with how much each of its words tells it from
// the other kinds of its sign.
type kindPhrase struct {
	terms   []int
	weights []float64
	weight  float64 // their sum
}

// kindPhrases gives the phrases of the kinds that tell one from the others.
func (l *Listener) kindPhrases(signs []*rules.Sign) map[kindOf][]kindPhrase {
	out := map[kindOf][]kindPhrase{}
	for _, sign := range signs {
		in := map[int]map[string]bool{} // kinds that a term speaks of
		common := map[int]bool{}        // terms that say the sign whatever its kind
		for _, i := range l.ofSign[sign.ID] {
			p := &l.phrases[i]
			for _, t := range p.terms {
				switch {
				case p.kind == "":
					common[t] = common[t] || !p.absent
				case in[t] == nil:
					in[t] = map[string]bool{p.kind: true}
				default:
					in[t][p.kind] = true
				}
			}
		}
		for _, i := range l.ofSign[sign.ID] {
			p := &l.phrases[i]
			k := kindPhrase{terms: p.terms}
			for _, t := range p.terms {
				w := 0.0
				if n := len(sign.Kinds); p.kind != "" && (n == 1 || len(in[t]) < n) {
					w = math.Log(float64(1+n) / float64(len(in[t])))
				}
				if common[t] {
					w *= commonShare
				}
				k.weights = append(k.weights, w)
				k.weight += w
			}
			if k.weight > leastTelling {
				out[kindOf{sign.ID, p.kind}] = append(out[kindOf{sign.ID, p.kind}], k)
			}
		}
	}
	return out
}
