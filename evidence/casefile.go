package evidence

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"telltale/evidence/source"
)

// ParseCase reads a case file. It gives the whole case or, with every mistake
// in it, a *source.InputError; never a part of a case.
func ParseCase(name string, text []byte, words Vocabulary) (*Case, error) {
	return ParseDocument(name, source.StreamDocument{Line: 1, Text: text}, words)
}

// ParseDocument is ParseCase for one document of a stream; name is that of the
// stream, in which the places count.
func ParseDocument(name string, doc source.StreamDocument, words Vocabulary) (*Case, error) {
	var ps source.Problems
	root := doc.Parse(name, source.CaseLimits, &ps)
	if root == nil {
		return nil, ps.Err()
	}
	k := ReadCase(root, words, &ps)
	if err := ps.Err(); err != nil {
		return nil, err
	}
	return k, nil
}

// ReadCase reads a case from a tree: a case file, or a case inside another
// file. Mistakes go to ps; with any of them the case is not to be used.
func ReadCase(root *source.Node, words Vocabulary, ps *source.Problems) *Case {
	r := caseReader{words: words, problems: ps, out: &Case{File: root.Pos.File, Text: root.In()}}
	if root.Kind == source.Null {
		ps.Add(root.Pos, source.Missing, "the case is empty; expected at least %s", source.Want("pump: with action: and state:"))
		return r.out
	}
	r.read(root)
	return r.out
}

type caseReader struct {
	words    Vocabulary
	problems *source.Problems
	out      *Case
	standing bool // what is read is the file of a pump: what stands, and no readings
	partly   bool // only some of what stands is given
}

func (r *caseReader) read(root *source.Node) {
	root, found := r.onPump(root)
	if !found {
		return
	}
	o := root.Object(r.problems, "the case")
	job, changed, shimmed, upkeep := o.Get("job"), o.Get("changed"), o.Get("shims"), o.Get("upkeep-done")
	pump := o.Need("pump")
	recent, manual := o.Get("recent"), o.Get("manual")
	findings, checked := o.Get("findings"), o.Get("checked")
	confirmed, ruledOut := o.Get("confirmed"), o.Get("ruled-out")
	measured, again, suction := o.Get("measured"), o.Get("measured-again"), o.Get("suction-line")
	parts, shims := o.Get("parts"), o.Get("shims-on-hand")
	corrected, lookedAgain, log := o.Get("corrected"), o.Get("looked-again"), o.Get("log")
	rootLeft := o.Get("root-left")
	locks, staysOpen := o.Get("locks"), o.Get("stays-open")
	taken, broughtOn := o.Get("taken"), o.Get("brought-on-by")
	o.Close()

	r.readJob(job)
	layoutKnown := r.readPump(pump)
	r.readRecent(recent)
	r.readManual(manual)
	r.readLocks(locks)
	r.readStaysOpen(staysOpen)
	if !layoutKnown {
		checkNames(r, findings, "sign", r.words.Signs)
		checkNames(r, checked, "check", r.words.Checks)
		return
	}
	r.readFindings(findings)
	r.readChecked(checked)
	r.out.Confirmed = r.readConfirmed(confirmed)
	r.out.RuledOut = r.readPlaced(ruledOut, "cause", r.words.Causes)
	r.checkVerdicts()
	r.out.Corrected = r.readFollowing(corrected, "corrected", r.out.Confirmed, "confirmed")
	r.out.LookedAgain = r.readFollowing(lookedAgain, "looked at again", r.out.Corrected, "corrected")
	r.readBroughtOn(broughtOn)
	r.out.RootLeft = r.readFollowing(rootLeft, "left without a look at its root", r.out.Confirmed, "confirmed")
	r.readLog(log)
	r.readMeasured(measured, &r.out.Measured)
	r.readMeasured(again, &r.out.MeasuredAgain)
	r.readSuction(suction)
	r.readParts(parts)
	r.partsSoFar(parts)
	r.readChanged(changed)
	r.readShimmed(shimmed)
	r.out.UpkeepDone = r.readPlaced(upkeep, "upkeep", r.words.Upkeep)
	r.readShims(shims)
	r.readTaken(taken)
}

