package record

import (
	"fmt"

	"telltale/evidence"
	"telltale/evidence/source"
)

// Edits of lists whose lines name something and its places: what is open, and
// what was proved, ruled out, repaired and looked at again.

// Opened notes that an opening is open; without places at all of them.
func Opened(opening string, places ...evidence.Place) Edit {
	return Edit{func(d *draft) error {
		if err := d.open().add(opening, places); err != nil {
			return err
		}
		return d.closedAgain().takeOut(opening, places)
	}}
}

// Closed notes that an opening is closed again, until BackInService. It is refused while
// something is open that needs it; what it needed itself stays open.
func Closed(opening string, places ...evidence.Place) Edit {
	return Edit{func(d *draft) error {
		before, err := d.pump()
		if err != nil {
			return err
		}
		list := d.open()
		closing, ok := list.over(before.Layout, opening, places)
		if !ok {
			return list.naive(opening, places) // the parser says what is wrong with it
		}
		for _, at := range before.Open {
			if at.ID != opening && d.needs(before.Layout, at, opening, closing) {
				return d.refused(fmt.Errorf("%s is open%s and needs %s open; close it first", at.ID, atPlace(at.Place), opening))
			}
		}
		if err := list.takeOut(opening, places); err != nil {
			return err
		}
		if err := d.keepOpen(before.Open, opening, closing); err != nil {
			return err
		}
		var closed []evidence.Place
		for _, at := range before.Open {
			if at.ID == opening && closing[at.Place] {
				closed = append(closed, at.Place)
			}
		}
		if len(closed) == 0 {
			return nil
		}
		return d.closedAgain().add(opening, closed)
	}}
}

// BackInService notes that the way back to service was gone to its end: no step of it is
// owed any more to what was closed again.
func BackInService() Edit {
	return Edit{func(d *draft) error { return d.refused(d.doc.Remove("pump", "closed-again")) }}
}

// needs says whether at needs opening open at one of these places.
func (d *draft) needs(layout evidence.Layout, at evidence.At, opening string, places map[evidence.Place]bool) bool {
	for _, need := range d.words.Openings[at.ID].Needs {
		for _, p := range layout.Under(at.Place, d.words.Openings[need].Level) {
			if need == opening && places[p] {
				return true
			}
		}
	}
	return false
}

// keepOpen writes down what was open because what was closed needed it.
func (d *draft) keepOpen(before []evidence.At, closed string, at map[evidence.Place]bool) error {
	for _, was := range before {
		if was.ID == closed && at[was.Place] {
			continue
		}
		now, err := d.pump()
		if err != nil {
			return err
		}
		if !now.Has(was.ID, was.Place) {
			if err := d.open().add(was.ID, []evidence.Place{was.Place}); err != nil {
				return err
			}
		}
	}
	return nil
}

// Confirm notes that a cause is proved at a place; it is no longer ruled out
// there.
func Confirm(cause string, places ...evidence.Place) Edit {
	return Edit{func(d *draft) error {
		if err := d.takeOut(cause, places, d.ruledOut(), d.judged()); err != nil {
			return err
		}
		return d.confirmed().add(cause, places)
	}}
}

// Unconfirm takes a confirmation out again, and with it that the cause was
// corrected or looked at again, or its root left.
func Unconfirm(cause string, places ...evidence.Place) Edit {
	return Edit{func(d *draft) error {
		return d.takeOut(cause, places, d.rootLeft(), d.lookedAgain(), d.corrected(), d.confirmed())
	}}
}

// Judge notes that a cause is taken for what it was although no look proved it.
func Judge(cause string, places ...evidence.Place) Edit {
	return Edit{func(d *draft) error { return d.judged().add(cause, places) }}
}

// Unjudge takes back that a cause was judged to be it.
func Unjudge(cause string, places ...evidence.Place) Edit {
	return Edit{func(d *draft) error { return d.judged().takeOut(cause, places) }}
}

// RuleOut notes that a cause is proved not to be there; it is no longer
// confirmed there. Without places it is ruled out everywhere.
func RuleOut(cause string, places ...evidence.Place) Edit {
	return Edit{func(d *draft) error {
		if err := d.takeOut(cause, places, d.rootLeft(), d.lookedAgain(), d.corrected(), d.confirmed(), d.judged()); err != nil {
			return err
		}
		return d.ruledOut().add(cause, places)
	}}
}

// Unrule takes back that a cause was ruled out.
func Unrule(cause string, places ...evidence.Place) Edit {
	return Edit{func(d *draft) error { return d.ruledOut().takeOut(cause, places) }}
}

