package upkeep

import (
	"cmp"
	"math"
	"slices"
	"time"

	"telltale/engine/wear"
	"telltale/evidence"
)

// Meter is what the hour meter comes to on a day, in hours of the pump's life.
type Meter struct {
	Date  string  `json:"date"`
	Hours float64 `json:"hours"`
}

// PerDay is how many hours the pump runs a day.
type PerDay struct {
	Hours float64 `json:"hours"`
	U     float64 `json:"standard_uncertainty"`
	pace  wear.Pace
}

// Days are the dates that go with hours to come; "" where they are not known or
// never come.
type Days struct {
	From   string `json:"from,omitempty"`
	Middle string `json:"middle,omitempty"`
	To     string `json:"to,omitempty"`
}

// shown is one reading of the hour meter, and where it stands.
type shown struct {
	wear.Meter
	file string
	own  bool // in the pump's own file
}

// meter fills in the last reading of the pump's meter, and how many hours it runs a
// day. The pump's file and its jobs both have readings; those of jobs that others speak
// against are left out, and named.
func (r *Report) meter() {
	var all []shown
	add := func(day time.Time, hours evidence.Quantity, file string, own bool) {
		all = append(all, shown{wear.Meter{Date: day, Hours: r.pump.Total(day, hours) / 3600}, file, own})
	}
	for _, m := range r.pump.Meter {
		add(m.Date, m.Hours, r.pump.Path, true)
	}
	for _, k := range r.pump.Jobs {
		if k.Job.Hours != nil {
			add(k.Job.Date, *k.Job.Hours, k.File, false)
		}
	}
	all = r.agreeing(all)
	if len(all) == 0 {
		r.missing("nobody read the hour meter; note hours: in the pump's file or on a job")
		return
	}
	var readings []wear.Meter
	for _, m := range all {
		readings = append(readings, m.Meter)
	}
	last := slices.MaxFunc(readings, func(a, b wear.Meter) int { return cmp.Or(cmp.Compare(a.Hours, b.Hours), a.Date.Compare(b.Date)) })
	r.AsOf = &Meter{last.Date.Format(evidence.DateForm), last.Hours}
	pace, err := wear.PaceOf(readings)
	if err != nil {
		r.missing("no dates are told: %s", err)
		return
	}
	r.PerDay = &PerDay{pace.PerDay, pace.U, pace}
}

// agreeing leaves out readings of jobs until none speaks against another: first those
// that the pump's own list speaks against, then those against which the most others do;
// of two alone nobody knows which is wrong, so both go.
func (r *Report) agreeing(all []shown) []shown {
	for {
		most, worst := 0, map[int]shown{}
		for i, m := range all {
			if m.own {
				continue
			}
			n, against := 0, shown{}
			for j, o := range all {
				if i == j || !contradict(m.Meter, o.Meter) {
					continue
				}
				n++
				if o.own {
					n += len(all)
				}
				if against.file == "" || o.own && !against.own {
					against = o
				}
			}
			if n > most {
				most, worst = n, map[int]shown{}
			}
			if n == most && n > 0 {
				worst[i] = against
			}
		}
		if most == 0 {
			return all
		}
		var kept []shown
		for i, m := range all {
			if o, out := worst[i]; out {
				r.missing("the meter of %s (%s: %.0f h) is not counted: it does not go with %s (%s: %.0f h); put right which is wrong",
					m.file, m.Date.Format(evidence.DateForm), m.Hours, o.file, o.Date.Format(evidence.DateForm), o.Hours)
				continue
			}
			kept = append(kept, m)
		}
		all = kept
	}
}

// contradict says whether a meter that is read twice would have gone back, or by more
// hours than there are. Of each date any hour of the day may be meant.
func contradict(a, b wear.Meter) bool {
	if a.Date.After(b.Date) {
		a, b = b, a
	}
	days := math.Round(b.Date.Sub(a.Date).Hours() / 24)
	return days > 0 && b.Hours < a.Hours || math.Abs(b.Hours-a.Hours) > 24*(days+1)
}

// days gives the dates of hours to come.
func (r *Report) days(due wear.Due) Days {
	if r.PerDay == nil {
		return Days{}
	}
	dates, err := r.PerDay.pace.Dates(due, r.book.Readings.Confidence)
	if err != nil {
		return Days{}
	}
	text := func(t *time.Time) string {
		if t == nil {
			return ""
		}
		return t.Format(evidence.DateForm)
	}
	return Days{text(dates.From), text(dates.Middle), text(dates.To)}
}
