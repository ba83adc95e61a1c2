package upkeep

import (
	"cmp"
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

// meter fills in the last reading of the pump's meter, and how many hours it runs a
// day. The pump's file and its jobs both have readings.
func (r *Report) meter() {
	var all []wear.Meter
	add := func(day time.Time, shown evidence.Quantity) {
		all = append(all, wear.Meter{Date: day, Hours: r.pump.Total(day, shown) / 3600})
	}
	for _, m := range r.pump.Meter {
		add(m.Date, m.Hours)
	}
	for _, k := range r.pump.Jobs {
		if k.Job.Hours != nil {
			add(k.Job.Date, *k.Job.Hours)
		}
	}
	if len(all) == 0 {
		r.missing("nobody read the hour meter; note hours: in the pump's file or on a job")
		return
	}
	last := slices.MaxFunc(all, func(a, b wear.Meter) int { return cmp.Or(cmp.Compare(a.Hours, b.Hours), a.Date.Compare(b.Date)) })
	r.AsOf = &Meter{last.Date.Format(evidence.DateForm), last.Hours}
	pace, err := wear.PaceOf(all)
	if err != nil {
		r.missing("no dates are told: %s", err)
		return
	}
	r.PerDay = &PerDay{pace.PerDay, pace.U, pace}
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
