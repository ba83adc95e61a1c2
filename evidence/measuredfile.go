package evidence

import (
	"fmt"
	"math"
	"strings"

	"telltale/evidence/source"
)

// The largest things that a reading can be on a mud pump, in metres; more is a
// slip of unit.
const (
	mostClearance = 0.1
	mostDiameter  = 0.6
	mostDistance  = 5
	coarsest      = 0.002 // resolution
)

// The finest that a gauge shows, in metres; less is a slip of unit.
const finest = 1e-8

// readMeasured reads the readings of a case.
func (r *caseReader) readMeasured(n *source.Node, m *Measured) {
	o := n.Object(r.problems, "measured")
	m.RodInOpening = byPlace(r, o.Get("rod-in-opening"), r.rodInOpening)
	m.UpperGuide = r.pointsByPlace(o, "upper-guide", guidePoints)
	m.RodFaceGap = r.pointsByPlace(o, "rod-face-gap", facePoints)
	if v := o.Get("fluid-end-gap"); v != nil {
		points := r.points(Place{}, v, "fluid-end-gap", cornerPoints)
		m.FluidEndGap = &points
	}
	m.LinerBore = r.surveys(o, "liner-bore")
	r.whichLiner(m)
	m.PistonRod = r.surveys(o, "piston-rod")
	m.ExtensionRod = r.surveys(o, "extension-rod")
	m.TankTest = r.tankTest(o.Get("tank-test"))
	m.BeforeAndNow = r.beforeAndNow(o.Get("before-and-now"))
	o.Close()
}

// mostOffLiner is by how much, in metres, the new size of a liner may differ
// from the pump's liner: liners come in steps of a quarter inch.
const mostOffLiner = 0.003

// whichLiner asks which liner is in where a survey and the pump do not agree.
func (r *caseReader) whichLiner(m *Measured) {
	liner := r.out.Pump.Liner
	for _, s := range m.LinerBore {
		if liner != nil && s.New != nil && math.Abs(liner.SI-s.New.SI) > mostOffLiner {
			r.problems.Add(s.Pos, source.DoesNotFit, "a new size of %s, but the pump's liner is %s; which one is in?", s.New.Written, liner.Written)
		}
	}
}

// The points of a block of readings, in order.
var (
	guidePoints  = []string{"rear", "rear-left", "rear-right", "middle", "middle-left", "middle-right", "front", "front-left", "front-right"}
	facePoints   = []string{"top", "bottom", "left", "right"}
	cornerPoints = []string{"top-left", "top", "top-right", "right", "bottom-right", "bottom", "bottom-left", "left"}
)

// eachPlace reads a mapping from places of a level to values.
func (r *caseReader) eachPlace(n *source.Node, level Level, read func(Place, *source.Node)) {
	if n == nil {
		return
	}
	if n.Kind != source.Mapping {
		r.problems.Add(n.Pos, source.WrongForm, "expected %s", source.Want(fmt.Sprintf("readings by cylinder, like %q: {...}", r.out.Pump.Cylinders[0])))
		return
	}
	seen := map[Place]bool{}
	for _, pair := range n.Pairs {
		place, ok := r.place(pair.Key)
		if !ok || !r.exact(pair.Key, place, level) {
			continue
		}
		if seen[place] {
			r.problems.Add(pair.Key.Pos, source.Twice, "%s stands twice here; keep one", place)
			continue
		}
		seen[place] = true
		if pair.Value.Kind != source.Null {
			read(place, pair.Value)
		}
	}
}

// byPlace reads a mapping from cylinders to blocks of readings.
func byPlace[T any](r *caseReader, n *source.Node, read func(Place, *source.Node) T) (out []T) {
	r.eachPlace(n, OfCylinder, func(p Place, v *source.Node) { out = append(out, read(p, v)) })
	return out
}

// exact wants a place of just this level.
func (r *caseReader) exact(n *source.Node, p Place, level Level) bool {
	if !r.fits(n, p, level) {
		return false
	}
	if inside := r.out.Pump.Under(p, level); len(inside) != 1 {
		var names []string
		for _, q := range inside {
			names = append(names, q.String())
		}
		r.problems.Add(n.Pos, source.WrongPlace, "%q has several ends; write one of: %s", source.Clip(n.Text), strings.Join(names, ", "))
		return false
	}
	return true
}

// method reads how a block of readings was taken.
func (r *caseReader) method(o *source.Object) Method {
	m := Method{With: o.Get("with").String(r.problems, "the instrument"), Pos: o.Pos}
	resolution := o.Need
	if r.standing {
		resolution = o.Get
	}
	if q := r.quantity(resolution("resolution"), Length); q != nil {
		m.Resolution = *q
		if q.SI > coarsest {
			r.problems.Add(o.Get("resolution").Pos, source.OutOfRange, "a resolution of %s is too coarse to say anything here; is the unit right?", q.Written)
		}
		if q.SI < finest {
			r.problems.Add(o.Get("resolution").Pos, source.OutOfRange, "a resolution of %s is too fine to be true", q.Written)
		}
	}
	word := o.Get("each-reading-is").Word(r.problems, "way of reading", []string{"largest-leaf", "nearest"})
	m.LargestLeaf = word == "largest-leaf"
	return m
}

