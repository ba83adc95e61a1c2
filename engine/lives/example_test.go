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

// The same parts at the two good cylinders, with what still runs: how long they last,
// how likely one of 450 h fails in the next 100, and whether one is best changed
// before it fails, if a failure costs four times as much.
func ExampleWeibull_ChangeAt() {
	all, _ := lives.Record{Places: []lives.Place{
		{To: 3100, Changed: []float64{0, 520, 1150, 1700, 2290}, Good: []float64{2290}},
		{To: 3100, Changed: []float64{0, 610, 1140, 1790, 2350, 2900}},
	}}.Lives() // a record that can be
	n := lives.CountOf(all)
	fmt.Printf("%d lives, %d failed, %d changed still good, %d still in\n", n.Lives, n.Failed, n.StillGood, n.StillIn)
	fit, _ := lives.Fit(all, 0.95) // a confidence below 1
	fmt.Printf("one in ten has failed by %.0f h (%.0f to %.0f)\n", fit.Tenth.Value, fit.Tenth.Low, *fit.Tenth.High)
	chance, _ := fit.Failing(450, 100)
	fmt.Printf("fails in the next 100 h: %.0f %% (%.0f to %.0f)\n", 100*chance.Value, 100*chance.Low, 100**chance.High)
	change, err := fit.ChangeAt(4)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %.0f h (%.0f to %.0f), saves %.0f %% (%.0f to %.0f)\n", change.Says, change.Age.Value, change.Age.Low, *change.Age.High,
		100*change.Saves.Value, 100*change.Saves.Low, 100**change.Saves.High)
	// Output:
	// 11 lives, 8 failed, 1 changed still good, 2 still in
	// one in ten has failed by 448 h (296 to 550)
	// fails in the next 100 h: 22 % (8 to 40)
	// change at this age: 417 h (327 to 497), saves 56 % (37 to 61)
}
