package figures

import (
	"fmt"
	"math"
	"slices"

	"telltale/engine/measure"
	"telltale/engine/pumping"
	"telltale/evidence"
	"telltale/rules"
)

// Pump is what the pump's size and speed come to, at a volumetric efficiency
// of one unless a tank test says otherwise.
type Pump struct {
	PerStroke   float64   `json:"per_stroke_m3"` // one stroke is one turn of the crank
	Chambers    []Chamber `json:"chambers"`
	PerMinute   *float64  `json:"per_minute_m3,omitempty"`
	PistonSpeed *float64  `json:"mean_piston_speed_m_s,omitempty"`
	PistonPeak  *float64  `json:"peak_piston_speed_m_s,omitempty"`
	Push        *float64  `json:"push_n,omitempty"` // rod load of the forward stroke
	Pull        *float64  `json:"pull_n,omitempty"` // rod load of the return stroke
	Side        *float64  `json:"greatest_side_force_n,omitempty"`
	Rating      *float64  `json:"rod_load_rating_n,omitempty"` // from the manual
	Allowed     *float64  `json:"pressure_at_rating_pa,omitempty"`
	Largest     *float64  `json:"largest_liner_m,omitempty"` // at the pressure in use
	Power       *float64  `json:"hydraulic_power_w,omitempty"`
	FlowMost    float64   `json:"flow_most_of_mean"` // over a turn, no dampener
	FlowLeast   float64   `json:"flow_least_of_mean"`
	// RatioAssumed says that the connecting rod was not given.
	RatioAssumed bool `json:"connecting_rod_assumed"`
}

// Chamber is one chamber's share of the displacement.
type Chamber struct {
	Name  string  `json:"name"`
	Count int     `json:"count"`
	Share float64 `json:"share"`
}

// geometry makes the pump's geometry, nil if something is missing. A
// connecting rod that is not given has the usual ratio.
func (w *worker) geometry() (*pumping.Pump, bool, error) {
	p := &w.k.Pump
	switch {
	case p.Liner == nil || p.Stroke == nil:
		return nil, false, nil
	case p.Action == evidence.Duplex && p.PistonRod == nil:
		w.missing("what a duplex displaces depends on its rod; give piston-rod:")
		return nil, false, nil
	}
	g := pumping.Geometry{Action: pumping.TriplexSingleActing, Liner: p.Liner.SI, Stroke: p.Stroke.SI}
	if p.Action == evidence.Duplex {
		g.Action, g.Rod = pumping.DuplexDoubleActing, p.PistonRod.SI
	}
	assumed := p.ConnectingRod == nil
	switch {
	case !assumed:
		g.ConnectingRod = p.ConnectingRod.SI
	case w.book.Readings.RodRatio > 0:
		g.ConnectingRod = p.Stroke.SI / 2 / w.book.Readings.RodRatio
	default:
		return nil, false, nil
	}
	pump, err := pumping.New(g)
	return &pump, assumed, err
}

func (w *worker) pump() error {
	pump, assumed, err := w.geometry()
	if err != nil || pump == nil {
		return err
	}
	swing := pump.FlowSwing()
	out := &Pump{PerStroke: pump.Displacement(), Chambers: w.chambers(pump), FlowMost: swing.Max, FlowLeast: swing.Min, RatioAssumed: assumed}
	w.out.Pump = out
	w.moving(pump, out)
	return w.loaded(pump, out)
}

func (w *worker) chambers(pump *pumping.Pump) []Chamber {
	share := func(c pumping.Chamber) float64 { return pump.ChamberDisplacement(c) / pump.Displacement() }
	if w.k.Pump.Action == evidence.Triplex {
		return []Chamber{{Name: "each cylinder", Count: 3, Share: share(pumping.HeadEnd)}}
	}
	return []Chamber{{Name: "each head end", Count: 2, Share: share(pumping.HeadEnd)}, {Name: "each crank end", Count: 2, Share: share(pumping.CrankEnd)}}
}

