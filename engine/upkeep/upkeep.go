package upkeep

import (
	"cmp"
	"path/filepath"
	"slices"
	"time"

	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/evidence/rig"
	"telltale/rules"
)

// Report is what is known of one pump over its hours. Lengths are in metres, hours
// are those of the pump's whole life.
type Report struct {
	Pump   string          `json:"pump"` // the name of its file
	Title  string          `json:"title"`
	File   string          `json:"file"`
	Action evidence.Action `json:"action"`
	// AsOf is the last reading of its hour meter; nil if nobody read it. The trends and
	// lives are told as of then.
	AsOf *Meter `json:"as_of,omitempty"`
	// PerDay is the hours that it runs a day; nil where the meter was read too seldom.
	PerDay   *PerDay   `json:"hours_a_day,omitempty"`
	Ahead    float64   `json:"hours_ahead"` // what is due within these is due soon
	Jobs     int       `json:"jobs"`
	Open     []OpenJob `json:"open_jobs"`
	Due      []Due     `json:"due"` // what is overdue first, then by the hours
	Trends   []Trend   `json:"trends"`
	Lives    []Life    `json:"lives"`
	Troubles []Trouble `json:"troubles"`    // the youngest first
	Again    []Again   `json:"comes_back"`  // the most often first
	Missing  []string  `json:"missing"`     // what could not be worked out, and what is wanted for it
	Past     int       `json:"past_upkeep"` // looks that fell due long ago and that nobody noted

	book *rules.Book
	pump *rig.Pump
	now  time.Time
}

// OpenJob is a job that is not closed, or is with something that stands open or locked by
// its file all the same.
type OpenJob struct {
	File     string              `json:"file"`
	Date     string              `json:"date"`
	Closed   string              `json:"closed,omitempty"`
	State    string              `json:"state"`
	Findings int                 `json:"findings"`
	Opened   []Named             `json:"open"`
	Owed     []Named             `json:"closed_again"` // that owes its way back to service
	Locks    []string            `json:"locks"`        // those that hang: who, and on what
	Left     []string            `json:"stays_open"`   // bleeds, drains and valves
	Proved   []Named             `json:"proved"`
	Stops    []string            `json:"stop"` // ids of the stop conditions that hold
	Wait     string              `json:"wait"` // how long it can wait; "" where it could not be weighed
	Likely   *Named              `json:"likely,omitempty"`
	Log      []evidence.LogEntry `json:"-"`
}

// Named is an entry of the rulebook at a place.
type Named struct {
	ID    string         `json:"id"`
	Title string         `json:"title"`
	Place evidence.Place `json:"place"`
}

// Options say what a report is asked for.
type Options struct {
	Now time.Time // the day of the report
	// Brief leaves out what takes long and what only the page of one pump shows: the
	// lives, and the trends of what has not come near its limit.
	Brief bool
	// CostRatio is how many times as much a failure costs as a planned change; 0: no
	// age to change is told.
	CostRatio float64
}

// Of works out the report of one pump.
func Of(book *rules.Book, pump *rig.Pump, o Options) (*Report, error) {
	r := &Report{
		Pump: pump.Name, Title: pump.Pump.Name, File: pump.Path, Action: pump.Pump.Action, Jobs: len(pump.Jobs), Ahead: book.Due.Ahead.In("h"),
		Open: []OpenJob{}, Due: []Due{}, Trends: []Trend{}, Lives: []Life{}, Troubles: []Trouble{}, Again: []Again{}, Missing: []string{},
		book: book, pump: pump, now: o.Now,
	}
	r.meter()
	r.open()
	r.aheadOfTheDay()
	if err := r.trends(); err != nil {
		return nil, err
	}
	if !o.Brief {
		if err := r.lives(o.CostRatio); err != nil {
			return nil, err
		}
	}
	r.troubles()
	r.due()
	return r, nil
}

// hours are the hours of the pump's life at a job; false if nobody read its meter.
func (r *Report) hours(k *evidence.Case) (float64, bool) {
	if k.Job.Hours == nil {
		return 0, false
	}
	return r.pump.Total(k.Job.Date, *k.Job.Hours) / 3600, true
}

// aheadOfTheDay says which jobs are dated after the day of the report: a date or the
// clock is wrong. They count all the same, in the order of their dates.
func (r *Report) aheadOfTheDay() {
	later := slices.DeleteFunc(slices.Clone(r.pump.Jobs), func(k *evidence.Case) bool { return !k.Job.Date.After(r.now) })
	if n := len(later); n > 0 {
		last := slices.MaxFunc(later, func(a, b *evidence.Case) int { return a.Job.Date.Compare(b.Job.Date) })
		r.missing("jobs dated after %s, the day of this report: %d, the last %s (%s); put right their dates, or the clock",
			r.now.Format(evidence.DateForm), n, filepath.Base(last.File), last.Job.Date.Format(evidence.DateForm))
	}
}

// Standing says whether by its file something stands open or locked, or is owed its way back.
func (j *OpenJob) Standing() bool { return len(j.Opened)+len(j.Owed)+len(j.Locks)+len(j.Left) > 0 }

