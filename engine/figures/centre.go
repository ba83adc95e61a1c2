package figures

import (
	"math"
	"slices"

	"telltale/engine/align"
	"telltale/engine/measure"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

func (w *worker) centring() error {
	m := &w.k.Measured
	for _, cylinder := range w.k.Pump.Places(evidence.OfCylinder) {
		var rod *evidence.RodInOpening
		var upper *evidence.Points
		pos := source.Pos{}
		if i := slices.IndexFunc(m.UpperGuide, func(p evidence.Points) bool { return p.Place == cylinder }); i >= 0 {
			upper, pos = &m.UpperGuide[i], m.UpperGuide[i].Pos
		}
		if i := slices.IndexFunc(m.RodInOpening, func(r evidence.RodInOpening) bool { return r.Place == cylinder }); i >= 0 {
			rod, pos = &m.RodInOpening[i], m.RodInOpening[i].Pos
		}
		if rod == nil && upper == nil {
			continue
		}
		if err := w.centre(cylinder, rod, upper); err != nil {
			return w.at(pos, err)
		}
	}
	return nil
}

// centre works out one cylinder; rod or upper may be missing.
func (w *worker) centre(cylinder evidence.Place, rod *evidence.RodInOpening, upper *evidence.Points) error {
	in := align.Input{
		UpperLimits: w.upperLimits(cylinder),
		MaxPieces:   w.book.Readings.MostPieces, Leave: w.leave(), K: w.book.Readings.Significant, Guard: w.book.Readings.Guard,
	}
	out := Centring{Cylinder: cylinder.Cylinder, Notes: []Note{}, Do: []string{}, Procedures: []Procedure{}}
	out.Least, out.Most, out.LimitsBasis = in.UpperLimits.Least, in.UpperLimits.Most, w.limitsBasis()
	out.LeastAnywhere = w.leastAnywhere(out.Least)
	w.upperNow(&in, upper, rod)
	if rod == nil {
		spots, err := align.JudgeUpper(in.Upper, in.UpperLimits, in.Guard)
		if err != nil {
			return err
		}
		out.Centring, out.Metric = align.Centring{Planes: []Plane{}, Packs: []Pack{}, Upper: spots}, metric(&upper.Method)
		out.soften()
	} else {
		w.fill(&in, rod)
		result, err := align.Centre(in)
		if err != nil {
			return err
		}
		w.rodValues(cylinder, rod, &result)
		out.Centring, out.Method, out.Metric = result, methodText(&rod.Method), metric(&rod.Method)
		out.soften()
		w.decide(&out, result.Outcome)
		w.remark(&out)
	}
	w.judge(&out)
	w.out.Centring = append(w.out.Centring, out)
	return nil
}

// limitsBasis says where the limits of the clearance over the crosshead come
// from.
func (w *worker) limitsBasis() string {
	r := &w.book.Readings
	_, least := w.k.Manual[r.UpperLeast]
	_, most := w.k.Manual[r.UpperMost]
	limit := w.book.Limits.Get(r.UpperLeast)
	switch {
	case least && most:
		return "from this pump's manual"
	case limit == nil:
		return ""
	case least || most:
		return "one from this pump's manual, one " + limit.Basis
	}
	return limit.Basis
}

// leastAnywhere is how low this pump's own least clearance over the crosshead
// may be; nil where it is known or least does not count.
func (w *worker) leastAnywhere(least *float64) *float64 {
	limit := w.book.Limits.Get(w.book.Readings.UpperLeast)
	if limit == nil || least == nil {
		return nil
	}
	if at, open := limit.Lowest(w.k); open {
		return &at
	}
	return nil
}

// upperLimits are the limits of the clearance over the crosshead. Where the
// manual gives one of them and the book's other one does not go with it, the
// manual's counts alone.
func (w *worker) upperLimits(cylinder evidence.Place) measure.Limits {
	r := &w.book.Readings
	out := measure.Limits{Least: w.limit(r.UpperLeast), Most: w.limit(r.UpperMost)}
	if out.Least == nil || out.Most == nil || *out.Least <= *out.Most {
		return out
	}
	w.missing("cylinder %s: the least clearance over the crosshead is above the most; give both from this pump's manual under manual:", cylinder.Cylinder)
	if _, given := w.k.Manual[r.UpperLeast]; !given {
		out.Least, w.out.dropped[r.UpperLeast] = nil, true
	}
	if _, given := w.k.Manual[r.UpperMost]; !given || out.Least != nil {
		out.Most, w.out.dropped[r.UpperMost] = nil, true
	}
	return out
}

// upperNow takes in the clearance over the crosshead.
func (w *worker) upperNow(in *align.Input, upper *evidence.Points, rod *evidence.RodInOpening) {
	if upper == nil {
		return
	}
	values := pointValues(upper)
	for i, p := range upper.List {
		in.Upper = append(in.Upper, UpperSpot{Name: p.Name, Read: p.Reading.String(), Length: values[i], Along: along(p.Name, rod)})
	}
	w.value(rules.UpperGuideLeast, upper.Place, upper.Pos, values...)
	w.value(rules.UpperGuideMost, upper.Place, upper.Pos, values...)
}

// along is where a point over the crosshead lies, if the supports tell.
func along(name string, rod *evidence.RodInOpening) *float64 {
	x := 0.0
	switch {
	case rod == nil || rod.RearSupport == nil || rod.FrontSupport == nil:
		return nil
	case name[:4] == "rear":
		x = -rod.RearSupport.SI
	case name[:5] == "front":
		x = rod.FrontSupport.SI
	}
	return &x
}

// fill puts the readings of a rod and the shims on hand into the input.
func (w *worker) fill(in *align.Input, rod *evidence.RodInOpening) {
	if s := w.k.Pump.Stroke; s != nil {
		in.Stroke = s.SI
	}
	in.Parted, in.Seated, in.CentreGuide = align.Answer(rod.Parted), align.Answer(rod.Seated), rod.CentreGuide
	if rod.RearSupport != nil && rod.FrontSupport != nil {
		in.Supports = &align.Supports{Front: rod.FrontSupport.SI, Rear: -rod.RearSupport.SI}
	}
	if level := rod.Level; level != nil {
		slope := level.Slope.SI
		if !level.RisesToFluidEnd {
			slope = -slope
		}
		v := measure.FromHalfWidth(slope, level.Within.SI)
		in.Level = &v
	}
	if rod.Opening != nil {
		opening, size := measure.FromStep(rod.Opening.SI, rod.Resolution.SI), measure.FromStep(rod.Rod.SI, rod.Resolution.SI)
		in.Opening, in.Rod = &opening, &size
	}
	for i := range rod.Planes {
		in.Planes = append(in.Planes, plane(&rod.Planes[i], &rod.Method))
	}
	in.Stock = w.stock()
}

func plane(p *evidence.RodPlane, m *evidence.Method) Plane {
	var out Plane
	if p.At != nil {
		out.At, out.AtU = &p.At.SI, measure.FromStep(p.At.SI, p.At.LastDigit()).U
	}
	for i, sides := range []*evidence.Sides{&p.Back, &p.Middle, &p.Front} {
		if !sides.Any() {
			continue
		}
		out.Positions = append(out.Positions, Position{
			Name: [...]string{align.Back, align.Middle, align.Front}[i],
			Top:  optional(sides.Top, m), Bottom: optional(sides.Bottom, m), Left: optional(sides.Left, m), Right: optional(sides.Right, m),
		})
	}
	return out
}

// stock lists the shims on hand, else the common series without counting.
func (w *worker) stock() []align.Shim {
	var out []align.Shim
	if w.k.Measured.ShimsOnHandAt.Line == 0 {
		for _, q := range w.book.Readings.ShimSeries {
			out = append(out, align.Shim{Name: q.Written, Nominal: q.SI})
		}
		return out
	}
	for _, s := range w.k.Measured.ShimsOnHand {
		shim := align.Shim{Name: s.Nominal.Written, Nominal: s.Nominal.SI, Count: s.Pieces}
		if s.Measured != nil {
			shim.Actual = &measure.Value{Mean: s.Measured.SI}
			shim.Name += " (measures " + s.Measured.Written + ")"
		}
		out = append(out, shim)
	}
	return out
}

// remark puts the rulebook's words to the notes, one for each reason with all
// its places.
func (w *worker) remark(c *Centring) {
	index := map[align.Reason]int{}
	for _, n := range c.Centring.Notes {
		if beside(n.Reason, &c.Centring) {
			continue
		}
		place := noteWhere(n, len(c.Planes))
		if i, said := index[n.Reason]; said {
			c.Notes[i].Where += "; " + place
			continue
		}
		note := w.advice(advice(n.Reason))
		note.Where = place
		index[n.Reason] = len(c.Notes)
		c.Notes = append(c.Notes, note)
	}
}

// beside says whether a note is beside the point: where the guide and the rod
// are told apart, that is said instead; where a reading is wrong, no shape is
// seen in it.
func beside(r align.Reason, result *align.Centring) bool {
	switch r {
	case align.ChangeAlongStroke, align.BowAlongStroke:
		return result.Guide != nil && r == align.ChangeAlongStroke || result.Says(align.SumsDisagree)
	}
	return false
}

func noteWhere(n align.Note, planes int) string {
	out := ""
	if n.Plane >= 0 && planes > 1 {
		out = [...]string{"first plane", "second plane"}[min(n.Plane, 1)]
	}
	if n.Position != "" {
		if out != "" {
			out += ", "
		}
		out += "crosshead at the " + n.Position
	}
	if n.Spot != "" {
		out = n.Spot
	}
	return out
}

// rodValues hands on where the rod stands, if the readings can be trusted and
// were taken as the finding wants it: rod parted, crosshead seated.
func (w *worker) rodValues(cylinder evidence.Place, rod *evidence.RodInOpening, result *align.Centring) {
	if rod.Parted != evidence.Yes || rod.Seated != evidence.Yes {
		w.missing("cylinder %s: the rod's height does not count as a finding until the case says rod: parted and crosshead: seated", cylinder.Cylinder)
		return
	}
	if result.Says(align.SumsDisagree) {
		w.missing("cylinder %s: the rod's height does not count as a finding; read again where top and bottom do not add up alike", cylinder.Cylinder)
		return
	}
	p := result.Planes[0]
	if h := p.Height; h != nil {
		w.value(rules.RodLowBy, cylinder, rod.Pos, h.Mean.Times(-1))
		w.value(rules.RodHighBy, cylinder, rod.Pos, h.Mean)
		w.changes(cylinder, rod, h)
	}
	if s := p.Side; s != nil {
		w.value(rules.RodSidewaysBy, cylinder, rod.Pos, size(s.Mean))
	}
}

// changes is what the rod does along the stroke: its change or its bow,
// whichever is larger.
func (w *worker) changes(cylinder evidence.Place, rod *evidence.RodInOpening, h *Trend) {
	if h.Change == nil {
		return
	}
	worst := size(*h.Change)
	if h.Bow != nil && math.Abs(h.Bow.Mean) > worst.Mean*(1+sameSize) {
		worst = size(*h.Bow)
	}
	w.value(rules.RodChangesBy, cylinder, rod.Pos, worst)
}

// sameSize is how much larger a bow must be, as a share, to be larger than the
// change by more than rounding: with the middle read as one end they are alike.
const sameSize = 1e-9

func size(v measure.Value) measure.Value { return measure.Value{Mean: math.Abs(v.Mean), U: v.U} }
