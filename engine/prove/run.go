package prove

import (
	"fmt"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/engine/work"
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
	Reasons []chances.Reason
	Found   []chances.Finding
}

// Outcome is what a suite showed.
type Outcome struct {
	Proofs   int
	Held     int // expectations that hold
	Failures []Failure
	// NeverFirst are the causes that no proof brings first, as the likeliest, as
	// what failed or as what brought it on; Unused the facts
	// that no proof exercises.
	NeverFirst []string
	Unused     []string
}

// Run judges every proof with the book.
func Run(book *rules.Book, s *Suite) Outcome {
	whole := book.WithoutFirmness()
	return s.outcome(book, func(p *Proof) (*engine.Report, error) { return p.answer(whole) })
}

// outcome judges every proof by its answer, several beside one another.
func (s *Suite) outcome(book *rules.Book, answer func(*Proof) (*engine.Report, error)) Outcome {
	all := make([]judged, len(s.Proofs))
	var next atomic.Int64
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for i := next.Add(1) - 1; i < int64(len(all)); i = next.Add(1) - 1 {
				all[i] = s.Proofs[i].judge(answer)
			}
		})
	}
	workers.Wait()
	out := Outcome{Proofs: len(all)}
	first, used := map[string]bool{}, map[string]bool{}
	for i, j := range all {
		out.Failures, out.Held = append(out.Failures, j.failures...), out.Held+len(j.held)
		for _, e := range j.held {
			if slices.Contains(leading, e.what) {
				first[e.at.cause] = true
			}
		}
		for _, f := range s.Proofs[i].Facts {
			used[f] = used[f] || len(j.failures) == 0
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

// leading are the expectations by which a proof brings a cause first.
var leading = []string{"first", "failed", "brought-on-by"}

// answer weighs the case of a proof. Groups and how long it can wait are worked
// out for the proofs that ask for them, what is over where something is proved,
// and what failed and what brought it on where that is asked.
func (p *Proof) answer(book *rules.Book) (*engine.Report, error) {
	switch {
	case p.asksWhole():
		return engine.Diagnose(book, p.Case)
	case p.asks(rooted...):
		return engine.Tell(book, p.Case)
	}
	return engine.Outline(book, p.Case)
}

func (p *Proof) asksWhole() bool {
	return p.asks("group", "haste") || len(p.Case.Confirmed) > 0 && !p.asks(rooted...)
}

func (p *Proof) asks(what ...string) bool {
	return slices.ContainsFunc(p.Expect, func(e Expectation) bool { return slices.Contains(what, e.what) })
}

// judged is what one proof showed.
type judged struct {
	failures []Failure
	held     []Expectation
}

// judge holds what a proof expects against its answer.
func (p *Proof) judge(answer func(*Proof) (*engine.Report, error)) (out judged) {
	r, err := answer(p)
	if err != nil {
		return judged{failures: []Failure{{Pos: p.Pos, Proof: p.ID, Message: err.Error()}}}
	}
	for _, e := range p.Expect {
		if message := e.fault(r); message != "" {
			out.failures = append(out.failures, Failure{Pos: e.Pos, Proof: p.ID, Message: message, Reasons: reasonsOf(r, e.at), Found: r.Found})
		} else {
			out.held = append(out.held, e)
		}
	}
	return out
}

// unless words what is wrong, "" if all is as it should be.
func unless(right bool, format string, args ...any) string {
	if right {
		return ""
	}
	return fmt.Sprintf(format, args...)
}

func between(what string, chance, from, to float64) string {
	return unless(chance >= from && chance <= to, "the chance of %s is %.3f, want %g to %g", what, chance, from, to)
}

func (a at) chanceFault(from, to float64) func(*engine.Report) string {
	return func(r *engine.Report) string { return between(a.String(), chanceOf(r, a), from, to) }
}

// String names the cause and its place.
func (a at) String() string {
	if a.place == (evidence.Place{}) {
		return a.cause
	}
	return a.cause + " (" + a.place.String() + ")"
}

func (a at) is(c chances.Cause) bool {
	return c.Cause == a.cause && c.Cylinder == a.place.Cylinder && c.End == a.place.End
}

// tie is how far two chances may differ by rounding and still be the same:
// the two ends of a cylinder when nobody knows which.
const tie = 1e-9

func (a at) firstFault(r *engine.Report) string {
	if len(r.Causes) == 0 {
		return "no causes are given"
	}
	lead, chance := r.Causes[0], chanceOf(r, a)
	return unless(chance >= lead.Probability-tie, "%s leads with %.3f; %s has %.3f, in place %d", at{lead.Cause, lead.Place}, lead.Probability, a, chance, rankOf(r, a))
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
	if rank := rankOf(r, a); rank > 0 {
		return r.Causes[rank-1].Probability
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
		if s.Kind == work.StepCheck {
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

func orderFault(r *engine.Report, earlier, later step) string {
	number := func(wanted step) int {
		if i := slices.IndexFunc(r.Steps, wanted.is); i >= 0 {
			return r.Steps[i].Number
		}
		return 0
	}
	before, behind := number(earlier), number(later)
	switch {
	case before == 0:
		return fmt.Sprintf("%s is not in the list", earlier)
	case behind == 0:
		return fmt.Sprintf("%s is not in the list", later)
	}
	return unless(before < behind, "%s is step %d, after %s, step %d", earlier, before, later, behind)
}

// is says whether a step of a list is the one that is meant.
func (s step) is(r work.Step) bool {
	return r.ID == s.id && s.closes == (s.opening && r.Kind == work.StepReturn)
}

// String names the step, or what it closes.
func (s step) String() string {
	if s.closes {
		return "closing " + s.id
	}
	return s.id
}

func noStepFault(r *engine.Report, id string, place evidence.Place) string {
	for _, s := range r.Steps {
		if s.ID == id && place.Touches(s.Place) {
			return fmt.Sprintf("%s is step %d, want it left out", id, s.Number)
		}
	}
	return ""
}

// mostReasons is how many reasons a failure shows.
const mostReasons = 3

func reasonsOf(r *engine.Report, a at) []chances.Reason {
	rank := rankOf(r, a)
	if rank == 0 {
		return nil
	}
	all := slices.Concat(r.Causes[rank-1].For, r.Causes[rank-1].Against)
	return all[:min(len(all), mostReasons)]
}

// Full says whether everything holds and everything is covered.
func (o Outcome) Full() bool {
	return len(o.Failures) == 0 && len(o.NeverFirst) == 0 && len(o.Unused) == 0
}

// Unproved gives a remark for each cause that no proof brings first. A proof is weighed
// only where it may bring one first that none did before.
func Unproved(b *rules.Book, s *Suite) []rules.Remark {
	book, first := b.WithoutFirmness(), map[string]bool{}
	for _, p := range s.Proofs {
		leads := *p
		leads.Expect = slices.DeleteFunc(slices.Clone(p.Expect), func(e Expectation) bool { return !slices.Contains(leading, e.what) || first[e.at.cause] })
		if len(leads.Expect) == 0 {
			continue
		}
		answer := func(p *Proof) (*engine.Report, error) { return engine.TellAlone(book, p.Case) }
		if leads.asksWhole() {
			answer = func(p *Proof) (*engine.Report, error) { return p.answer(book) }
		}
		for _, e := range leads.judge(answer).held {
			first[e.at.cause] = true
		}
	}
	var out []rules.Remark
	for _, c := range b.Causes.List {
		if !first[c.ID] {
			out = append(out, rules.Remark{Pos: c.Pos, Kind: rules.Unproved, Of: []string{c.ID}, Message: "no proving case brings the cause " + c.ID + " first"})
		}
	}
	return out
}
