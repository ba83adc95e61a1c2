package chances

import (
	"slices"

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

// withPast gives the case with the ratings that its figures are past, each with
// its two figures: "discharge pressure 3400 psi (234.4 bar), rated pressure of
// the liner fitted 3000 psi (206.8 bar)".
func withPast(k *evidence.Case, ratings []figures.Rating) *evidence.Case {
	out := *k
	out.Past = nil
	for _, r := range ratings {
		if r.Stand == figures.Past {
			out.Past = append(out.Past, evidence.PastRating{ID: r.Rating, Words: LowerFirst(r.Title) + " " + r.RunsAt + ", " + LowerFirst(r.LimitTitle) + " " + r.Rated})
		}
	}
	return &out
}

// ratings turns comparisons into findings. Ratings that show the same sign are
// no witnesses of each other (one pressure stands behind them), so the worst of
// them speaks.
func (s *reader) ratings() {
	var worst []*figures.Rating // one for each sign and kind
	rule := func(r *figures.Rating) *rules.Rating { return s.book.Ratings.Get(r.Rating) }
	for i := range s.worked.Ratings {
		r := &s.worked.Ratings[i]
		if rule(r).Sign == "" || r.Stand == figures.NotKnown || !s.exists(rule(r).Sign) {
			continue
		}
		same := slices.IndexFunc(worst, func(w *figures.Rating) bool { return rule(w).Sign == rule(r).Sign && rule(w).Kind == rule(r).Kind })
		switch {
		case same < 0:
			worst = append(worst, r)
		case r.Chance > worst[same].Chance:
			worst[same] = r
		}
	}
	for _, r := range worst {
		side := aboveWord
		if r.Least {
			side = belowWord
		}
		s.claim(MeasuredFinding{
			Threshold: r.Rating, Of: r.Rating, Title: r.Title, Sign: rule(r).Sign, Kind: rule(r).Kind, Chance: r.Chance, Past: side + r.Rated + "; " + LowerFirst(r.LimitTitle),
		}, evidence.Place{}, source.Pos{File: s.k.File, Line: 1, Col: 1})
	}
}
