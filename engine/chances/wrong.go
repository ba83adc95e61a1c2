package chances

import (
	"errors"
	"sort"

	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// Wrong is a look or an answer that would speak most against a cause: its sign
// not seen, or its check made and nothing found.
type Wrong struct {
	Sign  string `json:"sign,omitempty"`
	Check string `json:"check,omitempty"`
	evidence.Place
	Title string  `json:"title"`
	Then  float64 `json:"then"` // the chance of the cause after it
}

// mostThen is the chance above which a look that finds nothing changes nothing.
const mostThen = 0.95

// mostWrong is how many signs of a cause are tried, those that it shows most
// often.
const mostWrong = 4

// wrong is what would speak most against an open cause: that the check which
// exposes it most surely finds nothing, or that a sign that it often shows is not
// there. It is nil where nothing would halve its odds, or where the cause would be
// as good as certain all the same.
func (w *Weighed) wrong(cause int) (*Wrong, error) {
	if !w.open(cause) {
		return nil, nil
	}
	in := w.Causes[cause]
	tries := w.signsAgainst(cause)
	tries = tries[:min(len(tries), mostWrong)]
	if check := w.surest(in); check != nil {
		var o noisyor.Observation
		for _, f := range check.Finds {
			if f.Cause == in.Cause.ID {
				o = noisyor.Observation{Background: noisyor.Yield{No: 1}, Links: w.linksOf(cause, noisyor.Yield{Yes: f.Sure, No: 1 - f.Sure})}
			}
		}
		tries = append(tries, against{Wrong{Check: check.ID, Place: check.Level.Of(in.Place), Title: w.Fill(check.Title)}, o})
	}
	var best *Wrong
	for _, t := range tries {
		p := w.Problem()
		p.Absent, p.About = append(p.Absent, t.absent), []int{cause}
		a, err := w.solver.Solve(p)
		if errors.Is(err, noisyor.ErrImpossible) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if t.Then = a.Posterior[cause]; a.Odds[cause] <= w.Odds[cause]/2 && t.Then <= mostThen && (best == nil || t.Then < best.Then) {
			best = &t.Wrong
		}
	}
	return best, nil
}

// against is something that would speak against a cause, with what would be
// observed.
type against struct {
	Wrong
	absent noisyor.Observation
}

// signsAgainst are the signs of a cause that nobody answered yet, those that it
// shows most often first.
func (w *Weighed) signsAgainst(cause int) []against {
	often := w.oftenShown(cause)
	var out []against
	for _, sign := range w.Book.Signs.List {
		if often[sign.ID] < leastOften || sign.Reckoned || !sign.When.Holds(w.Case, w.Book) || !sign.Fits(w.Case) {
			continue
		}
		place := sign.Level.Of(w.Causes[cause].Place)
		if w.Used().Settled(sign.ID, place) {
			continue
		}
		out = append(out, against{Wrong{Sign: sign.ID, Place: place, Title: w.Fill(sign.Title)}, w.Observe(sign, "", []evidence.Place{place})})
	}
	sort.SliceStable(out, func(i, j int) bool { return often[out[i].Sign] > often[out[j].Sign] })
	return out
}

// leastOften is how often a cause must show a sign for its absence to be worth
// telling.
const leastOften = 0.3

// oftenShown is how often a cause shows each of its signs, in the way that shows
// it most.
func (w *Weighed) oftenShown(cause int) map[string]float64 {
	out := map[string]float64{}
	most := func(links []rules.Link) {
		for _, link := range links {
			out[link.Sign] = max(out[link.Sign], link.Total)
		}
	}
	most(w.Causes[cause].Cause.LinksFor(w.Case, w.Book))
	for _, way := range w.ways {
		if way.cause == cause {
			most(way.bring.Shows)
		}
	}
	return out
}

// surest is the check that exposes a cause most surely and was not made there yet;
// nil if there is none.
func (w *Weighed) surest(in Instance) *rules.Check {
	var best *rules.Check
	most := 0.0
	for _, check := range w.Book.ChecksFor(in.Cause.ID) {
		if !check.When.Holds(w.Case, w.Book) || Among(w.Case.Cleared, check.ID, check.Level.Of(in.Place)) {
			continue
		}
		for _, f := range check.Finds {
			if f.Cause == in.Cause.ID && f.Sure > most {
				best, most = check, f.Sure
			}
		}
	}
	return best
}
