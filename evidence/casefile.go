package evidence

import (
	"fmt"
	"slices"
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
	id := o.Get("id")
	job, changed, shimmed, upkeep := o.Get("job"), o.Get("changed"), o.Get("shims"), o.Get("upkeep-done")
	pump := o.Need("pump")
	recent, manual := o.Get("recent"), o.Get("manual")
	findings, checked := o.Get("findings"), o.Get("checked")
	confirmed, ruledOut := o.Get("confirmed"), o.Get("ruled-out")
	measured, again, suction := o.Get("measured"), o.Get("measured-again"), o.Get("suction-line")
	parts, shims := o.Get("parts"), o.Get("shims-on-hand")
	corrected, lookedAgain, log := o.Get("corrected"), o.Get("looked-again"), o.Get("log")
	rootLeft, judged := o.Get("root-left"), o.Get("judged")
	locks, staysOpen := o.Get("locks"), o.Get("stays-open")
	taken, broughtOn := o.Get("taken"), o.Get("brought-on-by")
	o.Close()

	r.out.ID = r.readID(id)
	r.readJob(job)
	if r.out.Job.Pump != "" {
		r.out.Others = r.words.Pump.others(r.out.File)
	}
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
	r.out.Confirmed = r.readExact(confirmed, "confirmed")
	r.out.RuledOut = r.readPlaced(ruledOut, "cause", r.words.Causes)
	r.out.Judged = r.readExact(judged, "judged")
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

// mostID is how many letters the name of a case has at most.
const mostID = 100

// readID reads what whoever sends many cases calls one of them.
func (r *caseReader) readID(n *source.Node) string {
	id := r.word(n, "the id of a case")
	if utf8.RuneCountInString(id) > mostID {
		r.problems.Add(n.Pos, source.BadName, "%q is too long for the id of a case; expected %s", source.Clip(id), source.Want(fmt.Sprintf("%d letters at most", mostID)))
	}
	return id
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
