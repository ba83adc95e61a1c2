package chances

import (
	"slices"

	"telltale/evidence"
	"telltale/rules"
)

// Bounds of what is tried and said of changes.
const (
	mostOver   = 4 // causes that are over together
	mostProved = 2
	mostAsked  = 4 // questions whose answers are tried
)

// hasteChanges works out what would change a verdict: the case is weighed
// again with that proof or that answer in it.
type hasteChanges struct {
	*Weighed
	h      *hurry
	weight []float64
}

func (c *hasteChanges) all(asked []Question) ([]HasteChange, error) {
	over, err := c.over()
	if err != nil {
		return nil, err
	}
	return append([]HasteChange{}, slices.Concat(c.proved(), over, c.answers(asked))...), nil
}

func (c *hasteChanges) change(kind, verdict string) HasteChange {
	return HasteChange{If: kind, Verdict: verdict, Then: c.Fill(c.wordsOf(verdict).Title), Sooner: soonerVerdict(verdict, c.h.name(c.Book))}
}

// proved are the likeliest causes whose proof alone would make it more urgent.
func (c *hasteChanges) proved() []HasteChange {
	verdict := c.h.verdict(c.Book)
	var out []HasteChange
	for _, g := range c.groupsOf(c.h, c.weight, c.Book.LeastGain, mostProved, func(w rules.Wait) bool { return w.Sooner(verdict) }) {
		if !g.proved {
			change := c.change(ChangeProved, c.ifProved(g))
			change.Causes = []HasteTarget{c.target(g)}
			out = append(out, change)
		}
	}
	return out
}

// ifProved is the verdict with a cause proved at one place: what the book says
// of a cause that is proved counts too.
func (c *hasteChanges) ifProved(g hasteGroup) string {
	place := c.Causes[g.members[0]].Place
	trial := *c.Case
	trial.Confirmed = append(slices.Clone(c.Case.Confirmed), evidence.At{ID: g.cause.ID, Place: place})
	m := New(c.Book, &trial)
	h := m.hurryOfStops()
	if wait := g.cause.HasteAt(place, &trial, c.Book).Wait; wait.Sooner(h.stops) {
		h.stops = wait
	}
	return h.name(c.Book)
}

// over is what makes it less urgent: the stop conditions that carry the verdict
// are over, and the likeliest causes that carry it are ruled out, or corrected
// and looked at again if they were proved; as few as will do.
func (c *hasteChanges) over() ([]HasteChange, error) {
	verdict := c.h.verdict(c.Book)
	if verdict == rules.Watch {
		return nil, nil
	}
	out := HasteChange{If: ChangeOver}
	rest := *c.h
	if !verdict.Sooner(rest.stops) {
		rest.stops = rules.Watch
		for _, stop := range c.Stops() {
			if c.stopWait(stop) == verdict {
				out.Stops = append(out.Stops, c.Fill(stop.Title))
				continue
			}
			if w := c.stopWait(stop); w.Sooner(rest.stops) {
				rest.stops = w
			}
		}
	}
	trial, k := *c.Model, *c.Case
	trial.Causes, trial.Case = slices.Clone(c.Causes), &k
	var ended []hasteGroup
	for _, g := range c.groupsOf(c.h, c.weight, 0, mostOver, func(w rules.Wait) bool { return !verdict.Sooner(w) }) {
		if verdict.Sooner(rest.verdict(c.Book)) {
			break
		}
		trial.end(g)
		ended = append(ended, g)
		out.Causes = append(out.Causes, c.target(g))
		then, err := trial.evidence(c.solver)
		if err != nil || then.Evidence == 0 {
			return nil, nil // they cannot all be ruled out
		}
		if rest.chances, err = then.chancesOf(c.h.waits); err != nil {
			return nil, err
		}
	}
	then, err := c.noLater(rest.verdict(c.Book), ended)
	if err != nil || !verdict.Sooner(then) {
		return nil, err
	}
	change := c.change(ChangeOver, string(then))
	change.Stops, change.Causes = out.Stops, out.Causes
	return []HasteChange{change}, nil
}

// noLater is a verdict with some causes over, and no less urgent than by the
// built-in book beneath a local one with those over.
func (c *hasteChanges) noLater(then rules.Wait, over []hasteGroup) (rules.Wait, error) {
	trial, k := *c.Model, *c.Case
	trial.Case = &k
	for _, g := range over {
		list := &k.RuledOut
		if g.proved {
			list = &k.LookedAgain
		}
		for _, i := range g.members {
			*list = append(slices.Clip(*list), evidence.At{ID: g.cause.ID, Place: c.Causes[i].Place})
		}
	}
	under, err := trial.underLocal(c.solver)
	if err == nil && under.Sooner(then) {
		then = under
	}
	return then, err
}

