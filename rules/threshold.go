package rules

import (
	"cmp"
	"fmt"
	"slices"
	"sort"

	"telltale/evidence"
	"telltale/evidence/source"
)

// MeasuredValue names a value that is worked out from readings.
type MeasuredValue string

// The measured values. Lengths are in metres, losses are shares of the
// displacement, a margin is metres of mud.
const (
	RodLowBy          MeasuredValue = "rod-low-by"          // below the centre of its opening, mean over the stroke
	RodHighBy         MeasuredValue = "rod-high-by"         // above it
	RodSidewaysBy     MeasuredValue = "rod-sideways-by"     // off to either side
	RodChangesBy      MeasuredValue = "rod-changes-by"      // change of height from back to front of the stroke, or bow
	UpperGuideLeast   MeasuredValue = "upper-guide-least"   // smallest clearance over the crosshead
	UpperGuideMost    MeasuredValue = "upper-guide-most"    // largest
	RodFaceGapOneSide MeasuredValue = "rod-face-gap-uneven" // largest less smallest gap at the extension rod's face
	RodFaceGapAll     MeasuredValue = "rod-face-gap-around" // smallest gap at that face
	FluidEndGapMost   MeasuredValue = "fluid-end-gap-most"  // largest such gap
	LinerOverBy       MeasuredValue = "liner-over-by"       // largest bore over the new size
	LinerOvalBy       MeasuredValue = "liner-oval-by"       // largest difference of up-down and across
	LinerTaperBy      MeasuredValue = "liner-taper-by"      // change of the mean bore along the liner
	PistonRodUnderBy  MeasuredValue = "piston-rod-under-by" // new size over smallest diameter
	PistonRodOvalBy   MeasuredValue = "piston-rod-oval-by"
	ExtRodUnderBy     MeasuredValue = "extension-rod-under-by"
	ExtRodOvalBy      MeasuredValue = "extension-rod-oval-by"
	OutputLoss        MeasuredValue = "output-loss"     // share of the displacement that the tank did not get
	OutputChambers    MeasuredValue = "output-chambers" // the loss beyond the usual one, in chambers that do nothing
	// Of the gauges now and before the trouble, as shares.
	PressureUnderBy MeasuredValue = "pressure-under-by"        // under what the strokes alone make of the pressure before
	PressureOverBy  MeasuredValue = "pressure-over-by"         // over it
	ChargeUnderBy   MeasuredValue = "charge-pressure-under-by" // at the same strokes
	ChargeOverBy    MeasuredValue = "charge-pressure-over-by"
	StrokesUnderBy  MeasuredValue = "strokes-under-by" // at the same setting of the drive
	LoadOverBy      MeasuredValue = "load-over-by"     // over what goes with the pressure, at the same strokes
	LoadFollowed    MeasuredValue = "load-followed"    // change of the load over that of the pressure, at the same strokes
	SuctionMargin   MeasuredValue = "suction-margin"   // head left at the suction, over what the pump needs
)

// MeasuredKind is what a measured value is and where it belongs.
type MeasuredKind struct {
	Level evidence.Level
	Share bool   // a share, not a length
	Block string // of the case file, in which the readings stand
}

