package rules

import (
	"fmt"
	"math"
	"slices"

	"telltale/evidence"
	"telltale/evidence/source"
)

// Remark is something in a sound book that is worth a second look.
type Remark struct {
	Pos      source.Pos
	Kind     string   // what kind of remark, one of the Remark constants
	Of       []string // the entries that it is about
	Message  string
	Accepted string // why the keeper of the book leaves it so; empty if he did not say
}

// The kinds of remark.
const (
	Unsettled   = "unsettled"   // a cause that no check exposes
	Idle        = "idle"        // a check that exposes nothing
	Alike       = "alike"       // two causes that nothing tells apart
	Unreachable = "unreachable" // opening that does not exist where it is needed
	Silent      = "silent"      // a sign that no cause gives
	Unproved    = "unproved"    // a cause that no proving case brings first
	Unopened    = "unopened"    // a check answers a sign that lies behind something which it does not open
	Unminded    = "unminded"    // an opening that is closed with nothing done before, or of which nobody is told
	Rootless    = "rootless"    // a failure that nothing brings on
	Fruitless   = "fruitless"   // a root that brings nothing on
	Unsaid      = "unsaid"      // a sign, work or check of which no phrase tells
	SaidTwice   = "said-twice"  // a phrase that says two things
)

func remarkKinds() []string {
	return []string{Unsettled, Idle, Alike, Unreachable, Silent, Unproved, Unopened, Unminded, Rootless, Fruitless, Unsaid, SaidTwice}
}

// How far two causes must differ somewhere to be told apart.
const (
	leastLinkGap = 0.15 // in how often they show a sign
	leastFindGap = 0.3  // in how surely a check exposes them
)

// Vet looks for what is allowed but doubtful.
func (b *Book) Vet() []Remark {
	var out []Remark
	out = append(out, b.unsettled()...)
	out = append(out, b.idle()...)
	out = append(out, b.silent()...)
	out = append(out, b.unreachable()...)
	out = append(out, b.unopened()...)
	out = append(out, b.unminded()...)
	out = append(out, b.rootless()...)
	out = append(out, b.fruitless()...)
	out = append(out, b.alike()...)
	return b.Judged(out)
}

// Judged notes at each remark why the book's keeper accepts it, if he says so.
func (b *Book) Judged(remarks []Remark) []Remark {
	for i := range remarks {
		for _, a := range b.Accepted {
			if a.Kind == remarks[i].Kind && sameWords(a.Of, remarks[i].Of) {
				remarks[i].Accepted = a.Because
			}
		}
	}
	return remarks
}

func sameWords(a, b []string) bool {
	if len(a) != len(b) {
		return false
	}
	for _, w := range a {
		if !slices.Contains(b, w) {
			return false
		}
	}
	return true
}

func (b *Book) unsettled() []Remark {
	var out []Remark
	for _, c := range b.Causes.List {
		if len(b.ChecksFor(c.ID)) == 0 {
			out = append(out, Remark{Pos: c.Pos, Kind: Unsettled, Of: []string{c.ID}, Message: fmt.Sprintf("no check exposes the cause %s", c.ID)})
		}
	}
	return out
}

// ChecksFor gives the checks that expose a cause, in the order of the book.
func (b *Book) ChecksFor(cause string) []*Check {
	var out []*Check
	for _, c := range b.Checks.List {
		if c.sure(cause) > 0 {
			out = append(out, c)
		}
	}
	return out
}

func (c *Check) sure(cause string) float64 {
	for _, f := range c.Finds {
		if f.Cause == cause {
			return f.Sure
		}
	}
	return 0
}

func (b *Book) idle() []Remark {
	var out []Remark
	for _, c := range b.Checks.List {
		if len(c.Finds) == 0 {
			out = append(out, Remark{Pos: c.Pos, Kind: Idle, Of: []string{c.ID}, Message: fmt.Sprintf("the check %s exposes nothing", c.ID)})
		}
	}
	return out
}

func (b *Book) silent() []Remark {
	var out []Remark
	for _, s := range b.Signs.List {
		if !b.Given(s.ID) {
			out = append(out, Remark{Pos: s.Pos, Kind: Silent, Of: []string{s.ID}, Message: fmt.Sprintf("no cause gives the sign %s", s.ID)})
		}
	}
	return out
}

// Given says whether any cause of the book gives a sign.
func (b *Book) Given(sign string) bool {
	for _, c := range b.Causes.List {
		if find(c.Shows, sign) != nil {
			return true
		}
		for _, over := range c.ShowsWhen {
			if find(over.Links, sign) != nil {
				return true
			}
		}
		if slices.ContainsFunc(c.Brings, func(r Bring) bool { return find(r.Shows, sign) != nil }) {
			return true
		}
	}
	return false
}

// BareCase is a case that knows only what kind of pump it is.
func BareCase(action evidence.Action) *evidence.Case {
	return &evidence.Case{Pump: evidence.Pump{
		Layout: evidence.Layout{Action: action, Cylinders: evidence.DefaultCylinders(action)}, Rotation: evidence.RotationUnknown,
	}}
}

