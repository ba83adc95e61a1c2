package figures

import (
	"math"

	"telltale/engine/measure"
	"telltale/evidence"
	"telltale/rules"
)

// BeforeAndNow is what the gauges say now beside what they said before the trouble.
type BeforeAndNow struct {
	SameStrokes bool `json:"same_strokes"`
	// Pressure is beside what the strokes alone make of the pressure before; Strokes
	// are only held against each other at the same setting of the drive, charge
	// pressure and load at the same strokes.
	Pressure *Change   `json:"pressure,omitempty"`
	Exponent *Exponent `json:"exponent,omitempty"` // nil at the same strokes
	Charge   *Change   `json:"charge_pressure,omitempty"`
	Strokes  *Change   `json:"strokes,omitempty"`
	Load     *Change   `json:"load,omitempty"`
	// Followed is the change of the load over that of the pressure: 1 if it went
	// with it, 0 if it stayed. Nil where the pressure did not plainly change.
	Followed *Share `json:"load_followed,omitempty"`
}

// Share is a share with its standard uncertainty.
type Share struct {
	Mean float64 `json:"share"`
	U    float64 `json:"u"`
	// NotKnown: the readings tell nothing; it is not weighed.
	NotKnown bool `json:"not_known,omitempty"`
}

// Change is a figure now beside what it was, or would have to be.
type Change struct {
	Before string `json:"before"` // as it was read
	Now    string `json:"now"`
	// Expected is what the strokes alone would make of it, in the unit of Before;
	// "" at the same strokes.
	Expected string `json:"expected,omitempty"`
	// By is the share over that, below zero under it.
	By Share `json:"by"`
}

// Exponent is how the pressure goes with the strokes: as their power.
type Exponent struct {
	Least float64 `json:"least"` // of a range that it lies in evenly, else one U either way
	Most  float64 `json:"most"`
	// Fitted: it comes from two readings of this rig; else from the rulebook, from
	// what is known of Mud or, where that is "", from all its muds.
	Fitted bool   `json:"fitted"`
	Mud    string `json:"mud,omitempty"` // title
}

func (w *worker) beforeAndNow() {
	b := w.k.Measured.BeforeAndNow
	if b == nil {
		return
	}
	out := &BeforeAndNow{}
	w.out.BeforeAndNow = out
	if b.SameSetting && b.Before.Speed != nil && b.Now.Speed != nil {
		out.Strokes = w.ratio(b.Before.Speed, b.Now.Speed, w.count)
		w.share(rules.StrokesUnderBy, b, out.Strokes.By, -1)
	}
	if b.Before.Speed == nil || b.Now.Speed == nil {
		w.missing("the gauges now can only be held against those before with the strokes of both; give speed: in before: and now:")
		return
	}
	out.SameStrokes = math.Abs(b.Now.Speed.SI/b.Before.Speed.SI-1) <= w.book.Readings.SameStrokes
	w.pressure(b, out)
	w.charge(b, out)
	w.load(b, out)
}

// gauge is a reading of a gauge with its uncertainty: what the rulebook says that
// it may be off, and half of the last digit as typed.
func (w *worker) gauge(q *evidence.Quantity) measure.Value {
	return measure.FromHalfWidth(q.SI, math.Hypot(w.book.Readings.GaugeDoubt*q.SI, q.LastDigit()/2))
}

// count is strokes per minute, which are counted: half of the last digit.
func (w *worker) count(q *evidence.Quantity) measure.Value {
	return measure.FromHalfWidth(q.SI, q.LastDigit()/2)
}

// ratio is a figure now over the same before, less one.
func (w *worker) ratio(before, now *evidence.Quantity, value func(*evidence.Quantity) measure.Value) *Change {
	by := measure.Through(func(x []float64) float64 { return x[1]/x[0] - 1 }, value(before), value(now))
	return &Change{Before: before.String(), Now: now.String(), By: w.by(by)}
}

// by is a figure over another, less one; not known where the ratio is lost in its doubt.
func (w *worker) by(v measure.Value) Share {
	return Share{v.Mean, v.U, w.lost(measure.Value{Mean: 1 + v.Mean, U: v.U})}
}

// share makes a measured value of a change: over what it was with sign 1, under it
// with -1.
func (w *worker) share(id rules.MeasuredValue, b *evidence.BeforeAndNow, by Share, sign float64) {
	if by.NotKnown {
		return
	}
	w.value(id, evidence.Place{}, b.Pos, measure.Value{Mean: sign * by.Mean, U: by.U})
}

// inputs are the independent readings that a figure is made of.
type inputs struct{ of []measure.Value }

func (in *inputs) add(v measure.Value) int {
	in.of = append(in.of, v)
	return len(in.of) - 1
}

// pressure holds the pressure now against P (N/N0)^n, with P and N0 from before: at
// the same mud and depth the pressure goes as a power of the flow, and the flow as
// the strokes. The exponent n is that of two readings of this rig, ln(P1/P2) /
// ln(N1/N2), or lies evenly in a range of the rulebook, whichever is known better.
// One of the two readings may be that of before, and is then one reading.
func (w *worker) pressure(b *evidence.BeforeAndNow, out *BeforeAndNow) {
	if b.Before.Discharge == nil || b.Now.Discharge == nil {
		return
	}
	in := &inputs{}
	p0, n0 := in.add(w.gauge(b.Before.Discharge)), in.add(w.count(b.Before.Speed))
	p, n := in.add(w.gauge(b.Now.Discharge)), in.add(w.count(b.Now.Speed))
	exponent, power := w.exponent(b, in, p0, n0)
	out.Pressure = &Change{Before: b.Before.Discharge.String(), Now: b.Now.Discharge.String()}
	if exponent == nil {
		if !out.SameStrokes {
			w.missing("the pressure at other strokes cannot be told: the rulebook has no muds; read it at the strokes of before")
			out.Pressure = nil
			return
		}
		power = func([]float64) float64 { return 1 }
	}
	expected := func(x []float64) float64 { return x[p0] * math.Pow(x[n]/x[n0], power(x)) }
	by := measure.Through(func(x []float64) float64 { return x[p]/expected(x) - 1 }, in.of...)
	out.Pressure.By = w.by(by)
	if !out.SameStrokes {
		out.Exponent = exponent
		out.Pressure.Expected = b.Before.Discharge.Beside(measure.Through(expected, in.of...).Mean, usualDigits).String()
	}
	w.share(rules.PressureUnderBy, b, out.Pressure.By, -1)
	w.share(rules.PressureOverBy, b, out.Pressure.By, 1)
}

