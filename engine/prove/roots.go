package prove

import (
	"fmt"
	"slices"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/evidence/source"
)

// byNothing is what a proof names where nothing brought a failure on.
const byNothing = "nothing"

// rooted are the expectations about what failed and what brought it on; they
// need the whole answer.
var rooted = []string{"failed", "brought-on-by", "root-within", "root-chance", "by-itself", "troubles"}

// rootExpectations reads what a proof demands of the troubles: what failed, and
// what brought it on.
func (r *reader) rootExpectations(o *source.Object, pump *evidence.Pump, add func(pos source.Pos, what string, at at, id string, fault func(*engine.Report) string)) {
	var of at // what failed by this proof; the first trouble's own if it names none
	if failed := o.Get("failed"); failed != nil {
		of = r.firstCause(failed, pump)
		add(failed.Pos, "failed", of, "", of.failedFault)
	}
	if by := o.Get("brought-on-by"); by != nil {
		if by.Kind == source.Scalar && by.Text == byNothing {
			add(by.Pos, "brought-on-by", at{}, byNothing, func(r *engine.Report) string { return nothingFault(r, of) })
		} else {
			root := r.rootCause(by, pump)
			add(by.Pos, "brought-on-by", root, "", func(r *engine.Report) string { return root.rootFault(r, of, 1) })
		}
	}
	for _, item := range r.items(o.Get("root-within"), "root-within") {
		root, of := r.causeItem(item, pump), r.failureOf(item, pump)
		places := int(item.Need("places").Number(&r.problems, "places", 1, 50))
		add(item.Pos, "root-within", root, "", func(r *engine.Report) string { return root.rootFault(r, of, places) })
	}
	for _, item := range r.items(o.Get("root-chance"), "root-chance") {
		root, of := r.causeItem(item, pump), r.failureOf(item, pump)
		from, to := r.interval(item)
		add(item.Pos, "root-chance", root, "", func(r *engine.Report) string {
			roots, _, told := rootsOf(r, of)
			return unlessTold(told, of, func() string {
				return between(fmt.Sprintf("%s as the root of %s", root, of), chanceIn(roots, root), from, to)
			})
		})
	}
	for _, item := range r.items(o.Get("by-itself"), "by-itself") {
		of := r.causeItem(item, pump)
		from, to := r.interval(item)
		add(item.Pos, "by-itself", of, "", func(r *engine.Report) string {
			_, by, told := rootsOf(r, of)
			return unlessTold(told, of, func() string { return between("nothing as the root of "+of.String(), by, from, to) })
		})
	}
	if n := o.Get("troubles"); n != nil {
		want := int(n.Number(&r.problems, "troubles", 0, 50))
		add(n.Pos, "troubles", at{}, "", func(r *engine.Report) string {
			return unless(len(r.Troubles) == want, "%d troubles are told, want %d", len(r.Troubles), want)
		})
	}
}

// rootCause reads `cause` or `cause: place` of what brought a failure on.
func (r *reader) rootCause(n *source.Node, pump *evidence.Pump) at {
	if n.Kind == source.Scalar && !slices.Contains(r.book.Causes.IDs(), n.Text) {
		n.Word(&r.problems, "cause", append(r.book.Causes.IDs(), byNothing))
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
		return "nothing is told as what failed"
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

// rootFault wants the cause among the first roots of a failure.
func (a at) rootFault(r *engine.Report, of at, places int) string {
	roots, _, told := rootsOf(r, of)
	return unlessTold(told, of, func() string {
		if len(roots) == 0 {
			return fmt.Sprintf("nothing of the book brings %s on, want %s", name(r, of), a)
		}
		rank := slices.IndexFunc(roots, a.isRoot) + 1
		if rank > 0 && (rank <= places || len(roots) >= places && roots[rank-1].Probability >= roots[places-1].Probability-tie) {
			return ""
		}
		return fmt.Sprintf("%s leads as the root of %s with %.3f; %s has %.3f, in place %d", at{roots[0].Cause, roots[0].Place}, name(r, of), roots[0].Probability, a, chanceIn(roots, a), rank)
	})
}

// nothingFault wants a failure to have come by itself, likelier than by any root.
func nothingFault(r *engine.Report, of at) string {
	roots, by, told := rootsOf(r, of)
	return unlessTold(told, of, func() string {
		if len(roots) == 0 {
			return ""
		}
		return unless(by >= roots[0].Probability-tie, "%s leads as the root of %s with %.3f; it came by itself with %.3f", at{roots[0].Cause, roots[0].Place}, name(r, of), roots[0].Probability, by)
	})
}

// rootsOf gives the roots of a failure and its chance of none: of the first
// trouble if no failure is named. told is false if the answer does not say.
func rootsOf(r *engine.Report, of at) (roots []chances.Root, by float64, told bool) {
	if of != (at{}) {
		return r.RootsOf(of.cause, of.place)
	}
	if len(r.Troubles) == 0 {
		return nil, 0, false
	}
	return r.Troubles[0].BroughtOnBy, r.Troubles[0].ByItself, true
}

func unlessTold(told bool, of at, fault func() string) string {
	if told {
		return fault()
	}
	if of == (at{}) {
		return "nothing is told as what failed"
	}
	return fmt.Sprintf("%s is not told as what failed", of)
}

// name is the failure that is meant, by its name.
func name(r *engine.Report, of at) string {
	if of == (at{}) {
		of = at{r.Troubles[0].Failed[0].Cause, r.Troubles[0].Failed[0].Place}
	}
	return of.String()
}

func (a at) isRoot(r chances.Root) bool { return a == (at{r.Cause, r.Place}) }

func chanceIn(roots []chances.Root, a at) float64 {
	if i := slices.IndexFunc(roots, a.isRoot); i >= 0 {
		return roots[i].Probability
	}
	return 0
}
