package work

import (
	"slices"
	"strings"

	"telltale/engine/chances"
	"telltale/engine/order"
	"telltale/evidence"
	"telltale/rules"
)

// What failed, and what brought it on: each look is for the one, the other or
// both, and the list finds so much of each.

// What a check settles.
const (
	SettlesFailure = "failure"
	SettlesRoot    = "root"
	SettlesBoth    = "both"
)

// Share is how much a list finds of what failed, or of what brought it on. There
// is the chance that such a cause, open, is there and shows one of the findings,
// by itself or through what it brought on (what was proved counts as a finding);
// Found that such a one is exposed. A cause is what brought something on by its
// role, or where it may have brought on what is proved; else it is what failed.
type Share struct {
	There float64 `json:"there"`
	Found float64 `json:"found"`
}

// found is what checks have exposed so far: some cause, a failure, a root.
type found struct{ any, failure, root float64 }

func (f found) fill(s *Step) { s.FoundByHere, s.FailureByHere, s.RootByHere = f.any, f.failure, f.root }

// foundBy gives what checks have exposed, from what they miss of each cause and
// what was exposed before.
type foundBy func(miss []float64, before found) (found, error)

// foundBehind goes by the causes that are behind the findings.
func foundBehind(w *chances.Weighed, root []bool) foundBy {
	return func(miss []float64, before found) (out found, err error) {
		if out.any, err = w.FoundBy(miss, before.any); err != nil {
			return before, err
		}
		if out.failure, err = w.FoundBy(onlyOf(miss, func(i int) bool { return !root[i] }), before.failure); err != nil {
			return before, err
		}
		out.root, err = w.FoundBy(onlyOf(miss, func(i int) bool { return root[i] }), before.root)
		return out, err
	}
}

// onlyOf misses all causes that are not wanted.
func onlyOf(miss []float64, wanted func(int) bool) []float64 {
	out := make([]float64, len(miss))
	for i, x := range miss {
		out[i] = 1
		if wanted(i) {
			out[i] = x
		}
	}
	return out
}

// shares gives what the list found of what failed and of what brought it on;
// there is what would be found if nothing open were missed.
func (l *List) shares(done, there found) {
	l.Failure, l.Root = Share{There: there.failure, Found: done.failure}, Share{There: there.root, Found: done.root}
}

// missNone misses nothing but what is proved, which nobody looks for.
func missNone(w *chances.Weighed) []float64 {
	return onlyOf(make([]float64, len(w.Causes)), func(i int) bool { return !w.Confirmed(i) })
}

// settles says what a check is for: for both where either would be worth it.
func (p *planner) settles(finds []order.Find) string {
	failure, root := 0.0, 0.0
	for _, f := range finds {
		if gain := p.weight[f.Cause] * f.Sure; p.root[f.Cause] {
			root += gain
		} else {
			failure += gain
		}
	}
	least := p.m.Book.LeastGain
	switch {
	case failure+root <= 0:
		return ""
	case failure >= least && root >= least:
		return SettlesBoth
	case chances.Likelier(root, failure):
		return SettlesRoot
	}
	return SettlesFailure
}

// NotLooked is a likely root of a likely failure that no check of the list looks
// at surely enough.
type NotLooked struct {
	chances.Root
	Of   string `json:"of"`   // the title of the failure, with its place
	Look string `json:"look"` // the title of the surest look at it; empty if there is none
}

// likely is the chance from which a failure counts as likely: likelier than not.
const likely = 0.5

// notLooked gives the roots of what is proved or likely that are open, from the
// share of the book on, and that the list and what was done before would rather
// miss than expose, though there is a further look, or no look at all.
func (l *List) notLooked() []NotLooked {
	out := []NotLooked{}
	told := map[int]bool{}
	for i := range l.w.Causes {
		if l.w.Posterior[i] < likely || l.w.RuledOut(i) {
			continue
		}
		for _, r := range l.w.RootsOf(i) {
			root, ok := l.w.Find(r.Cause, r.Place)
			if !ok || told[root] || l.w.Confirmed(root) || l.w.RuledOut(root) || l.w.LookedAt(root) || l.miss[root] <= likely {
				continue
			}
			if look, further := l.further(root); further || l.miss[root] == 1 {
				told[root] = true
				out = append(out, NotLooked{Root: r, Of: chances.Titled(l.w.Fill(l.w.Causes[i].Cause.Title), l.w.Causes[i].Place), Look: look})
			}
		}
	}
	return out
}

// further is the surest look at a cause that is not in the list and not done.
func (l *List) further(cause int) (title string, any bool) {
	in, most := l.w.Causes[cause], 0.0
	for _, c := range l.w.Book.ChecksFor(in.Cause.ID) {
		if !c.When.Holds(l.w.Case, l.w.Book) {
			continue
		}
		for _, at := range l.w.Case.Pump.Places(c.Level) {
			if !at.Touches(in.Place) || l.has(c, at) || l.planner.cleared(c.ID, at) {
				continue
			}
			for _, f := range c.Finds {
				if f.Cause == in.Cause.ID && f.Sure > most {
					title, any, most = l.w.Fill(c.Title), true, f.Sure
				}
			}
		}
	}
	return title, any
}

// has says whether a check at a place is in the list.
func (l *List) has(c *rules.Check, at evidence.Place) bool {
	return slices.ContainsFunc(l.sequence, func(i int) bool { return l.planner.tasks[i].taskKey == taskKey{StepCheck, c.ID, at} })
}

// lookFirst puts before the first step back to service what was not looked at yet.
func lookFirst(back []Step, left []chances.Root) []Step {
	if len(back) == 0 || len(left) == 0 {
		return back
	}
	var titles []string
	for _, r := range left {
		titles = append(titles, chances.Titled(r.Title, r.Place))
	}
	back[0].Do = sentence(firstLook, titles) + strings.TrimSpace(back[0].Do)
	return back
}