// moving adds what the speed gives.
func (w *worker) moving(pump *pumping.Pump, out *Pump) {
	rate := w.k.Pump.Speed
	if rate == nil {
		return
	}
	mean, peak := pump.Speeds(rate.SI)
	perMinute := pump.Flow(rate.SI) * 60
	out.PerMinute, out.PistonSpeed, out.PistonPeak = &perMinute, &mean, &peak
	if p := w.k.Pump.Discharge; p != nil {
		power := p.SI * pump.Flow(rate.SI)
		out.Power = &power
	}
}

// loaded adds what the pressure and the manual's rod load give.
func (w *worker) loaded(pump *pumping.Pump, out *Pump) error {
	p := w.k.Pump.Discharge
	if p != nil {
		push, pull := pump.RodLoad(p.SI)
		side := math.Max(push, pull) * pump.LargestSide()
		out.Push, out.Pull, out.Side = &push, &pull, &side
	}
	rating, known := w.k.Manual[w.book.Readings.RodLoad]
	if !known {
		return nil
	}
	allowed := pump.PressureAtRodLoad(rating.SI)
	out.Rating, out.Allowed = &rating.SI, &allowed
	if p == nil {
		return nil
	}
	largest, err := pumping.LargestLiner(rating.SI, p.SI)
	out.Largest = &largest
	return err
}

// Tank is what a tank test shows.
type Tank struct {
	Efficiency float64 `json:"volumetric_efficiency"`
	U          float64 `json:"u"`
	Loss       float64 `json:"loss"`
	// NotKnown: the readings tell nothing; it is not weighed.
	NotKnown bool `json:"not_known,omitempty"`
	// Impossible: more came than the pump can displace.
	Impossible bool   `json:"more_than_displaced"`
	Like       []Like `json:"like"`
	// Advice says that the loss fits no pattern and what to do then; nil if it
	// fits one. What fits none is not weighed.
	Advice *Note `json:"fits_no_pattern,omitempty"`
}

// noPattern is the advice for a loss that fits no pattern.
const noPattern advice = "tank-fits-no-pattern"

// Like is what the loss of a pump with one chamber dead would be, beside the
// loss that was measured.
type Like struct {
	Name     string  `json:"name"`
	Loss     float64 `json:"expected_loss"`
	Distance float64 `json:"distance_in_u"` // measured less expected, in standard uncertainties
	Fits     bool    `json:"fits"`
}

func (w *worker) tank() error {
	t := w.k.Measured.TankTest
	if t == nil {
		return nil
	}
	pump, _, err := w.geometry()
	if err != nil || pump == nil {
		return err
	}
	r := &w.book.Readings
	e, err := pump.VolumetricEfficiency(measure.FromHalfWidth(t.Volume.SI, t.VolumeWithin.SI), measure.FromHalfWidth(t.Strokes, t.StrokesWithin))
	if err != nil {
		return err
	}
	if w.lost(e) {
		w.out.Tank = &Tank{Efficiency: e.Mean, U: e.U, Loss: 1 - e.Mean, NotKnown: true, Like: []Like{}}
		return nil
	}
	loss := measure.Value{Mean: 1 - e.Mean, U: e.U}
	// More than the pump can displace: the liner, the stroke counter or the tank is not what it was taken for.
	out := &Tank{Efficiency: e.Mean, U: e.U, Loss: loss.Mean, Impossible: e.Mean-r.Significant*e.U > 1, Like: []Like{}}
	signatures, err := pump.Signatures(e, measure.FromHalfWidth(r.UsualLoss, r.UsualLoss))
	if err != nil {
		return err
	}
	for _, s := range signatures {
		out.Like = append(out.Like, Like{Name: w.deadName(s.Dead), Loss: s.Loss, Distance: s.Distance, Fits: math.Abs(s.Distance) <= r.LikeOneDead})
	}
	w.out.Tank = out
	values := []Value{
		{ID: rules.OutputLoss, Pos: t.Pos, Of: []measure.Value{loss}},
		{ID: rules.OutputChambers, Pos: t.Pos, Of: chambersMissing(signatures)},
	}
	switch {
	case out.Impossible:
	case w.fitsNone(values):
		advice := w.advice(noPattern)
		out.Advice = &advice
	default:
		w.out.Values = append(w.out.Values, values...)
	}
	return nil
}

