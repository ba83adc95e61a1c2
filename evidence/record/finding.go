package record

import (
	"fmt"
	"slices"

	"telltale/evidence"
	"telltale/evidence/source"
)

// SetFinding notes what was found of a sign: answer is present, absent,
// unknown or one of its kinds. Without places it is said of the whole pump:
// absent means nowhere, present and a kind mean somewhere, unknown that nobody
// knows of any place. A cylinder named for a sign of one end means that the
// end is not known.
//
// What was said before stands as long as both can be true ("somewhere" and
// "not at 1" together; "present" and then its kind). Where they cannot, the
// new answer takes the place of the older ones at its places. Unknown takes
// out what was said of its places. One thing is refused: "somewhere" does not
// give way place by place; it is taken back by an answer for all its places,
// or by ClearFinding.
func SetFinding(sign, answer string, places ...evidence.Place) Edit {
	return Edit{func(d *draft) error { return d.finding(sign, answer, places) }}.then(func(d *draft) error { return d.retaken(sign, places...) })
}

// ClearFinding takes out what was said of a sign at these places, as if it
// had never been asked; without places altogether.
func ClearFinding(sign string, places ...evidence.Place) Edit {
	return Edit{func(d *draft) error {
		if len(named(places)) == 0 {
			return d.remove("findings", sign)
		}
		t, ok, err := d.topic(sign, places)
		if err != nil {
			return err
		}
		if !ok {
			return d.naiveFinding(sign, "unknown", places)
		}
		now := t.read(d.doc.Get("findings", sign))
		over, _ := overPlaces(t.layout, t.word.Level, places)
		t.forget(now, over)
		return d.writeFinding(t, sign, now)
	}}
}

func (d *draft) finding(sign, answer string, places []evidence.Place) error {
	t, ok, err := d.topic(sign, places)
	if err != nil {
		return err
	}
	if !ok || !t.isAnswer(answer) {
		return d.naiveFinding(sign, answer, places)
	}
	if len(places) == 0 {
		places = []evidence.Place{{}}
	}
	now := t.read(d.doc.Get("findings", sign))
	for _, p := range places {
		if now, ok = t.answered(now, answer, p); !ok {
			return d.refused(fmt.Errorf("%s was said to be present somewhere, and now no place is left where it can be; take that back first", sign))
		}
	}
	return d.writeFinding(t, sign, now)
}

// topic finds a sign; false if the file could not name it at these places.
func (d *draft) topic(sign string, places []evidence.Place) (topic, bool, error) {
	pump, err := d.pump()
	if err != nil {
		return topic{}, false, err
	}
	word, known := d.words.Signs[sign]
	if !known {
		return topic{}, false, nil
	}
	_, ok := overPlaces(pump.Layout, word.Level, places)
	return topic{pump.Layout, word}, ok, nil
}

// naiveFinding writes what cannot be right just as it was said, so that the
// parser tells what is wrong with it.
func (d *draft) naiveFinding(sign, answer string, places []evidence.Place) error {
	if len(named(places)) == 0 {
		return d.set(source.Word(answer), "findings", sign)
	}
	var fields []source.Field
	for _, p := range named(places) {
		fields = append(fields, source.Field{Key: p.String(), Value: source.Word(answer)})
	}
	return d.set(source.Fields(fields...), "findings", sign)
}

// writeFinding makes the file say just this of a sign, with as few changes
// as it can: the finding keeps its form if that can hold it.
func (d *draft) writeFinding(t topic, sign string, want said) error {
	n := d.doc.Get("findings", sign)
	have := t.read(n)
	if have.equal(want) {
		return nil
	}
	if n != nil && n.Kind == source.Mapping {
		old := t.columns(n)
		for _, start := range [][]column{old, t.spelledOut(old, have)} {
			fresh := t.fitted(start, want)
			if len(fresh) > 0 && t.meaning(fresh).equal(want) {
				return d.writeColumns(sign, old, fresh)
			}
		}
	}
	return d.set(t.plain(want), "findings", sign)
}

// writeColumns changes the keys of a finding that differ.
func (d *draft) writeColumns(sign string, old, fresh []column) error {
	var kept []string
	var fields []source.Field
	for _, c := range fresh {
		if slices.ContainsFunc(old, func(o column) bool {
			return o.key == c.key && slices.Equal(o.items, c.items) && o.word == c.word && o.answer == c.answer
		}) {
			kept = append(kept, c.key)
		} else {
			fields = append(fields, source.Field{Key: c.key, Value: c.value()})
		}
	}
	return d.setFields(kept, fields, "findings", sign)
}

