package source

import "encoding/json"

// Code says in one fixed word what kind of mistake a Problem is. The codes
// stand here and nowhere else; the zero Code is none.
type Code struct{ word, meaning string }

var codes []Code

func code(word, meaning string) Code {
	c := Code{word, meaning}
	codes = append(codes, c)
	return c
}

// The codes with their meanings.
var (
	CannotRead   = code("cannot-read", "a file or folder of a rulebook or of proofs cannot be read")
	TooLarge     = code("too-large", "more bytes, values, levels or entries than are read")
	NotText      = code("not-text", "a byte or a control character that is no text")
	NotYAML      = code("not-yaml", "the text is not valid YAML, or holds a second document")
	NotPlain     = code("not-plain", "an anchor, an alias, a tag or a merge key")
	WrongForm    = code("wrong-form", "a list, a mapping, a single value or a line of another form was expected")
	Missing      = code("missing", "a key, an entry, a reading or a word that is needed is not there or empty")
	Twice        = code("twice", "the same thing stands at two places")
	UnknownKey   = code("unknown-key", "a mapping has no such key")
	UnknownName  = code("unknown-name", "no sign, cause, check, answer or other word has this name here")
	UnknownPlace = code("unknown-place", "the pump has no such cylinder or end")
	WrongPlace   = code("wrong-place", "the place is finer or coarser than the thing that it is said of")
	BadName      = code("bad-name", "this cannot be a name or an id here")
	NotAQuantity = code("not-a-quantity", "this is no number with a unit")
	WrongUnit    = code("wrong-unit", "the unit is unknown, or that of something else")
	OutOfRange   = code("out-of-range", "a figure is smaller or larger than it can be")
	OutOfOrder   = code("out-of-order", "what must rise, or come first, does not")
	DoesNotFit   = code("does-not-fit", "two figures or entries do not go together, or the pump has no such thing")
	NeedsOther   = code("needs-other", "something else must be written for this to count")
	Excludes     = code("excludes", "two statements exclude each other")
	BadCondition = code("bad-condition", "a condition cannot be understood or cannot stand here")
	NotAllowed   = code("not-allowed", "a local rulebook may not do this")
	Unsafe       = code("unsafe", "by these entries of a rulebook work would be in an unsafe order or in a circle")
	Impossible   = code("impossible", "the rulebook holds the findings to be impossible together")
	TooWide      = code("too-wide", "the findings cannot be weighed exactly")
)

// Codes lists all codes.
func Codes() []Code { return append([]Code(nil), codes...) }

// String is the word of the code, "" for none.
func (c Code) String() string { return c.word }

// Meaning says what the code stands for.
func (c Code) Meaning() string { return c.meaning }

// MarshalJSON writes the word.
func (c Code) MarshalJSON() ([]byte, error) { return json.Marshal(c.word) }
