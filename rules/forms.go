package rules

import (
	"slices"

	"telltale/evidence"
	"telltale/evidence/source"
)

// Form is a blank form of one task: what is looked at and read, in the order in
// which the hand comes to it, and typed into a case in the same order.
type Form struct {
	Entry
	Use    string   // what it is taken along for
	Safety []string // safety steps of its own, besides those of what it asks
	Asks   []Asked
}

// Asked is one piece of a form: one of its lists is given. A block of readings
// stands alone.
type Asked struct {
	Title    string // "" of a block of readings, which has its own
	Signs    []string
	Checks   []string
	Readings string // a block of the case file
	Asides   bool   // only what is seldom read of it, behind the rest
	Works    []string
	Parts    []string // put in new
	Limits   []string // of this pump's manual
	Pump     []string // keys of the pump in the case file
	Lists    []string // what of the isolation is handed over
	Log      []string // lines of the log, each with its heading
}

// The blocks of readings that do not stand under measured: in a case file.
const (
	SuctionBlock = "suction-line"
	ShimsBlock   = "shims"
)

// pumpAsked are the keys of the pump that a form can ask for.
var pumpAsked = []string{"name", "state", "rotation", "liner", "stroke", "piston-rod", "connecting-rod", "speed", "discharge"}

// readingBlocks names the blocks of readings of a case.
func readingBlocks() []string {
	out := []string{SuctionBlock, ShimsBlock}
	for _, kind := range measuredKinds {
		out = append(out, kind.Block)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func (l *loader) parseForm(o *source.Object, e Entry) *Form {
	f := &Form{Entry: e, Use: l.text(o, "use"), Safety: l.ids(o.Get("safety"), "safety")}
	seen := map[string]bool{}
	once := func(at source.Pos, names []string) {
		for _, name := range names {
			if seen[name] {
				l.problems.Add(at, source.Twice, "the form %s asks for %s twice", e.ID, name)
			}
			seen[name] = true
		}
	}
	for _, part := range l.objects(o.Need("asks"), "asks") {
		a := Asked{
			Signs: l.ids(part.Get("signs"), "signs"), Checks: l.ids(part.Get("checks"), "checks"), Works: l.ids(part.Get("works"), "works"),
			Parts: l.ids(part.Get("parts"), "parts"), Limits: l.ids(part.Get("limits"), "limits"), Log: l.texts(part.Get("log"), "log"), Lists: l.lists(part),
		}
		for _, n := range part.Get("pump").Scalars(&l.problems, "pump") {
			a.Pump = append(a.Pump, n.Word(&l.problems, "key of the pump", pumpAsked))
		}
		if n := part.Get("readings"); n != nil {
			a.Readings = n.Word(&l.problems, "block of readings", readingBlocks())
			a.Asides = part.Get("asides").Bool(&l.problems, "asides")
			once(n.Pos, []string{a.Readings})
		} else {
			a.Title = l.text(part, "title")
		}
		given := 0
		for _, list := range [][]string{a.Signs, a.Checks, a.Works, a.Parts, a.Limits, a.Log, a.Lists, a.Pump, {a.Readings}} {
			if len(list) > 0 && list[0] != "" {
				given++
			}
		}
		if given != 1 {
			l.problems.Add(part.Pos, source.WrongForm, "one piece of a form asks for one thing; expected one of %s", source.Want("signs:, checks:, readings:, works:, parts:, limits:, pump:, lists: or log:"))
		}
		once(part.Pos, slices.Concat(a.Signs, a.Checks))
		part.Close()
		f.Asks = append(f.Asks, a)
	}
	return f
}

// formInOrder refuses a form that goes back to a pump that is not isolated once
// hands were in.
func (l *loader) formInOrder(f *Form) {
	behind := false
	for _, a := range f.Asks {
		in := l.book.BehindIsolation(a)
		if behind && !in && l.book.withPower(a) {
			l.problems.Add(f.Pos, source.Unsafe, "the form %s asks for what needs the pump running or with power on after what needs the isolation; put it before", f.ID)
			return
		}
		behind = behind || in
	}
}

// BehindIsolation says whether hands go in for what a piece of a form asks.
func (b *Book) BehindIsolation(a Asked) bool {
	return a.Readings != "" && b.blocksOff(a.Readings) || len(a.Parts) > 0 || a.Readings == ShimsBlock ||
		slices.ContainsFunc(a.Signs, func(id string) bool { return b.Signs.Get(id).Pump == NeedsIsolated }) ||
		slices.ContainsFunc(a.Checks, func(id string) bool { return b.Checks.Get(id).Pump == NeedsIsolated })
}

// withPower says whether something that a piece of a form asks needs the pump
// running, or its power or lines not shut off.
func (b *Book) withPower(a Asked) bool {
	live := []PumpNeed{NeedsRunning, NeedsLive, NeedsNotIsolated}
	return slices.ContainsFunc(a.Signs, func(id string) bool { return slices.Contains(live, b.Signs.Get(id).Pump) }) ||
		slices.ContainsFunc(a.Checks, func(id string) bool { return slices.Contains(live, b.Checks.Get(id).Pump) })
}

// Cautions gives the safety steps that guard what a form asks, besides those of
// stopping, isolating and of the running pump: those of the form, of its checks, of
// the checks behind the isolation that answer its signs and readings, and of what
// must be opened for them, in the order of the book.
func (b *Book) Cautions(f *Form, k *evidence.Case) []*Safety {
	need := slices.Clone(f.Safety)
	opened := func(ids []string) {
		for _, a := range b.way(ids, evidence.Place{}, k) {
			if a.When.Holds(k, b) {
				need = append(need, a.Safety...)
			}
		}
	}
	for _, a := range f.Asks {
		signs := slices.Clone(a.Signs)
		for _, t := range b.Thresholds.List {
			if t.Of.Kind().Block == a.Readings {
				signs = append(signs, t.Sign)
			}
		}
		for _, c := range b.Checks.List {
			answers := b.BehindIsolation(a) && c.Pump == NeedsIsolated && slices.ContainsFunc(c.Answers, func(id string) bool { return slices.Contains(signs, id) })
			if c.When.Holds(k, b) && (answers || slices.Contains(a.Checks, c.ID)) {
				need = append(need, c.Safety...)
				opened(c.Openings)
			}
		}
		for _, id := range signs {
			opened(b.Signs.Get(id).Openings)
		}
		for _, id := range a.Parts {
			opened(b.Parts.Get(id).ReachedBy)
		}
	}
	var out []*Safety
	for _, s := range b.Safety.List {
		if s.For == ForNamed && slices.Contains(need, s.ID) && s.When.Holds(k, b) {
			out = append(out, s)
		}
	}
	return out
}
