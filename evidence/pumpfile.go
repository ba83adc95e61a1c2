package evidence

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"telltale/evidence/source"
)

// PumpFile is what stands of one pump of a rig, whatever job is on it. It has the
// shape of a case: a job takes from it, key by key, what it does not say itself.
type PumpFile struct {
	Name    string // of its file, without the ending
	Pump    Pump   // as it is now; State and Open are of a job
	Manual  map[string]Quantity
	Shims   []ShimThickness
	Meter   []MeterReading // in order of their dates
	Dated   []Dated
	Parts   []PartRecord // from before the jobs; From and To are zero where only the expected life is given
	History []Changed    // of the jobs, in order; whoever reads the rig fills it in
	Others  []OtherJob   // that may hold the pump, in order; the same fills it in

	root *source.Node
	was  []standing
}

// MeterReading is what the hour meter showed on a day.
type MeterReading struct {
	Date  time.Time
	Hours Quantity
	// NewMeter is what a new meter showed that was put in then; nil: the old one
	// stayed.
	NewMeter *Quantity
	Pos      source.Pos
}

// Dated is something that is good until a date.
type Dated struct {
	What  string
	Until time.Time
	Pos   source.Pos
}

// Changed is a part put in new at a time of the pump's whole life.
type Changed struct {
	NewPart
	Date  time.Time
	Hours float64 // of the pump, in seconds; see PumpFile.Total
}

// standing is what stood until a date.
type standing struct {
	until time.Time
	node  *source.Node
}

// ParsePump reads the file of a pump. Errors are as of ParseCase.
func ParsePump(file, name string, text []byte, words Vocabulary) (*PumpFile, error) {
	var ps source.Problems
	root := source.Parse(file, text, source.CaseLimits, &ps)
	if root == nil {
		return nil, ps.Err()
	}
	r := caseReader{words: words, problems: &ps, out: &Case{File: file, Text: root.In()}, standing: true}
	p := r.readPumpFile(root, name)
	if err := ps.Err(); err != nil {
		return nil, err
	}
	return p, nil
}

// pumpKeys are the keys that a job takes from its pump.
var pumpKeys = []string{"pump", "manual", "measured", "suction-line", "shims-on-hand"}

func (r *caseReader) readPumpFile(root *source.Node, name string) *PumpFile {
	out := &PumpFile{Name: name, root: root}
	if root.Kind == source.Null {
		r.problems.Add(root.Pos, source.Missing, "the pump's file is empty; expected at least %s", source.Want("pump: with action:"))
		return out
	}
	o := root.Object(r.problems, "the pump's file")
	pump, manual, measured := o.Need("pump"), o.Get("manual"), o.Get("measured")
	suction, shims, parts := o.Get("suction-line"), o.Get("shims-on-hand"), o.Get("parts")
	meter, dated, was := o.Get("hours"), o.Get("dated"), o.Get("was")
	o.Close()
	known := r.readPump(pump)
	r.readManual(manual)
	if known {
		r.readStanding(measured)
		r.readParts(parts)
		r.readShims(shims)
	}
	r.readPipesOf(suction)
	out.Meter = r.readMeter(meter)
	out.Dated = r.readDated(dated)
	out.was = r.readWas(was)
	out.Pump, out.Manual = r.out.Pump, r.out.Manual
	out.Shims, out.Parts = r.out.Measured.ShimsOnHand, r.out.Measured.PartRecords
	if out.Pump.Name == "" {
		out.Pump.Name = name
	}
	return out
}

// readStanding reads what does not change from reading to reading: how readings
// are taken, and the sizes that they are compared with.
func (r *caseReader) readStanding(n *source.Node) {
	o := n.Object(r.problems, "measured")
	byPlace(r, o.Get("rod-in-opening"), r.rodInOpening)
	for _, block := range []string{"upper-guide", "rod-face-gap"} {
		byPlace(r, o.Get(block), func(p Place, v *source.Node) (m Method) {
			o := v.Object(r.problems, block+of(p))
			m = r.method(o)
			o.Close()
			return m
		})
	}
	for _, block := range []string{"liner-bore", "piston-rod", "extension-rod"} {
		byPlace(r, o.Get(block), func(p Place, v *source.Node) (m Method) {
			o := v.Object(r.problems, block+of(p))
			m = r.method(o)
			r.quantity(o.Get("new"), Length)
			o.Close()
			return m
		})
	}
	o.Close()
}

