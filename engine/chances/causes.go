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
	Ruins       string   `json:"ruins"`
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
		out = append(out, Cause{
			Cause: c.ID, Place: in.Place, Title: w.Fill(c.Title), Group: c.Group, Role: string(c.Role), Probability: w.Posterior[i], BroughtOnBy: []Root{}, ByItself: 1, For: pro, Against: contra,
			Why: w.Fill(c.Why), Repair: w.Fill(c.Repair), LookAgain: w.Fill(c.LookAgain), Parts: w.partTitles(c), Ruins: w.Fill(c.Ruins), Basis: c.Basis,
			FromLocal: c.FromLocal,
		})
	}
	sort.SliceStable(out, func(i, j int) bool { return Likelier(out[i].Probability, out[j].Probability) })
	return out
}

// Root is what may have brought a failure on: the deepest cause of a chain, that
// nothing of the book brought on in its turn. The chances of several add up to
// more than they come to together, since two may have worked at once.
type Root struct {
	Cause string `json:"cause"`
	evidence.Place
	Title       string  `json:"title"`
	Probability float64 `json:"probability"` // that it brought the failure on, given that the failure is there
	// Through is the cause between the two, the likeliest; empty if it brings
	// the failure on itself.
	Through string `json:"through,omitempty"`
}

// Trouble is one thing that is wrong, told as what failed and what probably
// brought it on.
type Trouble struct {
	// Failed are the causes that are told as what failed, likeliest first: one,
	// and what the same root probably spoilt besides.
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

// Wrong is a look or an answer that would speak most against a cause: its sign
// not seen, or its check made and nothing found.
type Wrong struct {
	Sign  string `json:"sign,omitempty"`
	Check string `json:"check,omitempty"`
	evidence.Place
	Title string  `json:"title"`
	Then  float64 `json:"then"` // the chance of the cause after it
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
	// Behind says what the repair is done behind: pump (its isolation),
	// own-line, nothing. Safety are the safety steps of its own that come
	// before it; they stand in Steps until the cause is corrected.
	Behind    string   `json:"behind"`
	Safety    []Safety `json:"safety"`
	Repair    string   `json:"repair"`
	LookAgain string   `json:"look_again"`
	Parts     []string `json:"parts"`
	Ruins     string   `json:"ruins"`
	// FromLocal: it, or something of it, comes from the local book.
	FromLocal bool `json:"from_local,omitempty"`
	// Corrected: it was repaired; LookedAgain: and was right when it was looked
	// at again.
	Corrected   bool `json:"corrected"`
	LookedAgain bool `json:"looked_again"`
}

// Safety names a safety step.
type Safety struct {
	ID    string `json:"id"`
	Title string `json:"title"`
}

// Proved lists the causes that were proved, in the order of the book.
func (m *Model) Proved() []Confirmed {
	out := []Confirmed{}
	for i, in := range m.Causes {
		if !m.confirmed[i] {
			continue
		}
		c := in.Cause
		proved := Confirmed{
			Cause: c.ID, Place: in.Place, Title: m.Fill(c.Title), Behind: string(c.Behind), Safety: []Safety{},
			Repair: m.Fill(c.Repair), LookAgain: m.Fill(c.LookAgain), Parts: m.partTitles(c), Ruins: m.Fill(c.Ruins), FromLocal: c.FromLocal,
			Corrected: Among(m.Case.Corrected, c.ID, in.Place), LookedAgain: Among(m.Case.LookedAgain, c.ID, in.Place),
		}
		for _, id := range c.Safety {
			if s := m.Book.Safety.Get(id); s.When.Holds(m.Case, m.Book) {
				proved.Safety = append(proved.Safety, Safety{ID: id, Title: m.Fill(s.Title)})
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
func (m *Model) uncredited(cause int, y noisyor.Yield) noisyor.Yield {
	if m.confirmed[cause] {
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
		p.Present = append(p.Present, w.anyOf(func(i int) bool { return w.Causes[i].Cause.Group == g.ID && w.Causes[i].Prior > 0 }))
		chance, err := w.ratio(p)
		if err != nil {
			return nil, err
		}
		out = append(out, Group{Group: g.ID, Title: g.Title, Probability: chance})
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Probability > out[j].Probability })
	return out, nil
}

// NoneOfThese is the chance that no cause of the book is there at all.
func (w *Weighed) NoneOfThese() (float64, error) {
	p := w.Problem()
	p.Absent = append(p.Absent, w.anyOf(func(int) bool { return true }))
	return w.ratio(p)
}

// anyOf observes whether one of the chosen causes is there.
func (m *Model) anyOf(chosen func(cause int) bool) noisyor.Observation {
	o := noisyor.Observation{Background: noisyor.Yield{No: 1}}
	for i := range m.Causes {
		if chosen(i) {
			o.Links = append(o.Links, noisyor.Link{Source: i, Yield: noisyor.Yield{Yes: 1}})
		}
	}
	return o
}
