package lives

import (
	"fmt"
	"math"
	"slices"
)

// Record is when the parts of one kind were changed in one pump.
type Record struct {
	Places []Place
}

// Place is one position of the part. All hours are pump hours on one clock.
type Place struct {
	From, To float64   // the hours between which it was watched
	Changed  []float64 // from From up to To, in any order; at From: a new part was in when the record starts
	Good     []float64 // those of Changed at which the old part was still good
}

// Life is how long one part lasted.
type Life struct {
	Place int // index of its place
	Hours float64
	End   End
}

// End is how a life ended. Only Failed says how long the part lasted; the others say
// that it lasted at least so long.
type End int

// How a life ended.
const (
	StillIn   End = iota // it runs at the end of the record
	StillGood            // it was changed while it was still good
	InBefore             // it was in before the record began: its age is not known, whatever ended it
	Failed               // its fitting and its failure are both in the record
)

// Counts is how many lives there are and how they ended.
type Counts struct {
	Lives     int `json:"lives"`
	Failed    int `json:"failed"`
	StillIn   int `json:"still_in"`
	StillGood int `json:"changed_still_good"`
	InBefore  int `json:"in_before_the_record"`
}

// CountOf counts lives by how they ended.
func CountOf(all []Life) Counts {
	n := [Failed + 1]int{}
	for _, l := range all {
		n[l.End]++
	}
	return Counts{Lives: len(all), Failed: n[Failed], StillIn: n[StillIn], StillGood: n[StillGood], InBefore: n[InBefore]}
}

// Bounds of a record.
const (
	mostPlaces = 64
	mostLives  = 1000
	mostHours  = 1e8
)

// Lives gives the lives of a record, place by place in their order in time. It is an
// error if there is no place or more than 64, if there are more than 1000 lives, or if
// an hour is not a number, is negative or lies outside its place's window.
func (r Record) Lives() ([]Life, error) {
	if len(r.Places) == 0 || len(r.Places) > mostPlaces {
		return nil, fmt.Errorf("a record of %d places: give 1 to %d", len(r.Places), mostPlaces)
	}
	var out []Life
	for i, p := range r.Places {
		if err := p.check(); err != nil {
			return nil, fmt.Errorf("place %d: %w", i+1, err)
		}
		out = append(out, p.lives(i)...)
	}
	if len(out) > mostLives {
		return nil, fmt.Errorf("%d lives are more than the %d that can be compared", len(out), mostLives)
	}
	return out, nil
}

func (p Place) lives(at int) []Life {
	var out []Life
	since, known := p.From, false // when the part that is in went in, and whether that is known
	for _, t := range distinct(p.Changed) {
		if t > since {
			end := Failed
			if slices.Contains(p.Good, t) {
				end = StillGood
			}
			out = append(out, lifeAt(at, t-since, end, known))
		}
		since, known = t, true
	}
	if p.To > since {
		out = append(out, lifeAt(at, p.To-since, StillIn, known))
	}
	return out
}

// lifeAt is a life of which it is known when it began or not.
func lifeAt(at int, hours float64, end End, known bool) Life {
	if !known {
		end = InBefore
	}
	return Life{Place: at, Hours: hours, End: end}
}

func (p Place) check() error {
	if !(p.From >= 0 && p.To > p.From && p.To <= mostHours) {
		return fmt.Errorf("watched from hour %g to %g: the end must come after the start, the start not before 0 and the end not after %g", p.From, p.To, mostHours)
	}
	for _, t := range p.Changed {
		if !(t >= p.From && t <= p.To) {
			return fmt.Errorf("changed at hour %g, outside the hours %g to %g of the record", t, p.From, p.To)
		}
	}
	for _, t := range p.Good {
		if !slices.Contains(p.Changed, t) {
			return fmt.Errorf("a part still good at hour %g, at which none was changed", t)
		}
	}
	return nil
}

// Together counts the changes at an hour at which another place has one too.
func (r Record) Together() int {
	places := map[float64]int{} // how many places have a change at the hour
	for _, p := range r.Places {
		for _, t := range distinct(p.Changed) {
			places[t]++
		}
	}
	n := 0
	for _, p := range r.Places {
		for _, t := range distinct(p.Changed) {
			if places[t] > 1 && t > p.From {
				n++
			}
		}
	}
	return n
}

func distinct(times []float64) []float64 {
	return slices.Compact(slices.Sorted(slices.Values(times)))
}

// longest is the greatest of the hours.
func longest(all []Life) float64 {
	most := 0.0
	for _, l := range all {
		most = math.Max(most, l.Hours)
	}
	return most
}

func checkConfidence(confidence float64) error {
	return checkRange("confidence", confidence, 0.5, 0.999999)
}

// checkRange refuses NaN too, which is in no range.
func checkRange(what string, value, low, high float64) error {
	if value >= low && value <= high {
		return nil
	}
	return fmt.Errorf("%s %g: must be from %g to %g", what, value, low, high)
}
