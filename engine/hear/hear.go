package hear

import (
	"slices"
	"strings"

	"telltale/evidence"
	"telltale/evidence/speech"
	"telltale/rules"
)

// LongestStory is how many bytes of a story are heard; what is longer is
// refused by whoever reads it.
const LongestStory = 64 << 10

// mostOthers is how many other readings a statement carries.
const mostOthers = 4

// contextScore is the score below which a clause that names no thing, but a place
// and that it is well there or not so, speaks on of the last sign.
const contextScore = 3.5

// placesLast is for how many sentences a place that was told carries on.
const placesLast = 4

// Hear understands one story about a pump of this layout.
func (l *Listener) Hear(text string, layout evidence.Layout) Story {
	words := speech.Words(text)
	items := l.items(words, false)
	markPlaces(text, words, items, layout)
	h := &hearing{l: l, text: text, words: words, clauses: l.clausesOf(words, items), ear: l.earFor(layout)}
	h.splitLong()
	h.cut()
	for _, c := range h.cuts {
		h.say(c)
	}
	h.dropOverheard()
	return Story{Heard: nonNil(h.heard), NotHeard: nonNil(h.notHeard)}
}

func nonNil[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

func (l *Listener) earFor(layout evidence.Layout) *ear {
	return &ear{sums: make([]float64, len(l.phrases)), onPump: l.onPump[layout.Action], layout: layout}
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
	oneOf    bool
	spoke    int // sentence in which they were told
	lastWork *Heard
}

// cut is some clauses that make one statement.
type cut struct {
	from, to int
}

// A clause of more items than longClause was told without a stop: it is cut
// where the pieces explain it best, each at least shortPiece and at most
// longPiece items, for the price of perPiece each.
const (
	longClause = 7
	shortPiece = 2
	longPiece  = 9
	perPiece   = perStatement + 0.5
)

// weight counts the items that are no small words, figures or units.
func weight(items []item) (n int) {
	for i, it := range items {
		if it.role != rules.SaysNothing && !it.isNumber && !isUnit(items, i) {
			n++
		}
	}
	return n
}

func (h *hearing) splitLong() {
	var out []clause
	for _, c := range h.clauses {
		if weight(c.items) <= longClause {
			out = append(out, c)
			continue
		}
		n := len(c.items)
		best, size := make([]float64, n+1), make([]int, n+1)
		for end := 1; end <= n; end++ {
			best[end], size[end] = best[end-1]-0.3, 1 // a word that no piece takes
			for k := shortPiece; k <= min(longPiece, end); k++ {
				s := h.l.spanOf(h.words, c.items[end-k:end], nil)
				if len(s.bag) == 0 {
					continue
				}
				if got := best[end-k] + h.l.bestScore(s, h.ear) - perPiece; got > best[end] {
					best[end], size[end] = got, k
				}
			}
		}
		var pieces []clause
		for end := n; end > 0; end -= size[end] {
			piece := clause{items: c.items[end-size[end] : end], sentence: c.sentence}
			if last := len(pieces) - 1; size[end] == 1 && last >= 0 { // it goes with what follows
				pieces[last].items = c.items[end-1 : end-1+1+len(pieces[last].items)]
				continue
			}
			pieces = append(pieces, piece)
		}
		slices.Reverse(pieces)
		if len(pieces) > 0 {
			pieces[0].joint = c.joint
		}
		out = append(out, pieces...)
	}
	h.clauses = out
}

// cut finds the cut of every sentence that explains it best.
func (h *hearing) cut() {
	for from := 0; from < len(h.clauses); {
		to := from
		for to < len(h.clauses) && h.clauses[to].sentence == h.clauses[from].sentence {
			to++
		}
		h.cutSentence(from, to)
		from = to
	}
}

func (h *hearing) cutSentence(from, to int) {
	n := to - from
	best := make([]float64, n+1)
	how := make([]cut, n+1)
	for end := 1; end <= n; end++ {
		best[end] = -1
		for size := 1; size <= min(mostClauses, end); size++ {
			c := cut{from: from + end - size, to: from + end}
			s := h.l.spanOf(h.words, h.itemsOf(c.from, c.to), nil)
			gain := max(0, h.l.bestScore(s, h.ear)-perStatement) - perJoint*float64(size-1)
			if size > 1 && h.deniesInPart(c) {
				gain -= otherDenial
			}
			if got := best[end-size] + gain; best[end] < 0 || got > best[end] {
				best[end], how[end] = got, c
			}
		}
	}
	var cuts []cut
	for end := n; end > 0; {
		cuts = append(cuts, how[end])
		end = how[end].from - from
	}
	slices.Reverse(cuts)
	h.cuts = append(h.cuts, cuts...)
}

// deniesInPart says whether some of the clauses deny and others do not.
func (h *hearing) deniesInPart(c cut) bool {
	denies := func(c clause) bool {
		return slices.ContainsFunc(c.items, func(it item) bool { return it.role == rules.SaysNot || it.role == rules.SaysWell })
	}
	for _, clause := range h.clauses[c.from+1 : c.to] {
		if denies(clause) != denies(h.clauses[c.from]) {
			return true
		}
	}
	return false
}

func (h *hearing) itemsOf(from, to int) []item {
	if to == from+1 {
		return h.clauses[from].items
	}
	var out []item
	for _, c := range h.clauses[from:to] {
		out = append(out, c.items...)
	}
	return out
}

// say makes the statement of one cut.
func (h *hearing) say(c cut) {
	items := h.itemsOf(c.from, c.to)
	where := placesOf(h.words, items, h.ear.layout)
	s := h.l.spanOf(h.words, items, nil)
	hits := h.l.hits(s, h.ear)
	sentence := h.clauses[c.from].sentence
	roles := rolesOf(items)
	if carried := h.carry(items, s); len(carried) > 0 {
		again := slices.DeleteFunc(h.l.hits(h.l.spanOf(h.words, items, carried), h.ear), func(hit hit) bool {
			return !slices.ContainsFunc(hit.phrase.terms, func(t int) bool { return s.bag[t] > 0 }) // nothing but what was carried
		})
		if len(again) > 0 && (len(hits) == 0 || again[0].score > 1.1*hits[0].score) {
			hits = again
		}
	}
	hits = h.withCompany(items, hits, where)
	figures := h.figures(items)
	defer h.remember(items, where, sentence)
	switch {
	case roles[rules.SaysGuess]:
		h.put(Heard{Is: IsGuess, Answer: unknown, Strength: Strong, Because: h.becauseOf(items, rules.SaysGuess), Others: h.others(hits, 0)}, items, where)
		return
	case roles[rules.SaysNoCure] || roles[rules.SaysCure]:
		if h.cured(items, roles[rules.SaysCure]) {
			return
		}
	}
	if len(hits) > 0 && hits[0].score < contextScore && (roles[rules.SaysWell] || s.not) && !names(items) && h.byContext(items, s, where, roles) {
		return
	}
	if len(hits) == 0 || hits[0].score < leastScore {
		if h.byContext(items, s, where, roles) || h.bare(items, figures) {
			return
		}
		if text := h.meaningful(items); text != "" {
			if len(hits) > 0 && hits[0].score > 0.5*leastScore {
				h.understood(c, items, hits, where, roles, figures, sentence)
			} else {
				h.notHeard = append(h.notHeard, text)
			}
		}
		return
	}
	h.understood(c, items, hits, where, roles, figures, sentence)
}

const unknown = "unknown"

// understood puts what the best hit says.
func (h *hearing) understood(c cut, items []item, hits []hit, where where, roles map[rules.WordRole]bool, figures []Figure, sentence int) {
	best := hits[0]
	t := h.l.targets[best.phrase.target]
	out := Heard{Is: t.is, ID: t.id, Answer: string(evidence.Present), Figures: figures, Strength: strength(hits), Because: h.because(best), Others: h.others(hits, 1), score: best.score}
	if best.absent() {
		out.Answer = string(evidence.Absent)
	}
	if roles[rules.SaysUnknown] {
		out.Answer = unknown
	}
	if t.is == IsSign && out.Answer != string(evidence.Absent) {
		out.Kind = h.kind(t.sign, best, items, c)
	}
	if t.is == IsSign && t.sign.Level != evidence.OfPump || t.is != IsSign {
		h.locate(&out, t, items, where, sentence)
	}
	if h.addsToLast(out, best, items, where) {
		return
	}
	h.put(out, items, where)
	defer h.also(c, items, hits, where, roles)
	if t.is == IsSign {
		if out.Answer == string(evidence.Present) && out.Strength != Weak && !slices.Contains(h.sure, out.ID) {
			h.sure = append(h.sure, out.ID)
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
		out := Heard{Is: t.is, ID: t.id, Answer: string(evidence.Present), Strength: Fair, Because: h.because(other), Others: h.others([]hit{other}, 1), score: other.score}
		if other.absent() {
			out.Answer = string(evidence.Absent)
		}
		if t.is == IsSign && out.Answer == string(evidence.Present) {
			out.Kind = h.kind(t.sign, other, items, c)
		}
		if t.is != IsSign || t.sign.Level != evidence.OfPump {
			h.locate(&out, t, items, where, h.clauses[c.from].sentence)
		}
		h.put(out, items, where)
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
	h.put(out, items, where)
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
	h.put(out, items, where)
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
	h.put(w, items, where{})
	return true
}

// put takes a statement in with its words.
func (h *hearing) put(out Heard, items []item, _ where) {
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

func rolesOf(items []item) map[rules.WordRole]bool {
	out := map[rules.WordRole]bool{}
	for _, it := range items {
		if it.role != "" {
			out[it.role] = true
		}
	}
	return out
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

// others gives what else the words may say.
func (h *hearing) others(hits []hit, from int) []Other {
	var out []Other
	for i := from; i < len(hits) && len(out) < mostOthers; i++ {
		if hits[i].score < 0.25*hits[0].score {
			break
		}
		t := h.l.targets[hits[i].phrase.target]
		o := Other{Is: t.is, ID: t.id, Kind: hits[i].phrase.kind, Answer: string(evidence.Present), Strength: Weak}
		if hits[i].absent() {
			o.Answer, o.Kind = string(evidence.Absent), ""
		}
		out = append(out, o)
	}
	return out
}

// strength says how well the best hit fits.
func strength(hits []hit) Strength {
	best := hits[0]
	clear := len(hits) == 1 || hits[1].score < 0.7*best.score
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