var measuredKinds = map[MeasuredValue]MeasuredKind{
	RodLowBy: {evidence.OfCylinder, false, "rod-in-opening"}, RodHighBy: {evidence.OfCylinder, false, "rod-in-opening"},
	RodSidewaysBy: {evidence.OfCylinder, false, "rod-in-opening"}, RodChangesBy: {evidence.OfCylinder, false, "rod-in-opening"},
	UpperGuideLeast: {evidence.OfCylinder, false, "upper-guide"}, UpperGuideMost: {evidence.OfCylinder, false, "upper-guide"},
	RodFaceGapOneSide: {evidence.OfCylinder, false, "rod-face-gap"}, RodFaceGapAll: {evidence.OfCylinder, false, "rod-face-gap"},
	FluidEndGapMost: {evidence.OfPump, false, "fluid-end-gap"},
	LinerOverBy:     {evidence.OfCylinder, false, "liner-bore"}, LinerOvalBy: {evidence.OfCylinder, false, "liner-bore"},
	LinerTaperBy:     {evidence.OfCylinder, false, "liner-bore"},
	PistonRodUnderBy: {evidence.OfCylinder, false, "piston-rod"}, PistonRodOvalBy: {evidence.OfCylinder, false, "piston-rod"},
	ExtRodUnderBy: {evidence.OfCylinder, false, "extension-rod"}, ExtRodOvalBy: {evidence.OfCylinder, false, "extension-rod"},
	PressureUnderBy: {evidence.OfPump, true, "before-and-now"}, PressureOverBy: {evidence.OfPump, true, "before-and-now"},
	ChargeUnderBy: {evidence.OfPump, true, "before-and-now"}, ChargeOverBy: {evidence.OfPump, true, "before-and-now"},
	StrokesUnderBy: {evidence.OfPump, true, "before-and-now"},
	LoadOverBy:     {evidence.OfPump, true, "before-and-now"}, LoadFollowed: {evidence.OfPump, true, "before-and-now"},
	OutputLoss: {evidence.OfPump, true, "tank-test"}, OutputChambers: {evidence.OfPump, true, "tank-test"}, SuctionMargin: {evidence.OfPump, false, "suction-line"},
}

// mostShare bounds a share: what is counted in chambers may be more than one.
func (v MeasuredValue) mostShare() float64 {
	if v == OutputChambers {
		return 2
	}
	return 1
}

// Kind gives what a measured value is.
func (v MeasuredValue) Kind() MeasuredKind { return measuredKinds[v] }

// BlocksOf names the blocks of readings of a case file that tell of some signs, each
// once, in the order of the book.
func (b *Book) BlocksOf(signs ...string) []string {
	var out []string
	for _, t := range b.Thresholds.List {
		if block := t.Of.Kind().Block; slices.Contains(signs, t.Sign) && !slices.Contains(out, block) {
			out = append(out, block)
		}
	}
	return out
}

func measuredNames() []string {
	var out []string
	for v := range measuredKinds {
		out = append(out, string(v))
	}
	sort.Strings(out)
	return out
}

// Bound is where a measured value becomes a sign: the limit of this
// pump's manual or of the book, else a figure that only weighs evidence and
// is no limit of anybody's.
type Bound struct {
	Limit   string // "" if none applies
	Else    float64
	Written string // Else as it is read
	Given   bool   // Else was given
}

// In gives the threshold in SI units for a case; ok is false when the limit
// has no figure and the book gives none to weigh by.
func (t *Bound) In(b *Book, k *evidence.Case) (at float64, ok bool) {
	if t.Limit != "" {
		if q, given := k.Manual[t.Limit]; given {
			return q.SI, true
		}
		if value := b.Limits.Get(t.Limit).Value; value != nil {
			return value.SI, true
		}
	}
	return t.Else, t.Given
}

// Lowest gives, in SI units, how low the pump's own figure may be where only
// that of common practice is known; ok is false where the threshold is known.
func (t *Bound) Lowest(b *Book, k *evidence.Case) (at float64, ok bool) {
	if t == nil || t.Limit == "" {
		return 0, false
	}
	return b.Limits.Get(t.Limit).Lowest(k)
}

// Lowest is that of a limit.
func (l *Limit) Lowest(k *evidence.Case) (at float64, ok bool) {
	if _, given := k.Manual[l.ID]; given || l.AsLowAs == nil {
		return 0, false
	}
	return l.AsLowAs.SI, true
}

// Threshold turns a measured value into a finding: above Above, below Below, or
// between the two.
type Threshold struct {
	Entry
	Of    MeasuredValue
	Above *Bound
	Below *Bound
	Sign  string
	Kind  string
	// OneOf are signs of which one at least must be possible: a value that is
	// past this threshold and fits none of them is no sign, but to be measured
	// again.
	OneOf []string
	When  *Condition
}

