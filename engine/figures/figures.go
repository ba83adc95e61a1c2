package figures

import (
	"fmt"
	"slices"

	"telltale/engine/measure"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// Figures is everything that was worked out from the readings of a case.
type Figures struct {
	Centring []Centring `json:"centring"`
	Gaps     []Gap      `json:"gaps"`
	Surveys  []Survey   `json:"surveys"`
	Pump     *Pump      `json:"pump,omitempty"`
	Tank     *Tank      `json:"tank_test,omitempty"`
	Suction  *Suction   `json:"suction,omitempty"`
	// BeforeAndNow is the gauges now beside what they said before the trouble.
	BeforeAndNow *BeforeAndNow `json:"before_and_now,omitempty"`
	Parts        []Part        `json:"parts"`
	// Cautions are for whoever takes such readings.
	Cautions []Note `json:"cautions"`
	// Gauges are what such readings can be taken with.
	Gauges []Gauge `json:"gauges"`
	// Missing says what could not be worked out and what is wanted for it.
	Missing []string `json:"missing"`
	// dropped are limits of the book that do not go with the manual's.
	dropped map[string]bool
	// Ratings are the pump's figures beside their limits; a report has them at
	// its top.
	Ratings []Rating `json:"-"`
	// Values are the measured values that signs of the rulebook look at.
	Values []Value `json:"-"`
}

// Drops says whether the book's figure of a limit does not count in this case,
// because it does not go with what the manual gives beside it.
func (f *Figures) Drops(limit string) bool { return f.dropped[limit] }

// Value is one measured value at a place: the best estimates of every reading
// that it looks at.
type Value struct {
	ID    rules.MeasuredValue
	Place evidence.Place
	Of    []measure.Value
	// Every: a sign holds if each of the readings is past the threshold; else
	// if one at least is.
	Every bool
	Pos   source.Pos
}

// Chance is the probability that the value is above one threshold and below
// another, nil being none. Readings of one place share the instrument and the
// threshold, so they are not taken as independent witnesses: the worst one
// counts, or, if each must hold, the best one. A reading that is plainly wrong
// is not in it.
func (v Value) Chance(above, below *float64) float64 {
	return v.worst(func(x measure.Value) float64 { return within(x, above, below) })
}

// ChanceUnder is the probability that the value is below a threshold of which
// is only known that it lies from lowest to highest. Between the two it speaks
// at most for neither: only a value that is under the lowest is under it for
// certain.
func (v Value) ChanceUnder(lowest, highest float64) float64 {
	return v.worst(func(x measure.Value) float64 {
		return min(x.BelowEven(lowest, highest), max(0.5, x.Below(lowest)))
	})
}

// worst is the chance of the reading that decides.
func (v Value) worst(chance func(measure.Value) float64) float64 {
	least, most := 1.0, 0.0
	for _, x := range v.Of {
		p := chance(x)
		least, most = min(least, p), max(most, p)
	}
	if v.Every {
		return least
	}
	return most
}

func within(x measure.Value, above, below *float64) float64 {
	switch {
	case above != nil && below != nil:
		return x.Between(*above, *below)
	case above != nil:
		return x.Above(*above)
	}
	return x.Below(*below)
}

// worker holds the working out of one case.
type worker struct {
	book *rules.Book
	k    *evidence.Case
	out  *Figures
}

// Work works out all that the readings of a case allow. The error is for
// figures that no machine can have, a *source.InputError with their place.
func Work(book *rules.Book, k *evidence.Case) (*Figures, error) {
	w := worker{book: book, k: k, out: &Figures{
		Centring: []Centring{}, Gaps: []Gap{}, Surveys: []Survey{}, Parts: []Part{}, Cautions: []Note{}, Gauges: Gauges(book.Gauges.List), Missing: []string{}, dropped: map[string]bool{},
	}}
	if book.Advice.Get(string(moveByHand)) != nil {
		w.out.Cautions = append(w.out.Cautions, w.advice(moveByHand))
	}
	pump := source.Pos{File: k.File, Line: 1, Col: 1}
	tank, suction := pump, pump
	if t := k.Measured.TankTest; t != nil {
		tank = t.Pos
	}
	if s := k.Measured.Suction; s != nil {
		suction = s.Pos
	}
	for _, part := range []func() error{
		w.centring, func() error { w.gaps(); return nil }, w.surveys, w.parts, func() error { w.beforeAndNow(); return nil },
		func() error { return w.at(pump, w.pump()) }, func() error { return w.at(tank, w.tank()) }, func() error { return w.at(suction, w.suction()) },
	} {
		if err := part(); err != nil {
			return nil, err
		}
	}
	w.out.Ratings = Ratings(book, k, w.out.Pump)
	return w.out, nil
}

// at puts the place in the case file to an error.
func (w *worker) at(pos source.Pos, err error) error {
	if err == nil {
		return nil
	}
	var ps source.Problems
	ps.In(w.k.Text)
	ps.Add(pos, source.OutOfRange, "this cannot be worked out: %v", err)
	return ps.Err()
}

func (w *worker) missing(format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	if !slices.Contains(w.out.Missing, text) {
		w.out.Missing = append(w.out.Missing, text)
	}
}

func (w *worker) value(id rules.MeasuredValue, place evidence.Place, pos source.Pos, of ...measure.Value) {
	w.out.Values = append(w.out.Values, Value{ID: id, Place: place, Of: of, Pos: pos})
}

// reading gives what a reading is worth.
func reading(r *evidence.Reading, m *evidence.Method) measure.Value {
	switch {
	case r.Low != r.High:
		return measure.FromRange(r.Low, r.High)
	case m.LargestLeaf:
		return measure.FromLargestLeaf(r.Low, m.Resolution.SI)
	}
	return measure.FromStep(r.Low, m.Resolution.SI)
}

func optional(r *evidence.Reading, m *evidence.Method) *measure.Value {
	if r == nil {
		return nil
	}
	v := reading(r, m)
	return &v
}

// limit gives the figure of a limit for this pump: its manual's, else the
// book's; nil if neither has one.
func (w *worker) limit(id string) *float64 {
	if id == "" {
		return nil
	}
	if q := w.book.LimitFor(id, w.k); q != nil {
		return &q.SI
	}
	return nil
}
