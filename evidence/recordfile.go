package evidence

import (
	"math"
	"slices"

	"telltale/evidence/source"
)

// The tank test, the suction line, the record of part changes and the shims on
// hand of a case file.

const mostStrokes = 1e7

func (r *caseReader) tankTest(n *source.Node) *TankTest {
	if n == nil {
		return nil
	}
	o := n.Object(r.problems, "tank-test")
	t := &TankTest{Pos: n.Pos}
	t.Strokes = o.Need("strokes").Number(r.problems, "strokes", 1, mostStrokes)
	t.StrokesWithin = o.Get("strokes-within").Number(r.problems, "strokes-within", 0, mostStrokes)
	if q := r.quantity(o.Need("volume"), Volume); q != nil {
		t.Volume = *q
	}
	t.VolumeWithin = r.quantity(o.Need("volume-within"), Volume)
	o.Close()
	if r.out.Pump.Liner == nil || r.out.Pump.Stroke == nil {
		r.problems.Add(n.Pos, source.NeedsOther, "a tank test needs the pump's liner: and stroke:")
	}
	if r.out.Pump.Action == Duplex && r.out.Pump.PistonRod == nil {
		r.problems.Add(n.Pos, source.NeedsOther, "a tank test of a duplex needs the pump's piston-rod:")
	}
	if t.StrokesWithin >= t.Strokes && t.Strokes > 0 || t.VolumeWithin != nil && t.Volume.SI > 0 && t.VolumeWithin.SI >= t.Volume.SI {
		r.problems.Add(n.Pos, source.DoesNotFit, "the test is no better than its doubt; count more strokes")
	}
	return t
}

func (r *caseReader) readSuction(n *source.Node) {
	if n == nil {
		return
	}
	o := n.Object(r.problems, "suction-line")
	s := &Suction{Pos: n.Pos}
	if !r.standing {
		s.MudWeight = r.quantity(o.Need("mud-weight"), Density)
	}
	s.MudAbove = r.quantity(o.Get("mud-above-pump"), Length)
	s.MudBelow = r.quantity(o.Get("mud-below-pump"), Length)
	s.ChargePressure = r.quantity(o.Get("charge-pressure"), Pressure)
	s.VapourPressure = r.quantity(o.Get("vapour-pressure"), Pressure)
	s.SurfacePressure = r.quantity(o.Get("air-pressure"), Pressure)
	s.Friction = r.quantity(o.Get("friction-head"), Length)
	s.Needed = r.quantity(o.Get("head-needed"), Length)
	pipes := o.Need("pipes")
	o.Close()
	if s.MudAbove != nil && s.MudBelow != nil {
		r.problems.Add(n.Pos, source.Excludes, "the mud stands above the pump or below it, not both; keep one")
	}
	s.Pipes = r.pipes(pipes)
	r.out.Measured.Suction = s
}

func (r *caseReader) pipes(n *source.Node) []Pipe {
	var out []Pipe
	for _, item := range r.lines(n, "pipes", "- {length: 20 ft, bore: 10 in}") {
		o := item.Object(r.problems, "a pipe")
		length, bore := r.quantity(o.Need("length"), Length), r.quantity(o.Need("bore"), Length)
		o.Close()
		if length != nil && bore != nil {
			out = append(out, Pipe{Length: *length, Bore: *bore})
		}
	}
	return out
}

func (r *caseReader) readParts(n *source.Node) {
	for _, pair := range n.Entries(r.problems, "parts") {
		word, known := r.words.Parts[pair.Key.Text]
		if !known {
			r.problems.Add(pair.Key.Pos, source.UnknownName, "unknown part %q%s", source.Clip(pair.Key.Text), source.Expected(pair.Key.Text, names(r.words.Parts)))
			continue
		}
		if word.Applies != nil && !word.Applies(&r.out.Pump) {
			r.problems.Add(pair.Key.Pos, source.DoesNotFit, "a %s pump has no %s", r.out.Pump.Action, pair.Key.Text)
			continue
		}
		if pair.Value.Kind != source.Null {
			r.partRecord(pair.Key, pair.Value, word.Level)
		}
	}
}

func (r *caseReader) partRecord(key, n *source.Node, level Level) {
	before := r.problems.Len()
	o := n.Object(r.problems, "the record of "+key.Text)
	rec := PartRecord{Part: key.Text, Pos: key.Pos}
	from, to, changed, good := o.Get("from"), o.Get("to"), o.Get("changed-at"), o.Get("still-good-at")
	rec.Expected = r.quantity(o.Get("expected-life"), Duration)
	if r.standing && from == nil && to == nil && changed == nil && good == nil {
		o.Close()
		r.out.Measured.PartRecords = append(r.out.Measured.PartRecords, rec) // the jobs tell the rest
		return
	}
	rec.From = r.hours(o.Need("from"))
	rec.To = r.hours(o.Need("to"))
	changed = o.Need("changed-at")
	o.Close()
	if r.problems.Len() > before {
		return
	}
	if rec.To.SI <= rec.From.SI {
		r.problems.Add(n.Pos, source.OutOfOrder, "the record of %s ends at %s, not after its start at %s", key.Text, rec.To.Written, rec.From.Written)
		return
	}
	if hours := rec.To.In("h") - rec.From.In("h"); hours < 1 || hours > mostHours {
		r.problems.Add(n.Pos, source.OutOfRange, "a record of %s cannot be right; is the unit right?", key.Text)
		return
	}
	rec.Replaced = r.changes(changed, level, &rec)
	for _, at := range r.changes(good, level, &rec) {
		for i, q := range at.At {
			if !rec.changed(at.Place, q) {
				r.problems.Add(at.Pos[i], source.NeedsOther, "%s stands under still-good-at but not under changed-at of the same place", q.Written)
			}
		}
		rec.StillGood = append(rec.StillGood, at)
	}
	r.out.Measured.PartRecords = append(r.out.Measured.PartRecords, rec)
}

