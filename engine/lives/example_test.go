package lives_test

import (
	"fmt"

	"telltale/engine/lives"
)

// Pistons of three cylinders over 2200 pump hours, new at the start: at the
// second they last half as long as at its sisters, and all of them wear out.
func ExampleWorstOf() {
	record := lives.Record{Places: []lives.Place{
		{To: 2200, Changed: []float64{0, 520, 1150, 1700}},
		{To: 2200, Changed: []float64{0, 260, 540, 800, 1090, 1350, 1640, 1900}},
		{To: 2200, Changed: []float64{0, 610, 1140, 1790}},
	}}
	worst, err := lives.WorstOf(record, 0.95)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("worst: place %d, by more than luck: %t\n", worst.Places[0]+1, worst.Shown)

	all, _ := lives.Record{Places: record.Places[1:2]}.Lives() // was checked by WorstOf
	fit, _ := lives.Fit(all, 0.95)                             // cannot err: a confidence below 1
	fmt.Printf("wears out: %t, half have failed by %.0f h\n", fit.Ending() == lives.WearOut, fit.Median.Value)
	// Output:
	// worst: place 2, by more than luck: true
	// wears out: true, half have failed by 278 h
}
