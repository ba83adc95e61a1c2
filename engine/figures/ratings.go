package figures

import (
	"math"
	"strings"

	"telltale/engine/measure"
	"telltale/evidence"
	"telltale/rules"
)

// Rating is a figure of the pump beside the limit that it is held against.
type Rating struct {
	Rating     string `json:"rating"`
	Title      string `json:"title"` // what the figure is: "Discharge pressure"
	Limit      string `json:"limit"`
	LimitTitle string `json:"limit_title"`
	Least      bool   `json:"least"` // the limit is the least; else the most
	Stand      Stand  `json:"stand"`
	// RunsAt and Rated are the two figures in both systems of units; RunsAt is
	// empty when the figure is not known.
	RunsAt string  `json:"runs_at,omitempty"`
	Rated  string  `json:"rated"`
	Value  float64 `json:"value_si"`
	U      float64 `json:"u_si"` // standard uncertainty of Value
	Figure float64 `json:"limit_si"`
	// Chance is that of being past the limit, by what the figure may be off.
	Chance float64 `json:"chance_past"`
	Why    string  `json:"why_not_known,omitempty"`
}

// Stand is where a figure stands against its limit.
type Stand string

// The stands. Past: the figure is beyond its limit. Near: it keeps it, but by
// less than it may be off.
const (
	Past     Stand = "past"
	Near     Stand = "near"
	Inside   Stand = "inside"
	NotKnown Stand = "not-known"
)

// Ratings compares every figure of the pump that has a limit with it, in the
// order of the book. pump is what its size came to, nil if it could not be
// worked out: what needs no size is compared all the same.
func Ratings(book *rules.Book, k *evidence.Case, pump *Pump) []Rating {
	out := []Rating{}
	c := comparer{book: book, k: k, pump: pump}
	for _, r := range book.Ratings.List {
		limit := book.LimitFor(r.Limit, k)
		if limit == nil || !r.When.HoldsForPump(&k.Pump) {
			continue
		}
		if r.OfLimit != "" && book.LimitFor(r.OfLimit, k) == nil {
			continue // nothing is set, so nothing is set wrong
		}
		out = append(out, c.compare(r, limit))
	}
	return out
}

type comparer struct {
	book *rules.Book
	k    *evidence.Case
	pump *Pump
}

func (c *comparer) compare(r *rules.Rating, limit *evidence.Quantity) Rating {
	out := Rating{
		Rating: r.ID, Title: r.Title, Limit: r.Limit, LimitTitle: c.book.Limits.Get(r.Limit).Title, Least: r.Least,
		Stand: NotKnown, Rated: limit.String(), Figure: limit.SI,
	}
	f := c.figure(r)
	if f.lacks != "" {
		out.Why = f.lacks
		return out
	}
	v := f.value(r.Doubt)
	out.Value, out.U = v.Mean, v.U
	limits := measure.Limits{Most: &limit.SI}
	if r.Least {
		limits = measure.Limits{Least: &limit.SI}
	}
	verdict, err := measure.Judge(v, limits, c.book.Readings.Guard)
	if err != nil {
		out.Why = err.Error()
		return out
	}
	out.Chance = verdict.Above + verdict.Below
	out.Stand = standOf(verdict.Stand)
	out.RunsAt = f.text(limit)
	return out
}

// standOf counts the better estimate: beyond the limit is past, even where it
// is beyond by less than it may be off.
func standOf(s measure.Stand) Stand {
	switch s {
	case measure.Inside:
		return Inside
	case measure.DoubtInside:
		return Near
	}
	return Past
}

// figure is one figure of the pump with what it was made from.
type figure struct {
	si      float64
	written *evidence.Quantity   // as it was typed; nil: reckoned
	from    []*evidence.Quantity // typed quantities whose digits bound it, each in the first power
	read    bool                 // a gauge or a count is in it
	lacks   string               // what is missing
}

// figure finds the figure of a rating.
func (c *comparer) figure(r *rules.Rating) figure {
	p := &c.k.Pump
	if r.OfLimit != "" {
		q := c.book.LimitFor(r.OfLimit, c.k)
		return figure{si: q.SI, written: q}
	}
	switch {
	case r.Of == rules.Discharge && p.Discharge != nil:
		return typed(p.Discharge)
	case r.Of == rules.Speed && p.Speed != nil:
		return typed(p.Speed)
	case r.Of == rules.ChargePressure && c.k.Measured.Suction != nil && c.k.Measured.Suction.ChargePressure != nil:
		return typed(c.k.Measured.Suction.ChargePressure)
	case r.Of == rules.RodLoad && c.pump != nil && c.pump.Push != nil:
		return figure{si: math.Max(*c.pump.Push, *c.pump.Pull), from: []*evidence.Quantity{p.Discharge}, read: true}
	case r.Of == rules.HydraulicPower && c.pump != nil && c.pump.Power != nil:
		return figure{si: *c.pump.Power, from: []*evidence.Quantity{p.Discharge, p.Speed}, read: true}
	}
	return figure{lacks: c.lacks(r.Of)}
}

// typed is a figure that stands in the case as it was read.
func typed(q *evidence.Quantity) figure {
	return figure{si: q.SI, written: q, from: []*evidence.Quantity{q}, read: true}
}

// lacks says what the case must give for a figure.
func (c *comparer) lacks(of rules.RunningValue) string {
	if of == rules.ChargePressure {
		return "give under suction-line: charge-pressure"
	}
	p := &c.k.Pump
	size := of == rules.RodLoad || of == rules.HydraulicPower
	var out []string
	for _, wanted := range []struct {
		name  string
		given bool
	}{
		{"discharge", p.Discharge != nil || of == rules.Speed}, {"speed", p.Speed != nil || of == rules.RodLoad || of == rules.Discharge},
		{"liner", p.Liner != nil || !size}, {"stroke", p.Stroke != nil || !size}, {"piston-rod", p.PistonRod != nil || !size || p.Action != evidence.Duplex},
	} {
		if !wanted.given {
			out = append(out, wanted.name)
		}
	}
	if len(out) == 0 {
		return "see that the pump's sizes are right"
	}
	return "give under pump: " + strings.Join(out, ", ")
}

// value is the figure with its uncertainty: what a reading may be off by the
// rulebook's doubt (a half-width, as a share), and half of the last digit as
// typed, combined by squares. A setting is taken as it is named.
func (f figure) value(doubt float64) measure.Value {
	v := measure.Value{Mean: f.si}
	if !f.read {
		return v
	}
	relative := doubt / math.Sqrt(3)
	for _, q := range f.from {
		relative = math.Hypot(relative, q.LastDigit()/2/math.Sqrt(3)/q.SI)
	}
	v.U = relative * f.si
	return v
}

// Digits of a reckoned figure: three are known, more are printed only where the
// figure could else not be told from its limit.
const (
	usualDigits = 3
	mostDigits  = 7
)

// text says the figure, in both systems.
func (f figure) text(limit *evidence.Quantity) string {
	if f.written != nil {
		return f.written.String()
	}
	for digits := usualDigits; ; digits++ {
		q := limit.Beside(f.si, digits)
		if digits == mostDigits || q.Written != limit.Beside(limit.SI, digits).Written {
			return q.String()
		}
	}
}