// Part is a spare part. Sign, if there is one, is that of its lasting too
// short.
type Part struct {
	Entry
	Level evidence.Level
	Sign  string
	Kind  string
	// ReachedBy are the openings that must be open to change it; none: it is
	// not behind anything that the book opens.
	ReachedBy []string
	Tools     []string // to change it, besides those of the opening
	Minutes   float64  // to change it, besides the opening; 0: not known
	// ShownBy are the signs that show it worn where it is, with how often it is
	// then changed.
	ShownBy []WornSign
	// Times: a mean life below that expected, or that at the sister places,
	// divided by it counts as too short.
	Times float64
	When  *Condition
}

// WornSign is a sign that shows a part worn, with the chance that it is changed.
type WornSign struct {
	Sign   string
	Chance float64
}

// Advice is the words for an outcome or a remark of the working out.
type Advice struct {
	Entry
	Do []string
	// MeasureAgain: by it readings are to be taken, or taken finer.
	MeasureAgain bool
}

// Readings says how readings are weighed and what shims are made of.
type Readings struct {
	UpperLeast   string  // the limit of the least clearance over the crosshead
	UpperMost    string  // the limit of the most
	Misread      float64 // chance that a reading is plainly wrong
	Significant  float64 // standard uncertainties that make a slope or a bow significant
	Guard        float64 // standard uncertainties of the guard band at a limit
	MostPieces   int     // of shim in one pack
	ShimSeries   []evidence.Quantity
	RodLoad      string  // the limit that is the rod load of the manual
	SuctionDoubt float64 // standard uncertainty of the acceleration head, as a share of it
	SuctionK     float64 // liquid's factor of the acceleration head
	AirPressure  evidence.Quantity
	Vapour       evidence.Quantity
	RodRatio     float64 // crank radius over connecting-rod length where it is not given
	Confidence   float64 // of the limits of a rate
	LikeOneDead  float64 // standard uncertainties within which a loss is like one dead chamber
	// GaugeDoubt is what a reading of a gauge may be off either way, as a share;
	// SameStrokes is by what share strokes may differ and count as the same.
	GaugeDoubt, SameStrokes float64
	UsualLoss               float64 // share that a well packed pump loses
	// LifeShapeLeast and LifeShapeMost are the Weibull shapes that a wear part can have.
	LifeShapeLeast, LifeShapeMost float64
}

func (l *loader) parseThreshold(o *source.Object, e Entry) *Threshold {
	s := &Threshold{Entry: e, Of: MeasuredValue(o.Need("of").Word(&l.problems, "measured value", measuredNames()))}
	kind := s.Of.Kind()
	s.Above = l.bound(o.Get("above"), s.Of)
	s.Below = l.bound(o.Get("below"), s.Of)
	if s.Above == nil && s.Below == nil {
		l.problems.Add(e.Pos, source.Missing, "%s has neither above: nor below:", e.ID)
	}
	s.Sign, s.Kind = l.shown(o.Need("shows"))
	s.OneOf = l.ids(o.Get("one-of"), "thresholds")
	if sign := l.book.Signs.Get(s.Sign); sign != nil && kind.Level != "" && sign.Level != kind.Level {
		l.problems.Add(e.Pos, source.DoesNotFit, "%s is measured by %s, but %s belongs to a %s", s.Of, kind.Level, s.Sign, sign.Level)
	}
	s.When = l.readCondition(o.Get("when"))
	return s
}

// shown reads "sign" or "sign: kind".
func (l *loader) shown(n *source.Node) (sign, kind string) {
	if n == nil {
		return "", ""
	}
	id, of := n, (*source.Node)(nil)
	if n.Kind == source.Mapping && len(n.Pairs) == 1 {
		id, of = n.Pairs[0].Key, n.Pairs[0].Value
	}
	s := l.book.Signs.Get(l.id(id, "signs"))
	if s == nil {
		return "", ""
	}
	return s.ID, of.Word(&l.problems, "kind", s.KindIDs())
}