// readPipesOf reads what stands of the suction line: all of it but the mud.
func (r *caseReader) readPipesOf(n *source.Node) {
	if n != nil {
		r.readSuction(n)
		r.out.Measured.Suction = nil
	}
}

// readMeter reads what the hour meter showed, in order of the dates.
func (r *caseReader) readMeter(n *source.Node) (out []MeterReading) {
	for _, item := range r.lines(n, "hours", "- {date: 2026-03-04, hours: 5310 h}") {
		o := item.Object(r.problems, "a reading of the meter")
		m := MeterReading{Pos: item.Pos, Date: r.readDate(o.Need("date"), "the date of the reading")}
		hours := r.meter(o.Need("hours"))
		m.NewMeter = r.meter(o.Get("new-meter"))
		o.Close()
		if hours == nil || m.Date.IsZero() {
			continue
		}
		m.Hours = *hours
		if len(out) > 0 {
			last := out[len(out)-1]
			shown := last.Hours
			if last.NewMeter != nil {
				shown = *last.NewMeter
			}
			switch {
			case m.Date.Before(last.Date):
				r.problems.Add(item.Pos, source.OutOfOrder, "%s comes after a later date; write the readings in order", m.Date.Format(DateForm))
			case m.Hours.SI < shown.SI:
				r.problems.Add(item.Pos, source.OutOfOrder, "the meter showed %s before and %s now; a new meter is told by new-meter: at its date", shown.Written, m.Hours.Written)
			}
		}
		out = append(out, m)
	}
	return out
}

func (r *caseReader) readDated(n *source.Node) (out []Dated) {
	for _, item := range r.lines(n, "dated", "- {what: discharge hose, until: 2026-09-01}") {
		o := item.Object(r.problems, "a dated thing")
		d := Dated{What: o.Need("what").String(r.problems, "what"), Until: r.readDate(o.Need("until"), "until"), Pos: item.Pos}
		o.Close()
		if d.What != "" && !d.Until.IsZero() {
			out = append(out, d)
		}
	}
	return out
}

// readWas reads what stood until a date: a list of {until: date, pump: {...},
// manual: {...}}, the earliest first.
func (r *caseReader) readWas(n *source.Node) (out []standing) {
	for _, item := range r.lines(n, "was", "- {until: 2026-03-04, pump: {liner: 6 1/2 in}}") {
		o := item.Object(r.problems, "what was")
		s := standing{until: r.readDate(o.Need("until"), "until"), node: item}
		pump, manual := o.Get("pump"), o.Get("manual")
		o.Close()
		before := caseReader{words: r.words, problems: r.problems, out: &Case{}, standing: true, partly: true}
		if pump != nil {
			before.readPump(pump)
		}
		before.readManual(manual)
		if len(out) > 0 && s.until.Before(out[len(out)-1].until) {
			r.problems.Add(item.Pos, source.OutOfOrder, "%s comes after a later date; write them in order", s.until.Format(DateForm))
		}
		out = append(out, s)
	}
	return out
}

// stood gives what stood of a pump on a day; after: behind what was changed that day.
func (p *PumpFile) stood(day time.Time, after bool) *source.Node {
	under := p.root
	for _, s := range slices.Backward(p.was) {
		if !s.until.IsZero() && (day.Before(s.until) || day.Equal(s.until) && !after) {
			under = s.node.Over(under)
		}
	}
	return under
}

// Changed says whether the file tells that a key under pump: or manual: was another one
// until a day.
func (p *PumpFile) Changed(day time.Time, of, key string) bool {
	return slices.ContainsFunc(p.was, func(s standing) bool { return s.until.Equal(day) && s.node.Value(of).Value(key) != nil })
}

