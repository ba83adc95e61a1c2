package rules

import (
	"sync"

	"telltale/evidence"
	"telltale/evidence/source"
)

// parse reads the sections in an order in which every name that an entry
// uses is known before it.
func (l *loader) parse() {
	l.parseHeader()
	l.parseScale()
	l.parsePlanning()
	l.parseAccepted()
	l.parseHurry()
	each(l, "groups", &l.book.Groups, l.parseGroup)
	each(l, "works", &l.book.Works, l.parseWork)
	each(l, "muds", &l.book.Muds, l.parseMud)
	each(l, "limits", &l.book.Limits, l.parseLimit)
	l.parseReadings()
	each(l, "signs", &l.book.Signs, l.parseSign)
	each(l, "thresholds", &l.book.Thresholds, l.parseThreshold)
	each(l, "ratings", &l.book.Ratings, l.parseRating)
	each(l, "parts", &l.book.Parts, l.parsePart)
	each(l, "advice", &l.book.Advice, l.parseAdvice)
	each(l, "safety", &l.book.Safety, l.parseSafety)
	each(l, "openings", &l.book.Openings, l.parseOpening)
	causes := l.beside() // they take as long as all that comes after them
	var done sync.WaitGroup
	done.Go(func() { each(causes, "causes", &l.book.Causes, causes.parseCause) })
	each(l, "checks", &l.book.Checks, l.parseCheck)
	each(l, "procedures", &l.book.Procedures, l.parseProcedure)
	each(l, "gauges", &l.book.Gauges, l.parseGauge)
	each(l, "return", &l.book.Returns, l.parseReturn)
	each(l, "told", &l.book.Told, l.parseTold)
	each(l, "referrals", &l.book.Referrals, l.parseReferral)
	each(l, "trends", &l.book.Trends, l.parseTrend)
	each(l, "upkeep", &l.book.Upkeep, l.parseUpkeep)
	each(l, "forms", &l.book.Forms, l.parseForm)
	l.parseDue()
	l.parseTeardown()
	l.parsePractice()
	each(l, "stops", &l.book.Stops, l.parseStop)
	l.parseSaid()
	done.Wait()
	l.problems.Join(&causes.problems)
}

// beside gives a loader that reads other sections of the same book at the same
// time.
func (l *loader) beside() *loader {
	other := *l
	other.problems, other.conditions = l.problems.Beside(), map[string]Condition{}
	return &other
}

// each parses the entries of one section into its table.
func each[T any](l *loader, section string, table *Table[T], parse func(*source.Object, Entry) *T) {
	for _, e := range l.sections[section] {
		o := e.value.Object(&l.problems, e.id.Text)
		if e.value.Kind == source.Null {
			l.problems.Add(e.id.Pos, source.Missing, "%s is empty", e.id.Text)
			continue
		}
		head := Entry{ID: e.id.Text, Pos: e.id.Pos, FromLocal: e.local}
		head.Title = l.text(o, "title")
		head.Basis = l.basis(o)
		table.add(head.ID, parse(o, head))
		l.close(section, o)
	}
}

// close ends the reading of an entry of a section, or of a section.
func (l *loader) close(section string, o *source.Object) {
	if l.asked != nil {
		l.asked(section, o.Asked())
	}
	o.Close()
}

func (l *loader) parseHeader() {
	o := l.section("rulebook")
	if o == nil {
		return
	}
	l.book.Name = o.Need("name").String(&l.problems, "the name")
	l.book.Version = o.Need("version").String(&l.problems, "the version")
	o.Close()
}

// section starts reading a section that stands once; nil if it is not there,
// which is a mistake.
func (l *loader) section(name string) *source.Object {
	n := l.single[name]
	if n == nil {
		l.problems.Add(wholeBook, source.Missing, "no file has a section %q", name)
		return nil
	}
	return n.Object(&l.problems, name)
}

// wholeBook is the place of a mistake that stands in no one file.
var wholeBook = source.Pos{File: "the rulebook", Line: 1, Col: 1}

func (l *loader) parseScale() {
	o := l.section("scale")
	if o == nil {
		return
	}
	l.book.Scale = Scale{
		HowCommon:  l.wordsOf(o.Need("how-common")),
		Shows:      l.wordsOf(o.Need("shows")),
		Finds:      l.wordsOf(o.Need("finds")),
		Background: l.wordsOf(o.Need("background")),
		Basis:      l.basis(o),
	}
	if _, ok := l.book.Scale.Background["usual"]; !ok && o.Get("background") != nil {
		l.problems.Add(o.Get("background").Pos, source.Missing, "the scale of backgrounds needs the word usual")
	}
	l.close("scale", o)
}

func (l *loader) wordsOf(n *source.Node) Words {
	out := Words{}
	for _, p := range l.pairs(n, "a scale") {
		out[p.Key.Text] = p.Value.Number(&l.problems, "the chance of "+source.Clip(p.Key.Text), leastChance, 1-leastChance)
	}
	return out
}

