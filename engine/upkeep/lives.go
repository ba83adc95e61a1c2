package upkeep

import (
	"slices"

	"telltale/engine/figures"
	"telltale/engine/lives"
	"telltale/evidence"
)

// Life is how long the parts of one kind last on the pump.
type Life struct {
	figures.Part
	// Changes says, for each of Ends, at which age the part is best changed before it
	// fails, where the costs were given; else it is empty.
	Changes []lives.Change `json:"change_before_failure"`
	InNow   []InNow        `json:"in_now"`
}

// InNow is the part that is in at one place.
type InNow struct {
	Place evidence.Place `json:"place"`
	Age   float64        `json:"age_h"`
	Known bool           `json:"fitting_known"` // else it is at least so old
	// DueAge is the age by which the rulebook's share of its kind has failed; nil where
	// that is not known, or where an old part is not shown to fail sooner than a new one.
	DueAge *lives.Estimate `json:"due_age_h,omitempty"`
}

// lives fills in how long parts last, kind by kind.
func (r *Report) lives(costRatio float64) error {
	worked, err := figures.Work(r.book, r.current())
	if err != nil {
		return err
	}
	for _, p := range worked.Parts {
		out := Life{Part: p, Changes: []lives.Change{}, InNow: []InNow{}}
		for _, e := range p.Ends {
			if costRatio == 0 {
				break
			}
			change := lives.Change{Says: lives.TooFewToSay}
			if e.Fit != nil {
				if change, err = e.Fit.ChangeAt(costRatio); err != nil {
					return err
				}
			}
			out.Changes = append(out.Changes, change)
		}
		for _, at := range p.PerPlace {
			out.InNow = append(out.InNow, InNow{Place: at.Place, Age: at.Running, Known: at.Fitted, DueAge: r.dueAge(p.Ends, at.Place)})
		}
		r.Lives = append(r.Lives, out)
	}
	return nil
}

// dueAge is the age at which a part falls due at a place; nil where none is known.
func (r *Report) dueAge(ends []figures.PartEnd, at evidence.Place) *lives.Estimate {
	i := slices.IndexFunc(ends, func(e figures.PartEnd) bool {
		return len(e.Places) == 0 || slices.Contains(e.Places, at) != e.Others
	})
	if i < 0 || ends[i].Fit == nil || ends[i].Fit.Ending() != lives.WearOut {
		return nil
	}
	age := ends[i].Fit.Age(r.book.Due.PartShare)
	return &age
}
