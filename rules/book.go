package rules

import (
	"iter"
	"slices"
	"sort"
	"strings"

	"telltale/evidence"
	"telltale/evidence/source"
)

// Book is one rulebook, checked and ready.
type Book struct {
	Name    string
	Version string
	Digest  string // of the files, 12 hexadecimal digits of SHA-256
	Local   *Local // laid over the built-in book; nil if none
	Under   *Book  // the built-in book beneath a local one; nil if none

	Scale           Scale
	Groups          Table[Group]
	Works           Table[Work]
	Muds            Table[Mud]
	Limits          Table[Limit]
	Signs           Table[Sign]
	Causes          Table[Cause]
	Openings        Table[Opening]
	Safety          Table[Safety]
	Checks          Table[Check]
	Returns         Table[Return]
	Told            Table[Told]
	Referrals       Table[Referral]
	Trends          Table[Trend]
	Upkeep          Table[Upkeep]
	Forms           Table[Form]
	Due             Due
	Teardown        Teardown
	Practice        *Practice // nil: the book says nothing of the trainee's pump
	Stops           Table[Stop]
	Ratings         Table[Rating]
	Thresholds      Table[Threshold]
	Parts           Table[Part]
	Advice          Table[Advice]
	Procedures      Table[Procedure]
	Gauges          Table[Gauge]
	Readings        Readings
	SameWords       Table[Sameness] // the lexicon: words that say the same, and how crews say signs, works and checks
	SaidOfSigns     Table[Said]
	SaidOfWorks     Table[Said]
	SaidOfChecks    Table[Said]
	Hurry           Hurry
	HowCommonWeight float64  // closed cases that a figure of how common a cause is counts for
	Textbook        []string // checks in the fixed order of a textbook procedure, to compare with
	LeastGain       float64  // a check that adds less chance of finding the trouble is left out
	RootFrom        float64  // share of a failure from which what may have brought it on is looked at
	RootFromUrgent  float64  // the same for a root that cannot wait as long as other roots
	Firm            Firm
	Straight        Straight
	Accepted        []Acceptance
}

// Acceptance is the keeper's word why a remark of Vet is left as it is.
type Acceptance struct {
	Kind    string
	Of      []string
	Because string
}

// Firm says how the firmness of an answer is tried: Books books with every
// figure moved on the log-odds scale by Spread times a standard normal number.
type Firm struct {
	Books  int
	Spread float64
}

// WithoutFirmness is the same book for answers of which nobody reads how firm
// they are.
func (b *Book) WithoutFirmness() *Book {
	out := *b
	out.Firm.Books = 0
	return &out
}

// Straight says when the one look that proves a cause is offered at once:
// Likely is the chance of the cause from which it is offered, Proves how surely
// a check must expose a cause to prove it.
type Straight struct {
	Likely float64
	Proves float64
}

// Table keeps the entries of one kind in the order of the files.
type Table[T any] struct {
	List []*T
	byID map[string]*T
}

// Get finds an entry by id; nil if there is none.
func (t *Table[T]) Get(id string) *T { return t.byID[id] }

func (t *Table[T]) add(id string, entry *T) {
	if t.byID == nil {
		t.byID = map[string]*T{}
	}
	t.byID[id] = entry
	t.List = append(t.List, entry)
}

// IDs lists the ids in alphabetical order.
func (t *Table[T]) IDs() []string {
	out := make([]string, 0, len(t.byID))
	for id := range t.byID {
		out = append(out, id)
	}
	sort.Strings(out)
	return out
}

// reach gives these ids and all that next leads to from them, each once, the
// nearest first.
func reach(ids []string, next func(id string) []string) iter.Seq[string] {
	return func(yield func(string) bool) {
		seen := map[string]bool{}
		for queue := slices.Clone(ids); len(queue) > 0; queue = queue[1:] {
			id := queue[0]
			if seen[id] {
				continue
			}
			if seen[id] = true; !yield(id) {
				return
			}
			queue = append(queue, next(id)...)
		}
	}
}

// Entry is what every entry has.
type Entry struct {
	ID    string
	Title string
	Basis string
	Pos   source.Pos
	// FromLocal: the entry, or something of it, comes from a local book; its
	// words say so too.
	FromLocal bool
}

// Scale turns the book's words into probabilities.
type Scale struct {
	HowCommon  Words // a cause, somewhere in the pump, when a pump is in trouble
	Shows      Words // a present cause shows a sign
	Finds      Words // a check exposes a cause that is there
	Background Words // a sign without any cause of the book
	Basis      string
}

// Words is one scale: word to probability.
type Words map[string]float64

// Word gives the word that stands for exactly this chance, "" if none does.
func (w Words) Word(p float64) string {
	found := ""
	for word, q := range w {
		if q == p && (found == "" || word < found) {
			found = word
		}
	}
	return found
}

