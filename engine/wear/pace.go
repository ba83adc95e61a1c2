package wear

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
)

// Meter is the meter of a pump, read on a date. Only the day of the date counts.
type Meter struct {
	Date  time.Time
	Hours float64
}

// Pace is how many hours a day a pump runs: what its meter came to on the newest date, and
// how uneven its days are.
type Pace struct {
	PerDay float64   // hours of the pump
	U      float64   // standard uncertainty of PerDay
	Uneven float64   // standard deviation of the hours of one day; those of d days have that times the root of d
	Free   int       // degrees of freedom of U and Uneven; 0 for many
	From   time.Time // date of the newest reading of the meter
	Hours  float64   // of the meter then
}

// Bounds of a pace.
const (
	// usedPeriods is how many periods between readings of the meter count: the newest ones.
	usedPeriods = 12
	mostDays    = 36525 // ahead; beyond is never
	dayHours    = 24
	dateDoubt   = 0.41 // days, of the time between two dates: root of 1/6, each is known to one day
)

// PaceOf fits the hours per day to the readings of one meter, in any order. The hours of
// days are taken as independent and alike, so that the hours of a period scatter with the
// root of its days: the line through 0 of hours over days, each period weighted by one
// over its days, has the slope
//
//	PerDay = sum of hours / sum of days
//
// and the scatter about it gives Uneven, by the periods less one degrees of freedom. Half
// a day at either end, which a date leaves open, is taken into account. A pump
// that works for weeks and stands for weeks, and whose meter is read more often than that,
// is less even than that: then the interval is too narrow.
//
// It is an error if there are fewer than three dates, if hours go back or grow by more
// than 24 in a day, or if a figure is no number. Of two readings of one date the greater
// counts.
func PaceOf(readings []Meter) (Pace, error) {
	days, err := periods(readings)
	if err != nil {
		return Pace{}, err
	}
	if len(days) < 3 {
		return Pace{}, fmt.Errorf("the meter was read on %d dates: a pace with its doubt needs 3", len(days))
	}
	days = days[max(0, len(days)-usedPeriods-1):]
	first, last := days[0], days[len(days)-1]
	total := daysBetween(first.Date, last.Date)
	p := Pace{PerDay: (last.Hours - first.Hours) / total, Free: len(days) - 2, From: last.Date, Hours: last.Hours}
	squares := 0.0
	for i, m := range days[1:] {
		d := daysBetween(days[i].Date, m.Date)
		off := m.Hours - days[i].Hours - p.PerDay*d
		squares += off * off / d
	}
	p.Uneven = math.Sqrt(squares / float64(p.Free))
	p.U = math.Hypot(p.Uneven/math.Sqrt(total), p.PerDay*dateDoubt/total)
	return p, nil
}

// periods puts readings of a meter in order, one for each date.
func periods(readings []Meter) ([]Meter, error) {
	if len(readings) > mostReadings {
		return nil, fmt.Errorf("%d readings of the meter are more than the %d that are taken", len(readings), mostReadings)
	}
	var out []Meter
	for _, m := range readings {
		if !(m.Hours >= 0 && m.Hours <= mostHours) {
			return nil, fmt.Errorf("meter on %s: %g hours: give 0 to %g", m.Date.Format(time.DateOnly), m.Hours, mostHours)
		}
		if m.Date.Year() < 1900 || m.Date.Year() > 2999 {
			return nil, fmt.Errorf("meter on %s: give a date from 1900 to 2999", m.Date.Format(time.DateOnly))
		}
		y, month, d := m.Date.Date()
		m.Date = time.Date(y, month, d, 0, 0, 0, 0, time.UTC)
		out = append(out, m)
	}
	slices.SortFunc(out, func(a, b Meter) int { return a.Date.Compare(b.Date) })
	kept := out[:0]
	for _, m := range out {
		n := len(kept)
		if n > 0 && kept[n-1].Date.Equal(m.Date) {
			kept[n-1].Hours = math.Max(kept[n-1].Hours, m.Hours)
			continue
		}
		kept = append(kept, m)
	}
	for i := 1; i < len(kept); i++ {
		a, b := kept[i-1], kept[i]
		on, before := b.Date.Format(time.DateOnly), a.Date.Format(time.DateOnly)
		switch grown := b.Hours - a.Hours; {
		case grown < 0:
			return nil, fmt.Errorf("meter on %s: %g hours are less than the %g on %s", on, b.Hours, a.Hours, before)
		case grown > dayHours*(daysBetween(a.Date, b.Date)+1):
			return nil, fmt.Errorf("meter on %s: %g hours are more than 24 a day since the %g on %s", on, b.Hours, a.Hours, before)
		}
	}
	return kept, nil
}

