package interview

import (
	"errors"
	"slices"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// A question is worth asking if one of its answers would change what the crew
// does next or what it takes for likeliest. The questions with the most
// information are tried, each with all its answers.
const (
	mostTried = 4
	leastBits = 0.01
)

// question is a sign with the places where it is open.
type question struct {
	sign   string
	places []evidence.Place
	apart  []string
}

// worthAsking gives the first question that is worth it, nil if none is; left
// says that there were questions. With roots only what tells of them is asked, and
// it is worth it if it changes which of them is the likeliest, or the next look. Of a case
// that is dear to weigh fewer questions are tried.
func worthAsking(book *rules.Book, k *evidence.Case, s *Sitting, r *engine.Report, roots []chances.Root) (*question, bool, error) {
	left := false
	tried, ahead := 0, engine.NewLookAhead(book)
	for _, q := range grouped(r, len(roots) > 0) {
		if s.Declined[SignKey(q.sign)] {
			continue
		}
		left = true
		if tried++; tried > mostTried {
			break
		}
		changes, err := q.changes(book, k, r, roots, ahead)
		if chances.TooWide(err) {
			break // nobody waits longer for a question
		}
		if err != nil {
			return nil, false, err
		}
		if changes {
			return q, true, nil
		}
	}
	return nil, left, nil
}

// grouped joins the report's questions of one sign, the best first; those about
// roots alone, or all.
func grouped(r *engine.Report, roots bool) []*question {
	var out []*question
	for _, asked := range r.Ask {
		if roots && asked.RootBits < leastBits || !roots && asked.Bits < leastBits {
			continue
		}
		place := asked.Place
		at := slices.IndexFunc(out, func(q *question) bool { return q.sign == asked.Sign })
		if at < 0 {
			out = append(out, &question{sign: asked.Sign, places: []evidence.Place{place}})
			continue
		}
		out[at].places = append(out[at].places, place)
	}
	return out
}

// changes tries every answer at the first open place and notes which causes
// the answers bring to the top. The steps are put in order only where that, and the stop
// conditions, are the same with every answer.
func (q *question) changes(book *rules.Book, k *evidence.Case, r *engine.Report, roots []chances.Root, ahead *engine.LookAhead) (bool, error) {
	changed := false
	var tried []*engine.Trial
	for _, f := range q.answers(book) {
		trial := *k
		trial.Findings = append(append([]evidence.Finding{}, k.Findings...), f)
		then, err := ahead.Try(&trial)
		var impossible *chances.ImpossibleError
		if errors.As(err, &impossible) {
			continue // this answer cannot come
		}
		if err != nil {
			return false, err
		}
		tried = append(tried, then)
		changed = changed || top(then.Report, roots) != top(r, roots) || len(then.Stop) > len(r.Stop)
		if i := likeliest(then.Report, roots); i >= 0 {
			if title := then.Causes[i].Title; !slices.Contains(q.apart, title) {
				q.apart = append(q.apart, title)
			}
		}
	}
	for i := 0; i < len(tried) && !changed; i++ {
		steps, err := tried[i].Next()
		if err != nil {
			return false, err
		}
		changed = first(steps) != first(r.Steps)
	}
	return changed, nil
}

func (q *question) answers(book *rules.Book) []evidence.Finding {
	at := q.places[:1]
	finding := func(answer evidence.Answer, kind string) evidence.Finding {
		return evidence.Finding{Sign: q.sign, Answer: answer, Kind: kind, At: at[0], Over: at}
	}
	out := []evidence.Finding{finding(evidence.Absent, "")}
	kinds := book.Signs.Get(q.sign).KindIDs()
	if len(kinds) == 0 {
		return append(out, finding(evidence.Present, ""))
	}
	for _, kind := range kinds {
		out = append(out, finding(evidence.Present, kind))
	}
	return out
}

// first names the first check of the list, top the likeliest cause.
func first(steps []work.Step) string {
	for _, s := range steps {
		if s.Kind == work.StepCheck {
			return StepKey(s)
		}
	}
	return ""
}

func top(r *engine.Report, roots []chances.Root) string {
	i := likeliest(r, roots)
	if i < 0 {
		return ""
	}
	return r.Causes[i].Cause + " " + r.Causes[i].Cylinder + " " + r.Causes[i].End
}

// likeliest is the number of the likeliest open cause, of some roots if there are
// any; -1 if there is none.
func likeliest(r *engine.Report, roots []chances.Root) int {
	return slices.IndexFunc(r.Causes, func(c chances.Cause) bool {
		return len(roots) == 0 || slices.ContainsFunc(roots, func(root chances.Root) bool { return root.Cause == c.Cause && root.Place == c.Place })
	})
}

// Matters says whether the likeliest cause or the first check would be another one
// without what the case says of a sign.
func Matters(book *rules.Book, k *evidence.Case, r *engine.Report, sign string) bool {
	trial := *k
	trial.Findings = slices.DeleteFunc(slices.Clone(k.Findings), func(f evidence.Finding) bool { return f.Sign == sign })
	then, err := engine.Outline(book, &trial)
	return err == nil && (first(then.Steps) != first(r.Steps) || top(then, nil) != top(r, nil))
}