// Group is a family of causes.
type Group struct{ Entry }

// Work is something that was done lately and that the crew can name.
//
// It acts like a sign: each cause that is there is put right by it with the chance
// of PutsRight, and it is said to have cured the trouble if one at least was, or
// with the chance Background although none was.
type Work struct {
	Entry
	PutsRight  []Find
	Background float64
}

// Mud says how the pressure goes with the strokes where such a mud is pumped: as
// their power, of an exponent that lies evenly from Least to Most.
type Mud struct {
	Entry
	Least, Most float64
}

// Limit is a figure that a text or a decision uses. Without a Value it
// belongs to the maker's manual and is left blank.
type Limit struct {
	Entry
	Dimension evidence.Dimension
	Value     *evidence.Quantity
	// AsLowAs is how low a pump's own figure may be where Value is that of
	// common practice; nil: Value counts for every pump. Between the two a
	// reading says little until the case gives the pump's figure.
	AsLowAs *evidence.Quantity
	// WithLiner: it goes with the size of the liner fitted. After another one it is
	// read from the manual again.
	WithLiner bool
}

// Sign is something the crew can see, hear or measure.
type Sign struct {
	Entry
	Ask        string
	Tell       string
	Level      evidence.Level
	Pump       PumpNeed
	Openings   []string
	Kinds      []Kind
	Background float64
	Reckoned   bool     // worked out from figures; nobody is asked for it
	Follows    []string // signs of which one must show before this one makes sense; none = always
	When       *Condition
}

// Kind is one way in which a sign shows; one finding has one kind.
type Kind struct {
	ID    string
	Title string
}

// KindIDs lists the sign's kinds.
func (s *Sign) KindIDs() []string {
	out := make([]string, len(s.Kinds))
	for i, k := range s.Kinds {
		out[i] = k.ID
	}
	return out
}

// KindTitle gives the words for a kind.
func (s *Sign) KindTitle(id string) string {
	for _, k := range s.Kinds {
		if k.ID == id {
			return k.Title
		}
	}
	return ""
}

// Fits says whether asking for the sign makes sense: it follows none, or
// one of those that it follows shows.
func (s *Sign) Fits(k *evidence.Case) bool {
	return len(s.Follows) == 0 || slices.ContainsFunc(s.Follows, func(id string) bool { return k.Shows(id, "") })
}

// Cause is something that can be wrong.
type Cause struct {
	Entry
	Group     string
	Role      Role
	Level     evidence.Level
	Common    float64 // somewhere in the pump, when a pump is in trouble
	Odds      []OddsRule
	Shows     []Link
	ShowsWhen []LinksWhen
	Brings    []Bring
	Why       string
	Repair    string
	Sum       string // what is reckoned from readings for it: "Shim = (top - bottom) / 2"
	LookAgain string
	Parts     []PartNeed // likeliest first
	Haste     Haste
	HasteWhen []HasteRule
	Behind    Behind
	Safety    []string // named safety steps that come before its repair, besides
	When      *Condition
}

// Role says as what a cause is told.
type Role string

// The roles of a cause.
const (
	Failure Role = "failure" // a part that is worn, cut, burnt, broken or leaks
	Root    Role = "root"    // what brings failures on
)

// Bring says that a cause which is there brings another one on.
type Bring struct {
	Cause string  // the one that it brings on
	Often float64 // how often, at each place of the other that it touches
	Shows []Link  // how the other then shows; laid over its own links
	When  *Condition
	Basis string
	Pos   source.Pos
}

// MostDeep is how many brings may follow one another.
const MostDeep = 3

// Behind says what must be shut, locked and proved before a proved cause is
// corrected.
type Behind string

// What a repair is done behind.
const (
	BehindPump    Behind = "pump"     // the isolation of the pump
	BehindLine    Behind = "own-line" // its own line, which the isolation of the pump does not shut
	BehindNothing Behind = "nothing"  // nobody opens or touches the pump for it
)

// Words says it for the reader; first names the safety steps of its own that
// come before the repair.
func (b Behind) Words(first []string) string {
	switch {
	case b == BehindLine:
		return "The isolation of the pump is not enough for this. Only after: " + strings.Join(first, "; ") + "."
	case b == BehindNothing && len(first) == 0:
		return "Nothing on the pump is opened for this."
	case b == BehindNothing:
		return "Nothing on the pump is opened for this. Only after: " + strings.Join(first, "; ") + "."
	case len(first) > 0:
		return "Only behind the isolation. First also: " + strings.Join(first, "; ") + "."
	}
	return "Only behind the isolation."
}

// PartNeed is a part that a cause takes, and how often.
type PartNeed struct {
	Part   string
	Chance float64
}

// OddsRule raises or lowers the odds of a cause while its condition holds.
type OddsRule struct {
	When  *Condition
	Times float64
	Basis string
}