// bound reads a length, a share, or {limit: id, else: figure}.
func (l *loader) bound(n *source.Node, of MeasuredValue) *Bound {
	if n == nil {
		return nil
	}
	t := &Bound{}
	if n.Kind != source.Mapping {
		l.boundFigure(t, n, of)
		return t
	}
	o := n.Object(&l.problems, "a threshold")
	t.Limit = l.id(o.Need("limit"), "limits")
	if other := o.Get("else"); other != nil {
		l.boundFigure(t, other, of)
	}
	o.Close()
	if limit := l.book.Limits.Get(t.Limit); limit != nil && (of.Kind().Share || limit.Dimension != evidence.Length) {
		l.problems.Add(n.Pos, source.DoesNotFit, "the limit %s is a %s and does not fit here", t.Limit, limit.Dimension)
	}
	return t
}

func (l *loader) boundFigure(t *Bound, n *source.Node, of MeasuredValue) {
	t.Given = true
	if of.Kind().Share {
		t.Else = n.Number(&l.problems, "a share", 0, of.mostShare())
		t.Written = fmt.Sprintf("%.3g %%", 100*t.Else)
		return
	}
	q := l.figure(n, evidence.Length)
	t.Else, t.Written = q.SI, q.String()
}

// figure reads a quantity of a dimension.
func (l *loader) figure(n *source.Node, d evidence.Dimension) evidence.Quantity {
	q, _ := evidence.ReadQuantity(n, d, &l.problems)
	return q
}

func (l *loader) parsePart(o *source.Object, e Entry) *Part {
	part := &Part{Entry: e, Level: l.level(o), ReachedBy: l.ids(o.Get("reached-by"), "openings"), Tools: l.texts(o.Get("tools"), "tools")}
	if n := o.Get("minutes"); n != nil {
		part.Minutes = l.minutes(n)
	}
	part.ShownBy = l.wornSigns(o.Get("shown-by"), part)
	if often := o.Get("often"); often != nil {
		part.Sign, part.Kind = l.shown(often)
		part.Times = o.Need("times").Number(&l.problems, "times", 1, 100)
	}
	if s := l.book.Signs.Get(part.Sign); s != nil && s.Level != part.Level {
		l.problems.Add(e.Pos, source.DoesNotFit, "%s belongs to a %s, but %s to a %s", e.ID, part.Level, s.ID, s.Level)
	}
	part.When = l.readCondition(o.Get("when"))
	return part
}

// wornSigns reads the signs that show a part worn: {liner-worn: often}.
func (l *loader) wornSigns(n *source.Node, part *Part) []WornSign {
	var out []WornSign
	for _, p := range l.pairs(n, "shown-by") {
		id := l.id(p.Key, "signs")
		if id == "" {
			continue
		}
		if s := l.book.Signs.Get(id); s != nil && s.Level != part.Level {
			l.problems.Add(p.Key.Pos, source.DoesNotFit, "%s belongs to a %s, but %s to a %s", part.ID, part.Level, id, s.Level)
		}
		out = append(out, WornSign{Sign: id, Chance: l.chance(p.Value, l.book.Scale.Shows, "how often the part is then changed")})
	}
	return out
}

func (l *loader) parseAdvice(o *source.Object, e Entry) *Advice {
	return &Advice{Entry: e, Do: l.texts(o.Get("do"), "do"), MeasureAgain: o.Get("measure-again").Bool(&l.problems, "measure-again")}
}

// mostSeries bounds the common series of shims.
const mostSeries = evidence.MostShims

// The thicknesses that a shim can have, in metres.
const (
	leastShim = 1e-6
	mostShim  = 0.1
)

// limitOf reads the name of a limit of a dimension.
func (l *loader) limitOf(n *source.Node, d evidence.Dimension) string {
	id := l.id(n, "limits")
	if limit := l.book.Limits.Get(id); limit != nil && limit.Dimension != d {
		l.problems.Add(n.Pos, source.DoesNotFit, "the limit %s is a %s; expected a %s", id, limit.Dimension, d)
	}
	return id
}

