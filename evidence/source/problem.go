package source

import (
	"fmt"
	"slices"
	"sort"
	"strings"
)

// MostProblems is how many problems of one reading are kept; the rest are
// only counted.
const MostProblems = 100

// Problem is one mistake in an input file.
type Problem struct {
	Code Code `json:"code"`
	Pos
	Text     string   `json:"text"`     // for the person, without the place
	Read     string   `json:"read"`     // what stands at the place; "" if nothing does
	Expected string   `json:"expected"` // what could have stood there, where that can be said
	Nearest  []string `json:"nearest"`  // valid names near to what was read, the nearest first
	// Line is the line in the file, or what of a long one stands around the
	// place, and Mark the character of it, from 1, that is meant; 0 if the line is
	// not known.
	Line string `json:"source_line"`
	Mark int    `json:"mark"`
}

// Error gives file:line:column: text, on one line.
func (p Problem) Error() string { return p.Pos.String() + ": " + OneLine(p.Text) }

// Problems collects the mistakes of one reading. The zero value is ready.
type Problems struct {
	list   []Problem
	more   int
	sorted bool
	texts  []*Text    // in which the mistakes stand
	spare  [][]string // lists of keys of objects that were read, to be used again
}

// Read, as an argument of Add, is what was read where nothing that stands at
// the place says it.
type Read string

// Want, as an argument of Add, is what was expected.
type Want string

// In tells in which text mistakes will be found, so that they can show the line.
// Parse does.
func (ps *Problems) In(t *Text) {
	if t != nil {
		ps.texts = append(ps.texts, t)
	}
}

// Add notes a mistake. Past MostProblems it only counts. What was read is what
// stands at the place, if no argument says it; what was expected, and the nearest
// names, are taken from arguments of the types Read, Want and *Hint.
func (ps *Problems) Add(pos Pos, code Code, format string, args ...any) {
	if len(ps.list) >= MostProblems {
		ps.more++
		return
	}
	p := Problem{Code: code, Pos: pos, Text: fmt.Sprintf(format, args...), Nearest: []string{}}
	ps.show(&p)
	for _, arg := range args {
		switch arg := arg.(type) {
		case Read:
			p.Read = Clip(string(arg))
		case Want:
			p.Expected = string(arg)
		case *Hint:
			p.Read, p.Expected, p.Nearest = Clip(arg.name), arg.oneOf(), append(p.Nearest, arg.nearest()...)
		}
	}
	ps.sorted = false
	ps.list = append(ps.list, p)
}

// show fills in what stands at the place of a problem.
func (ps *Problems) show(p *Problem) {
	for i := len(ps.texts) - 1; i >= 0; i-- {
		t := ps.texts[i]
		if t.name != p.File {
			continue
		}
		p.Line, p.Mark = t.excerpt(p.Pos)
		n := t.at(p.Pos, p.Code == WrongForm)
		if p.Code == Missing || n == nil {
			return
		}
		if p.Read = Clip(n.Text); n.Kind != Scalar {
			p.Read = n.Kind.String()
		}
		return
	}
}

// Beside is an empty collector for mistakes in the same texts, to be joined later.
func (ps *Problems) Beside() Problems { return Problems{texts: slices.Clone(ps.texts)} }

// Join adds the mistakes of another reading.
func (ps *Problems) Join(other *Problems) {
	room := min(MostProblems-len(ps.list), len(other.list))
	ps.list, ps.sorted = append(ps.list, other.list[:room]...), false
	ps.more += other.more + len(other.list) - room
	ps.texts = append(ps.texts, other.texts...)
}

// Len is the number of mistakes found, also those that were only counted.
func (ps *Problems) Len() int { return len(ps.list) + ps.more }

// All gives the mistakes in the order in which they stand in the files.
func (ps *Problems) All() []Problem {
	if !ps.sorted {
		sort.SliceStable(ps.list, func(i, j int) bool { return ps.list[i].Pos.before(ps.list[j].Pos) })
		ps.sorted = true
	}
	return ps.list
}

// Err is nil when nothing was wrong, else an *InputError with every mistake.
func (ps *Problems) Err() error {
	if ps.Len() == 0 {
		return nil
	}
	return &InputError{Problems: ps.All(), More: ps.more}
}

// InputError says that a file could not be used, with every mistake in it.
type InputError struct {
	Problems []Problem
	More     int // mistakes past MostProblems, not listed
}

// Error gives one mistake a line.
func (e *InputError) Error() string {
	var b strings.Builder
	for i, p := range e.Problems {
		if i > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(p.Error())
	}
	if e.More > 0 {
		fmt.Fprintf(&b, "\nand %d more", e.More)
	}
	return b.String()
}
