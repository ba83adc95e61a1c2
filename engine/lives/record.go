package lives

import (
	"fmt"
	"math"
	"slices"
)

// Record is when the parts of one kind were replaced in one pump.
type Record struct {
	Part      string // such as "piston"; for the caller's words only
	Cylinders []Cylinder
	// Ending is ByFailure if the record was closed because a part had just failed. Then
	// the last replacement is at the end of the record.
	Ending Ending
}

// Cylinder is one position of the part. All hours are pump hours on one clock.
type Cylinder struct {
	Name     string
	From, To float64   // the hours between which it was watched
	Replaced []float64 // above From, up to To, in any order
}

// Summary is what a record shows.
type Summary struct {
	Part      string
	Cylinders []Position
	PartRate  Rate // all replacements over part hours: one position's mean rate
	// PumpRate is over pump hours, all positions together. It and Trend take only the
	// hours From..To in which all positions were watched.
	PumpRate Rate
	From, To float64
	Trend    Trend
	// Worst compares the positions; nil if there is only one.
	Worst *Worst
	// Together is how many replacements share their very hour with another position's.
	// Parts changed as a set are not separate failures, and every p takes them so.
	Together int
}

// Position is one cylinder's share of a summary.
type Position struct {
	Name string
	Rate Rate
}

// Summarise works out the rate of each position, of the part and of the pump, the worst
// position and the trend. It is an error if there is no cylinder or more than 64, if an hour
// is not a number, is negative or lies outside the cylinder's window, or if there is no
// hour in which all were watched; others as in RateOf, WorstOf and TrendOf.
func Summarise(r Record, confidence float64) (Summary, error) {
	s := Summary{Part: r.Part}
	if len(r.Cylinders) == 0 || len(r.Cylinders) > 64 {
		return s, fmt.Errorf("a record of %d cylinders: give 1 to 64", len(r.Cylinders))
	}
	s.From, s.To = r.Cylinders[0].From, r.Cylinders[0].To
	counts := make([]Count, len(r.Cylinders))
	for i, c := range r.Cylinders {
		if err := c.check(); err != nil {
			return Summary{}, fmt.Errorf("%s: %w", c.Name, err)
		}
		counts[i] = Count{Events: len(c.Replaced), Hours: c.To - c.From}
		rate, err := RateOf(counts[i].Events, counts[i].Hours, confidence)
		if err != nil {
			return Summary{}, fmt.Errorf("%s: %w", c.Name, err)
		}
		s.Cylinders = append(s.Cylinders, Position{Name: c.Name, Rate: rate})
		s.From, s.To = math.Max(s.From, c.From), math.Min(s.To, c.To)
	}
	err := firstError(s.rates(r, counts, confidence), s.worst(counts, confidence))
	if err != nil {
		return Summary{}, err
	}
	s.Together = together(r.Cylinders)
	return s, nil
}

// rates fills in what all positions share.
func (s *Summary) rates(r Record, counts []Count, confidence float64) error {
	if !(s.To > s.From) {
		return fmt.Errorf("there is no hour in which all cylinders were watched")
	}
	all := Count{}
	for _, c := range counts {
		all.Events += c.Events
		all.Hours += c.Hours
	}
	var times []float64 // in the common window, from its start
	for _, c := range r.Cylinders {
		for _, t := range c.Replaced {
			if t > s.From && t <= s.To {
				times = append(times, t-s.From)
			}
		}
	}
	hours := s.To - s.From
	var errs [3]error
	s.PartRate, errs[0] = RateOf(all.Events, all.Hours, confidence)
	s.PumpRate, errs[1] = RateOf(len(times), hours, confidence)
	s.Trend, errs[2] = TrendOf(times, hours, r.Ending, confidence)
	return firstError(errs[:]...)
}

func (s *Summary) worst(counts []Count, confidence float64) error {
	if len(counts) < 2 {
		return nil
	}
	worst, err := WorstOf(counts, confidence)
	s.Worst = &worst
	return err
}

func (c Cylinder) check() error {
	if !(c.From >= 0 && c.To > c.From) || math.IsInf(c.To, 0) {
		return fmt.Errorf("watched from hour %g to %g: the end must come after the start, and the start not before 0", c.From, c.To)
	}
	for _, t := range c.Replaced {
		if !(t > c.From && t <= c.To) {
			return fmt.Errorf("replaced at hour %g, outside the hours %g to %g of the record", t, c.From, c.To)
		}
	}
	return nil
}

// together counts the replacements at an hour at which another position has one too.
func together(cylinders []Cylinder) int {
	positions := map[float64]int{} // how many positions have a replacement at the hour
	for _, c := range cylinders {
		for _, t := range distinct(c.Replaced) {
			positions[t]++
		}
	}
	n := 0
	for _, c := range cylinders {
		for _, t := range c.Replaced {
			if positions[t] > 1 {
				n++
			}
		}
	}
	return n
}

func distinct(times []float64) []float64 {
	return slices.Compact(slices.Sorted(slices.Values(times)))
}
