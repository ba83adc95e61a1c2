package chances

import (
	"errors"
	"math"
	"slices"
	"sort"

	"telltale/engine/noisyor"
	"telltale/evidence"
	"telltale/rules"
)

// Cause is one cause at one place.
type Cause struct {
	Cause string `json:"cause"`
	evidence.Place
	Title       string  `json:"title"`
	Group       string  `json:"group"`
	Role        string  `json:"role"` // failure or root
	Probability float64 `json:"probability"`
	// BroughtOnBy are its roots, likeliest first, and ByItself the chance that
	// nothing of the book brought it on; both given that it is there.
	BroughtOnBy []Root   `json:"brought_on_by"`
	ByItself    float64  `json:"by_itself"`
	For         []Reason `json:"for"`
	Against     []Reason `json:"against"`
	Why         string   `json:"why"`
	Repair      string   `json:"repair"`
	LookAgain   string   `json:"look_again"`
	Parts       []string `json:"parts"`
	BringsOn    []string `json:"brings_on"` // the titles of what it brings on
	Basis       string   `json:"basis"`
	// FromLocal: it, or something of it, comes from the local book.
	FromLocal bool `json:"from_local,omitempty"`
}

// Open lists every cause that is not proved or ruled out, likeliest first;
// equal ones stay in the order of the book.
func (w *Weighed) Open() []Cause {
	out := []Cause{}
	for i, in := range w.Causes {
		if !w.open(i) {
			continue
		}
		c := in.Cause
		pro, contra := w.reasons(i)
		roots, alone := w.rootsOf(i)
		out = append(out, Cause{
			Cause: c.ID, Place: in.Place, Title: w.Fill(c.Title), Group: c.Group, Role: string(c.Role), Probability: w.Posterior[i], BroughtOnBy: roots, ByItself: alone, For: pro, Against: contra,
			Why: w.Fill(c.Why), Repair: w.Fill(c.Repair), LookAgain: w.Fill(c.LookAgain), Parts: w.partTitles(c), BringsOn: w.bringsOn(c), Basis: c.Basis,
			FromLocal: c.FromLocal,
		})
	}
	sort.SliceStable(out, func(i, j int) bool { return Likelier(out[i].Probability, out[j].Probability) })
	return out
}

// bringsOn names what a cause brings on.
func (m *Model) bringsOn(c *rules.Cause) []string {
	out := []string{}
	for _, to := range c.BringsOn(m.Case, m.Book) {
		out = append(out, LowerFirst(m.Fill(to.Title)))
	}
	return out
}

// partTitles names the parts that a cause takes, those that it takes only at
// times with an "if needed".
func (m *Model) partTitles(c *rules.Cause) []string {
	out := []string{}
	for _, need := range c.Parts {
		part := m.Book.Parts.Get(need.Part)
		if !part.When.Holds(m.Case, m.Book) {
			continue // not on this pump
		}
		title := LowerFirst(part.Title)
		if need.Chance < 0.5 {
			title += ifNeeded
		}
		out = append(out, title)
	}
	return out
}

// Confirmed is a cause that was proved, with what to do about it.
type Confirmed struct {
	Cause string `json:"cause"`
	evidence.Place
	Title string `json:"title"`
	Role  string `json:"role"` // failure or root
	// Behind says what the repair is done behind: pump (its isolation),
	// own-line, nothing. Safety are the safety steps of its own that come
	// before it; they stand in Steps until the cause is corrected.
	Behind    string   `json:"behind"`
	Safety    []Safety `json:"safety"`
	Repair    string   `json:"repair"`
	LookAgain string   `json:"look_again"`
	Parts     []string `json:"parts"`
	BringsOn  []string `json:"brings_on"` // the titles of what it brings on
	// BroughtOnBy are its roots, likeliest first, and ByItself the chance that
	// nothing of the book brought it on.
	BroughtOnBy []Root  `json:"brought_on_by"`
	ByItself    float64 `json:"by_itself"`
	// RootsLeft are those of its roots that nobody proved, ruled out or looked at
	// yet, from the share of the book on: with the repair alone it can come back.
	RootsLeft []Root `json:"roots_left"`
	// FromLocal: it, or something of it, comes from the local book.
	FromLocal bool `json:"from_local,omitempty"`
	// Corrected: it was repaired; LookedAgain: and was right when it was looked
	// at again.
	Corrected   bool `json:"corrected"`
	LookedAgain bool `json:"looked_again"`
	// RootLeft: the crew says that it is put right although a likely root of it
	// was not looked at.
	RootLeft bool `json:"root_left"`
}

// Safety names a safety step.
type Safety struct {
	ID    string `json:"id"`
	Title string `json:"title"`
}

