package prove

import (
	"fmt"
	"slices"

	"telltale/engine"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// Failure is one expectation that does not hold.
type Failure struct {
	Pos     source.Pos
	Proof   string
	Message string
	// Reasons are the strongest reasons of the cause in question, and Found the
	// findings that they point to.
	Reasons []engine.Reason
	Found   []engine.Finding
}

// Outcome is what a suite showed.
type Outcome struct {
	Proofs   int
	Held     int // expectations that hold
	Failures []Failure
	// NeverFirst are the causes that no proof brings first; Unused the facts
	// that no proof exercises.
	NeverFirst []string
	Unused     []string
}

// Run judges every proof with the book.
func Run(book *rules.Book, s *Suite) Outcome {
	book = book.WithoutFirmness()
	out := Outcome{Proofs: len(s.Proofs)}
	first, used := map[string]bool{}, map[string]bool{}
	for _, p := range s.Proofs {
		r, err := p.answer(book)
		if err != nil {
			out.Failures = append(out.Failures, Failure{Pos: p.Pos, Proof: p.ID, Message: err.Error()})
			continue
		}
		before := len(out.Failures)
		for _, e := range p.Expect {
			if f := judge(r, p, e); f != nil {
				out.Failures = append(out.Failures, *f)
				continue
			}
			out.Held++
			if e.what == "first" {
				first[e.at.cause] = true
			}
		}
		if len(out.Failures) == before {
			for _, f := range p.Facts {
				used[f] = true
			}
		}
	}
	for _, c := range book.Causes.List {
		if !first[c.ID] {
			out.NeverFirst = append(out.NeverFirst, c.ID)
		}
	}
	for _, f := range s.Facts {
		if !used[f.ID] {
			out.Unused = append(out.Unused, f.ID)
		}
	}
	return out
}

// answer weighs the case of a proof. Groups and how long it can wait are worked
// out for the proofs that ask for them, and what is over where something is
// proved.
func (p *Proof) answer(book *rules.Book) (*engine.Report, error) {
	if len(p.Case.Confirmed) > 0 || slices.ContainsFunc(p.Expect, func(e Expectation) bool { return e.what == "group" || e.what == "haste" }) {
		return engine.Diagnose(book, p.Case)
	}
	return engine.Outline(book, p.Case)
}

// judge gives a failure, nil when the expectation holds.
func judge(r *engine.Report, p *Proof, e Expectation) *Failure {
	message := ""
	switch e.what {
	case "first":
		message = firstFault(r, e)
	case "within":
		if rank := rankOf(r, e.at); rank == 0 || rank > e.places {
			message = fmt.Sprintf("%s stands in place %d, want the first %d", e.at, rank, e.places)
		}
	case "chance", "below":
		if c := chanceOf(r, e.at); c < e.from || c > e.to {
			message = fmt.Sprintf("the chance of %s is %.3f, want %g to %g", e.at, c, e.from, e.to)
		}
	case "group":
		if c := groupOf(r, e.id); c < e.from || c > e.to {
			message = fmt.Sprintf("the chance of %s is %.3f, want %g to %g", e.id, c, e.from, e.to)
		}
	case "first-check":
		if got := firstCheck(r); got != e.id {
			message = fmt.Sprintf("the first check is %q, want %s", got, e.id)
		}
	case "before":
		message = orderFault(r, e)
	case "haste":
		if got := r.Haste.Verdict; got != e.id {
			message = fmt.Sprintf("it can wait %q, want %s", got, e.id)
		}
	case "stop":
		if got := firstStop(r); got != e.id {
			message = fmt.Sprintf("the first stop is %s, want %s", got, e.id)
		}
	case "no-stop":
		if slices.ContainsFunc(r.Stop, func(s engine.StopReport) bool { return s.ID == e.id }) {
			message = fmt.Sprintf("the stop %s holds, want it not to", e.id)
		}
	case "no-step":
		message = noStepFault(r, e)
	}
	if message == "" {
		return nil
	}
	return &Failure{Pos: e.Pos, Proof: p.ID, Message: message, Reasons: reasonsOf(r, e.at), Found: r.Found}
}

// String names the cause and its place.
func (a at) String() string {
	if a.place == (evidence.Place{}) {
		return a.cause
	}
	return a.cause + " (" + a.place.String() + ")"
}

func (a at) is(c engine.CauseReport) bool {
	return c.Cause == a.cause && c.Cylinder == a.place.Cylinder && c.End == a.place.End
}

// tie is how far two chances may differ by rounding and still be the same:
// the two ends of a cylinder when nobody knows which.
const tie = 1e-9

func firstFault(r *engine.Report, e Expectation) string {
	if len(r.Causes) == 0 {
		return "no causes are given"
	}
	if lead := r.Causes[0]; chanceOf(r, e.at) < lead.Probability-tie {
		return fmt.Sprintf("%s leads with %.3f; %s has %.3f, in place %d", leadName(lead), lead.Probability, e.at, chanceOf(r, e.at), rankOf(r, e.at))
	}
	return ""
}

func leadName(c engine.CauseReport) string {
	return at{cause: c.Cause, place: c.Place}.String()
}

// rankOf is the place in the ranking, from 1; 0 when it is not there.
func rankOf(r *engine.Report, a at) int {
	for i, c := range r.Causes {
		if a.is(c) {
			return i + 1
		}
	}
	return 0
}

func chanceOf(r *engine.Report, a at) float64 {
	for _, c := range r.Causes {
		if a.is(c) {
			return c.Probability
		}
	}
	return 0
}

func groupOf(r *engine.Report, id string) float64 {
	for _, g := range r.Groups {
		if g.Group == id {
			return g.Probability
		}
	}
	return 0
}

func firstCheck(r *engine.Report) string {
	for _, s := range r.Steps {
		if s.Kind == engine.StepCheck {
			return s.ID
		}
	}
	return ""
}

func firstStop(r *engine.Report) string {
	if len(r.Stop) == 0 {
		return "none"
	}
	return r.Stop[0].ID
}

func orderFault(r *engine.Report, e Expectation) string {
	earlier, later := 0, 0
	for _, s := range r.Steps {
		if e.earlier.is(s) && earlier == 0 {
			earlier = s.Number
		}
		if e.later.is(s) && later == 0 {
			later = s.Number
		}
	}
	switch {
	case earlier == 0:
		return fmt.Sprintf("%s is not in the list", e.earlier)
	case later == 0:
		return fmt.Sprintf("%s is not in the list", e.later)
	case earlier > later:
		return fmt.Sprintf("%s is step %d, after %s, step %d", e.earlier, earlier, e.later, later)
	}
	return ""
}

// is says whether a step of a list is the one that is meant.
func (s step) is(r engine.StepReport) bool {
	return r.ID == s.id && s.closes == (s.opening && r.Kind == engine.StepReturn)
}

// String names the step, or what it closes.
func (s step) String() string {
	if s.closes {
		return "closing " + s.id
	}
	return s.id
}

func noStepFault(r *engine.Report, e Expectation) string {
	for _, s := range r.Steps {
		if s.ID == e.id && e.at.place.Touches(s.Place) {
			return fmt.Sprintf("%s is step %d, want it left out", e.id, s.Number)
		}
	}
	return ""
}

// mostReasons is how many reasons a failure shows.
const mostReasons = 3

func reasonsOf(r *engine.Report, a at) []engine.Reason {
	for _, c := range r.Causes {
		if !a.is(c) {
			continue
		}
		all := append(append([]engine.Reason{}, c.For...), c.Against...)
		return all[:min(len(all), mostReasons)]
	}
	return nil
}

// Full says whether everything holds and everything is covered.
func (o Outcome) Full() bool {
	return len(o.Failures) == 0 && len(o.NeverFirst) == 0 && len(o.Unused) == 0
}

// Unproved gives a remark for each cause that no proof brings first.
func Unproved(b *rules.Book, o Outcome) []rules.Remark {
	var out []rules.Remark
	for _, id := range o.NeverFirst {
		out = append(out, rules.Remark{Pos: b.Causes.Get(id).Pos, Kind: rules.Unproved, Of: []string{id}, Message: "no proving case brings the cause " + id + " first"})
	}
	return out
}