// ratesTooNear is said of two readings whose difference is lost in their doubt.
const ratesTooNear = "the strokes of two-rates are too near each other to tell more than the rulebook does"

// exponent adds what the exponent is made of to the inputs and gives it; nil if
// nothing is known of it.
func (w *worker) exponent(b *evidence.BeforeAndNow, in *inputs, p0, n0 int) (*Exponent, func([]float64) float64) {
	from := w.fromBook(b)
	if len(b.TwoRates) == 2 {
		var at [2][2]int
		was := len(in.of)
		for i, g := range b.TwoRates {
			if at[i] = [2]int{p0, n0}; !b.Same(g) {
				at[i] = [2]int{in.add(w.gauge(g.Discharge)), in.add(w.count(g.Speed))}
			}
		}
		power := func(x []float64) float64 {
			return math.Log(x[at[0][0]]/x[at[1][0]]) / math.Log(x[at[0][1]]/x[at[1][1]])
		}
		fit := measure.Through(power, in.of...)
		switch k := w.book.Readings.Significant; {
		case from == nil && fit.U < 1:
			return &Exponent{Least: fit.Mean - fit.U, Most: fit.Mean + fit.U, Fitted: true}, power
		case from == nil:
			w.missing(ratesTooNear)
		case fit.Mean+k*fit.U < from.Least || fit.Mean-k*fit.U > from.Most:
			w.missing("two-rates give an exponent of %.2f, which no mud has (%.2g to %.2g); read both again at the same mud and depth", fit.Mean, from.Least, from.Most)
		case fit.U < measure.FromRange(from.Least, from.Most).U:
			return &Exponent{Least: fit.Mean - fit.U, Most: fit.Mean + fit.U, Fitted: true}, power
		default:
			w.missing(ratesTooNear)
		}
		in.of = in.of[:was]
	}
	if from == nil {
		return nil, nil
	}
	e := in.add(measure.FromRange(from.Least, from.Most))
	return from, func(x []float64) float64 { return x[e] }
}

// fromBook is what the rulebook knows of the exponent: of the mud that the case
// names, else of all muds; nil if it has none.
func (w *worker) fromBook(b *evidence.BeforeAndNow) *Exponent {
	if mud := w.book.Muds.Get(b.Mud); mud != nil {
		return &Exponent{Least: mud.Least, Most: mud.Most, Mud: mud.Title}
	}
	var out *Exponent
	for _, mud := range w.book.Muds.List {
		if out == nil {
			out = &Exponent{Least: mud.Least, Most: mud.Most}
		}
		out.Least, out.Most = min(out.Least, mud.Least), max(out.Most, mud.Most)
	}
	return out
}

// charge holds the charge pressure against that before, at the same strokes: no
// power tells what other strokes make of it.
func (w *worker) charge(b *evidence.BeforeAndNow, out *BeforeAndNow) {
	before, now := b.Before.ChargePressure, b.Now.ChargePressure
	switch {
	case before == nil || now == nil:
	case !out.SameStrokes:
		w.missing("the charge pressure at other strokes tells nothing; read it at the strokes of before")
	default:
		out.Charge = w.ratio(before, now, w.gauge)
		w.share(rules.ChargeUnderBy, b, out.Charge.By, -1)
		w.share(rules.ChargeOverBy, b, out.Charge.By, 1)
	}
}

// load holds the load of the drive against the pressure, at the same strokes: where
// the pressure plainly changed, by how much of that the load did; else whether the
// load is over what goes with the pressure. The idle part of the load is left out.
func (w *worker) load(b *evidence.BeforeAndNow, out *BeforeAndNow) {
	l0, l := b.Before.Load, b.Now.Load
	switch {
	case l0 == nil || l == nil:
		return
	case !out.SameStrokes || out.Pressure == nil:
		w.missing("the drive load is only held against the pressure at the same strokes; read both at the strokes of before")
		return
	}
	out.Load = w.ratio(l0, l, w.gauge)
	of := []measure.Value{w.gauge(b.Before.Discharge), w.gauge(b.Now.Discharge), w.gauge(l0), w.gauge(l)}
	change := w.ratio(b.Before.Discharge, b.Now.Discharge, w.gauge).By
	if v := (measure.Value{Mean: change.Mean, U: change.U}); v.Differs(w.book.Readings.Significant) {
		followed := measure.Through(func(x []float64) float64 { return (x[3]/x[2] - 1) / (x[1]/x[0] - 1) }, of...)
		out.Followed = &Share{followed.Mean, followed.U, w.lost(followed)}
		w.share(rules.LoadFollowed, b, *out.Followed, 1)
		return
	}
	over := measure.Through(func(x []float64) float64 { return x[3]/x[2]/(x[1]/x[0]) - 1 }, of...)
	w.share(rules.LoadOverBy, b, w.by(over), 1)
}
