package evidence

import (
	"sort"
)

// SignWord is what a case file must know of a sign.
type SignWord struct {
	Level   Level
	Kinds   []string
	Applies func(*Pump) bool // does it exist on this pump
}

// Answers lists what can be answered to the sign.
func (w SignWord) Answers() []string {
	return append([]string{string(Present), string(Absent), Unknown}, w.Kinds...)
}

// Unknown answers that nobody knows.
const Unknown = "unknown"

// OpeningWord is what a case file must know of something that can be opened.
type OpeningWord struct {
	Level Level
	Needs []string // what must be open before it
}

// PartWord is what a case file must know of a part.
type PartWord struct {
	Level   Level
	Applies func(*Pump) bool // is it on this pump; nil: always
}

// Vocabulary is the words of one rulebook that a case file may use.
type Vocabulary struct {
	Signs  map[string]SignWord
	Causes map[string]Level
	// CauseApplies says whether a cause can be on this pump; nil: always.
	CauseApplies func(id string, p *Pump) bool
	Checks       map[string]Level
	Openings     map[string]OpeningWord
	Works        []string
	Limits       map[string]Dimension
	Muds         []string            // how the pressure goes with the strokes
	Parts        map[string]PartWord // parts whose changes can be recorded
	Upkeep       map[string]Level    // what falls due after something was done
	// CoversOff are the signs, checks and blocks of readings that can only be
	// had with covers off.
	CoversOff map[string]bool
	// Pump is the pump of the rig that the case is a job on; nil for a case that
	// stands alone.
	Pump *PumpFile
}

func names[T any](m map[string]T) []string {
	out := make([]string, 0, len(m))
	for name := range m {
		out = append(out, name)
	}
	sort.Strings(out)
	return out
}