// changed says whether a part was changed at a place and hour.
func (rec *PartRecord) changed(at Place, hour Quantity) bool {
	return slices.ContainsFunc(rec.Replaced, func(p PartPlace) bool {
		return p.Place == at && slices.ContainsFunc(p.At, func(q Quantity) bool { return q.SI == hour.SI })
	})
}

// changes reads the hours of changes by place; of what the pump has once, a
// list of hours alone.
func (r *caseReader) changes(n *source.Node, level Level, rec *PartRecord) (out []PartPlace) {
	if n != nil && level == OfPump {
		return append(out, r.changesAt(n, Place{}, rec))
	}
	r.eachPlace(n, level, func(p Place, v *source.Node) { out = append(out, r.changesAt(v, p, rec)) })
	return out
}

func (r *caseReader) changesAt(n *source.Node, at Place, rec *PartRecord) PartPlace {
	out := PartPlace{Place: at}
	last := math.Inf(-1)
	for _, item := range n.Scalars(r.problems, "the hours of the changes") {
		before := r.problems.Len()
		q := r.hours(item)
		if r.problems.Len() > before {
			continue
		}
		if q.SI < rec.From.SI || q.SI > rec.To.SI {
			r.problems.Add(item.Pos, source.OutOfOrder, "%s lies outside the record, %s to %s", q.Written, rec.From.Written, rec.To.Written)
		}
		if q.SI < last {
			r.problems.Add(item.Pos, source.OutOfOrder, "%s comes after a later change; write the hours in order", q.Written)
		}
		last = q.SI
		out.At, out.Pos = append(out.At, q), append(out.Pos, item.Pos)
	}
	return out
}

func (r *caseReader) hours(n *source.Node) Quantity {
	q, _ := ReadQuantity(n, Duration, r.problems)
	return q
}

// mostHours bounds a record: more than a thousand years is a slip.
const mostHours = 1e7

const mostPieces = 1000

// readShims reads what shims there are: "5 thou", or a thickness with what it
// really measures and how many there are.
func (r *caseReader) readShims(n *source.Node) {
	if n == nil {
		return
	}
	r.out.Measured.ShimsOnHandAt = n.Pos
	if n.Kind != source.List {
		r.problems.Add(n.Pos, source.WrongForm, "shims-on-hand must be a list like [1 thou, 5 thou, {nominal: 50 thou, measures: 48 thou, pieces: 2}]")
		return
	}
	for _, item := range n.Items {
		if shim, ok := r.shim(item); ok {
			r.out.Measured.ShimsOnHand = append(r.out.Measured.ShimsOnHand, shim)
		}
	}
	if len(r.out.Measured.ShimsOnHand) > MostShims {
		r.problems.Add(n.Pos, source.TooLarge, "%d kinds of shim are listed; the most is %d", len(r.out.Measured.ShimsOnHand), MostShims)
	}
}

// MostShims is how many thicknesses of shim a case may list.
const MostShims = 24

func (r *caseReader) shim(n *source.Node) (ShimThickness, bool) {
	if n.Kind == source.Scalar {
		q := r.quantity(n, Length)
		if q == nil {
			return ShimThickness{}, false
		}
		return ShimThickness{Nominal: *q}, r.thin(n, *q)
	}
	o := n.Object(r.problems, "a shim")
	nominal, measures := r.quantity(o.Need("nominal"), Length), r.quantity(o.Get("measures"), Length)
	pieces := o.Get("pieces").Number(r.problems, "pieces", 1, mostPieces)
	o.Close()
	if nominal == nil {
		return ShimThickness{}, false
	}
	if pieces != math.Trunc(pieces) {
		r.problems.Add(n.Pos, source.OutOfRange, "pieces must be a whole number; read %g", pieces)
	}
	return ShimThickness{Nominal: *nominal, Measured: measures, Pieces: int(pieces)}, r.thin(n, *nominal) && (measures == nil || r.thin(n, *measures))
}

// thinnest is what no shim is thinner than, in metres.
const thinnest = 1e-6

// mostShim is what no shim is thicker than, in metres.
const mostShim = 0.013

func (r *caseReader) thin(n *source.Node, q Quantity) bool {
	if q.SI > mostShim {
		r.problems.Add(n.Pos, source.OutOfRange, "%q is too thick for a shim; is the unit right?", q.Written)
		return false
	}
	if q.SI < thinnest {
		r.problems.Add(n.Pos, source.OutOfRange, "%q is too thin for a shim; is the unit right?", q.Written)
		return false
	}
	return true
}
