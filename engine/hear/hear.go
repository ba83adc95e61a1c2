package hear

import (
	"slices"
	"strings"

	"telltale/evidence"
	"telltale/evidence/speech"
	"telltale/rules"
)

// Hear understands one story about a pump of this layout. What it takes grows with the
// words; TooLong bounds them.
func (l *Listener) Hear(text string, layout evidence.Layout) Story {
	words := speech.Words(text)
	abbreviated(words)
	items := l.items(words, false)
	tellsLastStop(text, words, items)
	markPlaces(text, words, items, layout)
	h := &hearing{l: l, text: text, words: words, clauses: l.clausesOf(words, items), ear: l.earFor(layout)}
	h.splitLong()
	h.cut()
	h.sayAll()
	h.dropOverheard()
	markTaken(text, h.heard)
	return l.dangersUnder(Story{Heard: nonNil(h.heard), NotHeard: nonNil(h.notHeard)}, text, layout)
}

// sayAll makes the statements of the cuts. What a cure or its lack says stands
// apart from the words before it that say what was done.
func (h *hearing) sayAll() {
	for _, c := range h.cuts {
		items := h.itemsOf(c.from, c.to)
		for from := 0; from < len(items); {
			to := from + 1
			for isCure := items[from].isCure(); to < len(items) && items[to].isCure() == isCure; {
				to++
			}
			if !items[from].isCure() && to < len(items) && h.l.bestScore(h.l.spanOf(h.words, items[from:to], nil), h.ear) < leastScore {
				to = len(items)
			}
			h.say(c, items[from:to])
			from = to
		}
	}
}

