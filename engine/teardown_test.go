package engine

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"telltale/engine/chances"
	"telltale/engine/work"
	"telltale/evidence"
	"telltale/rules"
)

// drawReturns lays two steps back to service over a drawn book that depend on
// what was opened.
func drawReturns(t *rapid.T, d *bookDraft, book *rules.Book) {
	if len(d.opening) == 0 {
		return
	}
	for i := range 2 {
		book.Returns.List = append(book.Returns.List, &rules.Return{
			Entry: rules.Entry{ID: fmt.Sprintf("again%d", i), Title: "Again"}, Minutes: 2,
			Opened: d.some("opened", d.opening, 2), Before: d.some("before", d.opening, 2),
		})
	}
}

// drawNamed draws causes that the mechanic names, sometimes one twice.
func drawNamed(t *rapid.T, m *chances.Model) []evidence.At {
	var out []evidence.At
	for range rapid.IntRange(0, 3).Draw(t, "named") {
		in := m.Causes[rapid.IntRange(0, len(m.Causes)-1).Draw(t, "cause")]
		out = append(out, evidence.At{ID: in.Cause.ID, Place: in.Place})
	}
	return out
}

// unclosed gives the first fault of a plan's closing up: what is open, already
// or by a step, is closed exactly once, and each step back to service that
// applies stands once, before the closing that it must come before. While a
// stop condition holds every opening back the other watcher looks (leaking).
func unclosed(book *rules.Book, k *evidence.Case, plan *Teardown) string {
	if slices.ContainsFunc(plan.Stop, func(s chances.Stop) bool { return book.Stops.Get(s.ID).OpenNothing }) {
		return ""
	}
	open, closed := map[evidence.At]int{}, map[evidence.At]int{}
	for _, at := range k.Pump.Open {
		open[evidence.At{ID: at.ID, Place: at.Place}]++
	}
	stands := map[string][]int{}
	isolated := len(k.Pump.Open) > 0 || k.Pump.State == evidence.Isolated
	for i, s := range plan.Steps {
		at := evidence.At{ID: s.ID, Place: s.Place}
		switch {
		case s.Kind == work.StepOpening:
			open[at]++
		case s.Kind == work.StepReturn && book.Openings.Get(s.ID) != nil:
			closed[at]++
			stands[s.ID] = append(stands[s.ID], i)
		case s.Kind == work.StepReturn:
			stands[s.ID] = append(stands[s.ID], i)
		case s.Kind == work.StepSafety:
			isolated = isolated || book.Safety.Get(s.ID).For == rules.ForIsolation
		}
	}
	listed := map[evidence.At]int{}
	for _, o := range plan.Opens {
		listed[evidence.At{ID: o.ID, Place: o.Place}]++
	}
	for at, n := range open {
		if n != 1 || closed[at] != 1 || listed[at] != 1 {
			return fmt.Sprintf("%s %s is opened %d, closed %d, listed %d times", at.ID, at.Place, n, closed[at], listed[at])
		}
	}
	if len(closed) != len(open) || len(listed) != len(open) {
		return "something is closed or listed that is not open"
	}
	last := -1
	for _, r := range book.Returns.List {
		due := r.When.Holds(k, book) && r.Leads(plan.OutOfService) && isolated && (len(r.Opened) == 0 || slices.ContainsFunc(r.Opened, func(id string) bool { return len(stands[id]) > 0 }))
		if due != (len(stands[r.ID]) == 1) || len(stands[r.ID]) > 1 {
			return fmt.Sprintf("return step %s stands %d times, due: %t", r.ID, len(stands[r.ID]), due)
		}
		if due && stands[r.ID][0] < last {
			return r.ID + " is out of the book's order"
		}
		if due {
			last = stands[r.ID][0]
		}
		for _, id := range r.Before {
			if due && len(stands[id]) > 0 && stands[r.ID][0] > slices.Min(stands[id]) {
				return r.ID + " stands behind the closing of " + id
			}
		}
	}
	return ""
}

// missedShare is the share of the named causes that the checks of a plan miss,
// worked out from the list and what its checks still expose.
func missedShare(m *chances.Model, plan *Teardown) float64 {
	missed := 0.0
	for _, target := range plan.For {
		miss := 1.0
		for _, s := range plan.Steps {
			if s.Kind != work.StepCheck {
				continue
			}
			for _, f := range work.Exposes(m, m.Book.Checks.Get(s.ID), s.Place) {
				if in := m.Causes[f.Cause]; in.Cause.ID == target.Cause && in.Place == target.Place {
					miss *= 1 - f.Sure
				}
			}
		}
		missed += miss / float64(len(plan.For))
	}
	return missed
}