// Link says how often a present cause shows a sign. Kinds is aligned with
// the sign's kinds; Total is their sum, or the chance when it has none.
type Link struct {
	Sign  string
	Total float64
	Kinds []float64
}

// LinksWhen replaces links while its condition holds.
type LinksWhen struct {
	When  *Condition
	Links []Link
}

// Told is somebody who must be told of a teardown, and of what.
type Told struct {
	Entry
	Of     string
	Opened []string // only if one of these is opened; none = always
	Causes []string // or one of these is looked for
	When   *Condition
}

// Referral is a result that the crew does not settle itself, and whom to ask.
type Referral struct {
	Entry
	Ask    string
	Opened []string // shown if one of these is opened; none = always
}

// Teardown says how a teardown is planned.
type Teardown struct {
	PartsFrom float64 // chance from which a part is to be on hand
	// LookWorth: a check behind what is open anyway is named when the minutes
	// that it is expected to save are this share of its own.
	LookWorth   float64
	MostLooks   int     // and how many that do not pay for themselves
	MinutesLow  float64 // factor of the judged minutes when all goes well
	MinutesHigh float64 // and when it does not
}

// StopBy says when the pump stops for a stop condition, or when what it asks
// is done.
type StopBy string

// When a stop is made. Either way the pump stops.
const (
	AtOnce         StopBy = "at-once"          // nobody is asked first
	NextSafeMoment StopBy = "next-safe-moment" // the driller says when the hole can stand it
)

// Words says it for the reader.
func (b StopBy) Words() string {
	if b == AtOnce {
		return "at once"
	}
	return "at the next safe moment"
}

// Stop is a condition that comes before everything else.
type Stop struct {
	Entry
	Signal    Signal
	By        StopBy
	When      *Condition
	Do        []string
	Standing  string // stands for the first line of Do where the pump does not run; "" if that fits it too
	StopPump  bool   // no more observations on the running pump
	PowerOff  bool   // nothing that needs power, not even a bump
	LeavePump bool   // the pump waits; no steps are given
	// OpenNothing: nothing is opened, and no hand goes in, while it holds.
	OpenNothing bool
	// OutOfService: the pump does not run again while it holds, and nothing bumps it;
	// what was opened is closed, and the locks stay on.
	OutOfService bool
	// IsolateAnew: once it is over nothing counts that was done of the isolation; it is
	// made from its first step.
	IsolateAnew bool
	// Haste is how long the pump can wait once the words are done; nil where By
	// says it. Only of a stop that does not stop the pump.
	Haste *Haste
}

// Vocabulary gives the words that a case file may use with this book.
func (b *Book) Vocabulary() evidence.Vocabulary {
	v := evidence.Vocabulary{
		Signs:    map[string]evidence.SignWord{},
		Causes:   map[string]evidence.Level{},
		Checks:   map[string]evidence.Level{},
		Openings: map[string]evidence.OpeningWord{},
		Works:    b.Works.IDs(),
		Muds:     b.Muds.IDs(),
		Limits:   map[string]evidence.Dimension{},
		Parts:    map[string]evidence.PartWord{},
		Upkeep:   map[string]evidence.Level{},
	}
	for _, s := range b.Signs.List {
		when := s.When
		v.Signs[s.ID] = evidence.SignWord{Level: s.Level, Kinds: s.KindIDs(), Applies: when.HoldsForPump}
	}
	for _, c := range b.Causes.List {
		v.Causes[c.ID] = c.Level
	}
	v.CauseApplies = func(id string, p *evidence.Pump) bool { return b.Causes.Get(id).When.HoldsForPump(p) }
	for _, c := range b.Checks.List {
		v.Checks[c.ID] = c.Level
	}
	for _, a := range b.Openings.List {
		v.Openings[a.ID] = evidence.OpeningWord{Level: a.Level, Needs: a.Needs}
	}
	for _, p := range b.Parts.List {
		v.Parts[p.ID] = evidence.PartWord{Level: p.Level, Applies: p.When.HoldsForPump}
	}
	for _, u := range b.Upkeep.List {
		v.Upkeep[u.ID] = u.Level
	}
	for _, l := range b.Limits.List {
		v.Limits[l.ID] = l.Dimension
	}
	v.CoversOff = b.coversOff()
	return v
}

// EntryIDs lists the ids that a person may ask about.
func (b *Book) EntryIDs() []string {
	var out []string
	for _, ids := range [][]string{b.Causes.IDs(), b.Signs.IDs(), b.Checks.IDs(), b.Openings.IDs(), b.Safety.IDs(), b.Stops.IDs(), b.Ratings.IDs(), b.Limits.IDs(), b.Returns.IDs(), b.Works.IDs(), b.Muds.IDs()} {
		out = append(out, ids...)
	}
	return out
}
