package figures

import (
	"fmt"

	"telltale/engine/lives"
	"telltale/evidence"
	"telltale/rules"
)

// Part is what the record of changes of one kind of part shows.
type Part struct {
	Part     string       `json:"part"`
	Title    string       `json:"title"`
	Hours    float64      `json:"hours"`
	Changes  int          `json:"changes"` // a new part at the start of the record is none
	Together int          `json:"changed_together"`
	PerPlace []PlaceLives `json:"places"`
	Expected *float64     `json:"expected_life_h,omitempty"`
	Worst    *Worst       `json:"worst,omitempty"`
	// Ends are how the parts of a group of places end: all places, or the worst
	// place and the others apart if it is shown to be worse.
	Ends []PartEnd `json:"ends"`
	// Trend says whether parts last less or longer with the hours.
	Trend lives.Trend `json:"trend"`
}

// PlaceLives is how long parts lasted at one place, in hours.
type PlaceLives struct {
	Place    evidence.Place `json:"place"`
	Changes  int            `json:"changes"`
	Failed   int            `json:"failed"` // lives known from fitting to failure
	Shortest float64        `json:"shortest_h,omitempty"`
	Longest  float64        `json:"longest_h,omitempty"`
	Running  float64        `json:"running_h"` // of the part that is in; at least, if its fitting is not known
	Fitted   bool           `json:"fitting_known"`
	// Short is the chance that parts last too short here: less than the rulebook's
	// times below the expected life, or below the sisters; nil if nothing can be said.
	Short *float64 `json:"chance_short,omitempty"`
}

// Worst says whether parts last less at one place than at its sisters by more
// than luck.
type Worst struct {
	Places []evidence.Place `json:"places"`
	P      float64          `json:"p"` // of so bad a worst place if all were alike; picking is in it
	Shown  bool             `json:"shown"`
	Enough bool             `json:"enough"` // so many lives could show it
}

// PartEnd says how parts end: early, by chance or worn out.
type PartEnd struct {
	Places []evidence.Place `json:"places"` // empty: all
	Others bool             `json:"others"` // all but these places
	// Says is the id of the advice: parts-fail-early, parts-wear-out, parts-end-open (not
	// told from chance at any age) or too-few-lives.
	Says   string   `json:"says"`
	Title  string   `json:"title"`
	Do     []string `json:"do"`
	Failed int      `json:"failed"`
	Shape  *Limits  `json:"weibull_shape,omitempty"`
	Median *Limits  `json:"half_failed_h,omitempty"`
	Tenth  *Limits  `json:"one_in_ten_failed_h,omitempty"`
	// Fit is what they are read off; nil with too few failures.
	Fit *lives.Weibull `json:"-"`
}

// Limits is an estimate with its limits at the rulebook's confidence.
type Limits = lives.Estimate

const secondsPerHour = 3600

func (w *worker) parts() error {
	for i := range w.k.Measured.PartRecords {
		rec := &w.k.Measured.PartRecords[i]
		if err := w.part(rec); err != nil {
			return w.at(rec.Pos, fmt.Errorf("the record of %s: %w", rec.Part, err))
		}
	}
	return nil
}

func (w *worker) part(rec *evidence.PartRecord) error {
	part := w.book.Parts.Get(rec.Part)
	places := w.k.Pump.Places(part.Level)
	record := recordOf(rec, places)
	confidence := w.book.Readings.Confidence
	fitted, err := fittedOf(record, confidence)
	if err != nil {
		return err
	}
	all, worst := fitted.all, &fitted.worst
	out := Part{
		Part: rec.Part, Title: part.Title, Hours: (rec.To.SI - rec.From.SI) / secondsPerHour,
		Together: record.Together(), Trend: fitted.trend, Ends: w.endings(fitted, places),
	}
	if rec.Expected != nil {
		hours := rec.Expected.SI / secondsPerHour
		out.Expected = &hours
	}
	if len(places) > 1 {
		out.Worst = &Worst{P: worst.P, Shown: worst.Shown, Enough: worst.Least <= 1-confidence, Places: placesAt(worst.Places, places)}
	}
	for i, p := range places {
		at := placeLives(p, record.Places[i], all, i)
		if at.Short, err = w.short(part, out.Expected, worst, all, i); err != nil {
			return err
		}
		out.Changes += at.Changes
		out.PerPlace = append(out.PerPlace, at)
	}
	w.out.Parts = append(w.out.Parts, out)
	return nil
}