// LastChange is the day until which the youngest of what was stood; zero if nothing
// stood otherwise before.
func (p *PumpFile) LastChange() time.Time {
	if len(p.was) == 0 {
		return time.Time{}
	}
	return p.was[len(p.was)-1].until
}

// PumpOf names the pump of which a case says that it is a job; "" if it says none, or
// nothing that can be a name.
func PumpOf(root *source.Node) string {
	if name := root.Value("job").Value("pump"); name != nil && IsPumpName(name.Text) {
		return name.Text
	}
	return ""
}

// onPump lays a job over its pump. false: it names a pump that was not read.
func (r *caseReader) onPump(root *source.Node) (*source.Node, bool) {
	of := PumpOf(root)
	if of == "" {
		return root, true // readJob says so
	}
	job, p := root.Value("job"), r.words.Pump
	if p == nil || p.Name != of {
		name := job.Value("pump")
		r.problems.Add(name.Pos, source.NeedsOther, "this is a job on %s, whose file was not read; expected %s", source.Clip(name.Text), source.Want(fmt.Sprintf("the job in a folder beside pumps/%s.yaml", name.Text)))
		return root, false
	}
	var day time.Time // a job without a date is refused anyway
	if date := job.Value("date"); date != nil {
		day, _ = time.Parse(DateForm, date.Text)
	}
	after := job.Value(afterChange)
	stood := p.stood(day, after != nil && after.Text == string(Yes))
	r.problems.In(p.root.In())
	for _, key := range pumpKeys {
		under, over := stood.Value(key), root.Value(key)
		switch {
		case under == nil, over == nil && (key == "measured" || key == "suction-line"):
			continue
		case key == "measured":
			over = measuredOver(over, under)
		default:
			over = over.Over(under)
		}
		root = root.With(key, over)
	}
	if again, under := root.Value("measured-again"), stood.Value("measured"); again != nil && under != nil {
		root = root.With("measured-again", measuredOver(again, under))
	}
	return root, true
}

// measuredOver lays readings over what stands of their places: a place that was
// not measured takes nothing.
func measuredOver(n, under *source.Node) *source.Node {
	if n.Kind != source.Mapping {
		return n
	}
	for _, block := range n.Pairs {
		stands := under.Value(block.Key.Text)
		if stands == nil || block.Value.Kind != source.Mapping {
			continue
		}
		places := block.Value
		for _, at := range block.Value.Pairs {
			if below := stands.Value(at.Key.Text); below != nil {
				places = places.With(at.Key.Text, at.Value.Over(below))
			}
		}
		n = n.With(block.Key.Text, places)
	}
	return n
}

// Total gives the hours of a pump's whole life, in seconds, at a time when its
// meter showed so many: meters are replaced.
func (p *PumpFile) Total(day time.Time, shown Quantity) float64 {
	total := shown.SI
	for _, m := range p.Meter {
		if m.NewMeter != nil && (m.Date.Before(day) || m.Date.Equal(day) && shown.SI < m.Hours.SI) {
			total += m.Hours.SI - m.NewMeter.SI
		}
	}
	return total
}

// begins is when what is known of a pump begins, in seconds of its life; false if
// nobody read its meter.
func (p *PumpFile) begins() (float64, bool) {
	least, known := math.Inf(1), false
	if len(p.Meter) > 0 {
		least, known = p.Total(p.Meter[0].Date, p.Meter[0].Hours), true
	}
	return least, known
}

