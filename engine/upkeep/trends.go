package upkeep

import (
	"cmp"
	"fmt"
	"slices"

	"telltale/engine/figures"
	"telltale/engine/measure"
	"telltale/engine/wear"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// Trend is how one measured length of one cylinder wears over the hours.
type Trend struct {
	ID      string         `json:"id"`
	Title   string         `json:"title"`
	Place   evidence.Place `json:"place"`
	Limit   float64        `json:"limit_metres"`
	LimitIs string         `json:"limit_is"` // the figure, and where it comes from
	// Readings are all that the jobs have, in order; those of the last series are
	// those that count.
	Readings []TrendReading `json:"readings"`
	Last     int            `json:"last_series"`
	Fit      wear.Trend     `json:"fit"`
	Days     Days           `json:"due_days"`
	// Room is when no more shims may be put under the guide; nil where shims do not
	// set it back, or nobody gave the figure of the manual.
	Room *Room        `json:"room,omitempty"`
	Band []wear.Point `json:"band,omitempty"`
}

// TrendReading is one reading of a trend.
type TrendReading struct {
	Job     string  `json:"job"`
	Date    string  `json:"date"`
	Hours   float64 `json:"hours"`
	Metres  float64 `json:"metres"`
	U       float64 `json:"standard_uncertainty_metres"`
	Run     int     `json:"run"`
	Series  int     `json:"series"`
	Again   bool    `json:"after_repair"`
	Misread float64 `json:"chance_misread"`
}

// Room is what shims lie under a guide already, and when no more may.
type Room struct {
	Most float64  `json:"most_metres"`
	Used float64  `json:"used_metres"`
	Due  wear.Due `json:"due"`
	Days Days     `json:"due_days"`
}

// trends fills in what wears, cylinder by cylinder.
func (r *Report) trends() error {
	values, err := r.values()
	if err != nil {
		return err
	}
	k := r.current()
	for _, t := range r.book.Trends.List {
		th := r.book.Thresholds.Get(t.Threshold)
		limit, known := th.Above.In(r.book, k)
		for _, place := range r.pump.Pump.Places(evidence.OfCylinder) {
			out := Trend{ID: t.ID, Title: t.Title, Place: place, Limit: limit}
			now := r.readings(t, th.Of, place, values, &out)
			if len(out.Readings) == 0 {
				continue
			}
			if !known {
				r.missing("%s of cylinder %s: no figure to hold it against; note it from the pump's manual (%s)", t.Title, place, th.Above.Limit)
				continue
			}
			figure, on := th.Above.Text(r.book, k, th.Basis)
			out.LimitIs, out.Limit = figure+" ("+on+")", limit
			if err := r.fit(t, &out, now); err != nil {
				return fmt.Errorf("%s: %s of cylinder %s: %w", r.pump.Path, t.Title, place, err)
			}
			r.Trends = append(r.Trends, out)
		}
	}
	return nil
}

func (r *Report) missing(format string, args ...any) {
	if text := fmt.Sprintf(format, args...); !slices.Contains(r.Missing, text) {
		r.Missing = append(r.Missing, text)
	}
}

// jobValues are the measured values of a job, before and after its repair.
type jobValues struct{ before, after []figures.Value }

// values works out what was measured on each job whose hours are known.
func (r *Report) values() (map[*evidence.Case]jobValues, error) {
	out := map[*evidence.Case]jobValues{}
	for _, k := range r.pump.Jobs {
		before, err := r.worked(k, k.Measured)
		if err != nil {
			return nil, err
		}
		after, err := r.worked(k, k.MeasuredAgain)
		if err != nil {
			return nil, err
		}
		if len(before)+len(after) == 0 {
			continue
		}
		if k.Job.Hours == nil {
			r.missing("%s has readings, but says no hours of the meter: they are in no trend", k.File)
			continue
		}
		out[k] = jobValues{before, after}
	}
	return out, nil
}

// worked are the values of a cylinder that some readings of a job come to.
func (r *Report) worked(k *evidence.Case, m evidence.Measured) ([]figures.Value, error) {
	if len(m.RodInOpening)+len(m.UpperGuide)+len(m.LinerBore) == 0 {
		return nil, nil
	}
	alone := *k
	// No shims on hand: none are to be chosen.
	alone.Measured = evidence.Measured{RodInOpening: m.RodInOpening, UpperGuide: m.UpperGuide, LinerBore: m.LinerBore, ShimsOnHandAt: source.Pos{Line: 1}}
	alone.Pump.Liner = nil // nothing is asked of what the pump delivers
	worked, err := figures.Work(r.book, &alone)
	if err != nil {
		return nil, err
	}
	return worked.Values, nil
}

// standing is how a length stands after the last job: which series and run it is in,
// and what shims lay under the guide at each reading and lie there now, in metres.
type standing struct {
	series, run int
	packs       []float64
	pack        float64
}

// readings gathers what was read of one length of a cylinder, in order.
func (r *Report) readings(t *rules.Trend, of rules.MeasuredValue, place evidence.Place, values map[*evidence.Case]jobValues, out *Trend) (now standing) {
	add := func(k *evidence.Case, hours float64, v measure.Value, again bool) {
		out.Readings = append(out.Readings, TrendReading{
			Job: k.File, Date: k.Job.Date.Format(evidence.DateForm), Hours: hours, Metres: v.Mean, U: v.U, Run: now.run, Series: now.series, Again: again,
		})
		now.packs = append(now.packs, now.pack)
	}
	for _, k := range r.pump.Jobs {
		hours, ok := r.hours(k)
		if !ok {
			continue
		}
		if v, read := worst(values[k].before, of, place); read {
			add(k, hours, v, false)
		}
		v, again := worst(values[k].after, of, place)
		shimmed := 0.0
		for _, s := range k.Shims {
			if t.Shims && s.Place == place {
				shimmed += (s.Rear + s.Front) / 2
			}
		}
		renewed := slices.ContainsFunc(k.Changed, func(p evidence.NewPart) bool {
			return slices.Contains(t.Parts, p.Part) && p.Place.Touches(place)
		})
		switch {
		case renewed:
			now.series, now.run, now.pack = now.series+1, 0, 0
		case shimmed != 0 || again:
			now.run++
		}
		now.pack += shimmed
		if again {
			add(k, hours, v, true)
		}
	}
	out.Last = now.series
	return now
}

// worst is the value of a cylinder that counts: the largest of those that were read.
func worst(values []figures.Value, of rules.MeasuredValue, place evidence.Place) (measure.Value, bool) {
	for _, v := range values {
		if v.ID == of && v.Place == place && len(v.Of) > 0 {
			return slices.MaxFunc(v.Of, func(a, b measure.Value) int { return cmp.Compare(a.Mean, b.Mean) }), true
		}
	}
	return measure.Value{}, false
}

// fit says how a length wears and when it reaches its limit.
func (r *Report) fit(t *rules.Trend, out *Trend, now standing) error {
	q := wear.Question{
		Series: now.series, Run: now.run, Now: r.AsOf.Hours, Grows: true, Limit: out.Limit,
		Confidence: r.book.Readings.Confidence, Misread: r.book.Readings.Misread,
	}
	for _, read := range out.Readings {
		q.Readings = append(q.Readings, wear.Reading{Hours: read.Hours, Run: read.Run, Series: read.Series, Value: measure.Value{Mean: read.Metres, U: read.U}})
	}
	var err error
	if out.Fit, err = wear.Fit(q); err != nil {
		return err
	}
	for i := range out.Readings {
		out.Readings[i].Misread = out.Fit.Misread[i]
	}
	out.Days = r.days(out.Fit.Due)
	if out.Band, err = r.band(out); err != nil {
		return err
	}
	if t.Room == "" {
		return nil
	}
	most, given := r.pump.Manual[t.Room]
	if !given {
		r.missing("when the room for shims ends: note the most that may lie under the guide from the pump's manual (%s)", t.Room)
		return nil
	}
	// What it is low by and what lies under it already wear on as one line.
	for i := range q.Readings {
		q.Readings[i].Mean += now.packs[i]
	}
	q.Limit = most.SI
	whole, err := wear.Fit(q)
	if err != nil {
		return err
	}
	out.Room = &Room{Most: most.SI, Used: now.pack, Due: whole.Due, Days: r.days(whole.Due)}
	return nil
}

// bandPoints is how many points a drawn band has.
const bandPoints = 40

// band is the length from the first reading of the run of now to when it is due, or as
// far again as the readings reach where nothing is due; none if it has no level.
func (r *Report) band(t *Trend) ([]wear.Point, error) {
	if t.Fit.Outcome != wear.Ahead && t.Fit.Outcome != wear.Past {
		return nil, nil
	}
	var first, last *TrendReading
	for i := range t.Readings {
		if read := &t.Readings[i]; read.Series == t.Last {
			if first == nil || first.Run != read.Run {
				first = read
			}
			last = read
		}
	}
	to := 2*r.AsOf.Hours - first.Hours
	for _, due := range []*float64{t.Fit.Due.To, t.Fit.Due.Middle} {
		if due != nil {
			to = min(max(*due, last.Hours), r.AsOf.Hours+2*(r.AsOf.Hours-t.Readings[0].Hours))
			break
		}
	}
	return t.Fit.Band(first.Hours, max(to, first.Hours), bandPoints)
}
