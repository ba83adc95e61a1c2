package hear

import (
	"slices"
	"strings"

	"telltale/evidence"
	"telltale/rules"
)

// contextScore is the score below which a clause that names no thing, but a place
// and that it is well there or not so, speaks on of the last sign.
const contextScore = 3.5

// placesLast is for how many sentences a place that was told carries on.
const placesLast = 4

// locate says where it is: what the clause tells, or what was told before and
// it carries on.
func (h *hearing) locate(out *Heard, t target, items []item, where where, sentence int) {
	switch {
	case where.rest && len(where.places) == 0 && len(h.here) > 0:
		out.Places = h.without(h.toldLast(sentence))
	case len(where.places) > 0:
		out.Places, out.OneOf = where.places, where.oneOf
	case where.all && (t.is == IsSign || len(where.ends) > 0):
		out.Places = atEnds(h.ear.layout.Places(evidence.OfCylinder), where.ends)
		if len(where.ends) == 0 {
			out.Places = h.ear.layout.Places(evidence.OfCylinder)
		}
	case out.Answer == string(evidence.Absent) && t.is == IsSign && t.sign.Level == evidence.OfCylinder && h.hereIn != sentence && h.oneOfEach(items):
		out.Places = h.ear.layout.Places(evidence.OfCylinder)
	case len(h.here) > 0 && h.hereIn == sentence && (!h.hereWell || h.speaksOn(items)) && len(where.ends) == 0:
		out.Places = h.here
		out.OneOf = h.oneOf && slices.Equal(h.here, h.places)
	case len(h.places) > 0 && (len(where.ends) > 0 || h.refersBack(items) || sentence <= h.spoke+placesLast):
		out.Places, out.OneOf = h.places, h.oneOf
		if len(where.ends) > 0 {
			out.Places = atEnds(cylindersOf(out.Places), where.ends)
		}
	}
	out.Places = slices.Clone(out.Places)
	switch {
	case t.is != IsSign:
	case t.sign.Level == evidence.OfCylinder:
		out.Places = cylindersOf(out.Places)
	case t.sign.Level == evidence.OfChamber && out.Answer != string(evidence.Present) && h.ear.layout.Action == evidence.Duplex && (h.ends || where.all):
		out.Places = atEnds(out.Places, []string{evidence.HeadEnd, evidence.CrankEnd}) // "the left side is quiet" is said of both its ends
	}
}

// locateOthers says where what else the words may say would be.
func (h *hearing) locateOthers(others []Other, items []item, where where, sentence int) []Other {
	for i := range others {
		o := &others[i]
		t := target{is: o.Is, id: o.ID}
		if t.is == IsSign {
			t.sign = h.l.book.Signs.Get(o.ID)
		}
		at := Heard{}
		if t.is != IsSign || t.sign.Level != evidence.OfPump {
			h.locate(&at, t, items, where, sentence)
		}
		o.Places, o.OneOf = nonNil(at.Places), at.OneOf
	}
	return others
}

// oneOfEach says whether the words name parts of which each cylinder has one, by
// their plural: "wipers dry" is said of all.
func (h *hearing) oneOfEach(items []item) bool {
	for _, it := range items {
		if it.role == rules.NamesThing {
			w := h.words[it.to-1].Lower
			return strings.HasSuffix(w, "s") && !strings.HasSuffix(w, "ss")
		}
	}
	return false
}

// toldLast gives the places of which the rest are the others.
func (h *hearing) toldLast(sentence int) []evidence.Place {
	if len(h.places) == 0 || h.hereIn == sentence {
		return h.here
	}
	return h.places
}

// cylindersOf gives the cylinders of the places.
func cylindersOf(places []evidence.Place) []evidence.Place {
	var out []evidence.Place
	for _, p := range places {
		if p.End = ""; !slices.Contains(out, p) {
			out = append(out, p)
		}
	}
	return out
}

// without gives the other cylinders, or the other chambers where ends were told.
func (h *hearing) without(places []evidence.Place) []evidence.Place {
	level := evidence.OfCylinder
	if slices.ContainsFunc(places, func(p evidence.Place) bool { return p.End != "" }) {
		level = evidence.OfChamber
	}
	var out []evidence.Place
	for _, p := range h.ear.layout.Places(level) {
		if !slices.ContainsFunc(places, p.Touches) {
			out = append(out, p)
		}
	}
	return out
}

// speaksOn says whether words without a thing of their own follow right on those that
// told the last place: "the left one is fine, dry".
func (h *hearing) speaksOn(items []item) bool {
	return h.hereTo == items[0].from && !names(items) || slices.ContainsFunc(items, func(it item) bool {
		w := h.words[it.from].Lower
		return w == "those" || w == "these"
	})
}

// thatPlace says whether the words speak of the place told last, and marks the word for
// it as a small one: "on that side only".
func (h *hearing) thatPlace(items []item) bool {
	for i := 1; i < len(items); i++ {
		switch behind(h.words, items, i) {
		case "that", "this":
			if isPlaceWord[h.words[items[i].from].Lower] && items[i].to == items[i].from+1 {
				items[i].role, items[i].term = rules.SaysNothing, -1
				return true
			}
		}
	}
	return false
}

