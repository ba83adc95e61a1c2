package practice

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"telltale/engine/figures"
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

// rodSign is a sign of the rulebook about the rod in its opening: which sign
// of which kind it is, and from where it counts.
type rodSign struct {
	sign, kind string
	from       float64 // metres
}

// rodSignOf gives the sign of a measured value; ok is false if the book has
// none, or no figure for it.
func rodSignOf(b *rules.Book, k *evidence.Case, of rules.MeasuredValue) (rodSign, bool) {
	for _, s := range b.Thresholds.List {
		if s.Of == of && s.Above != nil {
			at, ok := s.Above.In(b, k)
			return rodSign{s.Sign, s.Kind, at}, ok
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
		sign := w.Sign(low.sign, p)
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
	return ok && c.Level == evidence.OfCylinder && slices.Contains(c.Answers, sign.sign)
}

// ShimFor works out with the tool's own alignment what goes under both ends of
// the lower guide, in thou; below 0 it comes out. ok is false where no equal
// thickness is given. title is the outcome in words.
func ShimFor(b *rules.Book, pump evidence.Pump, r RodReading) (shim float64, title string, ok bool, err error) {
	c, err := alignment(b, pump, &r, nil)
	switch {
	case err != nil || c == nil:
		return 0, "", false, err
	case c.Wanted != nil && c.Wanted.Equal:
		return c.Wanted.Front.Mean / thou, c.Title, true, nil
	}
	return 0, c.Title, false, nil
}

// overCrosshead is the clearance over a crosshead at rear, middle and front of
// the upper guide, with this pump's own limits, in thou.
type overCrosshead struct {
	at          [3]int
	least, most int // 0: the pump's manual gives none
}

// alignment gives what the tool's own alignment makes of readings at one
// cylinder, taken as they should be; rod or upper may be missing.
func alignment(b *rules.Book, pump evidence.Pump, rod *RodReading, upper *overCrosshead) (*figures.Centring, error) {
	step, err := evidence.ParseQuantity("1 thou", evidence.Length)
	if err != nil {
		return nil, err
	}
	method := evidence.Method{With: "feelers", Resolution: step}
	pump.State, pump.Open = evidence.Isolated, nil
	k := &evidence.Case{Pump: pump, Manual: map[string]evidence.Quantity{}}
	if rod != nil {
		k.Measured.RodInOpening = []evidence.RodInOpening{{
			Place: rod.Place, Method: method, Parted: evidence.Yes, Seated: evidence.Yes,
			Planes: []evidence.RodPlane{{
				Back:   evidence.Sides{Top: inThou(rod.Top[0]), Bottom: inThou(rod.Bottom[0])},
				Middle: evidence.Sides{Top: inThou(rod.Top[1]), Bottom: inThou(rod.Bottom[1])},
				Front:  evidence.Sides{Top: inThou(rod.Top[2]), Bottom: inThou(rod.Bottom[2])},
			}},
		}}
	}
	if upper != nil {
		points := evidence.Points{Place: pump.Places(evidence.OfCylinder)[0], Method: method}
		for i, name := range []string{"rear", "middle", "front"} {
			points.List = append(points.List, evidence.Point{Name: name, Reading: *inThou(upper.at[i])})
		}
		k.Measured.UpperGuide = []evidence.Points{points}
		for id, n := range map[string]int{b.Readings.UpperLeast: upper.least, b.Readings.UpperMost: upper.most} {
			if n > 0 {
				k.Manual[id] = evidence.Quantity{SI: float64(n) * thou, Dimension: evidence.Length, Written: fmt.Sprintf("%d thou", n)}
			}
		}
	}
	out, err := figures.Work(b, k)
	if err != nil || len(out.Centring) == 0 {
		return nil, err
	}
	return &out.Centring[0], nil
}

func inThou(n int) *evidence.Reading {
	return &evidence.Reading{Low: float64(n) * thou, High: float64(n) * thou, Written: fmt.Sprintf("%d thou", n)}
}