// reading reads a length of zero to most metres, or a range of two.
func (r *caseReader) reading(n *source.Node, most float64) *Reading {
	if n == nil {
		return nil
	}
	text := n.String(r.problems, "a reading")
	if text == "" {
		return nil
	}
	low, high, err := parseRange(text)
	if refused(n, err, r.problems) {
		return nil
	}
	if low > high {
		r.problems.Add(n.Pos, source.OutOfOrder, "%q runs backwards; write the smaller figure first", source.Clip(text))
		return nil
	}
	if high > low && high-low < finest {
		r.problems.Add(n.Pos, source.OutOfOrder, "the ends of %q are too near each other for a range", source.Clip(text))
		return nil
	}
	if high > most {
		r.problems.Add(n.Pos, source.OutOfRange, "%q is too large for this reading (more than %.3g in, %.3g mm); is the unit right?", source.Clip(text), most/metresPerInch, most*1000)
		return nil
	}
	return &Reading{Low: low, High: high, Written: text, Pos: n.Pos}
}

// ParseReading reads a length or a range of two, as a reading is written.
func ParseReading(text string) (Reading, error) {
	low, high, err := parseRange(text)
	return Reading{Low: low, High: high, Written: text}, err
}

// parseRange reads "15 thou", "15 to 16 thou" or "15 thou to 16 thou", in
// metres.
func parseRange(text string) (low, high float64, err error) {
	first, second, isRange := strings.Cut(text, " to ")
	if !isRange {
		q, err := ParseQuantity(text, Length)
		return q.SI, q.SI, err
	}
	b, err := ParseQuantity(second, Length)
	if err != nil {
		return 0, 0, err
	}
	a, err := ParseQuantity(first, Length)
	if err != nil {
		a, err = ParseQuantity(first+" "+unitOf(second), Length)
	}
	return a.SI, b.SI, err
}

// unitOf gives the unit at the end of a quantity that is known to be one.
func unitOf(text string) string {
	return quantityText.FindStringSubmatch(strings.TrimSpace(text))[7]
}

func (r *caseReader) sides(n *source.Node, what string) Sides {
	if n == nil {
		return Sides{}
	}
	o := n.Object(r.problems, what)
	s := Sides{
		Top: r.reading(o.Get("top"), mostClearance), Bottom: r.reading(o.Get("bottom"), mostClearance),
		Left: r.reading(o.Get("left"), mostClearance), Right: r.reading(o.Get("right"), mostClearance),
	}
	o.Close()
	return s
}

func (r *caseReader) rodInOpening(p Place, n *source.Node) RodInOpening {
	o := n.Object(r.problems, "rod-in-opening"+of(p))
	if n.Kind != source.Mapping {
		return RodInOpening{} // said already
	}
	out := RodInOpening{Place: p, Method: r.method(o)}
	out.Parted = yesNo(o.Get("rod").Word(r.problems, "state of the rod", []string{"parted", "joined"}), "parted", "joined")
	out.Seated = yesNo(o.Get("crosshead").Word(r.problems, "state of the crosshead", []string{"seated", "not-seated"}), "seated", "not-seated")
	out.CentreGuide = o.Get("centre-guide").Bool(r.problems, "centre-guide")
	out.Opening = r.quantity(o.Get("opening"), Length)
	out.Rod = r.quantity(o.Get("rod-diameter"), Length)
	out.Planes = append(out.Planes, r.rodPlane(o, o.Pos))
	if further := o.Get("second-plane"); further != nil {
		second := further.Object(r.problems, "second-plane")
		plane := r.rodPlane(second, further.Pos)
		second.Close()
		if plane.At == nil || out.Planes[0].At == nil {
			r.problems.Add(further.Pos, source.NeedsOther, "two planes need at: each, the distance from the crosshead's centre at mid stroke")
		}
		out.Planes = append(out.Planes, plane)
	}
	if supports := o.Get("guide-supports"); supports != nil {
		s := supports.Object(r.problems, "guide-supports")
		out.RearSupport = r.distance(s.Need("rear"))
		out.FrontSupport = r.distance(s.Need("front"))
		s.Close()
	}
	out.Level = r.guideLevel(o.Get("guide-slope"))
	o.Close()
	if (out.Opening == nil) != (out.Rod == nil) {
		r.problems.Add(n.Pos, source.NeedsOther, "opening: and rod-diameter: are only of use together; give both or none")
	}
	if out.Opening != nil && out.Rod != nil && out.Rod.SI >= out.Opening.SI {
		r.problems.Add(n.Pos, source.DoesNotFit, "a rod of %s does not go through an opening of %s", out.Rod.Written, out.Opening.Written)
	}
	return out
}

