package study

import (
	"slices"
	"sort"

	"telltale/engine"
	"telltale/evidence"
	"telltale/rules"
)

// said is one of several answers with its chance.
type said struct {
	at     evidence.At // without an id: that nothing brought a failure on
	chance float64
}

// tell holds what is told as failed, and as what brought it on, against the
// truth.
func (s *Study) tell(k *evidence.Case, r *engine.Report) {
	isRoot := func(at evidence.At) bool { return s.book.Causes.Get(at.ID).Role == rules.Root }
	truth, into := slices.DeleteFunc(slices.Clone(k.Confirmed), isRoot), &s.out.Failure
	if len(truth) == 0 {
		truth, into = k.Confirmed, &s.out.Alone
	}
	s.count(into, k, failed(r), "", truth...)
	for _, b := range k.BroughtOn {
		var roots []said
		if len(r.Troubles) > 0 {
			roots = rootsOf(r, b.Failed)
		}
		s.count(&s.out.Root, k, roots, titled(b.Failed), b.By)
	}
}

// failed are the causes that are told as what is wrong: the first of the first
// trouble, and all others by their chance.
func failed(r *engine.Report) (out []said) {
	for _, t := range r.Troubles {
		for _, f := range slices.Concat(t.Failed, t.Or) {
			if at := (evidence.At{ID: f.Cause, Place: f.Place}); !slices.ContainsFunc(out, func(o said) bool { return o.at == at }) {
				out = append(out, said{at, f.Probability})
			}
		}
	}
	if len(out) > 1 {
		rest := out[1:]
		sort.SliceStable(rest, func(i, j int) bool { return rest[i].chance > rest[j].chance })
	}
	return out
}

// rootsOf are the roots of a failure, given that it is there, with that of
// nothing among them, likeliest first; none if it is not told.
func rootsOf(r *engine.Report, failure evidence.At) []said {
	roots, byItself, told := r.RootsOf(failure.ID, failure.Place)
	if !told {
		return nil
	}
	out := []said{{chance: byItself}}
	for _, root := range roots {
		out = append(out, said{evidence.At{ID: root.Cause, Place: root.Place}, root.Probability})
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].chance > out[j].chance })
	return out
}

// count looks for the truth in what was told; of is the failure whose roots
// these are.
func (s *Study) count(into *Right, k *evidence.Case, told []said, of string, truth ...evidence.At) {
	into.Of++
	rank := slices.IndexFunc(told, func(t said) bool {
		return slices.ContainsFunc(truth, func(at evidence.At) bool { return at.ID == t.at.ID && at.Place == t.at.Place })
	}) + 1
	switch rank {
	case 0:
		into.NotTold++
	case 1:
		into.First++
		into.Three++
		return
	case 2, 3:
		into.Three++
		return
	}
	m := Miss{Case: k.File, Of: of, Rank: rank}
	at := truth[0]
	if rank > 0 {
		at, m.Said = told[rank-1].at, told[rank-1].chance
	}
	m.Cause, m.Place = at.ID, at.Place.String()
	if at.ID == "" {
		m.Cause = evidence.ByNothing
	}
	s.out.Misses = append(s.out.Misses, m)
}

func titled(at evidence.At) string {
	if at.Place == (evidence.Place{}) {
		return at.ID
	}
	return at.ID + " " + at.Place.String()
}
