package upkeep

import (
	"cmp"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"time"

	"telltale/engine/wear"
	"telltale/evidence"
	"telltale/rules"
)

// DueKind is what falls due.
type DueKind string

// What falls due.
const (
	DueLook  DueKind = "look-again" // a repair that nobody looked at again
	DueAfter DueKind = "upkeep"     // a look of the rulebook after a repair
	DueLimit DueKind = "limit"      // a length reaches its limit
	DueRoom  DueKind = "room"       // no more shims may be put in
	DueRead  DueKind = "reading"    // a length is to be read
	DuePart  DueKind = "part"       // a part comes to the end of its life
	DueDated DueKind = "dated"      // something is good until a date
)

// Due is one thing that falls due on a pump.
type Due struct {
	Kind    DueKind        `json:"kind"`
	ID      string         `json:"id"` // of the rulebook; of a dated thing what it is
	Title   string         `json:"title"`
	Place   evidence.Place `json:"place"`
	Do      string         `json:"do"`
	Hours   wear.Due       `json:"due_hours"` // hours of the pump; one that is known well has Middle alone
	Days    Days           `json:"due_days"`
	Left    *float64       `json:"hours_left,omitempty"` // to Middle, else to From; below 0: overdue
	Overdue bool           `json:"overdue"`
	Because string         `json:"because"` // on what it rests
}

// due fills in what falls due.
func (r *Report) due() {
	r.dueAgain()
	r.dueAfter()
	for i := range r.Trends {
		r.dueTrend(&r.Trends[i])
	}
	for _, l := range r.Lives {
		r.dueParts(&l)
	}
	for _, d := range r.pump.Dated {
		date := d.Until.Format(evidence.DateForm)
		r.Due = append(r.Due, Due{
			Kind: DueDated, ID: d.What, Title: d.What, Do: "Have it tested, certified or changed as the site's plan says.",
			Days: Days{Middle: date}, Overdue: r.now.After(d.Until), Because: "good until " + date + " by " + filepath.Base(r.pump.Path),
		})
	}
	k := r.current()
	for i := range r.Due {
		r.Due[i].Do = r.book.Fill(k, r.Due[i].Do)
		r.finish(&r.Due[i])
	}
	slices.SortStableFunc(r.Due, func(a, b Due) int {
		if a.Overdue != b.Overdue {
			if a.Overdue {
				return -1
			}
			return 1
		}
		return cmp.Or(cmp.Compare(a.order(), b.order()), cmp.Compare(a.Title, b.Title), cmp.Compare(a.Place.String(), b.Place.String()))
	})
}

// Soon says whether it falls due within the hours that the rulebook looks ahead.
func (d *Due) Soon(r *Report) bool { return d.order() <= r.Ahead }

// order is the hours left; a thing with a date alone stands where its date does, and
// one that is never due last.
func (d *Due) order() float64 {
	if d.Left != nil {
		return *d.Left
	}
	return math.Inf(1)
}

// finish fills in what is left, and the dates.
func (r *Report) finish(d *Due) {
	at := cmp.Or(d.Hours.Middle, d.Hours.From)
	if at == nil {
		if until, err := time.Parse(evidence.DateForm, d.Days.Middle); err == nil && r.PerDay != nil {
			left := until.Sub(r.now).Hours() / 24 * r.PerDay.Hours
			d.Left = &left
		}
		return
	}
	if d.Days == (Days{}) {
		d.Days = r.days(d.Hours)
	}
	left := *at - r.AsOf.Hours
	d.Left, d.Overdue = &left, d.Overdue || left < 0
}

// dueAgain are the repairs of which nobody noted that they are right since.
func (r *Report) dueAgain() {
	for _, k := range r.pump.Jobs {
		hours, known := r.hours(k)
		for _, at := range k.Corrected {
			if slices.ContainsFunc(k.LookedAgain, func(l evidence.At) bool { return l.ID == at.ID && l.Place == at.Place }) {
				continue
			}
			c := r.book.Causes.Get(at.ID)
			d := Due{Kind: DueLook, ID: c.ID, Title: "Look again: " + c.Title, Place: at.Place, Do: c.LookAgain, Because: "corrected on " + r.jobName(k), Overdue: true}
			if known {
				d.Hours.Middle = &hours
			}
			r.Due = append(r.Due, d)
		}
	}
}

func (r *Report) jobName(k *evidence.Case) string { return filepath.Base(k.File) }

// repaired is the last time that something was done at a place after which a look
// falls due.
type repaired struct {
	hours float64
	job   *evidence.Case
}

