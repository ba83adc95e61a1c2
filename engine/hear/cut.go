package hear

import (
	"slices"

	"telltale/rules"
)

// cut is some clauses that make one statement.
type cut struct {
	from, to int
}

// A clause of more items than longClause was told without a stop: it is cut
// where the pieces explain it best, each at least shortPiece and at most
// longPiece items, for the price of perPiece each.
const (
	longClause = 7
	shortPiece = 2
	longPiece  = 9
	perPiece   = perStatement + 0.5
)

// weight counts the items that are no small words, figures or units.
func weight(items []item) (n int) {
	for i, it := range items {
		if it.role != rules.SaysNothing && !it.isNumber && !isUnit(items, i) {
			n++
		}
	}
	return n
}

func (h *hearing) splitLong() {
	var out []clause
	for _, c := range h.clauses {
		if weight(c.items) <= longClause {
			out = append(out, c)
			continue
		}
		n := len(c.items)
		best, size := make([]float64, n+1), make([]int, n+1)
		for end := 1; end <= n; end++ {
			best[end], size[end] = best[end-1]-0.3, 1 // a word that no piece takes
			for k := shortPiece; k <= min(longPiece, end); k++ {
				s := h.l.spanOf(h.words, c.items[end-k:end], nil)
				if len(s.bag) == 0 {
					continue
				}
				if got := best[end-k] + h.l.bestScore(s, h.ear) - perPiece; got > best[end] {
					best[end], size[end] = got, k
				}
			}
		}
		var pieces []clause
		for end := n; end > 0; end -= size[end] {
			piece := clause{items: c.items[end-size[end] : end], sentence: c.sentence}
			if last := len(pieces) - 1; size[end] == 1 && last >= 0 { // it goes with what follows
				pieces[last].items = c.items[end-1 : end-1+1+len(pieces[last].items)]
				continue
			}
			pieces = append(pieces, piece)
		}
		slices.Reverse(pieces)
		if len(pieces) > 0 {
			pieces[0].joint = c.joint
		}
		out = append(out, pieces...)
	}
	h.clauses = out
}

// cut finds the cut of every sentence that explains it best.
func (h *hearing) cut() {
	for from := 0; from < len(h.clauses); {
		to := from
		for to < len(h.clauses) && h.clauses[to].sentence == h.clauses[from].sentence {
			to++
		}
		h.cutSentence(from, to)
		from = to
	}
}

func (h *hearing) cutSentence(from, to int) {
	n := to - from
	best := make([]float64, n+1)
	how := make([]cut, n+1)
	for end := 1; end <= n; end++ {
		best[end] = -1
		for size := 1; size <= min(mostClauses, end); size++ {
			c := cut{from: from + end - size, to: from + end}
			if size > 1 && h.placesApart(c) && h.deniesInPart(c) {
				continue
			}
			s := h.l.spanOf(h.words, h.itemsOf(c.from, c.to), nil)
			gain := max(0, h.l.bestScore(s, h.ear)-perStatement) - perJoint*float64(size-1)
			if size > 1 && h.deniesInPart(c) {
				gain -= otherDenial
			}
			if size > 1 && h.placesApart(c) {
				gain -= otherPlace
			}
			if got := best[end-size] + gain; best[end] < 0 || got > best[end] {
				best[end], how[end] = got, c
			}
		}
	}
	var cuts []cut
	for end := n; end > 0; {
		cuts = append(cuts, how[end])
		end = how[end].from - from
	}
	slices.Reverse(cuts)
	h.cuts = append(h.cuts, cuts...)
}

// placesApart says whether two of the clauses tell places of their own.
func (h *hearing) placesApart(c cut) bool {
	n := 0
	for _, clause := range h.clauses[c.from:c.to] {
		if slices.ContainsFunc(clause.items, func(it item) bool { return it.placeLike() || it.role == rules.SaysRest }) && (!saysOnlyWhere(clause.items) || says(clause.items)) {
			n++
		}
	}
	return n > 1
}

// says says whether the items deny, or say that all is well.
func says(items []item) bool {
	return slices.ContainsFunc(items, func(it item) bool {
		return it.role == rules.SaysNot || it.role == rules.SaysWell || it.role == rules.SaysSame || it.role == rules.SaysUnknown
	})
}

// deniesInPart says whether some of the clauses deny and others do not, or each
// denies for itself: "neither knock nor hiss".
func (h *hearing) deniesInPart(c cut) bool {
	denies := func(c clause) bool {
		return slices.ContainsFunc(c.items, func(it item) bool { return it.role == rules.SaysNot || it.role == rules.SaysWell })
	}
	for _, clause := range h.clauses[c.from+1 : c.to] {
		if denies(clause) != denies(h.clauses[c.from]) || clause.joint == "nor" {
			return true
		}
	}
	return false
}

func (h *hearing) itemsOf(from, to int) []item {
	if to == from+1 {
		return h.clauses[from].items
	}
	var out []item
	for _, c := range h.clauses[from:to] {
		out = append(out, c.items...)
	}
	return out
}