func (l *loader) parsePlanning() {
	o := l.section("planning")
	if o == nil {
		return
	}
	l.book.LeastGain = o.Need("least-gain").Number(&l.problems, "least-gain", 0, 0.5)
	if n := o.Get("root-from"); n != nil {
		l.book.RootFrom = n.Number(&l.problems, "root-from", 0, 0.5)
		l.book.RootFromUrgent = l.book.RootFrom
	}
	if n := o.Get("root-from-urgent"); n != nil { // a local book may have lowered the other one beneath it
		l.book.RootFromUrgent = min(l.book.RootFrom, n.Number(&l.problems, "root-from-urgent", 0, 0.5))
	}
	if n := o.Get("firmness"); n != nil {
		firm := n.Object(&l.problems, "firmness")
		l.book.Firm.Books = int(firm.Need("books").Number(&l.problems, "books", 0, mostFirmBooks))
		l.book.Firm.Spread = firm.Need("spread").Number(&l.problems, "spread", 0, 3)
		firm.Close()
	}
	l.book.Straight = Straight{Likely: 1, Proves: 1} // never, unless the book says when
	if n := o.Get("go-straight"); n != nil {
		straight := n.Object(&l.problems, "go-straight")
		l.book.Straight.Likely = straight.Need("likely").Number(&l.problems, "likely", 0.5, 1)
		l.book.Straight.Proves = straight.Need("proves").Number(&l.problems, "proves", 0.5, 1)
		straight.Close()
	}
	l.book.HowCommonWeight = defaultWeight
	if n := o.Get("how-common-weight"); n != nil {
		l.book.HowCommonWeight = n.Number(&l.problems, "how-common-weight", 1, 1e6)
	}
	l.book.Textbook = l.ids(o.Get("fixed-order"), "checks")
	l.basis(o)
	l.close("planning", o)
}

func (l *loader) parseAccepted() {
	for _, o := range l.objects(l.single["accepted"], "accepted") {
		a := Acceptance{Kind: o.Need("remark").Word(&l.problems, "remark", remarkKinds())}
		a.Of = o.Need("of").Strings(&l.problems, "of")
		a.Because = l.text(o, "because")
		o.Close()
		l.book.Accepted = append(l.book.Accepted, a)
	}
}

// defaultWeight is the weight of a book that does not say its own.
const defaultWeight = 50

// mostFirmBooks bounds the work of trying how firm an answer is.
const mostFirmBooks = 500

func (l *loader) parseGroup(_ *source.Object, e Entry) *Group { return &Group{Entry: e} }

func (l *loader) parseWork(o *source.Object, e Entry) *Work {
	w := &Work{Entry: e, PutsRight: l.finds(o.Get("puts-right"))}
	if len(w.PutsRight) > 0 {
		w.Background = l.chance(o.Need("background"), l.book.Scale.Background, "how often a trouble goes away with it by chance")
	} else if n := o.Get("background"); n != nil {
		l.problems.Add(n.Pos, source.NeedsOther, "background: is only of use with puts-right:")
	}
	return w
}

func (l *loader) parseMud(o *source.Object, e Entry) *Mud {
	m := &Mud{Entry: e}
	m.Least = o.Need("exponent-least").Number(&l.problems, "exponent-least", 0.1, 3)
	m.Most = o.Need("exponent-most").Number(&l.problems, "exponent-most", 0.1, 3)
	if m.Least > m.Most {
		l.problems.Add(e.Pos, source.OutOfOrder, "exponent-least of %s is above exponent-most", e.ID)
	}
	return m
}

func (l *loader) parseLimit(o *source.Object, e Entry) *Limit {
	limit := &Limit{Entry: e}
	limit.Dimension = evidence.Dimension(o.Need("dimension").Word(&l.problems, "dimension", evidence.Dimensions()))
	limit.WithLiner = o.Get("with-liner").Bool(&l.problems, "with-liner")
	if n := o.Get("value"); n != nil && limit.Dimension != "" {
		q := l.figure(n, limit.Dimension)
		limit.Value = &q
	}
	if n := o.Get("as-low-as"); n != nil && limit.Dimension != "" {
		q := l.figure(n, limit.Dimension)
		limit.AsLowAs = &q
		if limit.Value == nil || q.SI > limit.Value.SI {
			l.problems.Add(n.Pos, source.NeedsOther, "as-low-as goes with a value: that is no lower than it")
		}
	}
	return limit
}

func (l *loader) parseTeardown() {
	n := l.single["teardown"]
	if n == nil {
		return
	}
	o, t := n.Object(&l.problems, "teardown"), &l.book.Teardown
	t.PartsFrom = o.Need("parts-from").Number(&l.problems, "parts-from", 0, 1)
	t.LookWorth = o.Need("look-worth").Number(&l.problems, "look-worth", 0, 1)
	t.MostLooks = int(o.Need("most-looks").Number(&l.problems, "most-looks", 0, 100))
	t.MinutesLow = o.Need("minutes-low").Number(&l.problems, "minutes-low", 0.1, 1)
	t.MinutesHigh = o.Need("minutes-high").Number(&l.problems, "minutes-high", 1, 10)
	l.basis(o)
	l.close("teardown", o)
}
