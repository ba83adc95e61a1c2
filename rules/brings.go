package rules

import (
	"fmt"
	"slices"
	"strings"

	"telltale/evidence"
	"telltale/evidence/source"
)

// What a cause brings on: a worn part was worn by something, and what wore it
// is a cause of its own.

// parseBrings reads what a cause brings on.
func (l *loader) parseBrings(n *source.Node, id string) []Bring {
	var out []Bring
	for i, o := range l.objects(n, "brings") {
		r := Bring{Pos: o.Pos}
		if to := o.Need("cause"); to != nil {
			r.Cause, r.Pos = l.id(to, "causes"), to.Pos
		}
		often := o.Need("how-often")
		r.Often = l.chance(often, l.book.Scale.Shows, "how often")
		if was := l.builtInBring(id, i); was != nil && r.Often < was.Often {
			if r.Pos != was.Pos && r.Often > 0 {
				l.problems.Add(often.Pos, source.NotAllowed, "a local book cannot change \"brings\" of %s: how-often of %s can only be raised; read %s (%g), expected %g or more", id, r.Cause, source.Clip(often.Text), r.Often, was.Often)
			}
			r.Often = was.Often // no scale of a local book lowers it
		}
		r.Shows = l.links(o.Get("shows"), true)
		r.When = l.readCondition(o.Get("when"))
		r.Basis = l.basis(o)
		o.Close()
		if r.Cause != "" {
			out = append(out, r)
		}
	}
	return out
}

// builtInBring is what the built-in book beneath a local one has in a cause's
// place i of brings; nil if there is none. What a local book adds stands behind.
func (l *loader) builtInBring(id string, i int) *Bring {
	if l.book.Under == nil {
		return nil
	}
	if c := l.book.Under.Causes.Get(id); c != nil && i < len(c.Brings) {
		return &c.Brings[i]
	}
	return nil
}

// moreBrings lets a local book add to what a cause brings on, behind what is
// there, and give what is there another how-often; that it is no lower is seen
// when both are read.
func moreBrings(base, over *source.Node) (*source.Node, *refusal) {
	all, refused := more(base, over)
	if refused != nil {
		return nil, refused
	}
	known := len(itemsOf(base))
	items, raised := slices.Clone(all.Items[:known]), map[int]bool{}
	for _, item := range all.Items[known:] {
		i := slices.IndexFunc(items[:known], func(was *source.Node) bool {
			return textOf(was, "cause") == textOf(item, "cause") && textOf(was, "when") == textOf(item, "when")
		})
		switch {
		case i < 0:
			items = append(items, item)
		case raised[i]:
			return nil, &refusal{item, "this gives " + textOf(item, "cause") + " a second how-often; expected one"}
		default:
			if items[i], refused = raisedBring(items[i], item); refused != nil {
				return nil, refused
			}
			raised[i] = true
		}
	}
	return &source.Node{Pos: all.Pos, Kind: source.List, Items: items}, nil
}

// raisedBring lays the how-often of a local bring over one that is there.
func raisedBring(was, item *source.Node) (*source.Node, *refusal) {
	cause := textOf(item, "cause")
	for _, p := range item.Pairs {
		if !slices.Contains([]string{"cause", "when", "how-often", "basis"}, p.Key.Text) {
			return nil, &refusal{p.Key, fmt.Sprintf("it brings %s on already, and %q of that stays; expected how-often alone, and its basis", cause, source.Clip(p.Key.Text))}
		}
	}
	basis := pairOf(item, "basis")
	if basis == nil || pairOf(item, "how-often") == nil {
		return nil, &refusal{item, "it brings " + cause + " on already; expected how-often, and its basis"}
	}
	own, _ := grounds(pairOf(was, "basis").Value, basis.Value)
	out := merged(was, item)
	pairOf(out, "basis").Value = own
	return out, nil
}

// textOf is the text under a key of a mapping; empty if there is none.
func textOf(n *source.Node, key string) string {
	if p := pairOf(n, key); p != nil {
		return strings.TrimSpace(p.Value.Text)
	}
	return ""
}

