package practice

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"telltale/engine"
	"telltale/evidence"
	"telltale/rules"
)

// RodReading is the clearances above and below a rod in its opening, with the
// crosshead at back, middle and front of its stroke, in thousandths of an inch.
type RodReading struct {
	Place       evidence.Place
	Top, Bottom [3]int
	Low, High   bool // what the sign drawn for it says
}

// thou is a thousandth of an inch in metres: the inch is exactly 25.4 mm.
const thou = 25.4e-6

// rodSign is a sign of the rulebook about the rod in its opening: which symptom
// of which kind it is, and from where it counts.
type rodSign struct {
	symptom, kind string
	from          float64 // metres
}

// rodSignOf gives the sign of a measured value; ok is false if the book has
// none, or no figure for it.
func rodSignOf(b *rules.Book, k *evidence.Case, of rules.MeasuredValue) (rodSign, bool) {
	for _, s := range b.Signs.List {
		if s.Of == of && s.Above != nil {
			at, ok := s.Above.In(b, k)
			return rodSign{s.Symptom, s.Kind, at}, ok
		}
	}
	return rodSign{}, false
}

// drawRods draws readings that agree with the drawn sign of each rod: past the
// book's figure where it stands low or high, near the middle where it does not.
func (w *World) drawRods(random *rand.Rand) map[evidence.Place]RodReading {
	low, isLow := rodSignOf(w.book, w.bare(), rules.RodLowBy)
	high, isHigh := rodSignOf(w.book, w.bare(), rules.RodHighBy)
	change, isChange := rodSignOf(w.book, w.bare(), rules.RodChangesBy)
	out := map[evidence.Place]RodReading{}
	if !isLow || !isHigh || !isChange {
		return out
	}
	for _, p := range w.Pump.Places(evidence.OfCylinder) {
		r := RodReading{Place: p}
		clearance, off := 40+random.IntN(31), random.IntN(15) // drawn alike for every rod, so that no draw shifts the next
		sign := w.Sign(low.symptom, p)
		height := [3]int{}
		switch {
		case !sign.Present:
		case sign.Kind == low.kind:
			r.Low = true
			height = alike(-past(low.from) - off)
		case sign.Kind == high.kind:
			r.High = true
			height = alike(past(high.from) + off)
		case sign.Kind == change.kind || sign.Kind == "":
			height = [3]int{-past(change.from) / 2, 0, past(change.from) - past(change.from)/2 + off/2}
		}
		for i, h := range height {
			r.Top[i], r.Bottom[i] = clearance-h, clearance+h
		}
		out[p] = r
	}
	return out
}

func alike(h int) [3]int { return [3]int{h, h, h} }

// past is the first whole thou clearly past a figure, in metres.
func past(metres float64) int { return int(math.Floor(metres/thou+1e-9)) + 2 }

// measuresRod says whether a check brings the readings of the rod.
func measuresRod(b *rules.Book, k *evidence.Case, c *rules.Check) bool {
	sign, ok := rodSignOf(b, k, rules.RodLowBy)
	return ok && c.Level == evidence.OfCylinder && slices.Contains(c.Answers, sign.symptom)
}

// ShimFor works out with the tool's own alignment what goes under both ends of
// the lower guide, in thou; below 0 it comes out. ok is false where no equal
// thickness is given. title is the outcome in words.
func ShimFor(b *rules.Book, pump evidence.Pump, r RodReading) (shim float64, title string, ok bool, err error) {
	at := func(n int) *evidence.Reading {
		return &evidence.Reading{Low: float64(n) * thou, High: float64(n) * thou, Written: fmt.Sprintf("%d thou", n)}
	}
	step, err := evidence.ParseQuantity("1 thou", evidence.Length)
	if err != nil {
		return 0, "", false, err
	}
	rod := evidence.RodInOpening{
		Place: r.Place, Method: evidence.Method{With: "feelers", Resolution: step}, Parted: evidence.Yes, Seated: evidence.Yes,
		Planes: []evidence.RodPlane{{
			Back:   evidence.Sides{Top: at(r.Top[0]), Bottom: at(r.Bottom[0])},
			Middle: evidence.Sides{Top: at(r.Top[1]), Bottom: at(r.Bottom[1])},
			Front:  evidence.Sides{Top: at(r.Top[2]), Bottom: at(r.Bottom[2])},
		}},
	}
	pump.State, pump.Open = evidence.Isolated, nil
	k := &evidence.Case{Pump: pump, Measured: evidence.Measured{RodInOpening: []evidence.RodInOpening{rod}}}
	report, err := engine.Measure(b, k)
	if err != nil {
		return 0, "", false, err
	}
	for _, c := range report.Measured.Centring {
		if c.Wanted != nil && c.Wanted.Equal {
			return c.Wanted.Front.Metres / thou, c.Title, true, nil
		}
		return 0, c.Title, false, nil
	}
	return 0, "", false, nil
}