// lost says of a share of a whole that it is lost in its doubt, which covers both
// nothing and the whole.
func (w *worker) lost(share measure.Value) bool {
	doubt := w.book.Readings.Significant * share.U
	return share.Mean-doubt <= 0 && share.Mean+doubt >= 1
}

// chambersMissing gives the loss beyond the usual one as so many chambers of
// each kind that the pump has.
func chambersMissing(signatures []pumping.Signature) []measure.Value {
	var out []measure.Value
	for _, s := range signatures {
		if s.Dead != pumping.NoChamber {
			out = append(out, s.Share)
		}
	}
	return out
}

// fitsNone says whether these values are past the threshold of a sign that
// wants one of others to be possible, and none of them is.
func (w *worker) fitsNone(values []Value) bool {
	return slices.ContainsFunc(w.book.Thresholds.List, func(s *rules.Threshold) bool {
		possible := func(id string) bool { return w.signChance(w.book.Thresholds.Get(id), values) >= perhapsTight }
		return len(s.OneOf) > 0 && w.signChance(s, values) >= ratherTight && !slices.ContainsFunc(s.OneOf, possible)
	})
}

// signChance is the chance that a sign holds by these values, 0 if it looks at
// none of them.
func (w *worker) signChance(s *rules.Threshold, values []Value) float64 {
	most := 0.0
	for _, v := range values {
		if v.ID == s.Of && s.When.HoldsForPump(&w.k.Pump) {
			most = max(most, v.Chance(w.side(s.Above), w.side(s.Below)))
		}
	}
	return most
}

// side is the figure of one side of a sign; nil if there is none.
func (w *worker) side(t *rules.Bound) *float64 {
	if t == nil {
		return nil
	}
	if at, ok := t.In(w.book, w.k); ok {
		return &at
	}
	return nil
}

func (w *worker) deadName(c pumping.Chamber) string {
	switch {
	case c == pumping.NoChamber:
		return "the usual loss and no more"
	case w.k.Pump.Action == evidence.Triplex:
		return "one cylinder does nothing"
	case c == pumping.HeadEnd:
		return "one head end does nothing"
	}
	return "one crank end does nothing"
}

// Suction is what is left of the pressure at the pump's suction, in metres of
// the mud that is pumped.
type Suction struct {
	Pressure     float64  `json:"absolute_pressure_head_m"`
	Vapour       float64  `json:"vapour_pressure_head_m"`
	Static       float64  `json:"static_head_m"`
	Friction     float64  `json:"friction_head_m"`
	Acceleration float64  `json:"acceleration_head_m"`
	Constant     float64  `json:"acceleration_constant"`
	Doubt        float64  `json:"acceleration_head_u_m"`              // standard uncertainty; that of what is left too
	MostlyFrom   string   `json:"acceleration_mostly_from,omitempty"` // the pipe that takes most; only where nothing is left
	Available    float64  `json:"head_available_m"`
	Needed       *float64 `json:"head_needed_m,omitempty"`
	Margin       float64  `json:"margin_m"`
	Charged      bool     `json:"charged"`
	Assumed      []string `json:"assumed"`
}