// checkNames looks at the keys of a mapping alone, when nothing more can be
// read because the pump is not known.
func checkNames[T any](r *caseReader, n *source.Node, what string, known map[string]T) {
	if n == nil {
		return
	}
	for _, p := range n.Pairs {
		knownName(r, p.Key, what, known)
	}
}

// readPump says whether the layout is known, without which no place can be
// read.
func (r *caseReader) readPump(n *source.Node) bool {
	ps := r.problems
	o := n.Object(ps, "the pump")
	p := &r.out.Pump
	p.Name = o.Get("name").String(ps, "the pump's name")
	action := o.Get
	if !r.partly {
		action = o.Need
	}
	p.Action = Action(action("action").Word(ps, "action", Actions()))
	if !r.standing {
		p.State = PumpState(o.Need("state").Word(ps, "state", PumpStates()))
	}
	p.Rotation = Rotation(o.Get("rotation").Word(ps, "rotation", Rotations()))
	if p.Rotation == "" {
		p.Rotation = RotationUnknown
	}
	p.Liner = r.quantity(o.Get("liner"), Length)
	p.Stroke = r.quantity(o.Get("stroke"), Length)
	p.PistonRod = r.quantity(o.Get("piston-rod"), Length)
	p.ConnectingRod = r.quantity(o.Get("connecting-rod"), Length)
	p.Speed = r.quantity(o.Get("speed"), StrokeRate)
	p.Discharge = r.quantity(o.Get("discharge"), Pressure)
	r.checkGeometry(o)
	cylinders, open := o.Get("cylinders"), (*source.Node)(nil)
	if !r.standing {
		open = o.Get("open")
	}
	o.Close()
	if p.Action == "" {
		return false
	}
	r.readCylinders(cylinders)
	p.Open = r.readOpen(open)
	if len(p.Open) > 0 && p.State != Isolated {
		ps.Add(p.Open[0].Pos, source.Excludes, "the pump is %s but something is open; isolate the pump and say state: isolated, or close it", p.State)
	}
	return true
}

// checkGeometry refuses a pump that cannot be built.
func (r *caseReader) checkGeometry(o *source.Object) {
	p := &r.out.Pump
	if p.Liner != nil && p.Liner.SI > mostDiameter {
		r.problems.Add(o.Get("liner").Pos, source.OutOfRange, "a liner of %s is too large for a mud pump; is the unit right?", p.Liner.Written)
	}
	if p.Stroke != nil && p.Stroke.SI > mostDistance {
		r.problems.Add(o.Get("stroke").Pos, source.OutOfRange, "a stroke of %s is too long for a mud pump; is the unit right?", p.Stroke.Written)
	}
	if p.PistonRod != nil && p.Liner != nil && p.PistonRod.SI >= p.Liner.SI {
		r.problems.Add(o.Get("piston-rod").Pos, source.DoesNotFit, "a piston rod of %s does not fit in a liner of %s", p.PistonRod.Written, p.Liner.Written)
	}
	if p.ConnectingRod != nil && p.Stroke != nil && p.ConnectingRod.SI <= p.Stroke.SI/2 {
		r.problems.Add(o.Get("connecting-rod").Pos, source.DoesNotFit, "a connecting rod of %s is too short for a stroke of %s", p.ConnectingRod.Written, p.Stroke.Written)
	}
}

// readOpen reads what is open. What had to be opened before it is open too,
// whether the case says so or not, and stands before it.
func (r *caseReader) readOpen(n *source.Node) []At {
	levels := map[string]Level{}
	for id, word := range r.words.Openings {
		levels[id] = word.Level
	}
	var out []At
	seen := map[At]bool{}
	var add func(At)
	add = func(at At) {
		key := At{ID: at.ID, Place: at.Place}
		if seen[key] {
			return
		}
		seen[key] = true
		for _, need := range r.words.Openings[at.ID].Needs {
			for _, p := range r.out.Pump.Under(at.Place, levels[need]) {
				add(At{ID: need, Place: p, Pos: at.Pos})
			}
		}
		out = append(out, at)
	}
	for _, at := range r.readPlaced(n, "opening", levels) {
		add(at)
	}
	return out
}