func daysBetween(a, b time.Time) float64 { return b.Sub(a).Hours() / dayHours }

// Dates is when something is due. Nil is never, as far as can be told.
type Dates struct {
	From   *time.Time `json:"from,omitempty"`
	Middle *time.Time `json:"middle,omitempty"`
	To     *time.Time `json:"to,omitempty"`
}

// Dates says on which dates the hours of a due come, at a confidence from 0.5 to 0.999.
// Hours that are past already are on the date of the newest reading of the meter.
//
// Where the hours are known, From equal to To, a date is before the true one with the
// chance by which the hours of the days up to it, with
//
//	variance = days Uneven^2 + days^2 U^2 + (PerDay dateDoubt)^2
//
// and Student's distribution, come short of them. Where they are not, what the doubt of
// the hours and the doubt of the pace each move the date by is added by squares, on either
// side by itself.
func (p Pace) Dates(due Due, confidence float64) (Dates, error) {
	if err := p.check(); err != nil {
		return Dates{}, err
	}
	if !(confidence >= 0.5 && confidence <= 0.999) {
		return Dates{}, fmt.Errorf("confidence %g: give 0.5 to 0.999", confidence)
	}
	for _, h := range []*float64{due.From, due.Middle, due.To} {
		if h != nil && !(math.Abs(*h) <= 1e12) {
			return Dates{}, fmt.Errorf("due at %g hours: give a number", *h)
		}
	}
	z := p.quantile((1 + confidence) / 2)
	var out Dates
	if due.Middle != nil {
		out.Middle = p.date(math.Round(p.days(*due.Middle, 0)))
	}
	out.From = p.date(math.Floor(p.end(due.From, due.Middle, z)))
	out.To = p.date(math.Ceil(p.end(due.To, due.Middle, -z)))
	return out, nil
}

func (p Pace) check() error {
	switch {
	case !(p.PerDay >= 0 && p.PerDay <= dayHours):
		return fmt.Errorf("%g hours a day: give 0 to 24", p.PerDay)
	case !(p.U >= 0 && p.U <= dayHours) || !(p.Uneven >= 0 && p.Uneven <= 1e6):
		return fmt.Errorf("uncertainty %g of the hours a day, %g of one day: give 0 to 24", p.U, p.Uneven)
	case p.Free < 0:
		return errors.New("degrees of freedom of a pace below 0")
	case !(p.Hours >= 0 && p.Hours <= mostHours):
		return fmt.Errorf("meter at %g hours: give 0 to %g", p.Hours, mostHours)
	}
	return nil
}

func (p Pace) quantile(q float64) float64 {
	if p.Free == 0 {
		return distuv.UnitNormal.Quantile(q)
	}
	return distuv.StudentsT{Sigma: 1, Nu: float64(p.Free)}.Quantile(q)
}

// end is one end of the interval in days: the hours at that end of theirs, and z of the
// doubt of the pace, faster where z is above 0.
func (p Pace) end(hours, middle *float64, z float64) float64 {
	if hours == nil {
		return math.Inf(1)
	}
	if middle == nil {
		return p.days(*hours, z)
	}
	at := p.days(*middle, 0)
	if math.IsInf(at, 1) { // the middle never comes
		return p.days(*hours, z)
	}
	return at + math.Copysign(math.Hypot(p.days(*hours, 0)-at, p.days(*middle, z)-at), -z)
}

// days are the days until the meter shows the hours, if it runs by z of its doubt faster.
// Infinite is never.
func (p Pace) days(hours, z float64) float64 {
	left := hours - p.Hours
	if left <= 0 {
		return 0
	}
	ran := func(days float64) float64 {
		doubt := math.Sqrt(days*p.Uneven*p.Uneven + days*days*p.U*p.U + p.PerDay*p.PerDay*dateDoubt*dateDoubt)
		return math.Min(dayHours*days, p.PerDay*days+z*doubt)
	}
	if ran(mostDays) < left {
		return math.Inf(1)
	}
	low, high := 0.0, float64(mostDays)
	for range 60 {
		if middle := low + (high-low)/2; ran(middle) < left {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}

// date is the date so many days on; nil if never.
func (p Pace) date(days float64) *time.Time {
	if !(days <= mostDays) {
		return nil
	}
	t := p.From.AddDate(0, 0, int(math.Max(0, days)))
	return &t
}