// Proved lists the causes that were proved, in the order of the book.
func (w *Weighed) Proved() []Confirmed {
	out := []Confirmed{}
	for i, in := range w.Causes {
		if !w.confirmed[i] {
			continue
		}
		c := in.Cause
		roots, alone := w.rootsOf(i)
		proved := Confirmed{
			Cause: c.ID, Place: in.Place, Title: w.Fill(c.Title), Role: string(c.Role), BroughtOnBy: roots, ByItself: alone, RootsLeft: w.rootsLeft(i, roots), Behind: string(c.Behind), Safety: []Safety{},
			Repair: w.Fill(c.Repair), LookAgain: w.Fill(c.LookAgain), Parts: w.partTitles(c), BringsOn: w.bringsOn(c), FromLocal: c.FromLocal,
			Corrected: Among(w.Case.Corrected, c.ID, in.Place), LookedAgain: Among(w.Case.LookedAgain, c.ID, in.Place),
			RootLeft: Among(w.Case.RootLeft, c.ID, in.Place),
		}
		for _, id := range c.Safety {
			if s := w.Book.Safety.Get(id); s.When.Holds(w.Case, w.Book) {
				proved.Safety = append(proved.Safety, Safety{ID: id, Title: w.Fill(s.Title)})
			}
		}
		out = append(out, proved)
	}
	return out
}

// Among says whether something at a place stands in a list.
func Among(list []evidence.At, id string, place evidence.Place) bool {
	return slices.ContainsFunc(list, func(at evidence.At) bool { return at.ID == id && at.Place == place })
}

// Unexplained is a finding that the confirmed causes probably did not cause, at
// one of its places.
type Unexplained struct {
	Finding int `json:"finding"` // its number
	evidence.Place
	Probability float64 `json:"probability"` // that none of the confirmed causes shows it
}

// Unexplained lists the findings that the confirmed causes more likely than
// not did not show: P(no confirmed cause yielded it | all findings) above one
// half.
func (w *Weighed) Unexplained() ([]Unexplained, error) {
	out := []Unexplained{}
	if len(w.confirmed) == 0 {
		return out, nil
	}
	problem, next := w.Problem(), 0
	for _, u := range w.units {
		if u.work != nil { // that a work helped is nothing to look for
			next += len(u.present)
			continue
		}
		for k := range u.present {
			o := problem.Present[next]
			problem.Present[next] = each(o, w.uncredited)
			problem.Present[next].Doubt = 0
			z, err := w.solver.Evidence(problem)
			problem.Present[next] = o
			next++
			if errors.Is(err, noisyor.ErrImpossible) {
				continue // only the confirmed causes can explain it
			}
			if err != nil {
				return nil, err
			}
			if p := z / w.Evidence; p > 0.5 {
				out = append(out, Unexplained{Finding: u.number, Place: u.said[k].At, Probability: math.Min(1, p)})
			}
		}
	}
	return out, nil
}

// uncredited takes from the confirmed causes the credit for an observation.
func (m *Model) uncredited(source int, y noisyor.Yield) noisyor.Yield {
	if source != background && m.confirmed[m.CauseOf(source)] {
		y.Yes = 0
	}
	return y
}

// Group is the probability that at least one cause of a group is there.
type Group struct {
	Group       string  `json:"group"`
	Title       string  `json:"title"`
	Probability float64 `json:"probability"`
}

// Groups gives for each group the chance that one of its causes at least is
// there. The group is one more OR of its causes, observed present, so that
// small chances lose no digits.
func (w *Weighed) Groups() ([]Group, error) {
	out := []Group{}
	for _, g := range w.Book.Groups.List {
		p := w.Problem()
		p.Present = append(p.Present, w.anyOf(func(i int) bool { return w.Causes[i].Cause.Group == g.ID && !w.ruledOut(i) }))
		chance, err := w.ratio(p)
		if err != nil {
			return nil, err
		}
		out = append(out, Group{Group: g.ID, Title: g.Title, Probability: chance})
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Probability > out[j].Probability })
	return out, nil
}

// NoneOfThese is the chance that no cause of the book is there at all: none is there by
// itself, to bring others on.
func (w *Weighed) NoneOfThese() (float64, error) {
	some := noisyor.Observation{Background: noisyor.Yield{No: 1}, Links: make([]noisyor.Link, 0, len(w.Causes))}
	for i := range w.Causes {
		some.Links = append(some.Links, noisyor.Link{Source: i, Yield: noisyor.Yield{Yes: 1}})
	}
	return w.share(w.ask(noisyor.Asked{Absent: []noisyor.Observation{some}}))
}

// anyOf observes whether one of the chosen causes is there.
func (m *Model) anyOf(chosen func(cause int) bool) noisyor.Observation {
	o := noisyor.Observation{Background: noisyor.Yield{No: 1}}
	for s := range m.sources() {
		if chosen(m.CauseOf(s)) {
			o.Links = append(o.Links, noisyor.Link{Source: s, Yield: noisyor.Yield{Yes: 1}})
		}
	}
	return o
}
