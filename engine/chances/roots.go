package chances

import (
	"sort"

	"telltale/evidence"
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

// rootsOf gives what may have brought a cause on, likeliest first, and the chance
// that nothing did; both given that it is there.
func (w *Weighed) rootsOf(cause int) ([]Root, float64) {
	out := []Root{}
	chains := w.Chains()
	if chains == nil || !w.brought[cause] || w.Posterior[cause] == 0 {
		return out, 1
	}
	for _, share := range chains.Roots {
		if share.Cause != cause || share.Probability <= 0 {
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

// rootsLeft gives, of what may have brought a proved cause on, what a repair would
// leave as it is: from the share of the book on, and neither proved, ruled out nor
// looked at.
func (w *Weighed) rootsLeft(brought []Root) []Root {
	out := []Root{}
	for _, r := range brought {
		if i, ok := w.Find(r.Cause, r.Place); ok && w.open(i) && r.Probability >= w.Book.RootFrom && !w.lookedAt(i) {
			out = append(out, r)
		}
	}
	return out
}

// through is the cause by way of which a root most likely brought another cause
// on; empty if the root did it itself.
func (w *Weighed) through(cause, root int) string {
	by, most := "", 0.0
	for i, way := range w.ways {
		chance := w.Sources[len(w.Causes)+i]
		if way.cause != cause || w.head(way.under) != root || chance <= most {
			continue
		}
		by, most = "", chance
		if way.under != root {
			by = w.Causes[w.causeOf(way.under)].Cause.ID
		}
	}
	return by
}

// head is the cause by itself at the head of the chain of a source.
func (m *Model) head(source int) int {
	for m.under(source) >= 0 {
		source = m.under(source)
	}
	return source
}
