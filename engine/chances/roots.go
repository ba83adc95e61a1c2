package chances

import (
	"cmp"
	"slices"
	"sort"

	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// Root is what may have brought a failure on: the head of a chain, that nothing
// of the book brought on in its turn. The chances of several add up to more than
// they come to together, since two may have worked at once.
type Root struct {
	Cause string `json:"cause"`
	evidence.Place
	Title       string  `json:"title"`
	Probability float64 `json:"probability"` // that it brought the failure on, given that the failure is there
	// Through is the cause between the two, the likeliest; empty if it brings
	// the failure on itself.
	Through string `json:"through,omitempty"`
}

// leastShare is the share from which a root is told.
const leastShare = 0.001

// rootsOf gives what may have brought a cause on, likeliest first, and the chance
// that nothing did; both given that it is there. A root of less than leastShare is
// left out.
func (w *Weighed) rootsOf(cause int) ([]Root, float64) {
	out := []Root{}
	chains := w.chains
	if chains == nil || !w.brought[cause] || w.Posterior[cause] == 0 {
		return out, 1
	}
	first, _ := slices.BinarySearchFunc(chains.Roots, cause, func(s noisyor.Share, c int) int { return cmp.Compare(s.Cause, c) })
	for _, share := range chains.Roots[first:] {
		if share.Cause != cause {
			break
		}
		if share.Probability < leastShare*w.Posterior[cause] {
			continue
		}
		in := w.Causes[share.Root]
		out = append(out, Root{
			Cause: in.Cause.ID, Place: in.Place, Title: w.Fill(in.Cause.Title), Probability: min(1, share.Probability/w.Posterior[cause]),
			Through: w.through(cause, share.Root),
		})
	}
	sort.SliceStable(out, func(i, j int) bool { return Likelier(out[i].Probability, out[j].Probability) })
	return out, min(1, chains.Alone[cause]/w.Posterior[cause])
}

// CameBy gives what may have brought a cause on, likeliest first, and the chance that
// nothing did; both given that it is there.
func (w *Weighed) CameBy(cause int) ([]Root, float64) { return w.rootsOf(cause) }

// RootsOf gives what may have brought a cause on from the share of the book on,
// likeliest first, each with its share given that the cause is there.
func (w *Weighed) RootsOf(cause int) []Root {
	roots, _ := w.rootsOf(cause)
	return slices.DeleteFunc(roots, func(r Root) bool { return r.Probability < w.rootFrom(cause, r) })
}

// rootFrom is the share from which a root of a cause is looked at: less where it
// must stop now, or can wait less long than what it brought on.
func (w *Weighed) rootFrom(cause int, root Root) float64 {
	in := w.Causes[cause]
	wait := w.Book.Causes.Get(root.Cause).HasteAt(root.Place, w.Case, w.Book).Wait
	if wait == rules.StopNow || wait == rules.NextConnection && wait.Sooner(in.Cause.HasteAt(in.Place, w.Case, w.Book).Wait) {
		return w.Book.RootFromUrgent
	}
	return w.Book.RootFrom
}

// AsRoots says, by cause, whether it is looked for as what brought something on:
// its role says so, or it may have brought on what is proved.
func (w *Weighed) AsRoots() []bool {
	out := make([]bool, len(w.Causes))
	for i, in := range w.Causes {
		out[i] = in.Cause.Role == rules.Root
	}
	for i := range w.Causes {
		if !w.confirmed[i] {
			continue
		}
		for _, r := range w.RootsOf(i) {
			if root, ok := w.Find(r.Cause, r.Place); ok {
				out[root] = true
			}
		}
	}
	return out
}

// RootsLeft gives what a repair of all that is proved would leave as it is, each
// root once; see Confirmed.
func (w *Weighed) RootsLeft() []Root {
	out := []Root{}
	for i := range w.Causes {
		if !w.confirmed[i] {
			continue
		}
		brought, _ := w.rootsOf(i)
		for _, r := range w.rootsLeft(i, brought) {
			if !slices.ContainsFunc(out, func(o Root) bool { return o.Cause == r.Cause && o.Place == r.Place }) {
				out = append(out, r)
			}
		}
	}
	return out
}

// rootsLeft gives, of what may have brought a proved cause on, what a repair would
// leave as it is: from the share of the book on, by the built-in one beneath a local
// book too, and neither proved, ruled out nor looked at.
func (w *Weighed) rootsLeft(cause int, brought []Root) []Root {
	out := []Root{}
	for _, r := range brought {
		if i, ok := w.Find(r.Cause, r.Place); ok && w.open(i) && r.Probability >= w.rootFrom(cause, r) && !w.LookedAt(i) {
			out = append(out, r)
		}
	}
	return append(out, w.rootsLeftUnder(cause, out)...)
}

// through is the cause by way of which a root most likely brought another cause
// on; empty if the root did it itself.
func (w *Weighed) through(cause, root int) string {
	by, most := "", 0.0
	for _, source := range w.waysTo[cause] {
		way := w.ways[source-len(w.Causes)]
		if way.head != root || w.Sources[source] <= most {
			continue
		}
		by, most = "", w.Sources[source]
		if way.under != root {
			by = w.Causes[w.CauseOf(way.under)].Cause.ID
		}
	}
	return by
}
