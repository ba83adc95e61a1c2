package prove

import (
	"slices"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// expectations reads what a proof demands.
func (r *reader) expectations(n *source.Node, pump *evidence.Pump) []Expectation {
	o := n.Object(&r.problems, "expect")
	var out []Expectation
	add := func(pos source.Pos, what string, at at, id string, fault func(*engine.Report) string) {
		out = append(out, Expectation{Pos: pos, what: what, at: at, id: id, fault: fault})
	}
	if first := o.Get("first"); first != nil {
		cause := r.firstCause(first, pump)
		add(first.Pos, "first", cause, "", cause.firstFault)
	}
	for _, item := range r.items(o.Get("within"), "within") {
		cause := r.causeItem(item, pump)
		places := int(item.Need("places").Number(&r.problems, "places", 1, 50))
		add(item.Pos, "within", cause, "", func(r *engine.Report) string {
			rank := rankOf(r, cause)
			return unless(rank > 0 && rank <= places, "%s stands in place %d, want the first %d", cause, rank, places)
		})
	}
	for _, item := range r.items(o.Get("chance"), "chance") {
		cause := r.causeItem(item, pump)
		from, to := r.interval(item)
		add(item.Pos, "chance", cause, "", cause.chanceFault(from, to))
	}
	for _, item := range r.items(o.Get("below"), "below") {
		cause := r.causeItem(item, pump)
		add(item.Pos, "below", cause, "", cause.chanceFault(0, item.Need("most").Number(&r.problems, "most", 0, 1)))
	}
	for _, item := range r.items(o.Get("group"), "group") {
		id := item.Need("group").Word(&r.problems, "group", r.book.Groups.IDs())
		from, to := r.interval(item)
		add(item.Pos, "group", at{}, id, func(r *engine.Report) string { return between(id, groupOf(r, id), from, to) })
	}
	r.rootExpectations(o, pump, add)
	if check := o.Get("first-check"); check != nil {
		id := check.Word(&r.problems, "check", r.book.Checks.IDs())
		add(check.Pos, "first-check", at{}, id, func(r *engine.Report) string {
			got := firstCheck(r)
			return unless(got == id, "the first check is %q, want %s", got, id)
		})
	}
	for _, pair := range r.list(o.Get("before"), "before", "a list of pairs [earlier, later]") {
		if pair.Kind != source.List || len(pair.Items) != 2 {
			r.problems.Add(pair.Pos, source.WrongForm, "expected a pair [earlier, later]")
			continue
		}
		earlier, later := r.step(pair.Items[0]), r.step(pair.Items[1])
		add(pair.Pos, "before", at{}, "", func(r *engine.Report) string { return orderFault(r, earlier, later) })
	}
	if stop := o.Get("stop"); stop != nil {
		id := stop.Word(&r.problems, "stop", append(r.book.Stops.IDs(), "none"))
		add(stop.Pos, "stop", at{}, id, func(r *engine.Report) string {
			got := firstStop(r)
			return unless(got == id, "the first stop is %s, want %s", got, id)
		})
	}
	for _, stop := range o.Get("no-stop").Scalars(&r.problems, "no-stop") {
		id := stop.Word(&r.problems, "stop", r.book.Stops.IDs())
		add(stop.Pos, "no-stop", at{}, id, func(r *engine.Report) string {
			holds := slices.ContainsFunc(r.Stop, func(s chances.Stop) bool { return s.ID == id })
			return unless(!holds, "the stop %s holds, want it not to", id)
		})
	}
	for _, item := range r.list(o.Get("no-step"), "no-step", "a list of steps") {
		id, place := r.stepSomewhere(item, pump)
		add(item.Pos, "no-step", at{place: place}, id, func(r *engine.Report) string { return noStepFault(r, id, place) })
	}
	if haste := o.Get("haste"); haste != nil {
		id := haste.Word(&r.problems, "verdict", verdicts())
		add(haste.Pos, "haste", at{}, id, func(r *engine.Report) string {
			return unless(r.Haste.Verdict == id, "it can wait %q, want %s", r.Haste.Verdict, id)
		})
	}
	o.Close()
	if len(out) == 0 {
		r.problems.Add(n.Pos, source.Missing, "the proof expects nothing")
	}
	return out
}

// stepIDs are the ids of what can stand in a list.
func (r *reader) stepIDs() []string {
	return slices.Concat(r.book.Checks.IDs(), r.book.Openings.IDs(), r.book.Safety.IDs(), r.book.Returns.IDs())
}

// verdicts are the words for how long it can wait.
func verdicts() []string {
	out := []string{chances.WellFirst}
	for _, w := range rules.Waits() {
		out = append(out, string(w))
	}
	return out
}

// list gives the items of a list; shape says what it must be.
func (r *reader) list(n *source.Node, what, shape string) []*source.Node {
	if n == nil {
		return nil
	}
	if n.Kind != source.List {
		r.problems.Add(n.Pos, source.WrongForm, "%s must be %s; read %s", what, shape, n.Kind)
	}
	return n.Items
}

// items gives the mappings of a list, closed once they were read.
func (r *reader) items(n *source.Node, what string) func(func(int, *source.Object) bool) {
	return func(yield func(int, *source.Object) bool) {
		for i, item := range r.list(n, what, "a list") {
			o := item.Object(&r.problems, "an item of "+what)
			if !yield(i, o) {
				return
			}
			o.Close()
		}
	}
}

// firstCause reads `cause` or `cause: place`.
func (r *reader) firstCause(n *source.Node, pump *evidence.Pump) at {
	if n.Kind == source.Mapping && len(n.Pairs) == 1 {
		return r.cause(n.Pairs[0].Key, n.Pairs[0].Value, pump)
	}
	return r.cause(n, nil, pump)
}

// causeItem reads `cause` and `at` of an item.
func (r *reader) causeItem(o *source.Object, pump *evidence.Pump) at {
	return r.cause(o.Need("cause"), o.Get("at"), pump)
}

// cause reads a cause with its place, which must be one exact place.
func (r *reader) cause(id, where *source.Node, pump *evidence.Pump) at {
	word := id.Word(&r.problems, "cause", r.book.Causes.IDs())
	if word == "" {
		return at{}
	}
	places := pump.Places(r.words.Causes[word])
	var names []string
	text := ""
	if where != nil {
		text = where.Text
	}
	for _, p := range places {
		if p.String() == text {
			return at{cause: word, place: p}
		}
		names = append(names, p.String())
	}
	r.problems.Add(id.Pos, source.UnknownPlace, "%s is at no place %q of this pump%s", word, source.Clip(text), source.Expected(text, names))
	return at{}
}

func (r *reader) interval(o *source.Object) (from, to float64) {
	from = o.Need("from").Number(&r.problems, "from", 0, 1)
	to = o.Need("to").Number(&r.problems, "to", 0, 1)
	if from >= to {
		r.problems.Add(o.Pos, source.OutOfOrder, "the interval from %g to %g is empty", from, to)
	}
	return from, to
}

// step reads the id of a step, or `{close: id}`.
func (r *reader) step(n *source.Node) step {
	if n.Kind == source.Mapping {
		o := n.Object(&r.problems, "a step")
		out := step{id: o.Need("close").Word(&r.problems, "opening", r.book.Openings.IDs()), opening: true, closes: true}
		o.Close()
		return out
	}
	return step{id: n.Word(&r.problems, "step", r.stepIDs()), opening: r.book.Openings.Get(n.Text) != nil}
}

// stepSomewhere reads the id of a step, or `{step: id, at: place}`.
func (r *reader) stepSomewhere(n *source.Node, pump *evidence.Pump) (id string, place evidence.Place) {
	if n.Kind == source.Mapping {
		o := n.Object(&r.problems, "an item of no-step")
		n, place = o.Need("step"), r.place(o.Need("at"), pump)
		o.Close()
	}
	return n.Word(&r.problems, "step", r.stepIDs()), place
}

// place reads a place of the pump.
func (r *reader) place(n *source.Node, pump *evidence.Pump) evidence.Place {
	if n == nil {
		return evidence.Place{}
	}
	place, names, ok := pump.Find(n.Text)
	if !ok {
		r.problems.Add(n.Pos, source.UnknownPlace, "unknown place %q%s", source.Clip(n.Text), source.Expected(n.Text, names))
	}
	return place
}
