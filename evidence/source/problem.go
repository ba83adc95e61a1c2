package source

import (
	"fmt"
	"sort"
	"strings"
)

// MostProblems is how many problems of one reading are kept; the rest are
// only counted.
const MostProblems = 100

// Pos is a place in a file. Line and Col count from 1, Col in characters.
type Pos struct {
	File string
	Line int
	Col  int
}

// String gives file:line:column.
func (p Pos) String() string { return fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Col) }

func (p Pos) before(q Pos) bool {
	if p.File != q.File {
		return p.File < q.File
	}
	if p.Line != q.Line {
		return p.Line < q.Line
	}
	return p.Col < q.Col
}

// Problem is one mistake in an input file.
type Problem struct {
	Pos     Pos
	Message string
}

// Error gives file:line:column: message.
func (p Problem) Error() string { return p.Pos.String() + ": " + p.Message }

// Problems collects the mistakes of one reading. The zero value is ready.
type Problems struct {
	list   []Problem
	more   int
	sorted bool
	spare  [][]string // lists of keys of objects that were read, to be used again
}

// Add notes a mistake. Past MostProblems it only counts.
func (ps *Problems) Add(pos Pos, format string, args ...any) {
	if len(ps.list) >= MostProblems {
		ps.more++
		return
	}
	ps.sorted = false
	ps.list = append(ps.list, Problem{Pos: pos, Message: fmt.Sprintf(format, args...)})
}

// Join adds the mistakes of another reading.
func (ps *Problems) Join(other *Problems) {
	for _, p := range other.list {
		ps.Add(p.Pos, "%s", p.Message)
	}
	ps.more += other.more
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