func (w *worker) suction() error {
	s := w.k.Measured.Suction
	if s == nil {
		return nil
	}
	pump, assumed, err := w.geometry()
	if err != nil {
		return err
	}
	rate := w.k.Pump.Speed
	if pump == nil || rate == nil || s.MudWeight == nil {
		w.missing("the suction needs the pump's liner:, stroke: and speed:, and of a duplex its piston-rod:")
		return nil
	}
	out := &Suction{Assumed: []string{}, Charged: s.ChargePressure != nil}
	if assumed {
		out.Assumed = append(out.Assumed, "the ratio of crank to connecting rod")
	}
	out.Constant = pump.AccelerationConstant()
	if out.Acceleration, err = w.acceleration(pump, rate.SI, s.Pipes...); err != nil {
		return err
	}
	inlet := w.inlet(s, out)
	inlet.AccelerationHead, out.Doubt = out.Acceleration, out.Acceleration*w.book.Readings.SuctionDoubt
	needed := 0.0
	if s.Needed != nil {
		needed = s.Needed.SI
		out.Needed = &needed
	}
	if out.Available, err = inlet.NPSHAvailable(); err != nil {
		return err
	}
	if out.Available < 0 {
		if out.MostlyFrom, err = w.mostlyFrom(pump, rate.SI, s); err != nil {
			return err
		}
	}
	out.Margin = out.Available - needed
	metre := inlet.Density * pumping.Gravity
	out.Pressure, out.Vapour, out.Static, out.Friction = inlet.SurfacePressure/metre, inlet.VapourPressure/metre, inlet.StaticHead, inlet.FrictionHead
	w.out.Suction = out
	w.value(rules.SuctionMargin, evidence.Place{}, s.Pos, measure.Value{Mean: out.Margin, U: out.Doubt})
	return nil
}

// acceleration is the head that keeps the mud up with the pistons.
func (w *worker) acceleration(pump *pumping.Pump, rate float64, pipes ...evidence.Pipe) (float64, error) {
	var line []pumping.Segment
	for _, p := range pipes {
		line = append(line, pumping.Segment{Length: p.Length.SI, Bore: p.Bore.SI})
	}
	return pumping.AccelerationHead(pumping.Draw{Flow: pump.Flow(rate), Rate: rate, Constant: pump.AccelerationConstant(), K: w.book.Readings.SuctionK}, line...)
}

// mostlyFrom is the pipe of the suction line that takes the most head, as written.
func (w *worker) mostlyFrom(pump *pumping.Pump, rate float64, s *evidence.Suction) (string, error) {
	most, out := 0.0, ""
	for _, p := range s.Pipes {
		head, err := w.acceleration(pump, rate, p)
		if err != nil {
			return "", err
		}
		if head > most {
			most, out = head, fmt.Sprintf("the pipe of %s with a bore of %s", p.Length, p.Bore)
		}
	}
	return out, nil
}

// inlet is the pressures at the pump's suction: from the charge pump's gauge,
// else from the pit.
func (w *worker) inlet(s *evidence.Suction, out *Suction) pumping.Suction {
	r := &w.book.Readings
	air, vapour := r.AirPressure.SI, r.Vapour.SI
	if s.SurfacePressure != nil {
		air = s.SurfacePressure.SI
	} else {
		out.Assumed = append(out.Assumed, "air pressure "+r.AirPressure.String()+" absolute")
	}
	if s.VapourPressure != nil {
		vapour = s.VapourPressure.SI
	} else {
		out.Assumed = append(out.Assumed, "vapour pressure "+r.Vapour.String()+" absolute, as of cool water; hot mud has more")
	}
	in := pumping.Suction{SurfacePressure: air, VapourPressure: vapour, Density: s.MudWeight.SI}
	if s.ChargePressure != nil {
		in.SurfacePressure += s.ChargePressure.SI
		return in
	}
	switch {
	case s.MudAbove != nil:
		in.StaticHead = s.MudAbove.SI
	case s.MudBelow != nil:
		in.StaticHead = -s.MudBelow.SI
	default:
		out.Assumed = append(out.Assumed, "the mud stands level with the pump's suction")
	}
	if s.Friction != nil {
		in.FrictionHead = s.Friction.SI
	} else {
		out.Assumed = append(out.Assumed, "no friction in the suction line")
	}
	return in
}