// end rules a cause out, or has it corrected and looked at again if it was
// proved. The model must be the caller's own.
func (m *Model) end(g hasteGroup) {
	for _, i := range g.members {
		if g.proved {
			m.Case.LookedAgain = append(slices.Clip(m.Case.LookedAgain), evidence.At{ID: g.cause.ID, Place: m.Causes[i].Place})
			continue
		}
		m.ruleOut(i)
	}
}

// target names a cause with the check that exposes it most surely and can be
// made on this pump.
func (c *hasteChanges) target(g hasteGroup) HasteTarget {
	out := HasteTarget{Cause: g.cause.ID, Title: c.Fill(g.cause.Title), Places: c.placesOf(g.members), Proved: g.proved}
	best := 0.0
	for _, check := range c.Book.ChecksFor(g.cause.ID) {
		for _, f := range check.Finds {
			if f.Cause == g.cause.ID && f.Sure > best && check.When.Holds(c.Case, c.Book) {
				best, out.Check, out.CheckTitle = f.Sure, check.ID, c.Fill(check.Title)
			}
		}
	}
	return out
}

// answers tries each answer to the most telling questions and gives the first
// that makes it most urgent and the first that makes it least urgent.
func (c *hasteChanges) answers(asked []Question) []HasteChange {
	verdict := c.h.verdict(c.Book)
	var sooner, later []HasteChange // the best so far, or none
	for _, q := range asked[:min(mostAsked, len(asked))] {
		for _, f := range c.answersTo(q) {
			then, ok := c.ifFound(f)
			if !ok || then == string(verdict) {
				continue
			}
			switch {
			case soonerVerdict(then, string(verdict)):
				if len(sooner) == 0 || soonerVerdict(then, sooner[0].Verdict) {
					sooner = []HasteChange{c.answered(q, f, then)}
				}
			case len(later) == 0 || soonerVerdict(later[0].Verdict, then):
				later = []HasteChange{c.answered(q, f, then)}
			}
		}
	}
	return slices.Concat(sooner, later)
}

// soonerVerdict compares verdicts: the well comes before every wait.
func soonerVerdict(a, b string) bool {
	if a == WellFirst || b == WellFirst {
		return a != b && a == WellFirst
	}
	return rules.Wait(a).Sooner(rules.Wait(b))
}

func (c *hasteChanges) answered(q Question, f evidence.Finding, then string) HasteChange {
	out := c.change(ChangeAnswer, then)
	out.Answer = &HasteAnswer{
		Sign: q.Sign, Place: q.Place, Question: q.Question, Answer: string(f.Answer), Kind: f.Kind,
		KindTitle: c.Book.Signs.Get(q.Sign).KindTitle(f.Kind),
	}
	return out
}

// answersTo gives the findings that a question can bring.
func (c *hasteChanges) answersTo(q Question) []evidence.Finding {
	place := q.Place
	finding := func(answer evidence.Answer, kind string) evidence.Finding {
		return evidence.Finding{Sign: q.Sign, Answer: answer, Kind: kind, At: place, Over: []evidence.Place{place}}
	}
	out := []evidence.Finding{finding(evidence.Absent, "")}
	if len(q.Kinds) == 0 {
		return append(out, finding(evidence.Present, ""))
	}
	for _, kind := range q.Kinds {
		out = append(out, finding(evidence.Present, kind))
	}
	return out
}

// ifFound is the verdict with one finding more; ok is false when it cannot
// come, or cannot be weighed.
func (c *hasteChanges) ifFound(f evidence.Finding) (verdict string, ok bool) {
	trial := c.asIf(f)
	trial.readUnder = c.readUnder
	if trial.hurryOfStops().leave {
		return WellFirst, true
	}
	w, err := trial.evidence(c.solver)
	if err != nil || w.Evidence == 0 {
		return "", false
	}
	h, err := w.hurryOf(c.waitsWith(trial, f.Sign))
	if err != nil {
		return "", false
	}
	return h.name(c.Book), true
}

// waitsWith is how long each cause can wait with one finding of a sign more:
// only conditions that ask about it are asked again.
func (c *hasteChanges) waitsWith(trial *Model, sign string) []rules.Haste {
	if len(c.h.waits) != len(trial.Causes) {
		return trial.waits()
	}
	out := slices.Clone(c.h.waits)
	for i, in := range trial.Causes {
		if slices.ContainsFunc(in.Cause.HasteWhen, func(r rules.HasteRule) bool { return r.When.AsksAbout(sign) }) {
			out[i] = in.Cause.HasteAt(in.Place, trial.Case, trial.Book)
		}
	}
	return out
}