// BringsFor gives what the cause brings on in this case: of several brings of
// one cause the first whose condition holds, and none of a cause that this
// pump cannot have.
func (c *Cause) BringsFor(k *evidence.Case, b *Book) []Bring {
	var out []Bring
	for _, r := range c.Brings {
		known := slices.ContainsFunc(out, func(o Bring) bool { return o.Cause == r.Cause })
		if !known && r.When.Holds(k, b) && b.Causes.Get(r.Cause).When.HoldsForPump(&k.Pump) {
			out = append(out, r)
		}
	}
	return out
}

// Links gives what a failure shows in this case when this brought it on.
func (r *Bring) Links(failure *Cause, k *evidence.Case, b *Book) []Link {
	return overlay(failure.LinksFor(k, b), r.Shows)
}

// Brought is a bring seen from what it brings on.
type Brought struct {
	By *Cause
	Bring
}

// BroughtBy gives what can bring a cause on, in the order of the book.
func (b *Book) BroughtBy(id string) []Brought {
	var out []Brought
	for _, c := range b.Causes.List {
		for _, r := range c.Brings {
			if r.Cause == id {
				out = append(out, Brought{c, r})
			}
		}
	}
	return out
}

// WaysFor gives what the cause shows in this case: by itself, then as each cause
// that can bring it on does.
func (c *Cause) WaysFor(k *evidence.Case, b *Book) [][]Link {
	out := [][]Link{c.LinksFor(k, b)}
	for _, by := range b.Causes.List {
		if !by.When.HoldsForPump(&k.Pump) {
			continue
		}
		for _, r := range by.BringsFor(k, b) {
			if r.Cause == c.ID && len(r.Shows) > 0 {
				out = append(out, r.Links(c, k, b))
			}
		}
	}
	return out
}

// BringsOn gives the causes that a cause brings on on this pump, each once, in
// the order of the book.
func (c *Cause) BringsOn(k *evidence.Case, b *Book) []*Cause {
	var out []*Cause
	for _, r := range c.Brings {
		to := b.Causes.Get(r.Cause)
		if !slices.Contains(out, to) && to.When.HoldsForPump(&k.Pump) && r.When.canHold(&k.Pump) {
			out = append(out, to)
		}
	}
	return out
}

// canHold says whether the condition can hold on a pump whose findings and
// figures are not known yet.
func (c *Condition) canHold(p *evidence.Pump) bool {
	return c == nil || c.Findings || len(c.Quantities) > 0 || c.HoldsForPump(p)
}

// MostWays is in how many ways the causes of a book may come on one pump, each
// chain at each place counted by itself. The built-in book has some 1 600; what
// a case takes to weigh grows with them.
const MostWays = 10_000

// bringsFit refuses brings that never count, that run in a circle, whatever
// their conditions say, and rows of more of them than MostDeep,
// and more ways than MostWays.
func (l *loader) bringsFit() {
	for _, c := range l.book.Causes.List {
		for i, r := range c.Brings {
			if slices.ContainsFunc(c.Brings[:i], func(o Bring) bool { return o.Cause == r.Cause && o.When == nil }) {
				l.problems.Add(r.Pos, source.Twice, "%s brings %s on without a condition already, so this never counts; what has no condition stands last", c.ID, r.Cause)
			}
		}
	}
	rows := bringRows{book: l.book, deepest: map[string][]string{}, ways: map[string][]int{}}
	for _, action := range evidence.Actions() {
		rows.pumps = append(rows.pumps, &BareCase(evidence.Action(action)).Pump)
	}
	for _, c := range l.book.Causes.List {
		if circle := rows.walk(c); circle != nil {
			l.problems.Add(rows.toldAt(circle), source.DoesNotFit, "these bring each other on in a circle: %s; what brings what on must come to an end", strings.Join(circle, thenWord))
			return
		}
	}
	fit := true
	for _, c := range l.book.Causes.List {
		if row := append([]string{c.ID}, rows.deepest[c.ID]...); len(row) > MostDeep+1 {
			l.problems.Add(rows.toldAt(row), source.TooLarge, "%d brings follow one another: %s; at most %d may", len(row)-1, strings.Join(row, thenWord), MostDeep)
			fit = false
		}
	}
	if fit {
		l.waysFit(&rows)
	}
}