// Records gives the records of part changes as they stood when the pump had run so
// long, in seconds of its life: what its file has from before the jobs, and what
// the jobs before that changed. The pump's file must have read its history.
func (p *PumpFile) Records(until float64, words Vocabulary) (out []PartRecord) {
	if len(p.History) == 0 && !slices.ContainsFunc(p.Parts, func(rec PartRecord) bool { return rec.To.SI > 0 }) {
		return nil
	}
	begins, known := p.begins()
	for _, part := range names(words.Parts) {
		rec := PartRecord{Part: part}
		if i := slices.IndexFunc(p.Parts, func(r PartRecord) bool { return r.Part == part }); i >= 0 {
			rec = p.Parts[i]
		}
		later := func(c Changed) bool { return c.Part == part && c.Hours > rec.To.SI && c.Hours < until }
		if rec.To.SI == 0 {
			if !known || !slices.ContainsFunc(p.History, later) {
				continue
			}
			rec.From = hoursOf(begins)
		}
		if until <= rec.From.SI {
			continue
		}
		rec.Replaced, rec.StillGood = clonePlaces(rec.Replaced), clonePlaces(rec.StillGood)
		for _, c := range p.History {
			if later(c) {
				rec.Replaced = added(rec.Replaced, c)
				if c.StillGood {
					rec.StillGood = added(rec.StillGood, c)
				}
			}
		}
		rec.To = hoursOf(until)
		for _, at := range p.Pump.Places(words.Parts[part].Level) {
			if !slices.ContainsFunc(rec.Replaced, func(pp PartPlace) bool { return pp.Place == at }) {
				rec.Replaced = append(rec.Replaced, PartPlace{Place: at})
			}
		}
		order := func(a, b PartPlace) int {
			return cmp.Compare(slices.Index(p.Pump.Cylinders, a.Place.Cylinder), slices.Index(p.Pump.Cylinders, b.Place.Cylinder))
		}
		slices.SortStableFunc(rec.Replaced, order)
		out = append(out, rec)
	}
	return out
}

func clonePlaces(all []PartPlace) []PartPlace {
	out := slices.Clone(all)
	for i := range out {
		out[i].At, out[i].Pos = slices.Clone(out[i].At), slices.Clone(out[i].Pos)
	}
	return out
}

// added puts a change behind those of its place.
func added(all []PartPlace, c Changed) []PartPlace {
	i := slices.IndexFunc(all, func(p PartPlace) bool { return p.Place == c.Place })
	if i < 0 {
		all, i = append(all, PartPlace{Place: c.Place}), len(all)
	}
	all[i].At, all[i].Pos = append(all[i].At, hoursOf(c.Hours)), append(all[i].Pos, c.Pos)
	return all
}

// hoursOf writes seconds as pump hours.
func hoursOf(seconds float64) Quantity {
	return Quantity{Dimension: Duration, SI: seconds, Written: strings.TrimSuffix(fmt.Sprintf("%.1f", seconds/3600), ".0") + " h"}
}

// partsSoFar gives a job that says nothing of the record of parts the one that the
// jobs before it come to.
func (r *caseReader) partsSoFar(parts *source.Node) {
	job := &r.out.Job
	if p := r.words.Pump; parts == nil && job.Pump != "" && p != nil && job.Hours != nil {
		for _, rec := range p.Records(p.Total(job.Date, *job.Hours), r.words) {
			r.out.Measured.PartRecords = append(r.out.Measured.PartRecords, rec.newest(weighedChanges))
		}
	}
}

// weighedChanges is how many changes of one kind of part a job weighs: the newest
// ones. How parts lasted long ago says little of this trouble, and a long record takes
// long.
const weighedChanges = 40

// newest gives a record with its newest changes alone; it then starts at the first of
// them.
func (rec PartRecord) newest(most int) PartRecord {
	var all []Quantity
	for _, p := range rec.Replaced {
		all = append(all, p.At...)
	}
	if len(all) <= most {
		return rec
	}
	slices.SortFunc(all, func(a, b Quantity) int { return cmp.Compare(a.SI, b.SI) })
	rec.From = all[len(all)-most]
	cut := func(places []PartPlace) []PartPlace {
		out := clonePlaces(places)
		for i := range out {
			n := 0
			for n < len(out[i].At) && out[i].At[n].SI < rec.From.SI {
				n++
			}
			out[i].At, out[i].Pos = out[i].At[n:], out[i].Pos[n:]
		}
		return out
	}
	rec.Replaced, rec.StillGood = cut(rec.Replaced), cut(rec.StillGood)
	return rec
}