// Every plan of every drawn book, with and without named causes, is safe,
// closes what is open, and its times fit together.
func TestEveryTeardownIsSafeAndClosesUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawBook.Draw(t, "book")
		book := d.load()
		drawReturns(t, d, book)
		book.Teardown = rules.Teardown{PartsFrom: 0.1, MinutesLow: 0.5, MinutesHigh: 2}
		k := drawCase(t, d, book)
		named := drawNamed(t, chances.New(book, k))
		plan, err := PlanTeardown(book, k, named)
		var impossible *chances.ImpossibleError
		if errors.As(err, &impossible) {
			if len(plan.Steps)+len(plan.Opens)+len(plan.Spares) > 0 {
				t.Fatal("a plan for what is impossible")
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if fault := first(unsafe(book, k, plan.Report), isolationFault(book, k, plan.Report), unclosed(book, k, plan), badTimes(plan)); fault != "" {
			t.Fatalf("%s\nnamed %v\n%s", fault, named, d.yaml.String())
		}
		if len(named) == 0 {
			return
		}
		seen := map[evidence.At]bool{}
		for _, f := range plan.For {
			seen[evidence.At{ID: f.Cause, Place: f.Place}] = true
		}
		for _, at := range named {
			if !seen[at] || len(seen) != len(plan.For) {
				t.Fatalf("named %v, planned for %v", named, plan.For)
			}
		}
		if want := missedShare(chances.New(book, k), plan); math.Abs(plan.NotInSteps-want) > 1e-9 {
			t.Fatalf("the list misses %g, by hand %g", plan.NotInSteps, want)
		}
	})
}

// badTimes gives the first contradiction in the times of a plan.
func badTimes(plan *Teardown) string {
	clock, looking, closing := 0.0, 0.0, 0.0
	for _, s := range plan.Steps {
		if clock += s.Minutes; math.Abs(s.MinutesByHere-clock) > 1e-9 {
			return fmt.Sprintf("step %d: %g min by here, added up %g", s.Number, s.MinutesByHere, clock)
		}
		switch s.Kind {
		case work.StepCheck:
			looking = clock
		case work.StepReturn:
			closing += s.Minutes
		}
	}
	x := plan.Times
	switch {
	case math.Abs(x.Whole-looking) > 1e-9 || math.Abs(x.Closing-closing) > 1e-9:
		return fmt.Sprintf("%+v, but the steps say %g and %g", x, looking, closing)
	case x.Quickest > x.Whole || x.ToCause > x.Whole+1e-9 || x.Low > x.High:
		return fmt.Sprintf("%+v contradict each other", x)
	case math.Abs(x.High-2*(looking+closing)) > 1e-9 || x.Low < 0.5*x.Quickest || x.Low > 0.5*(x.Quickest+closing)+1e-9:
		return fmt.Sprintf("%+v are not as the factors say", x)
	}
	return ""
}

// loadWithParts loads a drawn book whose causes take parts, whose first opening
// uses the first part up, and whose second part may be behind that opening.
func loadWithParts(t *rapid.T, d *bookDraft) *rules.Book {
	d.printf("parts: {p0: {title: P, of: chamber, basis: judgement}, p1: {title: P, of: cylinder, basis: judgement}, p2: {title: P, of: pump, basis: judgement}}\n")
	book := d.load()
	for _, c := range book.Causes.List {
		for _, id := range d.some("parts", []string{"p0", "p1", "p2"}, 3) {
			c.Parts = append(c.Parts, rules.PartNeed{Part: id, Chance: rapid.SampledFrom([]float64{0.08, 0.3, 0.6, 0.9}).Draw(t, "taken")})
		}
	}
	if len(book.Openings.List) > 0 {
		door := book.Openings.List[0]
		door.Uses = []string{"p0"}
		if door.Level != evidence.OfChamber && rapid.Bool().Draw(t, "behind the door") {
			book.Parts.Get("p1").ReachedBy = []string{door.ID}
		}
	}
	return book
}

// takesByHand is the chance that correcting a cause takes a part: the second
// part takes the first with it where the door to it has to be opened besides.
func takesByHand(m *chances.Model, in chances.Instance, part string, opened []evidence.At) float64 {
	none := 1.0
	for _, need := range in.Cause.Parts {
		byTheDoor := false
		if need.Part == "p1" && part == "p0" {
			for _, door := range m.Book.Parts.Get("p1").ReachedBy {
				for _, p := range m.Case.Pump.Under(in.Place, evidence.OfCylinder) {
					byTheDoor = byTheDoor || !m.Book.IsOpen(door, p, opened) && m.Book.ExistsAt(door, p, m.Case) && m.Book.ToOpen(door, p, m.Case).ID == door
				}
			}
		}
		if need.Part == part || byTheDoor {
			none *= 1 - need.Chance
		}
	}
	return 1 - none
}