// waysFit refuses a book whose brings make more ways than MostWays.
func (l *loader) waysFit(rows *bringRows) {
	for p, pump := range rows.pumps {
		total, most, at, fromLocal := 0, 0, source.Pos{}, false
		for _, c := range l.book.Causes.List {
			if !c.When.HoldsForPump(pump) {
				continue
			}
			n := len(pump.Places(c.Level)) * rows.ways[c.ID][p]
			total += n
			if local := c.FromLocal; n > 0 && (local && !fromLocal || local == fromLocal && n > most) {
				fromLocal, most, at = local, n, c.Brings[0].Pos
			}
		}
		if total > MostWays {
			l.problems.Add(at, source.TooLarge, "on a %s pump what brings what on makes %d ways in which causes come, each chain at each place counted; at most %d may", pump.Action, total, MostWays)
			return
		}
	}
}

const thenWord = ", then "

// bringRows follows what brings what on, whatever the conditions say.
type bringRows struct {
	book    *Book
	pumps   []*evidence.Pump    // one of each kind
	way     []string            // from the cause where it began
	deepest map[string][]string // the longest row behind a cause that was walked, without it
	ways    map[string][]int    // for each pump, how many ways the cause at one place makes
}

// walk goes all ways on from a cause; the first circle on them, nil if there is
// none.
func (w *bringRows) walk(c *Cause) []string {
	if _, walked := w.deepest[c.ID]; walked {
		return nil
	}
	if i := slices.Index(w.way, c.ID); i >= 0 {
		return append(slices.Clone(w.way[i:]), c.ID)
	}
	w.way = append(w.way, c.ID)
	deepest, ways := []string{}, make([]int, len(w.pumps))
	for i, r := range c.Brings {
		to := w.book.Causes.Get(r.Cause)
		if circle := w.walk(to); circle != nil {
			return circle
		}
		if row := w.deepest[to.ID]; len(row)+1 > len(deepest) {
			deepest = append([]string{to.ID}, row...)
		}
		counted := slices.ContainsFunc(c.Brings[:i], func(o Bring) bool { return o.Cause == r.Cause })
		for p, pump := range w.pumps {
			if !counted && to.When.HoldsForPump(pump) {
				n := len(pump.Under(pump.Places(c.Level)[0], to.Level)) * (1 + w.ways[to.ID][p])
				ways[p] = min(ways[p]+n, 1<<30)
			}
		}
	}
	w.way, w.deepest[c.ID], w.ways[c.ID] = w.way[:len(w.way)-1], deepest, ways
	return nil
}

// toldAt is where a mistake in a row is told: at the first of its brings that a
// local book has a part in, else at its last.
func (w *bringRows) toldAt(row []string) (at source.Pos) {
	for i, id := range row[:len(row)-1] {
		c := w.book.Causes.Get(id)
		at = c.Brings[slices.IndexFunc(c.Brings, func(r Bring) bool { return r.Cause == row[i+1] })].Pos
		if c.FromLocal {
			break
		}
	}
	return at
}

// rootless and fruitless find failures that nothing brings on and roots that
// bring nothing on, on a kind of pump that can have them.
func (b *Book) rootless() []Remark {
	brought := map[evidence.Action]map[*Cause]bool{}
	return b.standing(Failure, Rootless, "nothing brings on the failure %s on a %s pump", func(c *Cause, k *evidence.Case) bool {
		on := brought[k.Pump.Action]
		if on == nil {
			on = map[*Cause]bool{}
			for _, by := range b.Causes.List {
				if by.When.HoldsForPump(&k.Pump) {
					for _, to := range by.BringsOn(k, b) {
						on[to] = true
					}
				}
			}
			brought[k.Pump.Action] = on
		}
		return on[c]
	})
}

func (b *Book) fruitless() []Remark {
	return b.standing(Root, Fruitless, "the root %s brings nothing on on a %s pump", func(c *Cause, k *evidence.Case) bool { return len(c.BringsOn(k, b)) > 0 })
}

// standing finds the causes of a role that stand alone on a kind of pump; each
// is told once.
func (b *Book) standing(role Role, kind, message string, joined func(*Cause, *evidence.Case) bool) []Remark {
	var out []Remark
	for _, c := range b.Causes.List {
		for _, action := range evidence.Actions() {
			k := BareCase(evidence.Action(action))
			if c.Role == role && c.When.HoldsForPump(&k.Pump) && !joined(c, k) {
				out = append(out, Remark{Pos: c.Pos, Kind: kind, Of: []string{c.ID}, Message: fmt.Sprintf(message, c.ID, action)})
				break
			}
		}
	}
	return out
}