func (l *loader) parseReadings() {
	n := l.single["readings"]
	if n == nil {
		if len(l.sections["thresholds"]) > 0 {
			l.section("readings")
		}
		return
	}
	o, r, ps := n.Object(&l.problems, "readings"), &l.book.Readings, &l.problems
	r.Misread = o.Need("misread").Number(ps, "misread", 0, 0.5)
	r.UpperLeast = l.limitOf(o.Need("upper-guide-least"), evidence.Length)
	r.UpperMost = l.limitOf(o.Need("upper-guide-most"), evidence.Length)
	r.Significant = o.Need("significant").Number(ps, "significant", 1, 10)
	r.Guard = o.Need("guard").Number(ps, "guard", 0, 10)
	r.MostPieces = int(o.Need("most-pieces").Number(ps, "most-pieces", 1, 4))
	for _, item := range o.Need("shim-series").Scalars(ps, "shim-series") {
		q := l.figure(item, evidence.Length)
		if q.Written != "" && (q.SI < leastShim || q.SI > mostShim) {
			ps.Add(item.Pos, source.OutOfRange, "%q is no thickness of a shim; is the unit right?", q.Written)
		}
		r.ShimSeries = append(r.ShimSeries, q)
	}
	if len(r.ShimSeries) > mostSeries {
		ps.Add(n.Pos, source.TooLarge, "shim-series has %d thicknesses; the most is %d", len(r.ShimSeries), mostSeries)
	}
	slices.SortStableFunc(r.ShimSeries, func(a, b evidence.Quantity) int { return cmp.Compare(a.SI, b.SI) })
	r.RodLoad = l.limitOf(o.Need("rod-load"), evidence.Force)
	r.SuctionDoubt = o.Need("suction-doubt").Number(ps, "suction-doubt", 0, 1)
	r.SuctionK = o.Need("suction-factor").Number(ps, "suction-factor", 0.1, 100)
	r.AirPressure = l.figure(o.Need("air-pressure"), evidence.Pressure)
	r.Vapour = l.figure(o.Need("vapour-pressure"), evidence.Pressure)
	r.RodRatio = o.Need("crank-ratio").Number(ps, "crank-ratio", 0.01, 0.9)
	r.Confidence = o.Need("confidence").Number(ps, "confidence", 0.5, 0.999)
	r.LikeOneDead = o.Need("like-one-dead").Number(ps, "like-one-dead", 0, 10)
	r.GaugeDoubt = o.Get("gauge-doubt").Number(ps, "gauge-doubt", 0, 0.5)
	r.SameStrokes = o.Get("same-strokes").Number(ps, "same-strokes", 0, 0.5)
	r.UsualLoss = o.Need("usual-loss").Number(ps, "usual-loss", 0, 0.5)
	r.LifeShapeLeast = o.Need("life-shape-least").Number(ps, "life-shape-least", 0.1, 1)
	r.LifeShapeMost = o.Need("life-shape-most").Number(ps, "life-shape-most", 1, 20)
	l.basis(o)
	l.close("readings", o)
}

// Text says a threshold as the person reads it, and on what it rests. A figure
// of the sign itself rests on what the sign rests on; a judged one is only
// where the book starts to weigh.
func (t *Bound) Text(b *Book, k *evidence.Case, basis string) (figure, on string) {
	if t.Limit != "" {
		if q, given := k.Manual[t.Limit]; given {
			return q.String(), "this pump's manual"
		}
		limit := b.Limits.Get(t.Limit)
		switch {
		case limit.Value != nil && limit.AsLowAs != nil:
			return limit.Value.String(), limit.Basis + "; this pump's own figure may be as low as " + limit.AsLowAs.String() + ", ask for it"
		case limit.Value != nil:
			return limit.Value.String(), limit.Basis
		}
	}
	if basis == BasisJudgement {
		return t.Written, "the rulebook's figure to weigh by, no limit"
	}
	return t.Written, basis
}