// isPlaceWord are the words for a place whose name was told.
var isPlaceWord = map[string]bool{"side": true, "end": true, "hole": true, "one": true}

// refersBack says whether the words speak of what was named before: "it leaks
// as well".
func (h *hearing) refersBack(items []item) bool {
	for _, it := range items {
		switch h.words[it.from].Lower {
		case "it", "its", "same", "there", "that", "this":
			return true
		}
	}
	return false
}

// deniedElsewhere puts the second half of "only 2" and "2 but not 1 and 3".
func (h *hearing) deniedElsewhere(out Heard, t target, items []item, where where) {
	if t.sign.Level == evidence.OfPump || out.Answer == unknown {
		return
	}
	there := where.denied
	if where.only && len(where.places) > 0 && !where.oneOf {
		there = h.without(where.places)
	}
	if len(there) == 0 {
		return
	}
	out.Places, out.OneOf, out.Kind, out.Figures = there, false, "", nil
	out.Answer = otherAnswer[out.Answer]
	h.put(out, items)
}

// addsToLast takes words that say the kind of the sign spoken of last, and no
// other sign: "relief let go at 2100, well under what it is set for".
func (h *hearing) addsToLast(out Heard, best hit, items []item, where where) bool {
	n := len(h.heard)
	if n == 0 || !best.carried || where.told || out.Is != IsSign {
		return false
	}
	last := &h.heard[n-1]
	if last.ID != out.ID || last.Answer != out.Answer || last.Kind != "" && out.Kind != "" && last.Kind != out.Kind {
		return false
	}
	if last.Kind == "" {
		last.Kind = out.Kind
	}
	last.End = h.words[items[len(items)-1].to-1].End
	last.Words = strings.TrimSpace(h.text[last.Start:last.End])
	return true
}

// byContext reads a clause that says only where and that all is well, or that
// it is so there too, by the sign spoken of last.
func (h *hearing) byContext(items []item, s *span, where where, roles map[rules.WordRole]bool, sentence int) bool {
	if !where.told && !(where.all && saysOnlyWhere(items)) || names(items) {
		return false
	}
	last := h.spokenOf(s)
	if last == nil {
		return false
	}
	out := *last
	out.Clear, out.Carried = true, true
	out.Strength, out.Because, out.Kind, out.Figures = Weak, "carried on from: "+last.Words, "", nil
	out.Answer = string(evidence.Present)
	if (len(s.well) > 0) != s.not || len(where.places) == 0 && len(where.denied) > 0 || where.notEnd {
		out.Answer = string(evidence.Absent)
	}
	if len(where.places) == 0 {
		where.places = where.denied
	}
	if roles[rules.SaysUnknown] {
		out.Answer = unknown
	}
	t := h.ofCylinder(out.ID)
	if t.sign == nil {
		return false
	}
	if h.excepts(items) && len(where.places) > 0 && last.ID == out.ID && (len(last.Places) == 0 || len(last.Places) == len(h.ear.layout.Cylinders)) {
		last.Places = h.without(where.places)
		out.Answer = otherAnswer[last.Answer]
	}
	if h.unlike(last, items) {
		out.Answer = otherAnswer[last.Answer]
	}
	if out.Answer == string(evidence.Present) && h.placeTheLast(items, where, sentence) {
		return true
	}
	out.ID = t.id
	out.Places = nil
	h.locate(&out, t, items, where, sentence)
	out.Others = h.locateOthers(slices.Clone(out.Others), items, where, sentence)
	for i := range out.Others {
		out.Others[i].Answer, out.Others[i].Kind = out.Answer, ""
	}
	h.put(out, items)
	return true
}

var otherAnswer = map[string]string{string(evidence.Present): string(evidence.Absent), string(evidence.Absent): string(evidence.Present), unknown: unknown}

// excepts says whether the words take a place out of what was said of all: "except
// number 2", "but for the one on 2", "all but 2".
func (h *hearing) excepts(items []item) bool {
	first := h.words[items[0].from].Lower
	return first == "except" || first == "bar" || first == "but" && len(items) > 1 && (h.words[items[1].from].Lower == "for" || saysOnlyWhere(items))
}

// unlike says whether the words tell, of another place, only a figure that is far
// from that of the statement: "left runs at 190, the right is 140".
func (h *hearing) unlike(last *Heard, items []item) bool {
	figure := func(items []item) float64 {
		for _, it := range items {
			if it.isNumber && !it.placeNumber && it.number >= leastFigure {
				return it.number
			}
		}
		return 0
	}
	from, to := 0, 0
	for i, w := range h.words {
		if w.Start < last.Start {
			from = i + 1
		}
		if w.Start < last.End {
			to = i + 1
		}
	}
	was, is := 0.0, figure(items)
	for _, w := range h.words[min(from, to):to] {
		if w.IsNumber && w.Number >= leastFigure {
			was = w.Number
		}
	}
	return was > 0 && is > 0 && max(was, is) > farFigure*min(was, is)
}

// farFigure is from how many times the other on two figures are far from each other.
const farFigure = 1.2

