package prove

import (
	"fmt"
	"slices"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/evidence/source"
)

// rooted are the expectations about what failed and what brought it on; they
// need the whole answer.
var rooted = []string{"failed", "brought-on-by", "root-within", "root-chance", "by-itself", "troubles"}

// traced is a failure and what a proof says to have brought it on.
type traced struct {
	of   at // no cause: what the answer tells first
	root at // no cause: nothing brought it on
}

// rootExpectations reads what a proof demands of the troubles: what failed, and
// what brought it on.
func (r *reader) rootExpectations(o *source.Object, pump *evidence.Pump, add func(pos source.Pos, what string, at at, id string, fault func(*engine.Report) string)) {
	var of at
	if failed := o.Get("failed"); failed != nil {
		of = r.firstCause(failed, pump)
		add(failed.Pos, "failed", of, "", of.failedFault)
	}
	if by := o.Get("brought-on-by"); by != nil {
		t := traced{of, r.rootCause(by, pump)}
		add(by.Pos, "brought-on-by", t.root, "", t.within(1))
	}
	for _, what := range []string{"root-within", "root-chance", "by-itself"} {
		for _, item := range r.items(o.Get(what), what) {
			cause := r.causeItem(item, pump)
			t := traced{of: cause}
			if what != "by-itself" {
				t = traced{r.failureOf(item, pump), cause}
			}
			if what == "root-within" {
				add(item.Pos, what, cause, "", t.within(int(item.Need("places").Number(&r.problems, "places", 1, 50))))
				continue
			}
			from, to := r.interval(item)
			add(item.Pos, what, cause, "", t.chance(from, to))
		}
	}
	if n := o.Get("troubles"); n != nil {
		want := int(n.Number(&r.problems, "troubles", 0, 50))
		add(n.Pos, "troubles", at{}, "", func(r *engine.Report) string {
			return unless(len(r.Troubles) == want, "%d troubles are told, want %d", len(r.Troubles), want)
		})
	}
}

// rootCause reads `cause` or `cause: place` of what brought a failure on, or
// `nothing`.
func (r *reader) rootCause(n *source.Node, pump *evidence.Pump) at {
	switch {
	case n.Kind == source.Scalar && n.Text == evidence.ByNothing:
		return at{}
	case n.Kind == source.Scalar && !slices.Contains(r.book.Causes.IDs(), n.Text):
		n.Word(&r.problems, "cause", append(r.book.Causes.IDs(), evidence.ByNothing))
		return at{}
	}
	return r.firstCause(n, pump)
}

// failureOf reads the failure whose root an item is about: `of: cause` or
// `of: {cause: place}`.
func (r *reader) failureOf(item *source.Object, pump *evidence.Pump) at {
	if of := item.Need("of"); of != nil {
		return r.firstCause(of, pump)
	}
	return at{}
}

// failedFault wants the cause told first of what failed. The same failure at
// another place may stand before it with the same chance.
func (a at) failedFault(r *engine.Report) string {
	if len(r.Troubles) == 0 || len(r.Troubles[0].Failed) == 0 {
		return noneFailed
	}
	first := r.Troubles[0]
	lead := first.Failed[0]
	for _, t := range slices.Concat(first.Failed, first.Or) {
		if a == (at{t.Cause, t.Place}) && t.Probability >= lead.Probability-tie {
			return ""
		}
	}
	return fmt.Sprintf("%s is told as what failed with %.3f; %s has %.3f", at{lead.Cause, lead.Place}, lead.Probability, a, chanceOf(r, a))
}

const noneFailed = "nothing is told as what failed"

// within wants the root among the first ones, or that nothing brought the failure
// on, likelier than any root did.
func (t traced) within(places int) func(*engine.Report) string {
	return func(r *engine.Report) string {
		return t.judge(r, func(of at, roots []chances.Root, rank int, chance float64) string {
			nothing := t.root == at{}
			switch {
			case len(roots) == 0:
				return unless(nothing, "nothing of the book brings %s on, want %s", of, t.root)
			case (nothing || rank > 0) && chance >= roots[min(places, len(roots))-1].Probability-tie:
				return ""
			}
			lead := fmt.Sprintf("%s leads as the root of %s with %.3f; ", at{roots[0].Cause, roots[0].Place}, of, roots[0].Probability)
			if nothing {
				return lead + fmt.Sprintf("it came by itself with %.3f", chance)
			}
			return lead + fmt.Sprintf("%s has %.3f, in place %d", t.root, chance, rank)
		})
	}
}

// chance wants the chance of the root, given the failure, between two figures.
func (t traced) chance(from, to float64) func(*engine.Report) string {
	root := t.root.String()
	if t.root == (at{}) {
		root = evidence.ByNothing
	}
	return func(r *engine.Report) string {
		return t.judge(r, func(of at, _ []chances.Root, _ int, chance float64) string {
			return between(root+" as the root of "+of.String(), chance, from, to)
		})
	}
}

// judge finds the failure in an answer, with its roots, and the root's place among
// them and its chance; not everything that a proof names is told.
func (t traced) judge(r *engine.Report, fault func(of at, roots []chances.Root, rank int, chance float64) string) string {
	of := t.of
	if of == (at{}) {
		if len(r.Troubles) == 0 {
			return noneFailed
		}
		lead := r.Troubles[0].Failed[0]
		of = at{lead.Cause, lead.Place}
	}
	roots, chance, told := r.RootsOf(of.cause, of.place)
	if !told {
		return fmt.Sprintf("%s is not told as what failed", of)
	}
	rank := slices.IndexFunc(roots, func(r chances.Root) bool { return t.root == at{r.Cause, r.Place} }) + 1
	switch {
	case rank > 0:
		chance = roots[rank-1].Probability
	case t.root != at{}:
		chance = 0
	}
	return fault(of, roots, rank, chance)
}