// quantity reads a quantity that is more than zero; nil if there is none.
func (r *caseReader) quantity(n *source.Node, d Dimension) *Quantity {
	q := r.anyQuantity(n, d)
	if q != nil && q.SI == 0 {
		r.problems.Add(n.Pos, source.OutOfRange, "%q is zero; expected %s", q.Written, source.Want("more than zero"))
		return nil
	}
	return q
}

// anyQuantity reads a quantity that may be zero.
func (r *caseReader) anyQuantity(n *source.Node, d Dimension) *Quantity {
	if q, ok := ReadQuantity(n, d, r.problems); ok {
		return &q
	}
	return nil
}

// mostCylinderName is how many characters the name of a cylinder may have.
const mostCylinderName = 60

// readCylinders takes the crew's names for the cylinders, in order.
func (r *caseReader) readCylinders(n *source.Node) {
	p := &r.out.Pump
	p.Cylinders = DefaultCylinders(p.Action)
	if n == nil {
		return
	}
	given := n.Scalars(r.problems, "cylinders")
	if len(given) != len(p.Cylinders) {
		r.problems.Add(n.Pos, source.WrongForm, "a %s pump has %d cylinders; read %d names", p.Action, len(p.Cylinders), len(given))
		return
	}
	seen := map[string]bool{}
	reserved := r.reservedWords()
	for i, given := range given {
		name := strings.Join(strings.Fields(given.Text), " ")
		if seen[name] || reserved[name] {
			r.problems.Add(given.Pos, source.BadName, "%q cannot be a cylinder's name here; give each cylinder a name of its own that is not a word of the case file", source.Clip(given.Text))
		}
		if hidden := func(r rune) bool { return !unicode.IsGraphic(r) }; strings.ContainsFunc(name, hidden) || utf8.RuneCountInString(name) > mostCylinderName {
			r.problems.Add(given.Pos, source.BadName, "%q cannot be a cylinder's name: it must be told apart on paper; expected %s", source.Clip(given.Text), source.Want(fmt.Sprintf("%d letters at most, none of them invisible", mostCylinderName)))
		}
		seen[name] = true
		p.Cylinders[i] = name
	}
	for i, place := range p.Places(OfChamber) {
		if text := place.String(); place.End != "" && seen[text] {
			r.problems.Add(given[i/len(p.ends())].Pos, source.BadName, "the %s end of %q would be written %q, which is another cylinder's name; give one of the two another name", place.End, place.Cylinder, text)
		}
	}
}

// reservedWords are the words that a finding may use beside cylinder names.
func (r *caseReader) reservedWords() map[string]bool {
	out := map[string]bool{"present": true, "absent": true, "unknown": true, "all": true, "others": true, somewhere: true}
	for _, s := range r.words.Signs {
		for _, k := range s.Kinds {
			out[k] = true
		}
	}
	return out
}

func (r *caseReader) readRecent(n *source.Node) {
	if n == nil {
		return
	}
	items := []*source.Node{n}
	if n.Kind == source.List {
		items = n.Items
	}
	for _, item := range items {
		w := Work{Pos: item.Pos}
		id := item
		if item.Kind == source.Mapping && len(item.Pairs) == 1 {
			id = item.Pairs[0].Key
			r.readWork(item.Pairs[0].Value, id.Text, &w)
		}
		if w.ID = id.Word(r.problems, "recent work", r.words.Works); w.ID == "" {
			continue
		}
		again := func(o Work) bool {
			return o.ID == w.ID && o.Cured != NotStated && w.Cured != NotStated && o.At.Touches(w.At)
		}
		if slices.ContainsFunc(r.out.Recent, again) {
			r.problems.Add(w.Pos, source.Twice, "%s with cured: stands twice here; keep one", w.ID)
		}
		r.out.Recent = append(r.out.Recent, w)
	}
}