func nonNil[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

func (l *Listener) earFor(layout evidence.Layout) *ear {
	return &ear{best: make([]bestOf, len(l.targets)), sums: make([]float64, len(l.phrases)), onPump: l.onPump[layout.Action], layout: layout}
}

// hearing is one story while it is heard.
type hearing struct {
	l        *Listener
	text     string
	words    []speech.Word
	clauses  []clause
	ear      *ear
	cuts     []cut
	heard    []Heard
	notHeard []string
	things   []int // last things spoken of
	lastSign *Heard
	sure     []string         // signs that are there and were not weakly heard
	places   []evidence.Place // last places told
	here     []evidence.Place // places told in this sentence, also where all is well
	hereIn   int
	hereTo   int  // the word behind those that told them
	ends     bool // ends of cylinders are told apart
	hereWell bool // all is well there, or nobody looked
	oneOf    bool
	spoke    int // sentence in which they were told
	lastWork *Heard
}

// say makes the statement of one cut.
func (h *hearing) say(c cut, items []item) {
	h.noSuchPlace(items)
	where := placesOf(h.words, items, h.ear.layout)
	if !where.told && len(h.places) > 0 && h.thatPlace(items) {
		where.places, where.oneOf, where.told = h.places, h.oneOf, saysOnlyWhere(items)
	}
	s := h.l.spanOf(h.words, items, nil)
	hits := h.l.hits(s, h.ear)
	sentence := h.clauses[c.from].sentence
	roles := rolesOf(items)
	if carried := h.carry(items, s); len(carried) > 0 && !h.saidWhole(hits) {
		again := slices.DeleteFunc(h.l.hits(h.l.spanOf(h.words, items, carried), h.ear), func(hit hit) bool {
			return !slices.ContainsFunc(hit.phrase.terms, func(t int) bool { return s.bag[t] > 0 }) // nothing but what was carried
		})
		if len(again) > 0 && (len(hits) == 0 || again[0].score > 1.1*hits[0].score) {
			hits = again
		}
	}
	hits = h.goesOn(items, h.withCompany(items, hits, where))
	figures := h.figures(items)
	defer h.remember(items, where, sentence)
	switch {
	case roles[rules.SaysGuess]:
		h.put(Heard{Is: IsGuess, Answer: unknown, Strength: Strong, Because: h.becauseOf(items, rules.SaysGuess), Others: h.locateOthers(h.others(c, items, s, hits, ""), items, where, sentence)}, items)
		h.mayBeStop(c, items, hits)
		return
	case roles[rules.SaysNoCure] || roles[rules.SaysCure]:
		if h.cured(items, roles[rules.SaysCure]) {
			return
		}
	}
	if len(hits) > 0 && (hits[0].score < contextScore && (roles[rules.SaysWell] || s.not) || saysOnlyWhere(items)) && h.byContext(items, s, where, roles, sentence) {
		return
	}
	if len(hits) == 0 || hits[0].score < leastScore {
		if h.byContext(items, s, where, roles, sentence) || h.bare(items, figures) {
			return
		}
		if text := h.meaningful(items); text != "" {
			if len(hits) > 0 && hits[0].score > 0.5*leastScore {
				h.understood(c, items, hits, where, roles, figures, sentence, s)
			} else {
				h.notHeard = append(h.notHeard, text)
			}
		}
		return
	}
	h.understood(c, items, hits, where, roles, figures, sentence, s)
}

// saidWhole says whether the words are a whole phrase of something that is heard of the
// pump before its place is: "no knock" carries no valve on.
func (h *hearing) saidWhole(hits []hit) bool {
	if len(hits) == 0 || hits[0].cover <= 0.99 || hits[0].explain <= 0.99 || len(hits[0].phrase.things) > 0 {
		return false
	}
	t := h.l.targets[hits[0].phrase.target]
	return t.is == IsSign && t.sign.Level == evidence.OfPump && h.ofCylinder(t.id).sign != nil
}

const unknown = "unknown"

// understood puts what the best hit says.
func (h *hearing) understood(c cut, items []item, hits []hit, where where, roles map[rules.WordRole]bool, figures []Figure, sentence int, s *span) {
	best := hits[0]
	t := h.l.targets[best.phrase.target]
	if t.is == IsSign && t.sign.Level == evidence.OfPump && (len(where.places) > 0 || where.rest) {
		if placed := h.ofCylinder(t.id); placed.sign != nil {
			t = placed
		}
	}
	out := Heard{Is: t.is, ID: t.id, Answer: string(evidence.Present), Figures: figures, Strength: strength(hits), Because: h.because(best), Others: h.locateOthers(h.others(c, items, s, hits, t.id), items, where, sentence), Clear: wellAhead(hits), Carried: best.carried, score: best.score}
	if best.absent() {
		out.Answer = string(evidence.Absent)
	}
	if roles[rules.SaysUnknown] {
		out.Answer = unknown
		for i := range out.Others {
			out.Others[i].Answer, out.Others[i].Kind = unknown, ""
		}
	}
	if t.is == IsSign && out.Answer == string(evidence.Present) {
		out.Kind = h.kind(t.sign, best, items, c)
	}
	if t.is == IsSign && t.sign.Level != evidence.OfPump || t.is != IsSign {
		h.locate(&out, t, items, where, sentence)
	}
	if h.addsToLast(out, best, items, where) {
		return
	}
	if t.is == IsSign && longAgo(h.words, items) {
		out.Strength, out.Clear = Weak, false
	}
	if t.is == IsSign && out.Answer == string(evidence.Absent) && h.l.stopSigns[t.id] && (h.excepted(c) || h.saidBefore(items, best)) {
		out.Strength, out.Clear = Weak, false
		h.put(Heard{Is: IsSign, ID: t.id, Answer: string(evidence.Present), Places: out.Places, OneOf: out.OneOf, Strength: Weak, Because: out.Because, score: out.score}, h.itemsOf(c.from, min(c.to+1, len(h.clauses))))
	}
	h.put(out, items)
	defer h.also(c, items, hits, where, roles)
	if t.is == IsSign {
		if out.Answer == string(evidence.Present) && out.Strength != Weak {
			h.sure = append(slices.DeleteFunc(h.sure, func(id string) bool { return id == out.ID }), out.ID)
		}
		last := h.heard[len(h.heard)-1]
		h.lastSign = &last
		h.deniedElsewhere(out, t, items, where)
	}
	if t.is == IsWork {
		last := h.heard[len(h.heard)-1]
		h.lastWork = &last
	}
}

// also puts what the same words say besides: that something was looked at or done,
// and what showed. It is never strong.
func (h *hearing) also(c cut, items []item, hits []hit, where where, roles map[rules.WordRole]bool) {
	first := h.l.targets[hits[0].phrase.target]
	if s := h.l.spanOf(h.words, items, nil); !s.done && !s.looked {
		return
	}
	for _, other := range hits[1:] {
		t := h.l.targets[other.phrase.target]
		if other.score < alsoShare*hits[0].score || other.score < leastScore {
			return
		}
		if (t.is == IsSign) == (first.is == IsSign) || len(other.matched) == 0 || !adds(&other, &hits[0]) {
			continue
		}
		out := Heard{Is: t.is, ID: t.id, Answer: string(evidence.Present), Strength: Fair, Because: h.because(other), score: other.score}
		if other.absent() {
			out.Answer = string(evidence.Absent)
		}
		if t.is == IsSign && out.Answer == string(evidence.Present) {
			out.Kind = h.kind(t.sign, other, items, c)
		}
		if t.is != IsSign || t.sign.Level != evidence.OfPump {
			h.locate(&out, t, items, where, h.clauses[c.from].sentence)
		}
		h.put(out, items)
		return
	}
}

// alsoShare is the share of the best score from which the same words say something
// besides.
const alsoShare = 0.4

// adds says whether a hit rests on a word that another does not rest on.
func adds(h, other *hit) bool {
	return slices.ContainsFunc(h.matched, func(t int) bool { return !slices.Contains(other.matched, t) })
}

// put takes a statement in with its words.
func (h *hearing) put(out Heard, items []item) {
	if len(items) > 0 {
		from, to := items[0].from, items[len(items)-1].to
		for from < to-1 && joints[h.words[from].Lower] {
			from++
		}
		out.Words = told(h.text, h.words, from, to)
		out.Start, out.End = h.words[from].Start, h.words[to-1].End
	}
	out.Places, out.Figures, out.Others = nonNil(out.Places), nonNil(out.Figures), nonNil(out.Others)
	h.heard = append(h.heard, out)
}

func rolesOf(items []item) map[rules.WordRole]bool {
	out := map[rules.WordRole]bool{}
	for _, it := range items {
		if it.role != "" {
			out[it.role] = true
		}
	}
	return out
}

// noSuchPlace keeps the words that name a cylinder which the pump has not: "wiper
// on 7".
func (h *hearing) noSuchPlace(items []item) {
	for i, it := range items {
		if i == 0 || !it.isNumber || it.placeNumber || it.number <= float64(len(h.ear.layout.Cylinders)) || it.number > 9 || it.number != float64(int(it.number)) || counts(h.words, items, i) {
			continue
		}
		if before := h.words[items[i-1].to-1].Lower; before == "on" || isShort[before] || before == "number" || before == "cylinder" || before == "cylinders" {
			h.notHeard = append(h.notHeard, told(h.text, h.words, items[i-1].from, it.to))
		}
	}
}

// meaningful gives the words of a clause if any of them carries meaning.
func (h *hearing) meaningful(items []item) string {
	for _, it := range items {
		switch {
		case it.role == rules.SaysNothing, it.isNumber && len(items) == 1, joints[h.words[it.from].Lower]:
		case it.role == "" && it.term < 0 && len(it.stem) < 3:
		default:
			return told(h.text, h.words, items[0].from, items[len(items)-1].to)
		}
	}
	return ""
}

// because names the words that a hit rests on.
func (h *hearing) because(best hit) string {
	out := `"` + best.phrase.text + `"`
	if best.slips {
		out += ", a slip mended"
	}
	if best.carried {
		out += ", carried on from the words before"
	}
	return out
}

func (h *hearing) becauseOf(items []item, role rules.WordRole) string {
	for _, it := range items {
		if it.role == role {
			return `"` + strings.ToLower(told(h.text, h.words, it.from, it.to)) + `"`
		}
	}
	return ""
}

// strength says how well the best hit fits.
func strength(hits []hit) Strength {
	best := hits[0]
	share := clearStrong
	if best.absent() {
		share = clearAbsent // "the fluid end is fine" is said of much that can be wrong with it
	}
	clear := len(hits) == 1 || hits[1].score < share*best.score
	if best.denied && len(best.matched) == 1 {
		clear = false // "no mark" is said of many parts
	}
	named := slices.ContainsFunc(best.phrase.things, func(t int) bool { return slices.Contains(best.matched, t) })
	whole := best.cover > 0.99 && best.explain > 0.99 && (named || len(best.matched) == 1)
	most := best.cover >= 0.8 && best.explain >= 0.75 && len(best.matched) > 1 && named
	switch {
	case best.carried || best.score < leastScore:
		return Weak
	case clear && best.score >= strongScore && (whole || most):
		return Strong
	case best.score >= fairScore && best.cover >= 0.5:
		return Fair
	}
	return Weak
}

// wellAhead says whether the best hit is well ahead of the next. One that rests on words
// carried on must be so by more; one that fits badly never is.
func wellAhead(hits []hit) bool {
	best, next := hits[0], 0.0
	if len(hits) > 1 {
		next = hits[1].score
	}
	switch {
	case best.score < leastScore:
		return false
	case best.carried:
		return next < clearCarried*best.score
	}
	return strength(hits) != Weak && next < clearShare*best.score
}

// How near the next hit may come to one that is clear: on the stories that were
// tuned on, such a hit was the right one about three times in four, and hardly more
// often than not where the next comes nearer.
const (
	clearShare   = 0.8
	clearCarried = 0.5
)

// How near the next hit may come to a strong one.
const (
	clearStrong = 0.67
	clearAbsent = 0.57
)

// From which score a hit is strong, and fair.
const (
	strongScore = 3.5
	fairScore   = 2.2
)

// dropOverheard drops a statement that the same words make twice.
func (h *hearing) dropOverheard() {
	seen := map[string]bool{}
	h.heard = slices.DeleteFunc(h.heard, func(s Heard) bool {
		key := s.Words + "|" + string(s.Is) + s.ID + s.Answer + s.Kind
		for _, p := range s.Places {
			key += p.String()
		}
		if seen[key] {
			return true
		}
		seen[key] = true
		return false
	})
}

func (it *item) isCure() bool { return it.role == rules.SaysCure || it.role == rules.SaysNoCure }
