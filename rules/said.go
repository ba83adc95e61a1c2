package rules

import (
	"slices"

	"telltale/evidence"
	"telltale/evidence/source"
)

// Said is how crews say one sign, work or check of the book.
type Said struct {
	Entry
	Present []Phrase   // it is there; of a work or a check: it was done
	Absent  []Phrase   // it is not there: how a crew says that this is well
	Kinds   []KindSaid // it is there in this way
}

// KindSaid is how crews say one kind of a sign.
type KindSaid struct {
	Kind    string
	Phrases []Phrase
}

// Phrase is a few words as a crew says them.
type Phrase struct {
	Text string
	Pos  source.Pos
}

// Sameness is several words that say the same in a phrase, or that do the same
// work in what is told.
type Sameness struct {
	Entry
	Words    []string // of one word or more each
	As       WordRole // what the words do; "" for an ordinary one
	Numbered bool     // a place that was told by its number is one of these
	// Against are entries that say the opposite: a phrase with one of them is hardly
	// meant by words with the other.
	Against []string
	// Where the words name a place (As: place).
	At    map[evidence.Action][]int // these cylinders, counted from the first, by the pump's action
	OneOf map[evidence.Action][]int // one of these, nobody said which
	End   string                    // the end of a double-acting cylinder
}

// OfSeveral says whether the words name more than one cylinder, or one of several.
func (s *Sameness) OfSeveral() bool {
	for _, at := range s.At {
		if len(at) > 1 {
			return true
		}
	}
	return len(s.OneOf) > 0
}

// WordRole is what words do in what is told.
type WordRole string

// The roles of words.
const (
	NamesThing   WordRole = "thing"    // a part or a place of the pump, which the next words may speak of as "it"
	NamesPlace   WordRole = "place"    // a cylinder or an end
	SaysAll      WordRole = "all"      // every place
	SaysRest     WordRole = "rest"     // the places not named
	SaysOnly     WordRole = "only"     // and at no other place
	SaysNot      WordRole = "not"      // denies
	SaysWell     WordRole = "well"     // nothing is wrong there
	SaysSame     WordRole = "same"     // it is as it was: well, or after work that did not help still there
	SaysGone     WordRole = "gone"     // it was there and is not any more
	SaysUnknown  WordRole = "unknown"  // nobody knows or nobody looked
	SaysGuess    WordRole = "guess"    // what somebody believes
	SaysDone     WordRole = "done"     // work was done
	SaysLooked   WordRole = "looked"   // something was looked at or tried
	SaysNoCure   WordRole = "no-cure"  // what was done did not help
	SaysCure     WordRole = "cure"     // what was done helped
	SaysNothing  WordRole = "filler"   // carries no meaning
	SaysPressure WordRole = "pressure" // a unit of pressure, or what stands for one
	SaysStrokes  WordRole = "strokes"  // a unit of the pump's speed
	SaysFalls    WordRole = "falls"    // what "from 2800 to 2400" says of a figure
	SaysRises    WordRole = "rises"    // and what "from 2400 to 2800" says
)

var wordRoles = []WordRole{NamesThing, NamesPlace, SaysAll, SaysRest, SaysOnly, SaysNot, SaysWell, SaysSame, SaysGone, SaysUnknown, SaysGuess, SaysDone, SaysLooked, SaysNoCure, SaysCure, SaysNothing, SaysPressure, SaysStrokes, SaysFalls, SaysRises}

// takesAway are the roles of words that carry no meaning, deny it or keep it from
// being weighed: no local book adds to them.
var takesAway = []WordRole{SaysNothing, SaysNot, SaysWell, SaysSame, SaysGone, SaysUnknown, SaysGuess, SaysOnly}

// What the lexicon of a book is bounded by.
const (
	longestPhrase = 120
	mostPhrases   = 60_000
)

