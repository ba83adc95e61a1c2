package rules

import (
	"fmt"

	"telltale/evidence"
	"telltale/evidence/source"
)

// Wait is how long a trouble can wait.
type Wait string

// The waits, the most urgent first.
const (
	StopNow        Wait = "stop-now"
	NextConnection Wait = "next-connection"
	PlannedStop    Wait = "planned-stop"
	Watch          Wait = "watch"
)

// Waits lists the waits, the most urgent first.
func Waits() []Wait { return []Wait{StopNow, NextConnection, PlannedStop, Watch} }

// Sooner says whether w is more urgent than other. A word that is none is less
// urgent than all.
func (w Wait) Sooner(other Wait) bool { return w.order() < other.order() }

func (w Wait) order() int {
	switch w {
	case StopNow:
		return 0
	case NextConnection:
		return 1
	case PlannedStop:
		return 2
	case Watch:
		return 3
	}
	return len(Waits())
}

// Haste is how long a cause can wait, and what it does if it is left.
type Haste struct {
	Wait    Wait
	Because string
	Basis   string
}

// HasteRule makes a cause more urgent while its condition holds at the cause's
// place.
type HasteRule struct {
	When *Condition
	Haste
}

// Hurry is what the book says of all waits: from which chance each is given,
// and in which words. The chance is that one cause at least of that urgency or
// a greater one is there and behind the findings.
type Hurry struct {
	Waits []WaitWords // in the order of Waits
	// Unsure is the share of books moved at random that say another wait from
	// which the doubt is said.
	Unsure float64
	// NothingSeen is said when the case has no sign; Unexplained when no cause
	// is likely enough behind those that it has; Settled when all that hurried
	// was corrected and looked at again.
	NothingSeen, Unexplained, Settled string
	// Locked is said of a pump that is isolated and could run by the verdict:
	// what comes before it turns.
	Locked string
	// WellFirst is said when the pump must be left.
	WellFirst WaitWords
	Basis     string
}

// WaitWords is one wait: its name in words, the chance from which it is given
// (0 for the least urgent), and what is said of a running pump and of one that
// stands.
type WaitWords struct {
	Wait              Wait
	Title             string
	From              float64
	Running, Standing string
}

// Of gives the words of a wait.
func (h *Hurry) Of(w Wait) WaitWords { return h.Waits[w.order()] }

// parseHurry reads the section haste.
func (l *loader) parseHurry() {
	o, h := l.section("haste"), &l.book.Hurry
	if o == nil {
		return
	}
	for _, w := range Waits() {
		h.Waits = append(h.Waits, l.waitWords(o, w, w != Watch))
	}
	h.WellFirst = l.waitWords(o, wellFirst, false)
	h.Unsure = o.Need("unsure").Number(&l.problems, "unsure", 0, 1)
	h.NothingSeen, h.Unexplained, h.Settled = l.text(o, "nothing-seen"), l.text(o, "unexplained"), l.text(o, "settled")
	h.Locked = l.text(o, "locked")
	h.Basis = l.basis(o)
	l.close("haste", o)
	for i := range h.Waits[:len(h.Waits)-2] {
		if h.Waits[i].From > h.Waits[i+1].From {
			l.problems.Add(o.Pos, source.OutOfOrder, "%s is given from a greater chance than %s; what is more urgent must not need more", h.Waits[i].Wait, h.Waits[i+1].Wait)
		}
	}
}

// wellFirst is the key of the words for a pump that must be left; no cause
// says it.
const wellFirst Wait = "well-first"

func (l *loader) waitWords(o *source.Object, w Wait, from bool) WaitWords {
	words := o.Need(string(w)).Object(&l.problems, string(w))
	out := WaitWords{Wait: w, Title: l.text(words, "title")}
	if from {
		out.From = words.Need("from").Number(&l.problems, "from", 0, 1)
	}
	out.Running, out.Standing = l.text(words, "running"), l.text(words, "standing")
	words.Close()
	return out
}

// hasteOf reads {wait, because, basis}, what else stands there is the caller's.
func (l *loader) hasteOf(o *source.Object) Haste {
	return Haste{Wait: oneOf(l, o.Need("wait"), "wait", Waits()...), Because: l.text(o, "because"), Basis: l.basis(o)}
}

func (l *loader) parseHaste(n *source.Node) Haste {
	if n == nil {
		return Haste{}
	}
	o := n.Object(&l.problems, "haste")
	h := l.hasteOf(o)
	o.Close()
	return h
}

// hasteRules reads when a cause is more urgent than always.
func (l *loader) hasteRules(n *source.Node, always Wait) []HasteRule {
	var out []HasteRule
	for _, o := range l.objects(n, "haste-when") {
		rule := HasteRule{When: l.readCondition(o.Need("when")), Haste: l.hasteOf(o)}
		o.Close()
		if l.book.Local == nil && rule.Wait != "" && !rule.Wait.Sooner(always) {
			l.problems.Add(o.Pos, source.OutOfOrder, "haste-when says %s, haste says %s; a condition may only make a cause more urgent", rule.Wait, always)
		}
		out = append(out, rule)
	}
	return out
}

// HasteAt is how long the cause can wait at a place, by what the case says of
// that place: the most urgent that holds, of equal ones the first.
func (c *Cause) HasteAt(place evidence.Place, k *evidence.Case, b *Book) Haste {
	out := c.Haste
	for _, rule := range c.HasteWhen {
		if rule.Wait.Sooner(out.Wait) && rule.When.HoldsAt(place, k, b) {
			out = rule.Haste
		}
	}
	return out
}

// sooner lets a local book give a cause a more urgent wait, with its own
// reason.
func sooner(base, over *source.Node) (*source.Node, *refusal) {
	was := waitOf(base)
	if over.Kind != source.Mapping || !waitOf(over).Sooner(was) {
		return nil, &refusal{over, fmt.Sprintf("the built-in book says wait: %s, and only a more urgent wait may stand over it%s", was, source.Expected("", namesOf(Waits()[:was.order()])))}
	}
	return withMarks(over, localWords, "because"), nil
}

// moreHaste is more, each local reason marked.
func moreHaste(base, over *source.Node) (*source.Node, *refusal) {
	return more(base, marked(over, localWords, "because"))
}

func waitOf(haste *source.Node) Wait {
	if haste == nil || haste.Kind != source.Mapping {
		return ""
	}
	if w := pairOf(haste, "wait"); w != nil {
		return Wait(w.Value.Text)
	}
	return ""
}