// readWork reads what a case says of a work: {done: after-trouble, cured: no, at: 2}.
func (r *caseReader) readWork(n *source.Node, id string, w *Work) {
	if n == nil || n.Kind == source.Null {
		return
	}
	o := n.Object(r.problems, id)
	done, cured, at := o.Get("done"), o.Get("cured"), o.Get("at")
	o.Close()
	w.Done = Done(done.Word(r.problems, "time of a work", DoneTimes()))
	w.Cured = yesNo(cured.Word(r.problems, "answer", []string{string(Yes), string(No)}), string(Yes), string(No))
	if at != nil && r.out.Pump.Action != "" {
		w.At, _ = r.place(at)
	}
	switch {
	case w.Cured == NotStated:
	case w.Done == BeforeTrouble:
		r.problems.Add(cured.Pos, source.Excludes, "%s was done before the trouble began, so it cannot have cured it; keep done: or cured:", id)
	default:
		w.Done = AfterTrouble
	}
}

func (r *caseReader) readManual(n *source.Node) {
	r.out.Manual = map[string]Quantity{}
	for _, p := range n.Entries(r.problems, "manual") {
		d, known := r.words.Limits[p.Key.Text]
		if !known {
			r.problems.Add(p.Key.Pos, source.UnknownName, "unknown figure %q%s", source.Clip(p.Key.Text), source.Expected(p.Key.Text, names(r.words.Limits)))
			continue
		}
		if p.Value.Kind == source.Null {
			continue
		}
		if q := r.quantity(p.Value, d); q != nil {
			r.out.Manual[p.Key.Text] = *q
		}
	}
}

// readPlaced reads a list of ids with places: `- id`, `- id: 2`, `- id: [1, 3]`.
// An id of a cylinder or chamber without a place means everywhere.
func (r *caseReader) readPlaced(n *source.Node, what string, levels map[string]Level) []At {
	var out []At
	if n == nil {
		return nil
	}
	if n.Kind != source.List {
		r.problems.Add(n.Pos, source.WrongForm, "expected a list of lines like \"- %s\" or \"- %s: 2\"", what, what)
		return nil
	}
	for _, item := range n.Items {
		id, where := item, (*source.Node)(nil)
		if item.Kind == source.Mapping && len(item.Pairs) == 1 {
			id, where = item.Pairs[0].Key, item.Pairs[0].Value
		}
		if knownName(r, id, what, levels) {
			out = append(out, r.at(id, where, levels[id.Text])...)
		}
	}
	return out
}

// knownName says whether a name is one of the book's, and reports it if not.
func knownName[T any](r *caseReader, id *source.Node, what string, known map[string]T) bool {
	if _, ok := known[id.Text]; ok && id.Kind == source.Scalar {
		return true // the names are listed for the message only
	}
	return id.Word(r.problems, what, names(known)) != ""
}

// at expands the named places to places of the level.
func (r *caseReader) at(id, where *source.Node, level Level) []At {
	var out []At
	layout := r.out.Pump.Layout
	if where == nil || where.Kind == source.Null || where.Kind == source.Scalar && where.Text == "all" {
		for _, p := range layout.Places(level) {
			out = append(out, At{ID: id.Text, Place: p, Pos: id.Pos})
		}
		return out
	}
	seen := map[Place]bool{}
	for _, item := range where.Scalars(r.problems, "the places of "+id.Text) {
		place, ok := r.place(item)
		if !ok || !r.fits(item, place, level) {
			continue
		}
		for _, p := range layout.Under(place, level) {
			if !seen[p] {
				seen[p] = true
				out = append(out, At{ID: id.Text, Place: p, Pos: item.Pos})
			}
		}
	}
	return out
}

func (r *caseReader) place(n *source.Node) (Place, bool) {
	p, allowed, ok := r.out.Pump.Find(n.Text)
	if !ok {
		r.problems.Add(n.Pos, source.UnknownPlace, "this pump has no cylinder %q%s", source.Clip(n.Text), source.Expected(n.Text, allowed))
	}
	return p, ok
}

// fits refuses a place that is finer than the thing: an end of a cylinder for
// something that belongs to the whole cylinder.
func (r *caseReader) fits(n *source.Node, p Place, level Level) bool {
	if level == OfPump {
		r.problems.Add(n.Pos, source.WrongPlace, "%q names a cylinder, but this belongs to the whole pump; leave the place out", source.Clip(n.Text))
		return false
	}
	if level == OfCylinder && p.End != "" {
		r.problems.Add(n.Pos, source.WrongPlace, "%q names one end, but this belongs to the whole cylinder; write %s", source.Clip(n.Text), p.Cylinder)
		return false
	}
	return true
}

