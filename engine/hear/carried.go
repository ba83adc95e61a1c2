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
	case len(where.places) > 0:
		out.Places, out.OneOf = where.places, where.oneOf
	case where.all && t.is == IsSign:
		out.Places = h.ear.layout.Places(evidence.OfCylinder)
	case len(h.here) > 0 && h.hereIn == sentence && !where.rest && where.end == "":
		out.Places = h.here
		out.OneOf = h.oneOf && slices.Equal(h.here, h.places)
	case where.rest && len(h.places) > 0:
		out.Places = h.without(h.places)
	case len(h.places) > 0 && (where.end != "" || h.refersBack(items) || sentence <= h.spoke+placesLast):
		out.Places, out.OneOf = h.places, h.oneOf
		if where.end != "" {
			out.Places = atEnd(out.Places, where.end)
		}
	}
	out.Places = slices.Clone(out.Places)
	if t.is == IsSign && t.sign.Level == evidence.OfCylinder {
		for i := range out.Places {
			out.Places[i].End = ""
		}
		out.Places = slices.Compact(out.Places)
	}
}

func atEnd(places []evidence.Place, end string) []evidence.Place {
	out := slices.Clone(places)
	for i := range out {
		out[i].End = end
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
	out.Answer = map[string]string{string(evidence.Present): string(evidence.Absent), string(evidence.Absent): string(evidence.Present)}[out.Answer]
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
func (h *hearing) byContext(items []item, s *span, where where, roles map[rules.WordRole]bool) bool {
	if h.lastSign == nil || !where.told {
		return false
	}
	if names(items) {
		return false
	}
	out := *h.lastSign
	out.Strength, out.Because, out.Kind, out.Figures = Weak, "carried on from: "+h.lastSign.Words, "", nil
	out.Answer = string(evidence.Present)
	if roles[rules.SaysWell] != s.not || len(where.places) == 0 && len(where.denied) > 0 {
		out.Answer = string(evidence.Absent)
	}
	if len(where.places) == 0 {
		where.places = where.denied
	}
	if roles[rules.SaysUnknown] {
		out.Answer = unknown
	}
	if last := &h.heard[len(h.heard)-1]; out.Answer == string(evidence.Present) && len(where.places) > 0 && last.Is == IsSign && last.ID == out.ID && len(last.Places) == 0 && last.End <= h.words[items[0].from].Start && h.l.book.Signs.Get(out.ID).Level != evidence.OfPump {
		last.Places, last.OneOf = where.places, where.oneOf // "that's number two"
		last.End = h.words[items[len(items)-1].to-1].End
		last.Words = strings.TrimSpace(h.text[last.Start:last.End])
		return true
	}
	t := target{is: IsSign, id: out.ID, sign: h.l.book.Signs.Get(out.ID)}
	if t.sign == nil || t.sign.Level == evidence.OfPump {
		return false
	}
	h.locate(&out, t, items, where, -1)
	h.put(out, items)
	return true
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
	w.Because, w.Figures = h.becauseOf(items, role), nil
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
	if len(where.places) == 0 {
		return
	}
	h.here, h.hereIn = where.places, sentence
	if n := len(h.heard); n > 0 && h.heard[n-1].Answer == string(evidence.Absent) && len(h.places) > 0 && h.spoke >= sentence-placesLast {
		return // where all is well is not what the next words speak of
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