// Corrected notes that a confirmed cause was repaired; without places
// wherever it is confirmed.
func Corrected(cause string, places ...evidence.Place) Edit {
	return Edit{func(d *draft) error { return d.corrected().follow(d.confirmed(), cause, places) }}
}

// Uncorrected takes that back, and that it was looked at again or its root left:
// what came back is a new question.
func Uncorrected(cause string, places ...evidence.Place) Edit {
	return Edit{func(d *draft) error { return d.takeOut(cause, places, d.rootLeft(), d.lookedAgain(), d.corrected()) }}
}

// LeaveRoot notes the crew's yes that a confirmed cause is put right and a likely
// root of it stays unlooked at; without places wherever it is confirmed.
func LeaveRoot(cause string, places ...evidence.Place) Edit {
	return Edit{func(d *draft) error { return d.rootLeft().follow(d.confirmed(), cause, places) }}
}

// LookedAgain notes that the look or reading that showed a corrected cause
// was repeated and is right; without places wherever it is corrected.
func LookedAgain(cause string, places ...evidence.Place) Edit {
	return Edit{func(d *draft) error { return d.lookedAgain().follow(d.corrected(), cause, places) }}
}

func (d *draft) takeOut(id string, places []evidence.Place, lists ...placedList) error {
	for _, l := range lists {
		if err := l.takeOut(id, places); err != nil {
			return err
		}
	}
	return nil
}

// placedList is one list of ids with places.
type placedList struct {
	d      *draft
	path   []string
	levels map[string]evidence.Level
	exact  bool // each line names its place
}

func (d *draft) open() placedList        { return d.openings("open") }
func (d *draft) closedAgain() placedList { return d.openings("closed-again") }

func (d *draft) openings(key string) placedList {
	levels := map[string]evidence.Level{}
	for id, w := range d.words.Openings {
		levels[id] = w.Level
	}
	return placedList{d: d, path: []string{"pump", key}, levels: levels}
}

func (d *draft) causes(key string, exact bool) placedList {
	return placedList{d: d, path: []string{key}, levels: d.words.Causes, exact: exact}
}

func (d *draft) confirmed() placedList   { return d.causes("confirmed", true) }
func (d *draft) judged() placedList      { return d.causes("judged", true) }
func (d *draft) ruledOut() placedList    { return d.causes("ruled-out", false) }
func (d *draft) corrected() placedList   { return d.causes("corrected", true) }
func (d *draft) lookedAgain() placedList { return d.causes("looked-again", true) }
func (d *draft) rootLeft() placedList    { return d.causes("root-left", true) }

// over gives the places of the id's level that are meant; false if the id or a
// place cannot be.
func (l placedList) over(layout evidence.Layout, id string, places []evidence.Place) (map[evidence.Place]bool, bool) {
	level, known := l.levels[id]
	if !known {
		return nil, false
	}
	return overPlaces(layout, level, places)
}

// overPlaces gives the places of a level that lie in these; all of them when
// none is named.
func overPlaces(layout evidence.Layout, level evidence.Level, places []evidence.Place) (map[evidence.Place]bool, bool) {
	out := map[evidence.Place]bool{}
	if len(places) == 0 {
		places = []evidence.Place{{}}
	}
	for _, p := range places {
		if !fits(layout, level, p) {
			return nil, false
		}
		for _, q := range layout.Under(p, level) {
			out[q] = true
		}
	}
	return out, true
}

// fits says whether p is a place of the pump, and none finer than the level.
func fits(layout evidence.Layout, level evidence.Level, p evidence.Place) bool {
	if p == (evidence.Place{}) {
		return true
	}
	if _, _, known := layout.Find(p.String()); !known || level == evidence.OfPump {
		return false
	}
	return level == evidence.OfChamber || p.End == ""
}

// naive writes what cannot be right just as it was said, so that the parser
// tells what is wrong with it.
func (l placedList) naive(id string, places []evidence.Place) error {
	return l.d.refused(l.d.doc.Add(line(id, named(places)), l.path...))
}

// named drops the whole pump, which has no name.
func named(places []evidence.Place) []evidence.Place {
	var out []evidence.Place
	for _, p := range places {
		if p != (evidence.Place{}) {
			out = append(out, p)
		}
	}
	return out
}

// line writes an id with its places.
func line(id string, places []evidence.Place) *source.Node {
	switch len(places) {
	case 0:
		return source.Word(id)
	case 1:
		return source.Fields(source.Field{Key: id, Value: source.Word(places[0].String())})
	}
	return source.Fields(source.Field{Key: id, Value: placeList(places)})
}

