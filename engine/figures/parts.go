package figures

import (
	"telltale/engine/lives"
	"telltale/evidence"
	"telltale/rules"
)

// Part is what the record of changes of one kind of part shows. Rates are per
// 1000 hours.
type Part struct {
	Part     string    `json:"part"`
	Title    string    `json:"title"`
	Hours    float64   `json:"hours"`
	Changes  int       `json:"changes"`
	Together int       `json:"changed_together"`
	PerPlace []Rate    `json:"places"`
	Mean     Rate      `json:"mean"`
	Pump     Rate      `json:"pump"`
	Expected *float64  `json:"expected_life_h,omitempty"`
	Worst    *Worst    `json:"worst,omitempty"`
	Trend    PartTrend `json:"trend"`
}

// Rate is changes per 1000 hours with exact limits.
type Rate struct {
	Place   string  `json:"place"`
	Changes int     `json:"changes"`
	Per1000 float64 `json:"per_1000_h"`
	Low     float64 `json:"low"`
	High    float64 `json:"high"`
	// Often is the chance that the part is changed more than the rulebook's
	// times as often as expected, or as at the sister places; nil if nothing
	// can be said.
	Often *float64 `json:"chance_often,omitempty"`
}

// Worst says whether one place is worse than its sisters by more than luck.
type Worst struct {
	Places []string `json:"places"`
	P      float64  `json:"p"` // of so bad a worst place if all were alike; picking is in it
	Shown  bool     `json:"shown"`
	Fewest int      `json:"fewest_to_show"` // changes in all, all at one place
	More   int      `json:"more_needed"`
}

// PartTrend says whether the changes come faster or slower with the hours.
type PartTrend struct {
	Test     string   `json:"test"`
	Says     string   `json:"says"` // worse, better, none shown, too few
	P        float64  `json:"p"`
	Laplace  float64  `json:"laplace_u"`
	LaplaceP float64  `json:"laplace_p"`
	Shape    *float64 `json:"power_law_shape,omitempty"`
	// EndPer1000 is the power law's rate at the end of the record.
	EndPer1000 *float64 `json:"end_per_1000_h,omitempty"`
	EndLow     *float64 `json:"end_low,omitempty"`
	EndHigh    *float64 `json:"end_high,omitempty"`
}

const secondsPerHour = 3600

func (w *worker) parts() error {
	for i := range w.k.Measured.PartRecords {
		rec := &w.k.Measured.PartRecords[i]
		if err := w.part(rec); err != nil {
			return at(rec.Pos, err)
		}
	}
	return nil
}

func (w *worker) part(rec *evidence.PartRecord) error {
	life := w.book.Parts.Get(rec.Part)
	record, places := recordOf(rec, w.k.Pump.Places(life.Level))
	s, err := lives.Summarise(record, w.book.Readings.Confidence)
	if err != nil {
		return err
	}
	out := Part{
		Part: rec.Part, Title: life.Title, Hours: (rec.To.SI - rec.From.SI) / secondsPerHour, Changes: s.PartRate.Events, Together: s.Together,
		Mean: rate("", s.PartRate), Pump: rate("", s.PumpRate), Trend: trendOf(&s.Trend),
	}
	if rec.Expected != nil {
		hours := rec.Expected.SI / secondsPerHour
		out.Expected = &hours
	}
	if s.Worst != nil {
		out.Worst = &Worst{P: s.Worst.P, Shown: s.Worst.Shown, Fewest: s.Worst.FewestTotal, More: s.Worst.More, Places: []string{}}
		for _, c := range s.Worst.Cells {
			out.Worst.Places = append(out.Worst.Places, places[c].String())
		}
	}
	for i, p := range s.Cylinders {
		r := rate(p.Name, p.Rate)
		if r.Often, err = w.often(life, out.Expected, &s, i); err != nil {
			return err
		}
		out.PerPlace = append(out.PerPlace, r)
	}
	w.out.Parts = append(w.out.Parts, out)
	return nil
}

// recordOf lays the record over every place of the part's level, places
// without a change included.
func recordOf(rec *evidence.PartRecord, places []evidence.Place) (lives.Record, []evidence.Place) {
	out := lives.Record{Part: rec.Part}
	from, to := rec.From.SI/secondsPerHour, rec.To.SI/secondsPerHour
	for _, p := range places {
		c := lives.Cylinder{Name: p.String(), From: from, To: to}
		for _, r := range rec.Replaced {
			if r.Place == p {
				for _, q := range r.At {
					c.Replaced = append(c.Replaced, q.SI/secondsPerHour)
				}
			}
		}
		out.Cylinders = append(out.Cylinders, c)
	}
	return out, places
}

func rate(place string, r lives.Rate) Rate {
	return Rate{Place: place, Changes: r.Events, Per1000: 1000 * r.PerHour, Low: 1000 * r.Low, High: 1000 * r.High}
}

// often is the chance that a place uses up parts too fast: against the life
// that is expected if that is known, else against its sisters, and then only
// where the worst place is worse by more than luck.
func (w *worker) often(life *rules.Part, expected *float64, s *lives.Summary, i int) (*float64, error) {
	count := s.Cylinders[i].Rate.Count
	if expected != nil {
		test, err := lives.AgainstLife(count, *expected/life.Times, w.book.Readings.Confidence)
		return &test.Chance, err
	}
	if s.Worst == nil || !s.Worst.Shown {
		return nil, nil
	}
	sisters := lives.Count{Events: s.PartRate.Events - count.Events, Hours: s.PartRate.Hours - count.Hours}
	chance, err := lives.ChanceWorse(count, sisters, life.Times)
	return &chance, err
}

func trendOf(t *lives.Trend) PartTrend {
	out := PartTrend{Test: "chi-square of MIL-HDBK-189", P: t.P, Laplace: t.Laplace, LaplaceP: t.LaplaceP}
	switch t.Verdict {
	case lives.Worsening:
		out.Says = "worse"
	case lives.Improving:
		out.Says = "better"
	case lives.TooFew:
		out.Says = "too few"
	default:
		out.Says = "none shown"
	}
	if f := t.Fit; f != nil {
		end, low, high := 1000*f.EndPerHour, 1000*f.Low, 1000*f.High
		out.Shape, out.EndPer1000, out.EndLow, out.EndHigh = &f.Unbiased, &end, &low, &high
	}
	return out
}
