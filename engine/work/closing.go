package work

import (
	"slices"
	"sort"

	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// closing is the way back to service: what is open, in the order in which it
// was opened, and the book's return steps that are due for it.
type closing struct {
	m      *chances.Model
	opened []evidence.At
	due    []*rules.Return
	before map[string]int // see dueBefore
}

// returns lists the closing up: what was opened, the last opened first, then
// the book's steps back to service. While nothing may be opened, no hand goes
// in to close either: then there is none. Of a pump that is kept out of service
// the locks stay on, and nothing starts it.
func (p *planner) returns(sequence []int, found found) []Step {
	c := closing{m: p.m, opened: p.opensBy(sequence), before: map[string]int{}}
	if p.m.OpensNothing() || len(c.opened) == 0 && p.m.Case.Pump.State != evidence.Isolated && !p.isolating(sequence) {
		return nil
	}
	for _, r := range p.m.Book.Returns.List {
		if r.Leads(p.outOfService) && r.When.Holds(p.m.Case, p.m.Book) && (len(r.Opened) == 0 || anyOpened(c.opened, r.Opened) || anyOpened(p.m.Case.Pump.ClosedAgain, r.Opened)) {
			c.due = append(c.due, r)
		}
	}
	var out []Step
	done := 0
	add := func(s Step, local bool) {
		s.Kind, s.FromLocal = StepReturn, local
		found.fill(&s)
		s.Needs, s.Tools, s.Looks, s.Results = []string{}, []string{}, []string{}, []Result{}
		out = append(out, s)
	}
	upTo := func(k int) {
		for ; done < k; done++ {
			r := c.due[done]
			add(Step{ID: r.ID, Title: p.m.Fill(r.Title), Minutes: r.Minutes, Do: ReturnDo(p.m.Book, p.m.Case, r), Picture: r.Picture}, r.FromLocal)
		}
	}
	for _, at := range c.order() {
		upTo(c.dueBefore(at.ID)) // what the book puts earlier comes earlier
		a := p.m.Book.Openings.Get(at.ID)
		add(Step{ID: a.ID, Place: at.Place, Title: p.m.Fill(a.Close.Title), Minutes: a.Close.Minutes, Do: p.m.Fill(a.Close.Do), Picture: a.Close.Picture}, a.FromLocal)
	}
	upTo(len(c.due))
	return out
}

// Returns lists how a pump that stands as the case says is closed up and goes
// back to service, or is kept out of it as the plan says; none while nothing may be
// opened.
func Returns(book *rules.Book, k *evidence.Case, keptOut bool) []Step {
	p := newPlanner(chances.Bare(book, k), aim{keptOut: keptOut})
	return numbered(p.returns(nil, found{}), 0)
}

// Owed lists the way back to service of a pump that is not locked off any more by its case,
// or was never, of what stands open and of what was closed again on it; none where nothing
// was.
func Owed(book *rules.Book, k *evidence.Case) []Step {
	if len(k.Pump.Open)+len(k.Pump.ClosedAgain) == 0 {
		return nil
	}
	alone := *k
	alone.Others = nil // it is owed whatever another job holds back meanwhile
	keptOut := chances.Bare(book, &alone).OutOfService()
	alone.Pump.State = evidence.Isolated
	return Returns(book, &alone, keptOut)
}

// order gives in which order things are closed: the last opened first, but
// everything that waits for none of the steps back to service before what
// waits for one, at all cylinders, and so on: one look inside, one measuring
// and one turn by hand serve for all.
func (c *closing) order() []evidence.At {
	last := slices.Clone(c.opened)
	slices.Reverse(last)
	sort.SliceStable(last, func(a, b int) bool { return c.dueBefore(last[a].ID) < c.dueBefore(last[b].ID) })
	return inner(last, func(at evidence.At) []evidence.At {
		return slices.DeleteFunc(c.inside(at.ID, last), func(inside evidence.At) bool { return !inside.Place.Touches(at.Place) })
	})
}

// inside gives what was opened behind an opening, or what stands for it.
func (c *closing) inside(id string, opened []evidence.At) []evidence.At {
	outer := c.m.Book.Openings.Get(id)
	return slices.DeleteFunc(slices.Clone(opened), func(at evidence.At) bool {
		return !slices.ContainsFunc(c.m.Book.Openings.Get(at.ID).Needs, outer.Opens)
	})
}

// dueBefore counts the steps back to service that stand before something is
// closed: up to the last one that names it, or names what is closed before it.
func (c *closing) dueBefore(id string) int {
	k, known := c.before[id]
	if !known {
		k = c.lastBefore(id)
		c.before[id] = k
	}
	return k
}

func (c *closing) lastBefore(id string) int {
	closed := inner([]string{id}, func(id string) []string {
		var out []string
		for _, at := range c.inside(id, c.opened) {
			out = append(out, at.ID)
		}
		return out
	})
	for k := len(c.due); k > 0; k-- {
		if slices.ContainsFunc(c.due[k-1].Before, func(before string) bool { return slices.Contains(closed, before) }) {
			return k
		}
	}
	return 0
}

// anyOpened says whether one of these is opened.
func anyOpened(opened []evidence.At, ids []string) bool {
	return slices.ContainsFunc(opened, func(at evidence.At) bool { return slices.Contains(ids, at.ID) })
}