// dueAfter are the looks of the rulebook after a repair.
func (r *Report) dueAfter() {
	for _, u := range r.book.Upkeep.List {
		for _, place := range r.pump.Pump.Places(u.Level) {
			last, done := r.lastRepair(u, place)
			if last == nil || done {
				continue
			}
			at := last.hours + u.After.In("h")
			if r.AsOf != nil && r.AsOf.Hours-at > r.book.Due.Ahead.In("h") {
				r.Past++
				continue
			}
			r.Due = append(r.Due, Due{
				Kind: DueAfter, ID: u.ID, Title: u.Title, Place: place, Do: u.Do, Hours: wear.Due{Middle: &at},
				Because: fmt.Sprintf("%s after %s", u.After.Written, r.jobName(last.job)),
			})
		}
	}
}

// lastRepair is the last repair at a place after which a look falls due, and whether
// it was made since.
func (r *Report) lastRepair(u *rules.Upkeep, place evidence.Place) (last *repaired, done bool) {
	for _, k := range r.pump.Jobs {
		if slices.ContainsFunc(k.UpkeepDone, func(at evidence.At) bool { return at.ID == u.ID && at.Place == place }) {
			done = true
		}
		hours, known := r.hours(k)
		if known && asksFor(u, k, place) {
			last, done = &repaired{hours, k}, false
		}
	}
	return last, done
}

// asksFor says whether what was done on a job asks for a look at a place.
func asksFor(u *rules.Upkeep, k *evidence.Case, place evidence.Place) bool {
	return slices.ContainsFunc(k.Corrected, func(at evidence.At) bool { return slices.Contains(u.Corrected, at.ID) && at.Place.Touches(place) }) ||
		slices.ContainsFunc(k.Changed, func(p evidence.NewPart) bool { return slices.Contains(u.Changed, p.Part) && p.Place.Touches(place) }) ||
		u.Shimmed && slices.ContainsFunc(k.Shims, func(s evidence.Shimmed) bool { return s.Place == place })
}

// dueTrend is when a length reaches its limit, when it is to be read, and when no
// more shims may be put in.
func (r *Report) dueTrend(t *Trend) {
	switch t.Fit.Outcome {
	case wear.Ahead, wear.Past:
		if t.Fit.Due.From != nil {
			d := Due{Kind: DueLimit, ID: t.ID, Title: t.Title + " reaches " + t.LimitIs, Place: t.Place, Hours: t.Fit.Due, Because: fmt.Sprintf("%d readings", t.counted())}
			d.Overdue = t.Fit.Outcome == wear.Past
			r.Due = append(r.Due, d)
		}
	}
	if t.Fit.Next != nil {
		r.Due = append(r.Due, Due{Kind: DueRead, ID: t.ID, Title: "Read: " + t.Title, Place: t.Place, Hours: wear.Due{Middle: t.Fit.Next}, Because: r.whyRead(t)})
	}
	if t.Room != nil && t.Room.Due.From != nil {
		r.Due = append(r.Due, Due{Kind: DueRoom, ID: t.ID, Title: "No more shims may go under the guide", Place: t.Place, Hours: t.Room.Due, Because: fmt.Sprintf("%d readings, and what lies under it", t.counted())})
	}
}

// counted is how many readings of a trend count.
func (t *Trend) counted() int {
	n := 0
	for _, read := range t.Readings {
		if read.Series == t.Last {
			n++
		}
	}
	return n
}

func (r *Report) whyRead(t *Trend) string {
	switch t.Fit.Outcome {
	case wear.TooFew:
		return "too few readings to tell how it wears"
	case wear.NotMeasured:
		return "not read since the last repair"
	}
	return "so that the forecast stays near enough"
}

// dueParts are the parts near the end of their lives.
func (r *Report) dueParts(l *Life) {
	for _, in := range l.InNow {
		if in.DueAge == nil || r.AsOf == nil {
			continue
		}
		fitted := r.AsOf.Hours - in.Age
		at, from := fitted+in.DueAge.Value, fitted+in.DueAge.Low
		d := Due{
			Kind: DuePart, ID: l.Part.Part, Title: l.Title, Place: in.Place, Hours: wear.Due{From: &from, Middle: &at},
			Because: fmt.Sprintf("%d failed lives; by this age %.0f in 100 have failed", failed(l), 100*r.book.Due.PartShare),
		}
		if in.DueAge.High != nil {
			to := fitted + *in.DueAge.High
			d.Hours.To = &to
		}
		r.Due = append(r.Due, d)
	}
}

func failed(l *Life) int {
	n := 0
	for _, p := range l.PerPlace {
		n += p.Failed
	}
	return n
}
