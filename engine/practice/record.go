package practice

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
)

// RecordSchema is the version of a Record; it changes when a field changes its
// meaning or goes. Records of the first version, which knew no roots, are read too.
const (
	RecordSchema = 2
	withoutRoots = 1
)

// Record is one exercise in a trainee's file: one line of JSON.
type Record struct {
	Schema  int      `json:"schema"`
	At      string   `json:"at"` // RFC 3339
	Seed    uint64   `json:"seed"`
	Level   int      `json:"level"`
	Pump    string   `json:"pump"`
	Book    string   `json:"rulebook"` // digest
	Causes  []string `json:"causes"`   // what failed, by id: one of each trouble
	Roots   []string `json:"roots"`    // what brought one of them on, by id
	Named   []Named  `json:"named"`
	End     End      `json:"end"`
	Minutes float64  `json:"minutes"`
	// Passed is the verdict; Unproved counts the causes that were named before
	// anything showed them.
	Passed   bool `json:"passed"`
	Unproved int  `json:"unproved"`
	// BestMinutes is the tool's own way through the same world; BestSolved
	// says whether that proved and named everything.
	BestMinutes float64 `json:"best_minutes"`
	BestSolved  bool    `json:"best_solved"`
	Faults      int     `json:"safety_faults"`
	// Troubles whose failure was named, and that it was rightly said of what brought
	// it on, of those that want it; and failures that came back.
	Failures      int `json:"failures_right"`
	FailuresAsked int `json:"failures_asked"`
	RootsRight    int `json:"roots_right"`
	RootsAsked    int `json:"roots_asked"`
	Back          int `json:"came_back"`
	// Answers that were right, of those asked.
	Corrections      int `json:"corrections_right"`
	CorrectionsAsked int `json:"corrections_asked"`
	Shims            int `json:"shims_right"`
	ShimsAsked       int `json:"shims_asked"`
}

// Named is a cause that the trainee named, or that was said to have brought another
// one on.
type Named struct {
	Cause string `json:"cause"`        // Nothing: nothing deeper
	Of    string `json:"of,omitempty"` // the cause that it was said to have brought on
	Right bool   `json:"right"`
}

// Damaged is a line of a record file that cannot be read.
type Damaged struct {
	Line int
	Why  string
}

// The bounds of a record file.
const (
	longestRecord = 64 << 10 // bytes of a line
	mostRecords   = 100_000
)

// valid says what is wrong with a record, "" if nothing is.
func (r *Record) valid() string {
	switch {
	case r.Schema < withoutRoots || r.Schema > RecordSchema:
		return fmt.Sprintf("schema %d; this program reads %d to %d", r.Schema, withoutRoots, RecordSchema)
	case r.Level < CommonFault || r.Level > TwoFaults:
		return fmt.Sprintf("level %d; there are 1 to 3", r.Level)
	case !counted(r.Minutes) || !counted(r.BestMinutes):
		return "the minutes are no time"
	case r.Faults < 0 || r.Unproved < 0 || r.Corrections < 0 || r.Shims < 0 || r.Corrections > r.CorrectionsAsked || r.Shims > r.ShimsAsked,
		r.Failures < 0 || r.RootsRight < 0 || r.Back < 0 || r.Failures > r.FailuresAsked || r.RootsRight > r.RootsAsked:
		return "the counts do not fit together"
	case len(r.Causes) == 0:
		return "no cause is given"
	}
	return ""
}

func counted(minutes float64) bool {
	return minutes >= 0 && minutes < 1e6 && !math.IsNaN(minutes)
}

// solved says whether everything was named, or the pump rightly left.
func (r *Record) solved() bool { return r.End == Solved || r.End == Left }

// rightFirst says whether no wrong cause was named and all were found.
func (r *Record) rightFirst() bool {
	for _, n := range r.Named {
		if !n.Right {
			return false
		}
	}
	return r.solved()
}

// Opener opens a file as os.OpenFile does; that of an os.Root keeps to its folder.
type Opener func(name string, flag int, perm os.FileMode) (*os.File, error)

// Append adds one record to a file, which is made if there is none. The line
// goes out in one write behind a whole line: a file that was cut off in the
// middle of a line loses that line only.
func Append(open Opener, name string, r Record) (err error) {
	text, err := json.Marshal(r)
	if err != nil {
		return err
	}
	f, err := openRecords(open, name)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	line := append(text, '\n')
	if size := info.Size(); info.Mode().IsRegular() && size > 0 {
		last := make([]byte, 1)
		if _, err := f.ReadAt(last, size-1); err != nil {
			return err
		}
		if last[0] != '\n' {
			line = append([]byte{'\n'}, line...)
		}
	}
	if _, err := f.Write(line); err != nil {
		return err
	}
	return f.Sync()
}

// Appendable says whether Append can write to the file, which it makes if there
// is none: before an exercise, not when it is done. A file that holds something
// else is none to add to.
func Appendable(open Opener, name string) (err error) {
	f, err := openRecords(open, name)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if info, err := f.Stat(); err != nil || !info.Mode().IsRegular() {
		return err
	}
	head := make([]byte, 1)
	if n, err := f.ReadAt(head, 0); n == 1 && head[0] != '{' { // a line that was cut off begins so too
		return fmt.Errorf("%s is there and holds no exercise; it is left as it is. Name another file", name)
	} else if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	return nil
}

func openRecords(open Opener, name string) (*os.File, error) {
	return open(name, os.O_RDWR|os.O_APPEND|os.O_CREATE, 0o644)
}

// ReadRecords reads a record file; lines that cannot be read are told and
// skipped. The error is one of reading.
func ReadRecords(in io.Reader) ([]Record, []Damaged, error) {
	var out []Record
	var damaged []Damaged
	lines := bufio.NewReaderSize(in, longestRecord)
	for n := 1; ; n++ {
		text, whole, err := readLine(lines)
		if err != nil && !errors.Is(err, io.EOF) {
			return out, damaged, err
		}
		if text = bytes.TrimSpace(text); len(text) > 0 {
			if len(out)+len(damaged) == mostRecords {
				return out, damaged, fmt.Errorf("more than %d exercises", mostRecords)
			}
			r, why := parseRecord(text, whole)
			if why == "" {
				out = append(out, r)
			} else {
				damaged = append(damaged, Damaged{Line: n, Why: why})
			}
		}
		if err != nil {
			return out, damaged, nil
		}
	}
}

// readLine reads to the end of a line, and keeps no more of it than is one
// record; whole is false if there was more.
func readLine(in *bufio.Reader) (text []byte, whole bool, err error) {
	text, err = in.ReadSlice('\n')
	if !errors.Is(err, bufio.ErrBufferFull) {
		return text, true, err
	}
	text = bytes.Clone(text)
	for errors.Is(err, bufio.ErrBufferFull) {
		_, err = in.ReadSlice('\n')
	}
	return text, false, err
}

func parseRecord(text []byte, whole bool) (Record, string) {
	var r Record
	if !whole {
		return r, fmt.Sprintf("it is longer than %d bytes", longestRecord)
	}
	if json.Unmarshal(text, &r) != nil {
		return r, "it is no line of this program, or not all of one"
	}
	return r, r.valid()
}
