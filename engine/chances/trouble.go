package chances

import (
	"maps"
	"slices"
	"sort"

	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// Trouble is one thing that is wrong, told as what failed and what probably
// brought it on.
type Trouble struct {
	// Failed are the causes that are told as what failed, likeliest first: one,
	// and what the same roots probably spoilt besides.
	Failed []Told `json:"failed"`
	// BroughtOnBy are the roots of the first of them, ByItself its chance of
	// none; given that it is there.
	BroughtOnBy []Root  `json:"brought_on_by"`
	ByItself    float64 `json:"by_itself"`
	// Or are causes that are likely only if the first of Failed is not there.
	Or []Told `json:"or"`
	// Wrong is what would speak most against the first of Failed; nil if nothing
	// would halve its odds.
	Wrong *Wrong `json:"would_prove_it_wrong,omitempty"`
}

// Told is a cause at a place with its chance.
type Told struct {
	Cause string `json:"cause"`
	evidence.Place
	Title       string  `json:"title"`
	Role        string  `json:"role"`
	Probability float64 `json:"probability"`
	Proved      bool    `json:"proved"`
}

// Bounds of what is told.
const (
	mostTroubles = 3
	mostFailed   = 4
	mostOr       = 3
	leastOr      = 0.1  // chance from which a rival is named
	leastRoot    = 0.05 // share from which a root counts as one of the trouble's
)

// Troubles tells what is probably wrong. The first trouble is about what is
// proved, else about the likeliest cause behind the findings. Another one is told
// where, taken that those before are there, a cause that is none of theirs, nor
// one of their roots, is still likelier than not behind the findings. A cause that
// they make less than half as likely is their rival.
func (w *Weighed) Troubles() ([]Trouble, error) {
	out := []Trouble{}
	if !w.seen() && len(w.confirmed) == 0 {
		return out, nil
	}
	given, told := w, map[int]bool{}
	for len(out) < mostTroubles {
		lead := given.nextTrouble(told, len(out) == 0)
		if lead < 0 {
			break
		}
		t := w.trouble(lead, told)
		then, err := given.taken(lead, w.mayMatter(w.Posterior[lead]))
		if err != nil {
			return nil, err
		}
		t.Or = given.rivalsOf(then, told)
		if t.Wrong, err = w.wrong(lead); err != nil {
			return nil, err
		}
		out, given = append(out, t), then
	}
	return out, nil
}

// nextTrouble is the cause that the next trouble is about: what is proved and not
// told yet, else the likeliest behind the findings, of a later trouble one that is
// likelier than not; -1 if there is none. Of a root that probably brought a failure
// on it is the failure.
func (w *Weighed) nextTrouble(told map[int]bool, first bool) int {
	for i := range w.Causes {
		if w.confirmed[i] && !told[i] {
			return w.broughtBy(i, told)
		}
	}
	best, least := -1, 0.5
	if first {
		least = 0
	}
	behind := w.Behind()
	for i, p := range behind {
		if p > least && !told[i] && (best < 0 || Likelier(p, behind[best])) {
			best = i
		}
	}
	if best < 0 {
		return -1
	}
	return w.broughtBy(best, told)
}

// broughtBy is the likeliest failure that a root more likely than not brought on
// and that is proved, or likelier than not there and behind the findings; the root
// itself if there is none. What a root may have spoilt unseen is not what failed.
func (w *Weighed) broughtBy(root int, told map[int]bool) int {
	chains := w.chains
	if chains == nil || w.Causes[root].Cause.Role != rules.Root {
		return root
	}
	best, behind := -1, w.Behind()
	for _, share := range chains.Roots {
		likely := share.Root == root && share.Probability >= 0.5*w.Posterior[root] && (w.confirmed[share.Cause] || behind[share.Cause] >= 0.5)
		if likely && !told[share.Cause] && (best < 0 || Likelier(w.Posterior[share.Cause], w.Posterior[best])) {
			best = share.Cause
		}
	}
	if best < 0 {
		return root
	}
	return best
}

// trouble tells one, and notes all that is told with it.
func (w *Weighed) trouble(lead int, told map[int]bool) Trouble {
	t := Trouble{Failed: []Told{w.told(lead)}, Or: []Told{}}
	t.BroughtOnBy, t.ByItself = w.rootsOf(lead)
	told[lead] = true
	roots := map[int]bool{lead: true}
	for _, r := range t.BroughtOnBy {
		if i, ok := w.Find(r.Cause, r.Place); ok && r.Probability >= leastRoot {
			roots[i], told[i] = true, true
		}
	}
	with := []int{}
	for i := range w.Causes {
		if !told[i] && w.Posterior[i] >= 0.5 && w.shareOf(i, roots) >= 0.5 {
			with, told[i] = append(with, i), true
		}
	}
	sort.SliceStable(with, func(a, b int) bool { return Likelier(w.Posterior[with[a]], w.Posterior[with[b]]) })
	for _, i := range with[:min(len(with), mostFailed-1)] {
		t.Failed = append(t.Failed, w.told(i))
	}
	return t
}

// shareOf is how much of a cause's chance goes through some roots, added up.
func (w *Weighed) shareOf(cause int, roots map[int]bool) float64 {
	total := 0.0
	if chains := w.chains; chains != nil {
		for _, share := range chains.Roots {
			if share.Cause == cause && roots[share.Root] {
				total += share.Probability
			}
		}
	}
	return total / w.Posterior[cause]
}

func (w *Weighed) told(cause int) Told {
	in := w.Causes[cause]
	return Told{
		Cause: in.Cause.ID, Place: in.Place, Title: w.Fill(in.Cause.Title), Role: string(in.Cause.Role), Probability: w.Posterior[cause], Proved: w.confirmed[cause],
	}
}

// mayMatter are the causes that can be a rival or another trouble once a cause of
// this chance is taken for there: P(c | there) is at most P(c) / P(there).
func (w *Weighed) mayMatter(there float64) []int {
	var out []int
	for i, p := range w.Posterior {
		if p >= min(leastOr, 0.5*there) {
			out = append(out, i)
		}
	}
	return out
}

// Taking is the case with some more causes taken for there.
func (w *Weighed) Taking(causes ...int) (*Weighed, error) {
	out := w
	for _, i := range causes {
		var err error
		if out, err = out.taken(i, nil); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// taken is the case with one more cause taken for there, of which only some
// causes are weighed.
func (w *Weighed) taken(cause int, about []int) (*Weighed, error) {
	m := *w.Model
	m.Causes, m.confirmed = slices.Clone(m.Causes), maps.Clone(m.confirmed)
	m.confirm(cause)
	out := &Weighed{Model: &m, solver: m.solver(), chains: &noisyor.Chains{}}
	if err := out.solve(about); err != nil {
		return nil, err
	}
	return out, nil
}

// rivalsOf are the causes that are likely, and less than half as likely once a
// trouble is taken for there, likeliest first. They are told with it.
func (w *Weighed) rivalsOf(then *Weighed, told map[int]bool) []Told {
	var rivals []int
	for i, p := range w.Posterior {
		if !told[i] && w.open(i) && p >= leastOr && then.Posterior[i] < p/2 {
			rivals, told[i] = append(rivals, i), true
		}
	}
	sort.SliceStable(rivals, func(a, b int) bool { return Likelier(w.Posterior[rivals[a]], w.Posterior[rivals[b]]) })
	out := []Told{}
	for _, i := range rivals[:min(len(rivals), mostOr)] {
		out = append(out, w.told(i))
	}
	return out
}