func (b *Book) unreachable() []Remark {
	var out []Remark
	for _, action := range evidence.Actions() {
		k := BareCase(evidence.Action(action))
		for _, c := range b.Checks.List {
			if !c.When.Holds(k, b) {
				continue
			}
			for _, id := range c.Openings {
				if !b.Exists(id, k) {
					out = append(out, Remark{Pos: c.Pos, Kind: Unreachable, Of: []string{c.ID, id}, Message: fmt.Sprintf("the check %s needs %s, which does not exist on a %s pump", c.ID, id, action)})
				}
			}
		}
	}
	return out
}

// unopened finds checks that answer a sign behind an opening which neither they
// nor what they open on the way have.
func (b *Book) unopened() []Remark {
	var out []Remark
	for _, c := range b.Checks.List {
		open := slices.Collect(reach(c.Openings, func(id string) []string { return b.Openings.Get(id).Needs }))
		for _, sign := range c.Answers {
			for _, behind := range b.Signs.Get(sign).Openings {
				if !slices.Contains(open, behind) {
					out = append(out, Remark{Pos: c.Pos, Kind: Unopened, Of: []string{c.ID, sign}, Message: fmt.Sprintf("the check %s answers the sign %s, which lies behind %s, and does not open it", c.ID, sign, behind)})
				}
			}
		}
	}
	return out
}

// unminded finds openings that lie behind no other one and that the return steps
// or those who are told pass over: something, such as counting the tools, comes before each is closed.
func (b *Book) unminded() []Remark {
	var out []Remark
	for _, o := range b.Openings.List {
		if len(o.Needs) > 0 {
			continue
		}
		remark := func(format string) {
			out = append(out, Remark{Pos: o.Pos, Kind: Unminded, Of: []string{o.ID}, Message: fmt.Sprintf(format, o.ID)})
		}
		// the steps of the built-in book cannot name an opening of a local one
		if !o.FromLocal && !slices.ContainsFunc(b.Returns.List, func(r *Return) bool { return slices.Contains(r.Before, o.ID) }) {
			remark("no return step has the opening %s under before: it is closed with nothing looked at before")
		}
		if !slices.ContainsFunc(b.Told.List, func(t *Told) bool { return slices.Contains(t.Opened, o.ID) }) {
			remark("nobody under told has the opening %s under opened")
		}
	}
	return out
}

// Exists says whether an opening, with all that it needs, is there on a pump.
func (b *Book) Exists(opening string, k *evidence.Case) bool {
	for id := range reach([]string{opening}, func(id string) []string { return b.Openings.Get(id).Needs }) {
		if !b.Openings.Get(id).When.Holds(k, b) {
			return false
		}
	}
	return true
}

// alike finds pairs of causes of one level that no sign and no check tells
// apart on a pump that has both.
func (b *Book) alike() []Remark {
	var out []Remark
	seen, found := map[[2]string]bool{}, b.found()
	for _, action := range evidence.Actions() {
		k := BareCase(evidence.Action(action))
		var there []shownCause
		for _, c := range b.Causes.List {
			if c.When.Holds(k, b) {
				there = append(there, shownCause{c, c.LinksFor(k, b), found[c.ID]})
			}
		}
		for i, one := range there {
			for _, other := range there[:i] {
				pair := [2]string{other.ID, one.ID}
				if seen[pair] || one.Level != other.Level || b.toldApart(one, other) {
					continue
				}
				seen[pair] = true
				out = append(out, Remark{Pos: one.Pos, Kind: Alike, Of: pair[:], Message: fmt.Sprintf("no sign and no check tells %s and %s apart on a %s pump", other.ID, one.ID, action)})
			}
		}
	}
	return out
}

// shownCause is a cause with what shows it on one kind of pump.
type shownCause struct {
	*Cause
	links []Link
	sure  map[string]float64 // by check
}

// found gives, by cause, how surely each check exposes it.
func (b *Book) found() map[string]map[string]float64 {
	out := map[string]map[string]float64{}
	for _, c := range b.Checks.List {
		for _, f := range c.Finds {
			if out[f.Cause] == nil {
				out[f.Cause] = map[string]float64{}
			}
			if _, twice := out[f.Cause][c.ID]; !twice {
				out[f.Cause][c.ID] = f.Sure
			}
		}
	}
	return out
}

func (b *Book) toldApart(one, other shownCause) bool {
	differ := func(a, b map[string]float64) bool {
		for check, sure := range a {
			if math.Abs(sure-b[check]) >= leastFindGap {
				return true
			}
		}
		return false
	}
	return differ(one.sure, other.sure) || differ(other.sure, one.sure) ||
		b.linksDiffer(one.links, other.links) || b.linksDiffer(other.links, one.links)
}

func (b *Book) linksDiffer(left, right []Link) bool {
	for _, l := range left {
		r := Link{Kinds: make([]float64, len(l.Kinds))}
		if found := find(right, l.Sign); found != nil {
			r = *found
		}
		if math.Abs(l.Total-r.Total) >= leastLinkGap {
			return true
		}
		for i := range l.Kinds {
			if math.Abs(l.Kinds[i]-r.Kinds[i]) >= leastLinkGap {
				return true
			}
		}
	}
	return false
}