// placeTheLast gives the place of a clause that says no more to the signs of the
// sentence, or to the last one, that have none yet: "it knocks and runs hot, that's
// number two". It says whether there was any.
func (h *hearing) placeTheLast(items []item, where where, sentence int) bool {
	begins := h.words[items[0].from].Start
	for _, c := range h.clauses {
		if c.sentence == sentence {
			begins = h.words[c.items[0].from].Start
			break
		}
	}
	placed := false
	for i := len(h.heard) - 1; i >= 0; i-- {
		last := &h.heard[i]
		if i < len(h.heard)-1 && last.Start < begins {
			break
		}
		if last.Is != IsSign || last.Answer != string(evidence.Present) || len(last.Places) > 0 || last.End > h.words[items[0].from].Start || h.l.book.Signs.Get(last.ID).Level == evidence.OfPump {
			continue
		}
		h.locate(last, target{is: IsSign, id: last.ID, sign: h.l.book.Signs.Get(last.ID)}, items, where, sentence)
		if !placed {
			last.End = h.words[items[len(items)-1].to-1].End
			last.Words = strings.TrimSpace(h.text[last.Start:last.End])
		}
		placed = true
	}
	return placed
}

// spokenOf gives the sign that a clause without one speaks of: the last that is
// there, else the last one; where the clause says in what way it is well, one that
// can be well in that way.
func (h *hearing) spokenOf(s *span) *Heard {
	var last *Heard
	for i := len(h.heard) - 1; i >= 0 && i >= len(h.heard)-mostBack; i-- {
		out := &h.heard[i]
		if out.Is != IsSign || slices.ContainsFunc(s.well, func(at int) bool { return !h.l.canBeWell(out.ID, s.items[at].term) }) {
			continue
		}
		if out.Answer == string(evidence.Present) {
			return out
		}
		if last == nil {
			last = out
		}
	}
	if last == nil {
		return h.lastSign
	}
	return last
}

// mostBack is how many statements back a clause can speak of.
const mostBack = 8

// canBeWell says whether a sign is told absent by this word: a leak is by "dry".
// Plain words for well do for every sign.
func (l *Listener) canBeWell(sign string, term int) bool {
	return l.plain[term] || slices.ContainsFunc(l.ofSign[sign], func(i int) bool {
		return l.phrases[i].absent && slices.Contains(l.phrases[i].terms, term)
	})
}

// ofCylinder gives the sign as one that has a place: a noise of the pump is one of
// the cylinder once its place is told.
func (h *hearing) ofCylinder(id string) target {
	sign := h.l.book.Signs.Get(id)
	if sign.Level != evidence.OfPump {
		return target{is: IsSign, id: id, sign: sign}
	}
	for _, other := range h.l.book.Signs.List {
		if other.Level != evidence.OfPump && slices.Equal(other.Follows, []string{id}) {
			return target{is: IsSign, id: other.ID, sign: other}
		}
	}
	return target{}
}

// cured notes on the last work that it helped, or did not.
func (h *hearing) cured(items []item, did bool) bool {
	if h.lastWork == nil {
		return false
	}
	w := *h.lastWork
	w.Kind = NotCured
	role := rules.SaysNoCure
	if did {
		w.Kind, role = Cured, rules.SaysCure
	}
	if w.Strength == Strong {
		w.Strength = Fair // the work is carried on
	}
	w.Because, w.Figures, w.Others = h.becauseOf(items, role), nil, nil
	if n := len(h.sure); n > 0 {
		w.Others = []Other{{Is: IsSign, ID: h.sure[n-1], Answer: presentUnless(did), Strength: Weak}}
	}
	h.put(w, items)
	return true
}

// remember keeps what the next clause may carry on.
func (h *hearing) remember(items []item, where where, sentence int) {
	var things []int
	for _, it := range items {
		if it.role == rules.NamesThing {
			things = append(things, it.term)
		}
	}
	if len(things) > 0 {
		h.things = things
	}
	if where.all && len(where.places) == 0 && saysOnlyWhere(items) {
		where.places = h.ear.layout.Places(evidence.OfCylinder)
	}
	if len(where.places) == 0 {
		if h.speaksOn(items) {
			h.hereTo = items[len(items)-1].to
		}
		return
	}
	h.ends = h.ends || slices.ContainsFunc(where.places, func(p evidence.Place) bool { return p.End != "" })
	h.here, h.hereIn, h.hereTo, h.hereWell = where.places, sentence, items[len(items)-1].to, false
	if n := len(h.heard); n > 0 && h.heard[n-1].Answer != string(evidence.Present) && len(h.places) > 0 && h.spoke >= sentence-placesLast {
		h.hereWell = true
		return // where all is well, or nobody looked, is not what the next words speak of
	}
	h.places, h.oneOf, h.spoke = where.places, where.oneOf, sentence
}

// carry gives the things that a clause without one speaks of.
func (h *hearing) carry(items []item, s *span) []int {
	if len(h.things) == 0 || len(s.bag) == 0 {
		return nil
	}
	if names(items) {
		return nil
	}
	return h.things
}