// recordOf lays the record over every place of the part's level, places
// without a change included.
func recordOf(rec *evidence.PartRecord, places []evidence.Place) lives.Record {
	var out lives.Record
	for _, p := range places {
		out.Places = append(out.Places, lives.Place{
			From: rec.From.SI / secondsPerHour, To: rec.To.SI / secondsPerHour,
			Changed: hoursAt(rec.Replaced, p), Good: hoursAt(rec.StillGood, p),
		})
	}
	return out
}

func hoursAt(changes []evidence.PartPlace, p evidence.Place) []float64 {
	var out []float64
	for _, r := range changes {
		if r.Place != p {
			continue
		}
		for _, q := range r.At {
			out = append(out, q.SI/secondsPerHour)
		}
	}
	return out
}

func placeLives(p evidence.Place, record lives.Place, all []lives.Life, at int) PlaceLives {
	out := PlaceLives{Place: p}
	for _, hour := range record.Changed {
		if hour > record.From {
			out.Changes++
		}
	}
	since := record.From
	for _, hour := range record.Changed {
		since = max(since, hour)
	}
	out.Fitted = len(record.Changed) > 0
	out.Running = record.To - since
	for _, l := range all {
		if l.Place != at || l.End != lives.Failed {
			continue
		}
		if out.Failed == 0 {
			out.Shortest = l.Hours
		}
		out.Failed++
		out.Shortest, out.Longest = min(out.Shortest, l.Hours), max(out.Longest, l.Hours)
	}
	return out
}

// short is the chance that parts last too short at a place: against the life
// that is expected if that is known, else against the sisters, and then only
// where the worst place is worse by more than luck. A part of which the book has
// no such sign is not asked.
func (w *worker) short(part *rules.Part, expected *float64, worst *lives.Worst, all []lives.Life, i int) (*float64, error) {
	if part.Sign == "" {
		return nil, nil
	}
	shapes := lives.Shapes{Least: w.book.Readings.LifeShapeLeast, Most: w.book.Readings.LifeShapeMost}
	if expected != nil {
		chance, err := lives.ChanceShorter(all, i, *expected/part.Times, shapes)
		return &chance, err
	}
	if !worst.Shown {
		return nil, nil
	}
	chance, err := lives.ChanceShorterThanSisters(all, i, part.Times, shapes)
	return &chance, err
}

// endings says how the parts end: at all places together, or at those that are shown to
// be worse and at the others apart, since lives that differ look as if they ended at any
// age.
func (w *worker) endings(f *fitted, places []evidence.Place) []PartEnd {
	var out []PartEnd
	apart := []evidence.Place{}
	for i, g := range f.groups {
		e := w.endOf(g.Lives, f.fits[i])
		if i < len(f.groups)-1 {
			e.Places = placesAt(g.Places, places)
			apart = append(apart, e.Places...)
		} else {
			e.Places, e.Others = apart, i > 0
		}
		out = append(out, e)
	}
	return out
}

func (w *worker) endOf(all []lives.Life, fit *lives.Weibull) PartEnd {
	a := w.advice(endingID(fit))
	out := PartEnd{Says: a.Code, Title: a.Title, Do: a.Do, Failed: lives.CountOf(all).Failed}
	if a.Code != string(tooFewLives) {
		out.Fit = fit
		out.Shape, out.Median, out.Tenth = &fit.Shape, &fit.Median, &fit.Tenth
	}
	return out
}

// The advice on how parts end.
const (
	failEarly   advice = "parts-fail-early"
	wearOut     advice = "parts-wear-out"
	endOpen     advice = "parts-end-open"
	tooFewLives advice = "too-few-lives"
)

func endingID(fit *lives.Weibull) advice {
	if fit == nil {
		return tooFewLives
	}
	switch fit.Ending() {
	case lives.TooFewFailed:
		return tooFewLives
	case lives.Early:
		return failEarly
	case lives.WearOut:
		return wearOut
	}
	return endOpen
}

func placesAt(indexes []int, places []evidence.Place) []evidence.Place {
	out := []evidence.Place{}
	for _, i := range indexes {
		out = append(out, places[i])
	}
	return out
}