// parseSaid reads the lexicon.
func (l *loader) parseSaid() {
	eachSaid(l, "same-words", &l.book.SameWords, l.parseSameness)
	eachSaid(l, "said-of-signs", &l.book.SaidOfSigns, func(o *source.Object, e Entry) *Said {
		l.id(e.node(), "signs")
		s := &Said{Entry: e, Present: l.phrases(o.Get("present")), Absent: l.phrases(o.Get("absent"))}
		var kinds []string
		if sign := l.book.Signs.Get(e.ID); sign != nil {
			kinds = sign.KindIDs()
		}
		for _, p := range l.pairs(o.Get("kinds"), "kinds") {
			if kind := p.Key.Word(&l.problems, "kind of "+e.ID, kinds); kind != "" {
				s.Kinds = append(s.Kinds, KindSaid{kind, l.phrases(p.Value)})
			}
		}
		return s
	})
	eachSaid(l, "said-of-works", &l.book.SaidOfWorks, func(o *source.Object, e Entry) *Said {
		l.id(e.node(), "works")
		return &Said{Entry: e, Present: l.phrases(o.Need("said"))}
	})
	eachSaid(l, "said-of-checks", &l.book.SaidOfChecks, func(o *source.Object, e Entry) *Said {
		l.id(e.node(), "checks")
		return &Said{Entry: e, Present: l.phrases(o.Need("said"))}
	})
	n := 0
	for _, table := range []*Table[Said]{&l.book.SaidOfSigns, &l.book.SaidOfWorks, &l.book.SaidOfChecks} {
		for _, s := range table.List {
			n += s.phrases()
		}
	}
	if n > mostPhrases {
		l.problems.Add(wholeBook, source.TooLarge, "the lexicon has %d phrases; at most %d are read", n, mostPhrases)
	}
}

// node stands for the id of an entry where it is read as a name.
func (e Entry) node() *source.Node {
	return &source.Node{Pos: e.Pos, Kind: source.Scalar, Text: e.ID}
}

func (s *Said) phrases() int {
	n := len(s.Present) + len(s.Absent)
	for _, k := range s.Kinds {
		n += len(k.Phrases)
	}
	return n
}

// eachSaid parses the entries of a section of the lexicon, which have no titles.
func eachSaid[T any](l *loader, section string, table *Table[T], parse func(*source.Object, Entry) *T) {
	for _, e := range l.sections[section] {
		o := e.value.Object(&l.problems, e.id.Text)
		head := Entry{ID: e.id.Text, Pos: e.id.Pos, FromLocal: e.local, Basis: l.basis(o)}
		table.add(head.ID, parse(o, head))
		l.close(section, o)
	}
}

func (l *loader) phrases(n *source.Node) []Phrase {
	var out []Phrase
	for _, item := range n.Scalars(&l.problems, "phrases") {
		if len(item.Text) > longestPhrase {
			l.problems.Add(item.Pos, source.TooLarge, "a phrase has at most %d bytes; read %d", longestPhrase, len(item.Text))
			continue
		}
		out = append(out, Phrase{item.Text, item.Pos})
	}
	return out
}

func (l *loader) parseSameness(o *source.Object, e Entry) *Sameness {
	s := &Sameness{Entry: e, Words: o.Need("words").Strings(&l.problems, "words")}
	if n := o.Get("as"); n != nil {
		s.As = oneOf(l, n, "what the words do", wordRoles...)
	}
	s.Numbered = o.Get("numbered").Bool(&l.problems, "numbered")
	if e.FromLocal && slices.Contains(takesAway, s.As) {
		l.problems.Add(e.Pos, source.NotAllowed, "a local book cannot give words as: %s (%s); what a crew says of a danger must not vanish. It can add words that say the same as others, parts and places", s.As, e.ID)
	}
	s.Against = l.ids(o.Get("against"), "same-words")
	s.At, s.OneOf = l.cylindersSaid(o.Get("at")), l.cylindersSaid(o.Get("one-of"))
	if n := o.Get("end"); n != nil {
		s.End = n.Word(&l.problems, "end", []string{evidence.HeadEnd, evidence.CrankEnd})
	}
	if named := len(s.At) > 0 || len(s.OneOf) > 0 || s.End != ""; named != (s.As == NamesPlace) {
		l.problems.Add(e.Pos, source.NeedsOther, "%s: at, one-of or end goes with as: place, and as: place with one of them", e.ID)
	}
	return s
}

// cylindersSaid reads which cylinders words name, counted from the first of the
// pump, by the pump's action.
func (l *loader) cylindersSaid(n *source.Node) map[evidence.Action][]int {
	out := map[evidence.Action][]int{}
	for _, p := range l.pairs(n, "cylinders by the pump's action") {
		action := evidence.Action(p.Key.Word(&l.problems, "action", evidence.Actions()))
		if action == "" {
			continue
		}
		for _, item := range p.Value.Scalars(&l.problems, "cylinders") {
			c := item.Number(&l.problems, "cylinder", 1, float64(len(evidence.DefaultCylinders(action))))
			out[action] = append(out[action], int(c))
		}
	}
	return out
}
