package figures

import (
	"math"
	"strings"

	"telltale/engine/align"
	"telltale/engine/measure"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

var positionNames = [3]string{"back", "middle", "front"}

func (w *worker) centring() error {
	m := &w.k.Measured
	for _, cylinder := range w.k.Pump.Places(evidence.OfCylinder) {
		var rod *evidence.RodInOpening
		var upper *evidence.Points
		for i := range m.RodInOpening {
			if m.RodInOpening[i].Place == cylinder {
				rod = &m.RodInOpening[i]
			}
		}
		for i := range m.UpperGuide {
			if m.UpperGuide[i].Place == cylinder {
				upper = &m.UpperGuide[i]
			}
		}
		if rod == nil && upper == nil {
			continue
		}
		pos := source.Pos{}
		if upper != nil {
			pos = upper.Pos
		}
		if rod != nil {
			pos = rod.Pos
		}
		if err := w.centre(cylinder, rod, upper); err != nil {
			return at(pos, err)
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
	out := Centring{Cylinder: cylinder.Cylinder, Planes: []Plane{}, Packs: []Pack{}, Upper: []UpperSpot{}, Notes: []Note{}, Do: []string{}, Procedures: []Procedure{}}
	out.Least, out.Most, out.LimitsBasis = in.UpperLimits.Least, in.UpperLimits.Most, w.limitsBasis()
	out.LeastAnywhere = w.leastAnywhere(out.Least)
	if err := w.upperNow(&in, &out, upper, rod); err != nil {
		return err
	}
	if rod == nil {
		out.Metric = metric(&upper.Method)
		w.judge(&out)
		w.out.Centring = append(w.out.Centring, out)
		return nil
	}
	out.Method, out.Metric = methodText(&rod.Method), metric(&rod.Method)
	names, err := w.fill(&in, rod)
	if err != nil {
		return err
	}
	result, err := align.Centre(in)
	if err != nil {
		return err
	}
	out.planes(&in, &result)
	out.correction(&result, names)
	w.advise(&out, &result)
	w.judge(&out)
	w.rodValues(cylinder, rod, &result)
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
func (w *worker) upperNow(in *align.Input, out *Centring, upper *evidence.Points, rod *evidence.RodInOpening) error {
	if upper == nil {
		return nil
	}
	values, err := pointValues(upper)
	if err != nil {
		return err
	}
	for i, p := range upper.List {
		in.Upper = append(in.Upper, align.Spot{Name: p.Name, Along: along(p.Name, rod), Clearance: values[i]})
		verdict, err := measure.Judge(values[i], in.UpperLimits, in.Guard)
		if err != nil {
			return err
		}
		out.Upper = append(out.Upper, UpperSpot{
			Spot:  Spot{Name: p.Name, Read: p.Reading.String(), Length: length(values[i])},
			Stand: out.soften(length(values[i]), string(verdict.Stand)), Inside: verdict.Inside, Under: verdict.Below,
		})
	}
	w.value(rules.UpperGuideLeast, upper.Place, upper.Pos, values...)
	w.value(rules.UpperGuideMost, upper.Place, upper.Pos, values...)
	return nil
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

// fill puts the readings of a rod and the shims on hand into the input; it
// gives the names of the shims.
func (w *worker) fill(in *align.Input, rod *evidence.RodInOpening) ([]string, error) {
	if s := w.k.Pump.Stroke; s != nil {
		in.Stroke = s.SI
	}
	in.Parted, in.Seated, in.CentreGuide = answer(rod.Parted), answer(rod.Seated), rod.CentreGuide
	if rod.RearSupport != nil && rod.FrontSupport != nil {
		in.Supports = &align.Supports{Front: rod.FrontSupport.SI, Rear: -rod.RearSupport.SI}
	}
	if level := rod.Level; level != nil {
		slope := level.Slope.SI
		if !level.RisesToFluidEnd {
			slope = -slope
		}
		v, err := measure.FromHalfWidth(slope, level.Within.SI)
		if err != nil {
			return nil, err
		}
		in.Level = &v
	}
	if rod.Opening != nil {
		opening, err := measure.FromStep(rod.Opening.SI, rod.Resolution.SI)
		if err != nil {
			return nil, err
		}
		size, err := measure.FromStep(rod.Rod.SI, rod.Resolution.SI)
		if err != nil {
			return nil, err
		}
		in.Opening, in.Rod = &opening, &size
	}
	for i := range rod.Planes {
		p, err := plane(&rod.Planes[i], &rod.Method)
		if err != nil {
			return nil, err
		}
		in.Planes = append(in.Planes, p)
	}
	return w.stock(in), nil
}

func answer(k evidence.Known) align.Answer {
	switch k {
	case evidence.Yes:
		return align.Yes
	case evidence.No:
		return align.No
	}
	return align.Unknown
}

func plane(p *evidence.RodPlane, m *evidence.Method) (align.Plane, error) {
	var out align.Plane
	if p.At != nil {
		out.At = &p.At.SI
	}
	for i, sides := range []*evidence.Sides{&p.Back, &p.Middle, &p.Front} {
		if !sides.Any() {
			continue
		}
		var r align.Reading
		for _, side := range []struct {
			from *evidence.Reading
			to   **measure.Value
		}{{sides.Top, &r.Top}, {sides.Bottom, &r.Bottom}, {sides.Left, &r.Left}, {sides.Right, &r.Right}} {
			v, err := optional(side.from, m)
			if err != nil {
				return out, err
			}
			*side.to = v
		}
		out.Readings[i] = &r
	}
	return out, nil
}

// stock lists the shims on hand, else the common series without counting.
func (w *worker) stock(in *align.Input) []string {
	var names []string
	if w.k.Measured.ShimsOnHandAt.Line == 0 {
		for _, q := range w.book.Readings.ShimSeries {
			in.Stock = append(in.Stock, align.Shim{Nominal: q.SI})
			names = append(names, q.Written)
		}
		return names
	}
	for _, s := range w.k.Measured.ShimsOnHand {
		shim := align.Shim{Nominal: s.Nominal.SI, Count: s.Pieces}
		name := s.Nominal.Written
		if s.Measured != nil {
			shim.Actual = &measure.Value{Mean: s.Measured.SI}
			name += " (measures " + s.Measured.Written + ")"
		}
		in.Stock = append(in.Stock, shim)
		names = append(names, name)
	}
	return names
}

// planes copies where the rod stands and what is foreseen.
func (c *Centring) planes(in *align.Input, result *align.Centring) {
	for i, p := range result.Planes {
		plane := Plane{At: in.Planes[i].At, Positions: []Position{}, Height: trend(p.Height), Side: trend(p.Side)}
		var after *align.AfterPlane
		if result.After != nil {
			after = &result.After.Planes[i]
			plane.Rests = lengthOf(after.Mean)
		}
		for s, place := range p.Positions {
			if place == nil {
				continue
			}
			r := in.Planes[i].Readings[s]
			position := Position{
				Name: positionNames[s], Top: lengthOf(r.Top), Bottom: lengthOf(r.Bottom), Left: lengthOf(r.Left), Right: lengthOf(r.Right),
				Height: lengthOf(place.Height), Side: lengthOf(place.Side), Sum: lengthOf(place.SumUp), Suspect: place.Suspect,
			}
			if after != nil && after.Positions[s] != nil {
				a := after.Positions[s]
				position.After = &Clearing{Top: length(a.Top), Bottom: length(a.Bottom), Height: length(a.Height)}
			}
			plane.Positions = append(plane.Positions, position)
		}
		c.Planes = append(c.Planes, plane)
	}
}

func trend(t *align.Trend) *Trend {
	if t == nil {
		return nil
	}
	return &Trend{Mean: length(t.Mean), Change: lengthOf(t.Change), Bow: lengthOf(t.Bow), Changes: t.Changes, Bows: t.Bows}
}

func ends(s *align.Shims) *Ends {
	if s == nil {
		return nil
	}
	return &Ends{Front: length(s.Front), Rear: length(s.Rear), Equal: s.Equal}
}

// correction copies what to do and what it leaves.
func (c *Centring) correction(result *align.Centring, names []string) {
	c.AskEngineer = result.AskEngineer
	c.Wanted = ends(result.Wanted)
	if j := result.Joint; j != nil {
		c.Guide = &Guide{Height: length(j.A), Slope: length(j.B), Skew: length(j.Eps), Slopes: j.Tilts, Skewed: j.Skew, RodCentred: ends(j.RodCentred)}
	}
	if p := result.Packs; p != nil {
		c.lowerPacks(p, result.Wanted, names)
	}
	if result.After != nil {
		for i, spot := range result.After.Upper {
			u := &c.Upper[i]
			after := length(spot.Clearance)
			u.After, u.AfterStand, u.AfterInside, u.AfterUnder = &after, c.soften(after, string(spot.Verdict.Stand)), spot.Verdict.Inside, spot.Verdict.Below
		}
	}
	if u := result.Upper; u != nil {
		c.UpperFix = &UpperFix{Least: u.Least, Most: u.Most, Wanted: u.Wanted}
		if u.Pack != nil {
			pack := packOf(u.Pack, "above the upper guide, both ends", names)
			c.UpperFix.Pack = &pack
		}
		for i, spot := range u.After {
			both := length(spot.Clearance)
			c.Upper[i].AfterBoth = &both
		}
	}
	if s := result.Short; s != nil {
		c.Short = &Short{Spot: s.Spot, By: length(s.By)}
	}
}

func (c *Centring) lowerPacks(p *align.Packed, wanted *align.Shims, names []string) {
	if wanted.Equal && p.Front != nil {
		c.Packs = append(c.Packs, packOf(p.Front, "under the lower guide, each end", names))
		return
	}
	if p.Front != nil {
		c.Packs = append(c.Packs, packOf(p.Front, "under the lower guide, front end", names))
	}
	if p.Rear != nil {
		c.Packs = append(c.Packs, packOf(p.Rear, "under the lower guide, rear end", names))
	}
}

func packOf(p *align.Pack, where string, names []string) Pack {
	out := Pack{Where: where, Pieces: []string{}, Thickness: length(p.Thickness), Off: p.Error}
	for _, i := range p.Pieces {
		out.Pieces = append(out.Pieces, names[i])
	}
	return out
}

// advise puts the rulebook's words to the outcome and the notes.
func (w *worker) advise(out *Centring, result *align.Centring) {
	out.Outcome = strings.ReplaceAll(string(result.Outcome), " ", "-")
	outcome := w.advice(out.Outcome, string(result.Outcome))
	out.Title, out.Do = outcome.Title, outcome.Do
	index := map[align.Reason]int{} // one note a reason, with all its places
	for _, n := range result.Notes {
		if beside(n.Reason, result) {
			continue
		}
		place := noteWhere(n, len(result.Planes))
		if i, said := index[n.Reason]; said {
			out.Notes[i].Where += "; " + place
			continue
		}
		note := w.advice(string(n.Reason), n.Reason.String())
		note.Where = place
		index[n.Reason] = len(out.Notes)
		out.Notes = append(out.Notes, note)
	}
}

// beside says whether a note is beside the point: where the guide and the rod
// are told apart, that is said instead; where a reading is wrong, no shape is
// seen in it.
func beside(r align.Reason, result *align.Centring) bool {
	switch r {
	case align.ChangeAlongStroke, align.BowAlongStroke:
		return result.Joint != nil && r == align.ChangeAlongStroke || has(result, align.SumsDisagree)
	}
	return false
}

func has(result *align.Centring, r align.Reason) bool {
	for _, n := range result.Notes {
		if n.Reason == r {
			return true
		}
	}
	return false
}

// advice gives the book's words for a code, else the plain ones.
func (w *worker) advice(code, plain string) Note {
	if a := w.book.Advice.Get(code); a != nil {
		return Note{Code: code, Title: a.Title, Do: a.Do}
	}
	return Note{Code: code, Title: plain, Do: []string{}}
}

func noteWhere(n align.Note, planes int) string {
	out := ""
	if n.Plane >= 0 && planes > 1 {
		out = [...]string{"first plane", "second plane"}[min(n.Plane, 1)]
	}
	if n.Position >= 0 {
		if out != "" {
			out += ", "
		}
		out += "crosshead at the " + positionNames[n.Position]
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
	if has(result, align.SumsDisagree) {
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
func (w *worker) changes(cylinder evidence.Place, rod *evidence.RodInOpening, h *align.Trend) {
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
