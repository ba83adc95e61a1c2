package wear_test

import (
	"fmt"
	"time"

	"telltale/engine/measure"
	"telltale/engine/wear"
)

// A rod sinks in its opening; shims under the guide lifted it after hour 2100.
func ExampleFit() {
	const thou = 25.4e-6
	read := func(hours float64, run int, height float64) wear.Reading {
		return wear.Reading{Hours: hours, Run: run, Value: measure.Value{Mean: height * thou, U: 0.6 * thou}}
	}
	trend, err := wear.Fit(wear.Question{
		Readings: []wear.Reading{
			read(300, 0, -2), read(900, 0, -8.5), read(1500, 0, -14), read(2100, 0, -20.5),
			read(2150, 1, 1), read(2900, 1, -6), read(3500, 1, -12.5),
		},
		Run: 1, Now: 3600, Limit: -20 * thou, Confidence: 0.95, Misread: 0.05,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(trend.Outcome)
	fmt.Printf("wears %.0f to %.0f thou in 1000 h\n", trend.Rate.Low/thou, trend.Rate.High/thou)
	fmt.Printf("due from %.0f to %.0f h, most likely %.0f; read again by %.0f h\n", *trend.Due.From, *trend.Due.To, *trend.Due.Middle, *trend.Next)

	day := func(month, day int) time.Time { return time.Date(2026, time.Month(month), day, 0, 0, 0, 0, time.UTC) }
	pace, err := wear.PaceOf([]wear.Meter{{Date: day(1, 5), Hours: 2100}, {Date: day(2, 10), Hours: 2620}, {Date: day(3, 1), Hours: 2900}, {Date: day(4, 20), Hours: 3600}})
	if err != nil {
		fmt.Println(err)
		return
	}
	dates, err := pace.Dates(trend.Due, 0.95)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(dates.From.Format(time.DateOnly), "to", dates.To.Format(time.DateOnly))
	// Output:
	// ahead
	// wears 9 to 11 thou in 1000 h
	// due from 4136 to 4385 h, most likely 4253; read again by 4159 h
	// 2026-05-26 to 2026-06-16
}