func yesNo(word, yes, no string) Known {
	switch word {
	case yes:
		return Yes
	case no:
		return No
	}
	return NotStated
}

func (r *caseReader) rodPlane(o *source.Object, pos source.Pos) RodPlane {
	before := r.problems.Len()
	p := RodPlane{At: r.distance(o.Get("at")), Pos: pos}
	if r.standing {
		return p
	}
	p.Back = r.sides(o.Get("back"), "back")
	p.Middle = r.sides(o.Get("middle"), "middle")
	p.Front = r.sides(o.Get("front"), "front")
	if !p.Back.Any() && !p.Middle.Any() && !p.Front.Any() && r.problems.Len() == before {
		r.problems.Add(pos, source.Missing, "no reading here; expected %s", source.Want("back:, middle: or front: with top: and bottom:"))
	}
	return p
}

func (r *caseReader) distance(n *source.Node) *Quantity {
	q := r.quantity(n, Length)
	if q != nil && q.SI > mostDistance {
		r.problems.Add(n.Pos, source.OutOfRange, "%q is too far for a mud pump; is the unit right?", q.Written)
		return nil
	}
	return q
}

func (r *caseReader) guideLevel(n *source.Node) *GuideLevel {
	if n == nil {
		return nil
	}
	o := n.Object(r.problems, "guide-slope")
	out := &GuideLevel{}
	if q := r.anyQuantity(o.Need("slope"), Slope); q != nil {
		out.Slope = *q
	}
	if q := r.quantity(o.Need("within"), Slope); q != nil {
		out.Within = *q
	}
	out.RisesToFluidEnd = o.Need("rises-toward").Word(r.problems, "end", []string{"fluid-end", "crank-end"}) == "fluid-end"
	o.Close()
	return out
}

func (r *caseReader) points(p Place, n *source.Node, what string, allowed []string) Points {
	o := n.Object(r.problems, what)
	before := r.problems.Len()
	out := Points{Place: p, Method: r.method(o)}
	for _, name := range allowed {
		if reading := r.reading(o.Get(name), mostClearance); reading != nil {
			out.List = append(out.List, Point{Name: name, Reading: *reading})
		}
	}
	o.Close()
	if len(out.List) == 0 && r.problems.Len() == before {
		r.problems.Add(n.Pos, source.Missing, "%s has no reading%s", what, source.Expected("", allowed))
	}
	return out
}

func (r *caseReader) pointsByPlace(o *source.Object, what string, allowed []string) []Points {
	return byPlace(r, o.Get(what), func(p Place, v *source.Node) Points { return r.points(p, v, what+of(p), allowed) })
}

func (r *caseReader) surveys(o *source.Object, what string) []Survey {
	return byPlace(r, o.Get(what), func(p Place, v *source.Node) Survey {
		o := v.Object(r.problems, what+of(p))
		s := Survey{Place: p, Method: r.method(o), New: r.quantity(o.Get("new"), Length)}
		stations := o.Need("stations")
		o.Close()
		const line = "- {up-down: 6.012 in, across: 6.004 in}"
		for _, item := range r.lines(stations, "stations", line) {
			before := r.problems.Len()
			station := item.Object(r.problems, "a station")
			s.Stations = append(s.Stations, Diameters{
				UpDown: r.reading(station.Get("up-down"), mostDiameter),
				Across: r.reading(station.Get("across"), mostDiameter),
			})
			station.Close()
			if d := s.Stations[len(s.Stations)-1]; d.UpDown == nil && d.Across == nil && r.problems.Len() == before {
				r.problems.Add(item.Pos, source.Missing, "this station has no diameter; expected %s", source.Want("up-down: or across:"))
			}
		}
		if len(s.Stations) == 0 && stations != nil && stations.Kind == source.List {
			r.problems.Add(stations.Pos, source.Missing, "no station here; expected %s", source.Want("lines like \""+line+"\""))
		}
		return s
	})
}

// String says a reading with the other system beside it.
func (r *Reading) String() string {
	if r.Low == r.High {
		return Quantity{Dimension: Length, SI: r.Low, Written: r.Written}.String()
	}
	if strings.Contains(r.Written, "mm") {
		return fmt.Sprintf("%s (%.4g to %.4g in)", r.Written, r.Low/metresPerInch, r.High/metresPerInch)
	}
	return fmt.Sprintf("%s (%.3g to %.3g mm)", r.Written, r.Low*1000, r.High*1000)
}
