package engine

import (
	"slices"
	"strings"

	"telltale/engine/figures"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// The pump's figures beside their limits: past one, the stop conditions of the
// book that ask for it hold, and it is weighed as a finding.

// rated says whether any rating of the book has a figure to compare with.
func rated(book *rules.Book, k *evidence.Case) bool {
	return slices.ContainsFunc(book.Ratings.List, func(r *rules.Rating) bool { return book.LimitFor(r.Limit, k) != nil })
}

// withPast gives the case with the ratings that its figures are past.
func withPast(k *evidence.Case, ratings []figures.Rating) *evidence.Case {
	out := *k
	out.Past = nil
	for i := range ratings {
		if r := &ratings[i]; r.Stand == figures.Past {
			out.Past = append(out.Past, evidence.PastRating{ID: r.Rating, Words: ratingWords(r)})
		}
	}
	return &out
}

// ratingWords says the two figures: "discharge pressure 3400 psi (234.4 bar),
// rated pressure of the liner fitted 3000 psi (206.8 bar)".
func ratingWords(r *figures.Rating) string {
	return lowerFirst(r.Title) + " " + r.RunsAt + ", " + lowerFirst(r.LimitTitle) + " " + r.Rated
}

func nearRatings(ratings []figures.Rating) []string {
	var out []string
	for _, r := range ratings {
		if r.Stand == figures.Near {
			out = append(out, r.Rating)
		}
	}
	return out
}

// stopTitle is the title of a stop condition with the figures of the ratings
// that it asks about and that the pump is past.
func (m *model) stopTitle(s *rules.Stop) string {
	title := m.fill(s.Title)
	var figures []string
	for _, past := range m.k.Past {
		if s.When.AsksRating(past.ID) {
			figures = append(figures, past.Words)
		}
	}
	if len(figures) == 0 {
		return title
	}
	return title + ": " + strings.Join(figures, "; ")
}

// ratings turns comparisons into findings. Ratings that show the same sign are
// no witnesses of each other (one pressure stands behind them), so the worst of
// them speaks.
func (s *signReader) ratings() {
	type shown struct{ sign, kind string }
	worst := map[shown]*figures.Rating{}
	var order []shown
	for i := range s.worked.Ratings {
		r := &s.worked.Ratings[i]
		rule := s.book.Ratings.Get(r.Rating)
		if rule.Sign == "" || r.Stand == figures.NotKnown || !s.exists(rule.Sign) {
			continue
		}
		key := shown{rule.Sign, rule.Kind}
		if worst[key] == nil {
			order = append(order, key)
		}
		if worst[key] == nil || r.Chance > worst[key].Chance {
			worst[key] = r
		}
	}
	for _, key := range order {
		r, side := worst[key], "above "
		if r.Least {
			side = "below "
		}
		s.claim(MeasuredFinding{
			Threshold: r.Rating, Of: r.Rating, Title: r.Title, Sign: key.sign, Kind: key.kind, Chance: r.Chance, Past: side + r.Rated + "; " + lowerFirst(r.LimitTitle),
		}, evidence.Place{}, source.Pos{File: s.k.File, Line: 1, Col: 1})
	}
}
