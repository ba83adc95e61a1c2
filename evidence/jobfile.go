package evidence

import (
	"regexp"
	"slices"
	"time"

	"telltale/evidence/source"
)

// Job is what a case of a rig says of itself: which pump, when, and at how many
// hours of its meter. The zero value: a case that stands alone.
type Job struct {
	Pump   string // name of the pump's file
	Date   time.Time
	Hours  *Quantity // as its meter showed; nil if nobody read it
	Closed time.Time // zero: it is open
	Found  string    // what was found, in the crew's own words
	// AfterChange: it was begun after what was changed on the pump that day.
	AfterChange bool
	Pos         source.Pos
}

// IsClosed says whether the job is over.
func (j *Job) IsClosed() bool { return !j.Closed.IsZero() }

// NewPart is a part that was put in new on a job.
type NewPart struct {
	Part      string
	Place     Place
	StillGood bool // the old one was still good
	Pos       source.Pos
}

// Shimmed is what was put under the lower guide of a cylinder on a job, in metres,
// less what was taken out.
type Shimmed struct {
	Place       Place
	Rear, Front float64
	Pos         source.Pos
}

// DateForm is how a date is written.
const DateForm = "2006-01-02"

// readDate reads a date; the zero time if there is none.
func (r *caseReader) readDate(n *source.Node, what string) time.Time {
	text := n.String(r.problems, what)
	if text == "" {
		return time.Time{}
	}
	t, err := time.Parse(DateForm, text)
	if err != nil {
		r.problems.Add(n.Pos, source.WrongForm, "%q is no date; expected %s", source.Clip(text), source.Want("year-month-day, like 2026-03-04"))
	}
	return t
}

// pumpName is what the file of a pump may be called, without its ending.
var pumpName = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,59}$`)

// IsPumpName says whether a pump's file may be called so, without its ending.
func IsPumpName(name string) bool { return pumpName.MatchString(name) }

// afterChange is the key of a job that was begun on the day of a change, behind it.
const afterChange = "after-change"

// readJob reads which pump a case is of, and when it was.
func (r *caseReader) readJob(n *source.Node) {
	if n == nil {
		return
	}
	o := n.Object(r.problems, "the job")
	j := Job{Pos: n.Pos}
	name := o.Need("pump")
	if j.Pump = name.String(r.problems, "the pump's file"); j.Pump != "" && !IsPumpName(j.Pump) {
		r.problems.Add(name.Pos, source.BadName, "%q is no name of a pump's file; expected %s", source.Clip(j.Pump), source.Want("small letters, figures and hyphens, like pump-2"))
		j.Pump = ""
	}
	j.Date = r.readDate(o.Need("date"), "the date of the job")
	j.Hours = r.meter(o.Get("hours"))
	j.AfterChange = o.Get(afterChange).Word(r.problems, "answer", []string{string(Yes), string(No)}) == string(Yes)
	j.Found = r.word(o.Get("found"), "found")
	closed := o.Get("closed")
	j.Closed = r.readDate(closed, "the date of closing")
	o.Close()
	if j.IsClosed() && j.Closed.Before(j.Date) {
		r.problems.Add(closed.Pos, source.OutOfOrder, "the job was closed on %s, before it was begun on %s", j.Closed.Format(DateForm), j.Date.Format(DateForm))
	}
	r.out.Job = j
}

// meter reads what an hour meter shows.
func (r *caseReader) meter(n *source.Node) *Quantity {
	q := r.anyQuantity(n, Duration)
	if q != nil && q.In("h") > mostHours {
		r.problems.Add(n.Pos, source.OutOfRange, "a meter cannot show %s; is the unit right?", q.Written)
		return nil
	}
	return q
}

// readChanged reads which parts were put in new on the job: a list of
// `- {part: piston, at: 2}`.
func (r *caseReader) readChanged(n *source.Node) {
	if j := &r.out.Job; n != nil && j.Hours == nil {
		r.problems.Add(n.Pos, source.NeedsOther, "a part that was put in new counts from the hours of the pump; expected %s", source.Want("job: with pump:, date: and hours:"))
	}
	for _, item := range r.lines(n, "changed", "- {part: piston, at: 2}") {
		o := item.Object(r.problems, "a changed part")
		name, at, good := o.Need("part"), o.Get("at"), o.Get("still-good")
		o.Close()
		if name == nil || !knownName(r, name, "part", r.words.Parts) {
			continue
		}
		word := r.words.Parts[name.Text]
		if word.Applies != nil && !word.Applies(&r.out.Pump) {
			r.problems.Add(name.Pos, source.DoesNotFit, "a %s pump has no %s", r.out.Pump.Action, name.Text)
			continue
		}
		still := good.Word(r.problems, "answer", []string{string(Yes), string(No)}) == string(Yes)
		where := []At{{ID: name.Text, Pos: item.Pos}}
		switch {
		case word.Level != OfPump && at == nil:
			r.problems.Add(item.Pos, source.Missing, "%s was put in new, but where? expected %s", name.Text, source.Want("at: with the cylinder, or all"))
			continue
		case word.Level != OfPump || at != nil:
			where = r.at(name, at, word.Level)
		}
		for _, w := range where {
			if slices.ContainsFunc(r.out.Changed, func(p NewPart) bool { return p.Part == w.ID && p.Place == w.Place }) {
				r.problems.Add(w.Pos, source.Twice, "%s%s stands twice here; keep one", w.ID, of(w.Place))
				continue
			}
			r.out.Changed = append(r.out.Changed, NewPart{Part: w.ID, Place: w.Place, StillGood: still, Pos: w.Pos})
		}
	}
}

// readShimmed reads what was put under the lower guides, or taken out: a list of
// `- {at: 2, put-in: 12 thou}`, with rear: and front: where they differ.
func (r *caseReader) readShimmed(n *source.Node) {
	for _, item := range r.lines(n, "shims", "- {at: 2, put-in: 12 thou}") {
		o := item.Object(r.problems, "a line of shims")
		at, in, out := o.Need("at"), o.Get("put-in"), o.Get("taken-out")
		o.Close()
		if at == nil {
			continue
		}
		place, ok := r.place(at)
		if !ok || !r.exact(at, place, OfCylinder) {
			continue
		}
		s := Shimmed{Place: place, Pos: item.Pos}
		r.pack(in, +1, &s)
		r.pack(out, -1, &s)
		if s.Rear == 0 && s.Front == 0 {
			r.problems.Add(item.Pos, source.Missing, "no shim here; expected %s", source.Want("put-in: or taken-out: with a thickness, or with rear: and front:"))
			continue
		}
		r.out.Shims = append(r.out.Shims, s)
	}
}

// pack reads a thickness for both ends of a guide, or one for each.
func (r *caseReader) pack(n *source.Node, sign float64, s *Shimmed) {
	if n == nil {
		return
	}
	rear, front := n, n
	if n.Kind == source.Mapping {
		o := n.Object(r.problems, "the shims")
		rear, front = o.Get("rear"), o.Get("front")
		o.Close()
	}
	for _, end := range []struct {
		n    *source.Node
		into *float64
	}{{rear, &s.Rear}, {front, &s.Front}} {
		if end.n == nil {
			continue
		}
		if q := r.anyQuantity(end.n, Length); q != nil && (q.SI == 0 || r.thin(end.n, *q)) {
			*end.into += sign * q.SI
		}
	}
}
