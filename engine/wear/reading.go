package wear

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"telltale/engine/measure"
)

// Reading is one reading of the length that wears.
type Reading struct {
	Hours  float64 // of the pump, when it was taken
	Run    int     // changes where a correction was made between two readings of a series
	Series int     // changes where the part that wears was renewed
	measure.Value
}

// Question is what is asked about one length.
type Question struct {
	Readings   []Reading // in any order, of all series
	Series     int       // the series that it is in now
	Run        int       // the run that it is in now
	Now        float64   // hours of the pump now
	Grows      bool      // wear makes the length greater; else it makes it smaller
	Limit      float64   // it is past the limit when it is beyond it in the direction of wear
	Confidence float64   // of every interval, from 0.5 to 0.999
	Misread    float64   // the share of readings that are misread, from 0 to 0.5
}

// Bounds of a question.
const (
	mostReadings = 1000
	mostHours    = 1e8
	mostLength   = 1e9
	leastDoubt   = 1e-9 // of a reading
	mostUneven   = 1e4  // the greatest doubt of a reading in the least one
	// used is how many readings of the series count: the newest ones.
	used = 40
)

func (q Question) check() error {
	if len(q.Readings) > mostReadings {
		return fmt.Errorf("%d readings are more than the %d that are taken", len(q.Readings), mostReadings)
	}
	if !(q.Confidence >= 0.5 && q.Confidence <= 0.999) {
		return fmt.Errorf("confidence %g: give 0.5 to 0.999", q.Confidence)
	}
	if !(q.Misread >= 0 && q.Misread <= 0.5) {
		return fmt.Errorf("share of misread readings %g: give 0 to 0.5", q.Misread)
	}
	if !(math.Abs(q.Limit) <= mostLength) {
		return fmt.Errorf("limit %g: give a length of at most %g either way", q.Limit, mostLength)
	}
	if !(q.Now >= 0 && q.Now <= mostHours) {
		return fmt.Errorf("hours now %g: give 0 to %g", q.Now, mostHours)
	}
	for i, r := range q.Readings {
		if err := r.check(q.Now); err != nil {
			return fmt.Errorf("reading %d: %w", i+1, err)
		}
	}
	if err := q.checkDoubts(); err != nil {
		return err
	}
	return q.checkOrder()
}

func (r Reading) check(now float64) error {
	switch {
	case !(r.Hours >= 0 && r.Hours <= mostHours):
		return fmt.Errorf("hours %g: give 0 to %g", r.Hours, mostHours)
	case r.Hours > now:
		return fmt.Errorf("hours %g are after the hours now, %g", r.Hours, now)
	case !(math.Abs(r.Mean) <= mostLength):
		return fmt.Errorf("value %g: give a length of at most %g either way", r.Mean, mostLength)
	case !(r.U >= leastDoubt && r.U <= mostLength):
		return fmt.Errorf("uncertainty %g: give %g to %g", r.U, leastDoubt, mostLength)
	}
	return nil
}

// checkDoubts refuses readings of which some would weigh nothing beside others.
func (q Question) checkDoubts() error {
	if len(q.Readings) == 0 {
		return nil
	}
	least, most := q.Readings[0].U, q.Readings[0].U
	for _, r := range q.Readings {
		least, most = math.Min(least, r.U), math.Max(most, r.U)
	}
	if most > mostUneven*least {
		return fmt.Errorf("uncertainties from %g to %g: the greatest may be %g times the least", least, most, mostUneven)
	}
	return nil
}

// checkOrder refuses series, and runs of one series, that lie into each other, and what
// comes after the series and run of now.
func (q Question) checkOrder() error {
	type span struct {
		what        string
		series, run int
		from, to    float64
	}
	var spans []span
	for _, r := range q.Readings {
		at := slices.IndexFunc(spans, func(s span) bool { return s.series == r.Series && s.run == r.Run })
		if at < 0 {
			spans = append(spans, span{fmt.Sprintf("run %d of series %d", r.Run, r.Series), r.Series, r.Run, r.Hours, r.Hours})
			continue
		}
		spans[at].from, spans[at].to = math.Min(spans[at].from, r.Hours), math.Max(spans[at].to, r.Hours)
	}
	slices.SortFunc(spans, func(a, b span) int { return cmp.Or(cmp.Compare(a.from, b.from), cmp.Compare(a.to, b.to)) })
	left := map[int]bool{} // series that ended
	for i, s := range spans {
		if i > 0 {
			before := spans[i-1]
			if s.from < before.to {
				return fmt.Errorf("%s begins at hour %g, before %s ends at hour %g", s.what, s.from, before.what, before.to)
			}
			if before.series != s.series {
				left[before.series] = true
			}
		}
		if left[s.series] {
			return fmt.Errorf("series %d goes on at hour %g after another one began", s.series, s.from)
		}
	}
	for i, s := range spans {
		later := i < len(spans)-1
		if s.series == q.Series && later && spans[len(spans)-1].series != q.Series {
			return fmt.Errorf("series %d is the one now, but series %d has later readings", q.Series, spans[len(spans)-1].series)
		}
		if s.series == q.Series && s.run == q.Run && later {
			return fmt.Errorf("run %d is the one now, but run %d has later readings", q.Run, spans[len(spans)-1].run)
		}
	}
	return nil
}
