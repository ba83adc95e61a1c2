package practice

import (
	"cmp"
	"slices"
)

// Tally is the sums over some exercises.
type Tally struct {
	Level      int // 0: all levels
	Exercises  int
	Solved     int
	Passed     int // solved, all proved and rightly corrected, nothing come back, without a safety fault
	RightFirst int // everything found and nothing wrong named
	Faults     int // safety faults
	WithFault  int // exercises that have one
	// Of the troubles, those whose failure, and whose root, was rightly named;
	// exercises from before there were roots count for neither.
	Failures      int
	FailuresAsked int
	Roots         int
	RootsAsked    int
	Back          int // failures that came back
	// Ratio is the minutes over those of the tool's own way, added over the
	// Compared exercises that both solved; 0 if there is none.
	Ratio            float64
	Compared         int
	Corrections      int
	CorrectionsAsked int
	Shims            int
	ShimsAsked       int
}

// Confused is a cause that was named where another was hidden.
type Confused struct {
	Hidden, Named string // ids
	Times         int
}

// Progress is how a trainee does over all exercises.
type Progress struct {
	All      Tally
	Levels   []Tally // those that were played, in order
	Confused []Confused
}

// Sum works out the progress over records.
func Sum(records []Record) Progress {
	out := Progress{All: tally(0, records)}
	for level := CommonFault; level <= TwoFaults; level++ {
		if t := tally(level, records); t.Exercises > 0 {
			out.Levels = append(out.Levels, t)
		}
	}
	out.Confused = confused(records)
	return out
}

func tally(level int, records []Record) Tally {
	t := Tally{Level: level}
	minutes, best := 0.0, 0.0
	for i := range records {
		r := &records[i]
		if level != 0 && r.Level != level {
			continue
		}
		t.Exercises++
		t.Faults += r.Faults
		if r.Faults > 0 {
			t.WithFault++
		}
		if r.rightFirst() {
			t.RightFirst++
		}
		if r.solved() {
			t.Solved++
		}
		if r.Passed {
			t.Passed++
		}
		if r.solved() && r.Unproved == 0 && r.BestSolved && r.BestMinutes > 0 {
			t.Compared++
			minutes, best = minutes+r.Minutes, best+r.BestMinutes
		}
		t.Corrections, t.CorrectionsAsked = t.Corrections+r.Corrections, t.CorrectionsAsked+r.CorrectionsAsked
		t.Failures, t.FailuresAsked = t.Failures+r.Failures, t.FailuresAsked+r.FailuresAsked
		t.Roots, t.RootsAsked, t.Back = t.Roots+r.RootsRight, t.RootsAsked+r.RootsAsked, t.Back+r.Back
		t.Shims, t.ShimsAsked = t.Shims+r.Shims, t.ShimsAsked+r.ShimsAsked
	}
	if best > 0 {
		t.Ratio = minutes / best
	}
	return t
}

// confused counts the pairs of a hidden and a wrongly named cause, the most
// frequent first: what was named as failed beside what failed, and what was said to
// have brought it on beside what did. With two troubles each counts for both.
func confused(records []Record) []Confused {
	times := map[Confused]int{}
	for _, r := range records {
		for _, n := range r.Named {
			if n.Right {
				continue
			}
			list := r.Causes
			if n.Of != "" {
				list = r.Roots
			}
			for i, hidden := range list {
				if !slices.Contains(list[:i], hidden) {
					times[Confused{Hidden: hidden, Named: n.Cause}]++
				}
			}
		}
	}
	var out []Confused
	for pair, n := range times {
		pair.Times = n
		out = append(out, pair)
	}
	slices.SortFunc(out, func(a, b Confused) int {
		return cmp.Or(cmp.Compare(b.Times, a.Times), cmp.Compare(a.Hidden, b.Hidden), cmp.Compare(a.Named, b.Named))
	})
	return out
}
