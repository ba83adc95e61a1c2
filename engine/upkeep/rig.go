package upkeep

import (
	"cmp"
	"slices"
	"sync"

	"telltale/engine/chances"
	"telltale/evidence/rig"
	"telltale/rules"
)

// Rig is what is known of all pumps of a rig.
type Rig struct {
	Dir    string    `json:"rig"`
	Day    string    `json:"day"`
	Pumps  []*Report `json:"pumps"` // the worst first
	Unread []Unread  `json:"unread"`
}

// Unread is a file of the rig that cannot be used.
type Unread struct {
	File string `json:"file"`
	Why  string `json:"why"`
}

// OfRig works out the reports of all pumps of a rig, the worst first: those that a stop
// condition holds, then by how long they can wait, then by what is overdue.
func OfRig(book *rules.Book, r *rig.Rig, o Options) (*Rig, error) {
	out := &Rig{Dir: r.Dir, Day: o.Now.Format("2006-01-02"), Pumps: make([]*Report, len(r.Pumps)), Unread: []Unread{}}
	errs := make([]error, len(r.Pumps))
	var group sync.WaitGroup
	for i := range r.Pumps {
		group.Go(func() { out.Pumps[i], errs[i] = Of(book, &r.Pumps[i], o) })
	}
	group.Wait()
	for i, err := range errs {
		if err != nil {
			out.Unread = append(out.Unread, Unread{r.Pumps[i].Path, err.Error()})
		}
	}
	out.Pumps = slices.DeleteFunc(out.Pumps, func(p *Report) bool { return p == nil })
	for _, u := range r.Unread {
		out.Unread = append(out.Unread, Unread{u.Path, u.Err.Error()})
	}
	slices.SortStableFunc(out.Pumps, func(a, b *Report) int {
		return cmp.Or(cmp.Compare(b.badness(), a.badness()), cmp.Compare(b.Overdue(), a.Overdue()), cmp.Compare(a.Title, b.Title))
	})
	return out, nil
}

// badness orders pumps by their open jobs: what stops them, and how long it can wait.
func (r *Report) badness() int {
	worst := 0
	for _, j := range r.Open {
		bad := 1
		if i := slices.Index(rules.Waits(), rules.Wait(j.Wait)); i >= 0 {
			bad += len(rules.Waits()) - i
		}
		if len(j.Stops) > 0 || j.Wait == chances.WellFirst {
			bad += 100
		}
		worst = max(worst, bad)
	}
	return worst
}

// Overdue is how many things are overdue.
func (r *Report) Overdue() int {
	n := 0
	for _, d := range r.Due {
		if d.Overdue {
			n++
		}
	}
	return n
}
