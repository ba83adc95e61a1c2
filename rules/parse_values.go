package rules

import (
	"regexp"
	"strings"

	"telltale/evidence"
	"telltale/evidence/source"
)

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

// leastChance keeps every chance that is not nothing far from underflow: the
// product of all findings of a case stays a normal number.
const leastChance = 1e-6

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

func (l *loader) signal(o *source.Object) Signal {
	return Signal(o.Need("signal").Word(&l.problems, "signal word", Signals()))
}

// hands reads how many people a step takes, one if nothing is said.
func (l *loader) hands(o *source.Object) int {
	n := o.Get("hands")
	if n == nil {
		return 1
	}
	return int(n.Number(&l.problems, "hands", 1, 10))
}