func placeList(places []evidence.Place) *source.Node {
	var names []string
	for _, p := range places {
		names = append(names, p.String())
	}
	return source.Words(names...)
}

func (l placedList) add(id string, places []evidence.Place) error { return l.change(id, places, true) }

func (l placedList) takeOut(id string, places []evidence.Place) error {
	return l.change(id, places, false)
}

// change makes the list name an id at these places, or not name it there.
func (l placedList) change(id string, places []evidence.Place, there bool) error {
	pump, err := l.d.pump()
	if err != nil {
		return err
	}
	over, ok := l.over(pump.Layout, id, places)
	if !ok || there && l.exact && vague(pump.Layout, l.levels[id], places) {
		return l.naive(id, places)
	}
	said := l.said(pump.Layout, id)
	before := len(said)
	for p := range over {
		if there {
			said[p] = true
		} else {
			delete(said, p)
		}
	}
	if len(said) == before {
		return nil
	}
	return l.write(pump.Layout, id, said)
}

// vague says whether places leave open which of several is meant.
func vague(layout evidence.Layout, level evidence.Level, places []evidence.Place) bool {
	if len(places) == 0 {
		places = []evidence.Place{{}}
	}
	for _, p := range places {
		if len(layout.Under(p, level)) > 1 {
			return true
		}
	}
	return false
}

// follow is add, without places at those where the id stands in an earlier
// list.
func (l placedList) follow(earlier placedList, id string, places []evidence.Place) error {
	if len(named(places)) > 0 {
		return l.add(id, places)
	}
	pump, err := l.d.pump()
	if err != nil {
		return err
	}
	said := earlier.said(pump.Layout, id)
	if len(said) == 0 {
		return l.naive(id, nil)
	}
	return l.add(id, inOrder(pump.Layout, l.levels[id], said))
}

// said gives the places that the list has for an id.
func (l placedList) said(layout evidence.Layout, id string) map[evidence.Place]bool {
	out := map[evidence.Place]bool{}
	for _, i := range l.lines(id) {
		for _, p := range itemPlaces(layout, l.levels[id], l.d.doc.Get(l.path...).Items[i]) {
			out[p] = true
		}
	}
	return out
}

// lines gives the numbers of the items that name an id.
func (l placedList) lines(id string) []int {
	n := l.d.doc.Get(l.path...)
	if n == nil {
		return nil
	}
	var out []int
	for i, item := range n.Items {
		if item.Kind == source.Scalar && item.Text == id || len(item.Pairs) == 1 && item.Pairs[0].Key.Text == id {
			out = append(out, i)
		}
	}
	return out
}

// itemPlaces reads the places of one line: nothing and all mean everywhere.
func itemPlaces(layout evidence.Layout, level evidence.Level, item *source.Node) []evidence.Place {
	if len(item.Pairs) == 0 {
		return layout.Places(level)
	}
	n := item.Pairs[0].Value
	if n.Kind == source.Null || n.Kind == source.Scalar && n.Text == "all" {
		return layout.Places(level)
	}
	var out []evidence.Place
	for _, text := range texts(n) {
		if p, _, ok := layout.Find(text); ok {
			out = append(out, layout.Under(p, level)...)
		}
	}
	return out
}

// texts gives the single values of a list, or the one that stands alone.
func texts(n *source.Node) []string { return n.Strings(&source.Problems{}, "") }

// write gives an id just these places, on the first of its lines.
func (l placedList) write(layout evidence.Layout, id string, places map[evidence.Place]bool) error {
	old := l.lines(id)
	doc := l.d.doc
	for len(old) > 1 || len(old) == 1 && len(places) == 0 {
		if err := doc.RemoveItem(old[len(old)-1], l.path...); err != nil {
			return l.d.refused(err)
		}
		old = old[:len(old)-1]
	}
	if len(places) == 0 {
		return nil
	}
	ordered := inOrder(layout, l.levels[id], places)
	if l.levels[id] == evidence.OfPump || len(ordered) == len(layout.Places(l.levels[id])) && !l.exact {
		ordered = nil
	}
	if len(old) == 1 {
		return l.d.refused(doc.SetItem(old[0], line(id, ordered), l.path...))
	}
	return l.d.refused(doc.Add(line(id, ordered), l.path...))
}

func inOrder(layout evidence.Layout, level evidence.Level, set map[evidence.Place]bool) []evidence.Place {
	var out []evidence.Place
	for _, p := range layout.Places(level) {
		if set[p] {
			out = append(out, p)
		}
	}
	return out
}

func atPlace(p evidence.Place) string {
	if p == (evidence.Place{}) {
		return ""
	}
	return " at " + p.String()
}