// notTakenByEnumeration is P(no cause takes the part | findings), over all sets
// of causes: of those that show a finding if there is one, else of all that are
// there.
func notTakenByEnumeration(m *chances.Model, miss []float64) float64 {
	if slices.ContainsFunc(m.Case.Findings, func(f evidence.Finding) bool { return f.Answer == evidence.Present }) {
		return missedByEnumeration(m, miss)
	}
	not, all := 0.0, 0.0
	for state := range 1 << len(m.Causes) {
		mass := massWith(m, state, 0)
		all += mass
		for i := range m.Causes {
			if state>>i&1 == 1 {
				mass *= miss[i]
			}
		}
		not += mass
	}
	return not / all
}

// The chance of each part is exact: that a cause which is proved, named, or
// there and behind a finding takes it, also by what must be opened for another
// part. What opening uses up at a place is no spare there; the rest is listed
// from the least chance on, the likeliest first.
func TestPartsAgreeWithEnumeration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawBook.Draw(t, "book")
		book := loadWithParts(t, d)
		book.Teardown = rules.Teardown{PartsFrom: rapid.SampledFrom([]float64{0, 0.1, 0.5}).Draw(t, "from"), MinutesLow: 1, MinutesHigh: 1}
		k := drawCase(t, d, book)
		m := chances.New(book, k)
		if rapid.Bool().Draw(t, "one is proved") {
			k.Confirmed = drawNamed(t, m)
			if rapid.Bool().Draw(t, "and corrected") {
				k.Corrected = k.Confirmed
			}
			m = chances.New(book, k)
		}
		if len(m.Causes) > 4 || enumerate(m).evidence < 1e-9 {
			t.Skip("too many causes to enumerate, or too unlikely for the oracle")
		}
		named := drawNamed(t, m)
		plan, err := PlanTeardown(book, k, named)
		if err != nil {
			t.Fatal(err)
		}
		got, before := map[string]float64{}, 1.0
		for _, s := range plan.Spares {
			if s.Chance > before+1e-12 {
				t.Fatalf("%+v behind %g", s, before)
			}
			got[s.Part], before = s.Chance, s.Chance
		}
		opened := openedBy(plan)
		for _, part := range []string{"p0", "p1", "p2"} {
			used := map[evidence.Place]bool{} // with all that lies inside
			for _, at := range opened {
				if part == "p0" && at.ID == book.Openings.List[0].ID {
					for _, p := range k.Pump.Under(at.Place, book.Parts.Get(part).Level) {
						used[p] = true
					}
				}
			}
			if consumed := slices.IndexFunc(plan.Consumed, func(s work.Spare) bool { return s.Part == part }); (consumed >= 0) != (len(used) > 0) {
				t.Fatalf("used up: %+v, opened: %+v", plan.Consumed, plan.Opens)
			}
			none, proved, miss := 1.0, false, make([]float64, len(m.Causes))
			for i, in := range m.Causes {
				miss[i] = 1
				chance, at := takesByHand(m, in, part, opened), evidence.At{ID: in.Cause.ID, Place: in.Place}
				places := k.Pump.Under(in.Place, book.Parts.Get(part).Level)
				switch {
				case !slices.ContainsFunc(places, func(p evidence.Place) bool { return !used[p] }):
				case slices.Contains(k.Corrected, at):
				case m.Confirmed(i) || slices.Contains(named, at):
					none *= 1 - chance
					proved = proved || m.Confirmed(i) && slices.ContainsFunc(in.Cause.Parts, func(n rules.PartNeed) bool { return n.Part == part })
				case len(named) == 0:
					miss[i] = 1 - chance
				}
			}
			want := 1 - none*notTakenByEnumeration(m, miss)
			chance, listed := got[part]
			switch {
			case listed && math.Abs(chance-want) > 1e-6:
				t.Fatalf("%s: %.12g, the enumeration says %.12g", part, chance, want)
			case !listed && (proved || want > plan.SpareFrom+1e-6), listed && !proved && want < plan.SpareFrom-1e-6:
				t.Fatalf("%s: %g, listed: %t from %g on", part, want, listed, plan.SpareFrom)
			}
		}
	})
}

// openedBy is what a plan opens and what is open already.
func openedBy(plan *Teardown) []evidence.At {
	var out []evidence.At
	for _, o := range plan.Opens {
		out = append(out, evidence.At{ID: o.ID, Place: o.Place})
	}
	return out
}
