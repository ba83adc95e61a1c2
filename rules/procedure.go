package rules

import (
	"slices"

	"telltale/evidence"
	"telltale/evidence/source"
)

// Situation is one word of what a procedure is done for.
type Situation string

// The situations of shims at a guide.
const (
	AtLower       Situation = "lower"          // the lower guide
	AtUpper       Situation = "upper"          // the upper guide
	ShimsIn       Situation = "shims-in"       // thickness is put in
	ShimsOut      Situation = "shims-out"      // thickness is taken out
	SameEnds      Situation = "same-ends"      // the same at both ends
	DifferentEnds Situation = "different-ends" // not the same
	AfterLower    Situation = "after-lower"    // the lower guide is shimmed before
	AskFirst      Situation = "ask-first"      // an engineer decides before a guide is touched
)

var situations = []Situation{AtLower, AtUpper, ShimsIn, ShimsOut, SameEnds, DifferentEnds, AfterLower, AskFirst}

// Writes is what there is room for beside a step of a procedure.
type Writes string

// What is written down at a step.
const (
	WritesNothing Writes = ""
	WritesName    Writes = "name"   // who decided, and what
	WritesBefore  Writes = "before" // the readings before
	WritesAfter   Writes = "after"  // the readings after
)

// Procedure is a job in steps, each with a box to tick.
type Procedure struct {
	Entry
	Tools []string
	Steps []ProcedureStep
}

// ProcedureStep is one step; it stands in the list when each of For holds.
type ProcedureStep struct {
	Title   string
	Do      string
	Caution string // "" with no Signal
	Signal  Signal
	For     []Situation
	Writes  Writes
	Picture Picture
	Basis   string
}

// In gives the steps for what holds.
func (p *Procedure) In(holds ...Situation) []ProcedureStep {
	var out []ProcedureStep
	for _, step := range p.Steps {
		if !slices.ContainsFunc(step.For, func(s Situation) bool { return !slices.Contains(holds, s) }) {
			out = append(out, step)
		}
	}
	return out
}

func (l *loader) parseProcedure(o *source.Object, e Entry) *Procedure {
	p := &Procedure{Entry: e, Tools: l.texts(o.Get("tools"), "tools")}
	for _, step := range l.objects(o.Need("steps"), "steps") {
		s := ProcedureStep{Title: l.text(step, "title"), Do: l.text(step, "do"), Caution: l.optional(step, "caution"), Picture: l.picture(step), Basis: e.Basis}
		if n := step.Get("signal"); n != nil || s.Caution != "" {
			s.Signal = l.signal(step)
			if s.Caution == "" {
				l.problems.Add(n.Pos, source.NeedsOther, "a signal word goes with a caution:")
			}
		}
		for _, item := range step.Get("for").Scalars(&l.problems, "for") {
			s.For = append(s.For, oneOf(l, item, "situation", situations...))
		}
		if n := step.Get("writes"); n != nil {
			s.Writes = oneOf(l, n, "thing to write", WritesName, WritesBefore, WritesAfter)
		}
		if n := step.Get("basis"); n != nil {
			s.Basis = ReadBasis(n, &l.problems)
		}
		step.Close()
		p.Steps = append(p.Steps, s)
	}
	return p
}

// Gauge is a way to take readings, with the smallest difference that it shows
// in a practised hand.
type Gauge struct {
	Entry
	Do       string
	Resolves evidence.Quantity
	Checks   []string // whose readings can be taken with it
}

func (l *loader) parseGauge(o *source.Object, e Entry) *Gauge {
	return &Gauge{Entry: e, Do: l.text(o, "do"), Resolves: l.figure(o.Need("resolves"), evidence.Length), Checks: l.ids(o.Need("checks"), "checks")}
}

// GaugesFor lists the gauges for the readings of a check.
func (b *Book) GaugesFor(check string) []*Gauge {
	var out []*Gauge
	for _, g := range b.Gauges.List {
		if slices.Contains(g.Checks, check) {
			out = append(out, g)
		}
	}
	return out
}