func (c column) value() *source.Node {
	switch {
	case c.answer != "":
		return source.Word(c.answer)
	case c.word != "":
		return source.Word(c.word)
	}
	return source.Words(c.items...)
}

// spelledOut names the places that all and others stand for.
func (t topic) spelledOut(columns []column, have said) []column {
	var out []column
	for _, c := range columns {
		if c.word != "" {
			c.word = ""
			for _, p := range t.places() {
				if t.says(have, c.key, p) {
					c.items = append(c.items, p.String())
				}
			}
		}
		out = append(out, c)
	}
	return out
}

// says says whether want holds this answer at this place.
func (t topic) says(want said, answer string, at evidence.Place) bool {
	if over := t.under(at); answer == "unknown" || answer == "absent" {
		return !slices.ContainsFunc(over, func(p evidence.Place) bool {
			v, known := want.exact[p]
			return answer == "unknown" && !want.unknown[p] || answer == "absent" && !(known && v.absent)
		})
	} else if len(over) == 1 {
		v, known := want.exact[over[0]]
		return known && !v.absent && v.kind == kindOf(answer)
	}
	kind, known := want.vague[at]
	return known && kind == kindOf(answer)
}

// fitted takes out of a finding's keys what is no longer wanted, and puts in
// what is missing, in the form in which the rest stands.
func (t topic) fitted(columns []column, want said) []column {
	var out []column
	byPlace := false
	for _, c := range columns {
		byPlace = byPlace || c.answer != ""
		var kept []string
		for _, item := range c.items {
			if place, _, _ := t.layout.Find(item); t.says(want, c.key, place) {
				kept = append(kept, item)
			}
		}
		c.items = kept
		if c.word == "all" && slices.ContainsFunc(t.places(), func(p evidence.Place) bool { return !t.says(want, c.key, p) }) {
			continue
		}
		if c.word != "" || len(kept) > 0 || c.answer != "" && t.says(want, c.answer, c.place) {
			out = append(out, c)
		}
	}
	have := t.meaning(out)
	for _, l := range t.lines(want) {
		if !t.says(have, l.answer, l.at) {
			out = t.put(out, l, byPlace)
		}
	}
	return out
}

// fact is one answer at one place.
type fact struct {
	answer string
	at     evidence.Place
}

// put adds a line: to the places of its answer, or as a place of its own where
// the finding is written by places.
func (t topic) put(columns []column, l fact, byPlace bool) []column {
	name := placeName(l.at)
	for i, c := range columns {
		if c.key != l.answer {
			continue
		}
		if c.word == "" { // all and others cannot hold one place more
			columns[i].items = append(slices.Clone(c.items), name)
		}
		return columns
	}
	taken := slices.ContainsFunc(columns, func(c column) bool { return c.key == name })
	if byPlace && l.at != (evidence.Place{}) && !taken {
		return append(columns, column{key: name, place: l.at, answer: l.answer})
	}
	return append(columns, column{key: l.answer, items: []string{name}})
}

func placeName(p evidence.Place) string {
	if p == (evidence.Place{}) {
		return "somewhere"
	}
	return p.String()
}

// lines gives everything that was said, one line for each place, in the order
// of the answers and of the cylinders.
func (t topic) lines(want said) []fact {
	var out []fact
	for _, answer := range append(append([]string{"present"}, t.word.Kinds...), "absent", "unknown") {
		for _, at := range t.anywhere() {
			if exact := len(t.under(at)) == 1; !exact && (answer == "absent" || answer == "unknown") {
				continue // said of each place inside
			}
			if t.says(want, answer, at) {
				out = append(out, fact{answer, at})
			}
		}
	}
	return out
}

// anywhere lists all places that can be said of the sign: the whole pump,
// and every one down to its level.
func (t topic) anywhere() []evidence.Place {
	out := []evidence.Place{{}}
	for _, level := range []evidence.Level{evidence.OfCylinder, evidence.OfChamber} {
		for _, p := range t.layout.Places(level) {
			if !slices.Contains(out, p) && fits(t.layout, t.word.Level, p) {
				out = append(out, p)
			}
		}
	}
	return out
}

// plain writes a finding in the plainest form: one word if it can, else each
// answer with its places.
func (t topic) plain(want said) *source.Node {
	for _, answer := range t.word.Answers() {
		one := nothingSaid()
		t.note(one, answer, evidence.Place{})
		if one.equal(want) {
			return source.Word(answer)
		}
	}
	var columns []column
	for _, l := range t.lines(want) {
		columns = t.put(columns, l, false)
	}
	return written(columns)
}
