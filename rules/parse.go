package rules

import (
	"regexp"
	"slices"
	"strings"
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
	l.parseTeardown()
	l.parsePractice()
	each(l, "stops", &l.book.Stops, l.parseStop)
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

// text reads a text that must be there.
func (l *loader) text(o *source.Object, key string) string {
	return l.placeholders(o.Need(key))
}

// optional reads a text that may be missing.
func (l *loader) optional(o *source.Object, key string) string {
	return l.placeholders(o.Get(key))
}

var placeholder = regexp.MustCompile(`\{([^{}]*)\}`)

// placeholders checks the {limit-id} marks of a text.
func (l *loader) placeholders(n *source.Node) string {
	text := n.String(&l.problems, "a text")
	if !strings.Contains(text, "{") {
		return oneLine(text)
	}
	for _, m := range placeholder.FindAllStringSubmatchIndex(text, -1) {
		if l.problems.Len() > source.MostProblems {
			break // enough is wrong; finding each place costs time
		}
		name := text[m[2]:m[3]]
		if l.find("limits", name) == nil {
			l.problems.Add(n.At(m[2]), source.UnknownName, "unknown limit %q%s", source.Clip(name), source.Expected(name, l.idsOf("limits")))
		}
	}
	return oneLine(text)
}

// oneLine gives a text with one blank wherever it has blanks or line ends.
func oneLine(text string) string {
	if !strings.ContainsAny(text, "\n\t") && !strings.Contains(text, "  ") {
		return strings.TrimSpace(text)
	}
	return strings.Join(strings.Fields(text), " ")
}

func (l *loader) texts(n *source.Node, what string) []string {
	var out []string
	for _, item := range n.Scalars(&l.problems, what) {
		out = append(out, l.placeholders(item))
	}
	return out
}

// The bases that an entry may state.
const (
	BasisPractice  = "common practice, no source"
	BasisJudgement = "judgement"
)

func (l *loader) basis(o *source.Object) string { return ReadBasis(o.Need("basis"), &l.problems) }

// ReadBasis reads what an entry, or a proving case, rests on.
func ReadBasis(n *source.Node, ps *source.Problems) string {
	text := n.String(ps, "a basis")
	if text == BasisPractice || text == BasisJudgement {
		return text
	}
	for ground := range strings.SplitSeq(text, localGround) {
		switch {
		case ground == "", ground == BasisPractice, ground == BasisJudgement:
		case strings.HasPrefix(ground, "source: "), strings.HasPrefix(ground, "calculation: "):
		default:
			ps.Add(n.Pos, source.Missing, "basis %q says too little; expected %q, %q, or \"source: ...\" or \"calculation: ...\"", source.Clip(ground), BasisPractice, BasisJudgement)
		}
	}
	return strings.Join(strings.Fields(text), " ")
}

// ids reads a list of ids of another section.
func (l *loader) ids(n *source.Node, section string) []string {
	var out []string
	for _, item := range n.Scalars(&l.problems, section) {
		if id := l.id(item, section); id != "" {
			out = append(out, id)
		}
	}
	return out
}

// pairs gives the keys of a mapping with their values.
func (l *loader) pairs(n *source.Node, what string) []source.Pair {
	if n == nil {
		return nil
	}
	if n.Kind != source.Mapping {
		n.Object(&l.problems, what) // says so
	}
	return n.Pairs
}

// id reads the id of an entry of another section; "" if there is none.
func (l *loader) id(n *source.Node, section string) string {
	if n != nil && n.Kind == source.Scalar && l.find(section, n.Text) != nil {
		return n.Text
	}
	return n.Word(&l.problems, entryWord(section), l.idsOf(section))
}

// entryWord is what one entry of a section is called.
func entryWord(section string) string {
	if section == "safety" {
		return "safety step"
	}
	return strings.TrimSuffix(section, "s")
}

const mostMinutes = 10_000

func (l *loader) minutes(n *source.Node) float64 {
	return n.Number(&l.problems, "minutes", 0, mostMinutes)
}

func (l *loader) level(o *source.Object) evidence.Level {
	return evidence.Level(o.Need("of").Word(&l.problems, "level", evidence.Levels()))
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

// leastChance keeps every chance that is not nothing far from underflow: the
// product of all findings of a case stays a normal number.
const leastChance = 1e-6

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

// chance reads a word of a scale or a number between 0 and 1.
func (l *loader) chance(n *source.Node, scale Words, what string) float64 {
	if n == nil {
		return 0
	}
	if n.Kind == source.Scalar {
		if p, ok := scale[n.Text]; ok {
			return p
		}
		if strings.HasPrefix(n.Text, "0") || strings.HasPrefix(n.Text, "1") || strings.HasPrefix(n.Text, ".") {
			return n.Number(&l.problems, what, leastChance, 1-leastChance)
		}
	}
	words := make([]string, 0, len(scale))
	for w := range scale {
		words = append(words, w)
	}
	n.Word(&l.problems, what, words)
	return 0
}

func (l *loader) parsePlanning() {
	o := l.section("planning")
	if o == nil {
		return
	}
	l.book.LeastGain = o.Need("least-gain").Number(&l.problems, "least-gain", 0, 0.5)
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

func (l *loader) parseWork(_ *source.Object, e Entry) *Work { return &Work{Entry: e} }

func (l *loader) parseLimit(o *source.Object, e Entry) *Limit {
	limit := &Limit{Entry: e}
	limit.Dimension = evidence.Dimension(o.Need("dimension").Word(&l.problems, "dimension", evidence.Dimensions()))
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

var pumpNeeds = []PumpNeed{NeedsRunning, NeedsLive, NeedsStopped, NeedsNothing, NeedsNotIsolated, NeedsIsolated}

// oneOf reads one of these words.
func oneOf[T ~string](l *loader, n *source.Node, what string, words ...T) T {
	return T(n.Word(&l.problems, what, namesOf(words)))
}

func namesOf[T ~string](words []T) []string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = string(w)
	}
	return out
}

func (l *loader) parseSign(o *source.Object, e Entry) *Sign {
	s := &Sign{Entry: e, Ask: l.text(o, "ask"), Tell: l.optional(o, "tell"), Level: l.level(o)}
	s.Pump = oneOf(l, o.Need("pump"), "pump", pumpNeeds...)
	s.Openings = l.ids(o.Get("openings"), "openings")
	s.Background = l.book.Scale.Background["usual"]
	if n := o.Get("background"); n != nil {
		s.Background = 0
		if n.Text != "0" { // 0: never seen without a cause of this book
			s.Background = l.chance(n, l.book.Scale.Background, "background")
		}
	}
	s.Kinds = l.kinds(o.Get("kinds"))
	s.Reckoned = o.Get("reckoned").Bool(&l.problems, "reckoned")
	s.Follows = l.ids(o.Get("follows"), "signs")
	when := o.Get("when")
	s.When = l.readCondition(when)
	if s.When != nil && s.When.Findings {
		l.problems.Add(when.Pos, source.BadCondition, "whether a sign is on a pump cannot depend on findings, work or state")
	}
	if len(s.Openings) > 0 && s.Pump != "" && s.Pump != NeedsIsolated {
		l.problems.Add(e.Pos, source.Unsafe, "%s needs something opened, so it needs pump: isolated; read %s", e.ID, s.Pump)
	}
	return s
}

func (l *loader) kinds(n *source.Node) []Kind {
	var out []Kind
	for _, p := range l.pairs(n, "kinds") {
		if !isID(p.Key.Text) || slices.Contains([]string{"present", "absent", "unknown", "all", "others"}, p.Key.Text) {
			l.problems.Add(p.Key.Pos, source.BadName, "%q cannot be a kind; expected lower-case words with hyphens, not a word of the case file", source.Clip(p.Key.Text))
			continue
		}
		out = append(out, Kind{ID: p.Key.Text, Title: p.Value.String(&l.problems, "the kind's title")})
	}
	return out
}

func (l *loader) parseSafety(o *source.Object, e Entry) *Safety {
	s := &Safety{Entry: e, Do: l.text(o, "do")}
	s.For = oneOf(l, o.Need("for"), "purpose", ForRunning, ForStopping, ForIsolation, ForNamed)
	s.Signal = l.signal(o)
	s.After = l.ids(o.Get("after"), "safety")
	s.InFull = o.Get("in-full").Bool(&l.problems, "in-full")
	s.SkipOnStop = o.Get("skip-on-stop").Bool(&l.problems, "skip-on-stop")
	s.Turns = o.Get("turns").Bool(&l.problems, "turns")
	s.Hands = l.hands(o)
	s.Minutes = l.minutes(o.Need("minutes"))
	s.Reports = l.ids(o.Get("reports"), "signs")
	s.Lists = l.lists(o)
	s.LockOn, s.LeavesOpen = l.texts(o.Get("lock-on"), "lock-on"), l.texts(o.Get("leaves-open"), "leaves-open")
	s.TakenOver = l.takenOver(o.Get("taken-over"), s)
	s.When = l.readCondition(o.Get("when"))
	return s
}

// lists reads what a step lists from the case.
func (l *loader) lists(o *source.Object) []string {
	var out []string
	for _, item := range o.Get("lists").Scalars(&l.problems, "lists") {
		if word := item.Word(&l.problems, "list of the case", []string{ListsLocks, ListsOpen}); word != "" {
			out = append(out, word)
		}
	}
	return out
}

// takenOver reads the form of a step for a pump that is isolated already.
func (l *loader) takenOver(n *source.Node, s *Safety) *TakenOver {
	if n == nil {
		return nil
	}
	if s.For != ForIsolation || s.InFull {
		l.problems.Add(n.Pos, source.DoesNotFit, "taken-over: is for a step of the isolation that is not done again in full (for: isolation, without in-full:)")
	}
	o := n.Object(&l.problems, "taken-over")
	out := &TakenOver{Title: l.text(o, "title"), Minutes: l.minutes(o.Need("minutes")), Do: l.text(o, "do")}
	o.Close()
	return out
}

func (l *loader) signal(o *source.Object) Signal {
	return Signal(o.Need("signal").Word(&l.problems, "signal word", Signals()))
}

func (l *loader) parseOpening(o *source.Object, e Entry) *Opening {
	a := &Opening{Entry: e, Level: l.level(o), Do: l.text(o, "do")}
	a.Lies = l.lies(o.Get("lies"), a)
	a.Needs = l.ids(o.Get("needs"), "openings")
	a.Safety = l.ids(o.Get("safety"), "safety")
	a.Minutes = l.minutes(o.Need("minutes"))
	a.Tools = l.texts(o.Get("tools"), "tools")
	a.Hands = l.hands(o)
	a.Uses = l.ids(o.Get("uses"), "parts")
	a.Where = l.ids(o.Get("where"), "signs")
	a.StandsFor = l.ids(o.Get("stands-for"), "openings")
	a.BeforeTurning = o.Get("before-turning").Bool(&l.problems, "before-turning")
	closing := o.Need("close").Object(&l.problems, "close")
	a.Close = Closing{Title: l.text(closing, "title"), Minutes: l.minutes(closing.Need("minutes")), Do: l.text(closing, "do")}
	closing.Close()
	a.When = l.readCondition(o.Get("when"))
	return a
}

// lies reads where on its cylinder an opening is.
func (l *loader) lies(n *source.Node, a *Opening) Area {
	switch {
	case n == nil && a.Level == evidence.OfPump:
		return ""
	case n == nil:
		return FluidEnd
	case a.Level == evidence.OfPump:
		l.problems.Add(n.Pos, source.DoesNotFit, "%s is of the pump; lies: says where on its cylinder something is opened", a.ID)
	}
	return oneOf(l, n, "part of the pump", PowerEnd, RodSpace, FluidEnd)
}

// hands reads how many people a step takes, one if nothing is said.
func (l *loader) hands(o *source.Object) int {
	n := o.Get("hands")
	if n == nil {
		return 1
	}
	return int(n.Number(&l.problems, "hands", 1, 10))
}

func (l *loader) parseTold(o *source.Object, e Entry) *Told {
	return &Told{
		Entry: e, Of: l.text(o, "of"), Opened: l.ids(o.Get("opened"), "openings"),
		Causes: l.ids(o.Get("causes"), "causes"), When: l.readCondition(o.Get("when")),
	}
}

func (l *loader) parseReferral(o *source.Object, e Entry) *Referral {
	return &Referral{Entry: e, Ask: l.text(o, "ask"), Opened: l.ids(o.Get("opened"), "openings")}
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

func (l *loader) parseReturn(o *source.Object, e Entry) *Return {
	return &Return{
		Entry: e, Do: l.text(o, "do"), Minutes: l.minutes(o.Need("minutes")),
		Opened: l.ids(o.Get("opened"), "openings"), Before: l.ids(o.Get("before"), "openings"), Repeats: l.ids(o.Get("repeats"), "checks"),
		When:  l.readCondition(o.Get("when")),
		Lists: l.lists(o),
	}
}

func (l *loader) parseStop(o *source.Object, e Entry) *Stop {
	s := &Stop{Entry: e, Signal: l.signal(o)}
	s.By = oneOf(l, o.Need("by"), "time of the stop", AtOnce, NextSafeMoment)
	s.When = l.anyCondition(o.Need("when"))
	s.Do = l.texts(o.Need("do"), "do")
	s.StopPump = o.Get("stop-pump").Bool(&l.problems, "stop-pump")
	s.PowerOff = o.Get("power-off").Bool(&l.problems, "power-off")
	s.LeavePump = o.Get("leave-pump").Bool(&l.problems, "leave-pump")
	s.OpenNothing = o.Get("open-nothing").Bool(&l.problems, "open-nothing")
	if n := o.Get("haste"); n != nil {
		haste := l.parseHaste(n)
		s.Haste = &haste
		if l.book.Local == nil && (s.StopPump || s.LeavePump) {
			l.problems.Add(n.Pos, source.DoesNotFit, "a stop condition that stops or leaves the pump has no haste of its own; by says when")
		}
	}
	return s
}