// open fills in the jobs that are not over, the youngest first.
func (r *Report) open() {
	ranker := chances.NewRanker(r.book)
	for _, k := range slices.Backward(r.pump.Jobs) {
		if k.Job.IsClosed() && !k.LeftStanding() {
			continue
		}
		j := OpenJob{
			File: k.File, Date: k.Job.Date.Format(evidence.DateForm), State: string(k.Pump.State), Findings: len(k.Findings),
			Opened: []Named{}, Owed: []Named{}, Locks: []string{}, Left: []string{}, Proved: []Named{}, Stops: []string{}, Log: k.Log,
		}
		if k.Job.IsClosed() {
			j.Closed = k.Job.Closed.Format(evidence.DateForm)
		}
		for _, at := range k.Pump.Open {
			j.Opened = append(j.Opened, Named{at.ID, r.book.Openings.Get(at.ID).Title, at.Place})
		}
		for _, at := range k.Pump.ClosedAgain {
			j.Owed = append(j.Owed, Named{at.ID, r.book.Openings.Get(at.ID).Title, at.Place})
		}
		for _, o := range k.StillLeftOpen() {
			j.Left = append(j.Left, o.What)
		}
		for _, at := range k.Confirmed {
			j.Proved = append(j.Proved, r.named(at))
		}
		for _, l := range k.HangingLocks() {
			j.Locks = append(j.Locks, l.On+": "+l.By)
		}
		if ranked, err := ranker.Rank(k, leastLikely); err == nil || ranked != nil {
			j.Stops = ranked.Stop
			if ranked.Haste != nil {
				j.Wait = ranked.Haste.Verdict
			}
			if len(ranked.Causes) > 0 {
				c := ranked.Causes[0]
				j.Likely = &Named{c.Cause, r.book.Causes.Get(c.Cause).Title, c.Place}
			}
		}
		r.Open = append(r.Open, j)
	}
}

func (r *Report) named(at evidence.At) Named {
	return Named{at.ID, r.book.Causes.Get(at.ID).Title, at.Place}
}

// leastLikely is the chance from which the likeliest cause of an open job is named.
const leastLikely = 0.2

// current is the pump as a case, with the record of its parts up to the last reading
// of its meter: what is worked out of a case is worked out of it.
func (r *Report) current() *evidence.Case {
	p := r.pump.PumpFile
	k := &evidence.Case{File: r.pump.Path, Pump: p.Pump, Manual: p.Manual}
	k.Pump.State = evidence.Running
	if r.AsOf != nil {
		k.Measured.PartRecords = p.Records(r.AsOf.Hours*3600, r.book.Vocabulary())
	}
	return k
}

// Trouble is what a job found: a failure, and what brought it on.
type Trouble struct {
	Job    string   `json:"job"`
	Date   string   `json:"date"`
	Hours  *float64 `json:"hours,omitempty"`
	Failed Named    `json:"failed"`
	Roots  []Named  `json:"brought_on_by"`
	Closed bool     `json:"closed"`
	Judged bool     `json:"judged"` // no look proved it; the crew took it for that
}

// Again is a trouble that came back at the same place.
type Again struct {
	Named
	Times []string `json:"dates"`
	// Hours between one and the next; where nobody read the meter they are left out.
	Hours []float64 `json:"hours_between"`
	// Root is what was found to bring it on at last; nil: nobody found one.
	Root *Named `json:"root,omitempty"`
}

// troubles fills in what the jobs proved, and what was judged.
func (r *Report) troubles() {
	for _, k := range slices.Backward(r.pump.Jobs) {
		t := Trouble{Job: k.File, Date: k.Job.Date.Format(evidence.DateForm), Closed: k.Job.IsClosed()}
		if h, ok := r.hours(k); ok {
			t.Hours = &h
		}
		for _, f := range foundOn(r.book, k) {
			t.Failed, t.Roots = f.Named, f.Roots
			r.Troubles = append(r.Troubles, t)
		}
		t.Judged, t.Roots = true, []Named{}
		for _, t.Failed = range judgedOn(r.book, k) {
			r.Troubles = append(r.Troubles, t)
		}
	}
	r.again()
}

// again fills in what came back: the same failure at the same place, proved each time.
func (r *Report) again() {
	var order []Named
	found := map[Named][]Trouble{}
	for _, t := range slices.Backward(r.Troubles) {
		if t.Judged {
			continue
		}
		if found[t.Failed] == nil {
			order = append(order, t.Failed)
		}
		found[t.Failed] = append(found[t.Failed], t)
	}
	for _, name := range order {
		all := found[name]
		if len(all) < 2 {
			continue
		}
		a := Again{Named: name, Times: []string{}, Hours: []float64{}}
		for i, t := range all {
			a.Times = append(a.Times, t.Date)
			if i > 0 && t.Hours != nil && all[i-1].Hours != nil {
				a.Hours = append(a.Hours, *t.Hours-*all[i-1].Hours)
			}
			for _, root := range t.Roots {
				a.Root = &root
			}
		}
		r.Again = append(r.Again, a)
	}
	slices.SortStableFunc(r.Again, func(a, b Again) int { return cmp.Compare(len(b.Times), len(a.Times)) })
}
