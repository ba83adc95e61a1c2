package prove

import (
	"telltale/engine"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// expectations reads what a proof demands.
func (r *reader) expectations(n *source.Node, pump *evidence.Pump) []Expectation {
	o := n.Object(&r.problems, "expect")
	var out []Expectation
	if first := o.Get("first"); first != nil {
		out = append(out, Expectation{Pos: first.Pos, what: "first", at: r.firstCause(first, pump)})
	}
	for _, item := range r.items(o.Get("within"), "within") {
		e := r.causeItem(item, "within", pump)
		e.places = int(item.Need("places").Number(&r.problems, "places", 1, 50))
		item.Close()
		out = append(out, e)
	}
	for _, item := range r.items(o.Get("chance"), "chance") {
		e := r.causeItem(item, "chance", pump)
		e.from, e.to = r.interval(item)
		item.Close()
		out = append(out, e)
	}
	for _, item := range r.items(o.Get("below"), "below") {
		e := r.causeItem(item, "below", pump)
		e.to = item.Need("most").Number(&r.problems, "most", 0, 1)
		item.Close()
		out = append(out, e)
	}
	for _, item := range r.items(o.Get("group"), "group") {
		e := Expectation{Pos: item.Pos, what: "group", id: r.word(item.Need("group"), "group", groupIDs(r))}
		e.from, e.to = r.interval(item)
		item.Close()
		out = append(out, e)
	}
	if check := o.Get("first-check"); check != nil {
		out = append(out, Expectation{Pos: check.Pos, what: "first-check", id: r.word(check, "check", keys(r.words.Checks))})
	}
	out = append(out, r.orders(o.Get("before"))...)
	if stop := o.Get("stop"); stop != nil {
		out = append(out, Expectation{Pos: stop.Pos, what: "stop", id: r.word(stop, "stop", append(r.stopIDs(), "none"))})
	}
	for _, stop := range o.Get("no-stop").Scalars(&r.problems, "no-stop") {
		out = append(out, Expectation{Pos: stop.Pos, what: "no-stop", id: r.word(stop, "stop", r.stopIDs())})
	}
	out = append(out, r.noSteps(o.Get("no-step"), pump)...)
	if haste := o.Get("haste"); haste != nil {
		out = append(out, Expectation{Pos: haste.Pos, what: "haste", id: r.word(haste, "verdict", verdicts())})
	}
	o.Close()
	if len(out) == 0 {
		r.problems.Add(n.Pos, source.Missing, "the proof expects nothing")
	}
	return out
}

func keys[T any](m map[string]T) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	return out
}

func groupIDs(r *reader) []string {
	var out []string
	for _, g := range r.book.Groups.List {
		out = append(out, g.ID)
	}
	return out
}

func (r *reader) stopIDs() []string {
	var out []string
	for _, s := range r.book.Stops.List {
		out = append(out, s.ID)
	}
	return out
}

// stepIDs are the ids of what can stand in a list.
func (r *reader) stepIDs() []string {
	out := append(keys(r.words.Checks), keys(r.words.Openings)...)
	for _, s := range r.book.Safety.List {
		out = append(out, s.ID)
	}
	for _, back := range r.book.Returns.List {
		out = append(out, back.ID)
	}
	return out
}

// verdicts are the words for how long it can wait.
func verdicts() []string {
	out := []string{engine.WellFirst}
	for _, w := range rules.Waits() {
		out = append(out, string(w))
	}
	return out
}

func (r *reader) word(n *source.Node, what string, allowed []string) string {
	return n.Word(&r.problems, what, allowed)
}

func (r *reader) items(n *source.Node, what string) []*source.Object {
	if n == nil {
		return nil
	}
	if n.Kind != source.List {
		r.problems.Add(n.Pos, source.WrongForm, "%s must be a list; read %s", what, n.Kind)
		return nil
	}
	var out []*source.Object
	for _, item := range n.Items {
		out = append(out, item.Object(&r.problems, "an item of "+what))
	}
	return out
}

// firstCause reads `cause` or `cause: place`.
func (r *reader) firstCause(n *source.Node, pump *evidence.Pump) at {
	if n.Kind == source.Mapping && len(n.Pairs) == 1 {
		return r.cause(n.Pairs[0].Key, n.Pairs[0].Value, pump)
	}
	return r.cause(n, nil, pump)
}

func (r *reader) causeItem(o *source.Object, what string, pump *evidence.Pump) Expectation {
	return Expectation{Pos: o.Pos, what: what, at: r.cause(o.Need("cause"), o.Get("at"), pump)}
}

// cause reads a cause with its place, which must be one exact place.
func (r *reader) cause(id, where *source.Node, pump *evidence.Pump) at {
	word := r.word(id, "cause", keys(r.words.Causes))
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

// orders reads `before: [[earlier, later], ...]`: steps by their ids, of what is
// opened and closed {close: id} where the closing is meant.
func (r *reader) orders(n *source.Node) []Expectation {
	if n == nil {
		return nil
	}
	if n.Kind != source.List {
		r.problems.Add(n.Pos, source.WrongForm, "before must be a list of pairs [earlier, later]; read %s", n.Kind)
		return nil
	}
	var out []Expectation
	for _, pair := range n.Items {
		if pair.Kind != source.List || len(pair.Items) != 2 {
			r.problems.Add(pair.Pos, source.WrongForm, "expected a pair [earlier, later]")
			continue
		}
		out = append(out, Expectation{
			Pos: pair.Pos, what: "before",
			earlier: r.step(pair.Items[0]), later: r.step(pair.Items[1]),
		})
	}
	return out
}

// step reads the id of a step, or `{close: id}`.
func (r *reader) step(n *source.Node) step {
	if n.Kind == source.Mapping {
		o := n.Object(&r.problems, "a step")
		out := step{id: r.word(o.Need("close"), "opening", keys(r.words.Openings)), opening: true, closes: true}
		o.Close()
		return out
	}
	_, opening := r.words.Openings[n.Text]
	return step{id: r.word(n, "step", r.stepIDs()), opening: opening}
}

// noSteps reads `no-step: [id, {step: id, at: place}]`: what must not be in the
// list, at all or at a place.
func (r *reader) noSteps(n *source.Node, pump *evidence.Pump) []Expectation {
	if n == nil {
		return nil
	}
	if n.Kind != source.List {
		r.problems.Add(n.Pos, source.WrongForm, "no-step must be a list of steps; read %s", n.Kind)
		return nil
	}
	var out []Expectation
	for _, item := range n.Items {
		e := Expectation{Pos: item.Pos, what: "no-step"}
		if item.Kind == source.Mapping {
			o := item.Object(&r.problems, "an item of no-step")
			item, e.at.place = o.Need("step"), r.place(o.Need("at"), pump)
			o.Close()
		}
		if item != nil {
			e.id = r.word(item, "step", r.stepIDs())
		}
		out = append(out, e)
	}
	return out
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