// readConfirmed wants one exact place each: what was proved was seen.
func (r *caseReader) readConfirmed(n *source.Node) []At {
	if n == nil {
		return nil
	}
	before := r.problems.Len()
	all := r.readPlaced(n, "cause", r.words.Causes)
	if r.problems.Len() > before {
		return nil
	}
	perLine := map[source.Pos]int{}
	for _, at := range all {
		perLine[at.Pos]++
		if perLine[at.Pos] == 2 {
			var places []string
			for _, p := range r.out.Pump.Places(r.words.Causes[at.ID]) {
				places = append(places, p.String())
			}
			r.problems.Add(at.Pos, source.WrongPlace, "%s was confirmed, but where? write %q%s", at.ID, "- "+at.ID+": "+at.Place.String(), source.Expected("", places))
		}
	}
	return all
}

// readChecked reads the checks that were done: `check: nothing`, `check:
// unclear`, or by place `check: {nothing: [2], unclear: [3]}`.
func (r *caseReader) readChecked(n *source.Node) {
	for _, p := range n.Entries(r.problems, "checked") {
		if knownName(r, p.Key, "check", r.words.Checks) {
			r.readResult(p.Key, p.Value)
		}
	}
}

func (r *caseReader) readResult(key, value *source.Node) {
	into := map[string]*[]At{"nothing": &r.out.Cleared, "unclear": &r.out.Unclear}
	add := func(result string, places *source.Node) {
		*into[result] = append(*into[result], r.at(key, places, r.words.Checks[key.Text])...)
	}
	if value.Kind != source.Mapping {
		if result := value.Word(r.problems, "result", CheckResults()); result != "" {
			add(result, nil)
		}
		return
	}
	o := value.Object(r.problems, key.Text)
	given := false
	for _, result := range CheckResults() {
		if places := o.Get(result); places != nil {
			given = true
			add(result, places)
		}
	}
	o.Close()
	if !given {
		r.problems.Add(value.Pos, source.Missing, "%s has no result; expected %s", key.Text, source.Want("nothing: or unclear: with the places"))
	}
}

// CheckResults are the results of a check that a case file has.
func CheckResults() []string { return []string{"nothing", "unclear"} }

// readFollowing reads causes that must be in an earlier list first.
func (r *caseReader) readFollowing(n *source.Node, what string, before []At, earlier string) []At {
	out := r.readPlaced(n, "cause", r.words.Causes)
	for _, at := range out {
		if !has(before, at.ID, at.Place) {
			r.problems.Add(at.Pos, source.NeedsOther, "%s%s is %s here but not %s; write it there first", at.ID, of(at.Place), what, earlier)
		}
	}
	return out
}

// readLog reads the record: a list of lines with at:, by: and did:.
func (r *caseReader) readLog(n *source.Node) {
	for _, item := range r.lines(n, "log", "- {at: 2026-03-01T10:30:00Z, by: name, did: what}") {
		o := item.Object(r.problems, "a line of the log")
		r.out.Log = append(r.out.Log, LogEntry{
			At: o.Get("at").String(r.problems, "at"), By: o.Get("by").String(r.problems, "by"), Did: o.Need("did").String(r.problems, "did"),
		})
		o.Close()
	}
}

func (r *caseReader) checkVerdicts() {
	for _, at := range append(append([]At{}, r.out.Confirmed...), r.out.RuledOut...) {
		if r.words.CauseApplies != nil && !r.words.CauseApplies(at.ID, &r.out.Pump) {
			r.problems.Add(at.Pos, source.DoesNotFit, "%s cannot be on a %s pump", at.ID, r.out.Pump.Action)
		}
	}
	out := map[At]source.Pos{}
	for _, at := range r.out.RuledOut {
		out[At{ID: at.ID, Place: at.Place}] = at.Pos
	}
	for _, at := range r.out.Confirmed {
		if pos, both := out[At{ID: at.ID, Place: at.Place}]; both {
			r.problems.Add(at.Pos, source.Excludes, "%s is confirmed here and ruled out at line %d; keep one", at.ID, pos.Line)
		}
	}
}
