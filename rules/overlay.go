package rules

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"telltale/evidence/source"
)

// Local names a local book that was laid over the built-in one.
type Local struct {
	Name    string
	Version string
	Digest  string
	// Calls is how many closed calls of the rig its figures rest on; 0: it says none.
	Calls int
}

// String names the book as every view does.
func (l *Local) String() string {
	out := fmt.Sprintf("local book %s, version %s, digest %s", l.Name, l.Version, l.Digest)
	if l.Calls > 0 {
		out += fmt.Sprintf(", from %d closed calls of the rig", l.Calls)
	}
	return out
}

// mostCalls bounds the calls behind a local book.
const mostCalls = 1_000_000

// localName reads the header of a local book, which must have one.
func (l *loader) localName(local *layer, digest string) *Local {
	n := local.single["rulebook"]
	if n == nil {
		l.problems.Add(source.Pos{File: "the local rulebook", Line: 1, Col: 1}, source.Missing, "no file has a section \"rulebook\" with name and version")
		return nil
	}
	o := n.Object(&l.problems, "rulebook")
	line := func(key, what string) string { // one line, whatever breaks it holds
		return strings.Join(strings.Fields(o.Need(key).String(&l.problems, what)), " ")
	}
	out := &Local{Name: line("name", "the name"), Version: line("version", "the version"), Digest: digest}
	if n := o.Get("calls"); n != nil {
		out.Calls = int(n.Number(&l.problems, "calls", 1, mostCalls))
	}
	o.Close()
	return out
}

// overlay gives the base with the local entries laid over it, as far as the
// table of protections lets them.
func (l *loader) overlay(base, local *layer) layer {
	for _, section := range singleSections {
		over := local.single[section]
		switch _, known := protections[section]; {
		case over == nil, section == "rulebook":
		case section == "accepted":
			base.single[section] = over
		case !known:
			l.problems.Add(over.Pos, source.NotAllowed, "a local book cannot give the section %s", section)
		default:
			l.ownBasis(section, over.Pos, over)
			base.single[section] = l.laid(section, section, base.single[section], over)
		}
	}
	newSteps := map[string][]entry{}
	for _, section := range tableSections {
		for _, e := range local.sections[section] {
			if _, known := protections[section]; !known {
				l.problems.Add(e.id.Pos, source.NotAllowed, "a local book cannot give entries of the section %s", section)
				continue
			}
			l.ownBasis(e.id.Text, e.id.Pos, e.value)
			if under := base.find(section, e.id.Text); under != nil {
				under.value = l.laid(section, e.id.Text, under.value, e.value)
				under.id = e.id // a mistake that the two make together is told where the local one stands
				under.local = under.local || len(visible(e.value)) > 0
				continue
			}
			e.value, e.local, e.fresh = l.newEntry(section, e), true, true
			newSteps[section] = append(newSteps[section], e)
		}
	}
	l.safetyBeforeProof(base, newSteps["safety"])
	for _, section := range tableSections {
		base.insert(section, base.placeFor(section), newSteps[section])
	}
	return *base
}

// laid lays the keys of a local entry over those of a built-in one, each as
// the table says. What is refused is reported at its place.
func (l *loader) laid(section, id string, under, over *source.Node) *source.Node {
	if under == nil || under.Kind != source.Mapping || over.Kind != source.Mapping {
		if over.Kind != source.Mapping {
			l.problems.Add(over.Pos, source.WrongForm, "%s must be a mapping (key: value) that changes keys of the built-in entry; read %s", id, over.Kind)
		}
		return over
	}
	changed := *over
	changed.Pairs = nil
	for _, p := range over.Pairs {
		var was *source.Node
		if q := pairOf(under, p.Key.Text); q != nil {
			was = q.Value
		}
		if p.Value.Kind == source.Null {
			l.problems.Add(p.Key.Pos, source.Missing, "%q of %s is empty; leave the key out, and it stays as the built-in book has it", p.Key.Text, id)
			continue
		}
		if keys := protections[section].keys; keys[p.Key.Text] == nil {
			l.problems.Add(p.Key.Pos, source.UnknownKey, "%s has no key %q%s", id, p.Key.Text, source.Expected(p.Key.Text, slices.Sorted(maps.Keys(keys))))
			continue
		}
		value, refused := protections[section].of(p.Key.Text, under)(was, p.Value)
		if refused != nil {
			l.problems.Add(refused.at.Pos, source.NotAllowed, "a local book cannot change %q of %s: %s", p.Key.Text, id, refused.why)
			continue
		}
		changed.Pairs = append(changed.Pairs, source.Pair{Key: p.Key, Value: value})
	}
	return markedChange(section, merged(under, &changed), visible(&changed))
}

// visible gives the keys of a local entry that show wherever the built-in one
// is shown; a condition speaks for itself when it holds.
func visible(n *source.Node) []string {
	var out []string
	for _, p := range n.Pairs {
		if p.Key.Text != "when" && p.Key.Text != "basis" {
			out = append(out, p.Key.Text)
		}
	}
	return out
}

// markedChange puts into the title of a built-in cause, check, opening or stop
// that a local book changed more of it than the words, which have their own
// marks.
func markedChange(section string, n *source.Node, keys []string) *source.Node {
	own := []string{"title", "do", "tools", "read", "results", "finds", "why", "repair", "look-again", "haste", "haste-when"}
	if slices.Contains([]string{"causes", "checks", "openings", "stops"}, section) && slices.ContainsFunc(keys, func(key string) bool { return !slices.Contains(own, key) }) {
		return withMarks(n, func(title *source.Node) *source.Node { return wordsAt(title, title.Text+localChanged) }, "title")
	}
	return n
}

// newEntry refuses what an entry of a local book cannot have, and marks its
// words.
func (l *loader) newEntry(section string, e entry) *source.Node {
	if e.value.Kind != source.Mapping {
		return e.value // reported when it is parsed
	}
	for key, why := range protections[section].barred {
		if p := pairOf(e.value, key); p != nil {
			l.problems.Add(p.Key.Pos, source.NotAllowed, "%s is an entry of a local book and cannot have %q: %s", e.id.Text, key, why)
		}
	}
	out := withMarks(e.value, func(n *source.Node) *source.Node { return wordsAt(n, n.Text+localMark) }, "title")
	switch section {
	case "signs":
		out = withMarks(out, localWords, "ask")
	case "stops", "advice":
		if p := pairOf(out, "do"); p != nil {
			p.Value = marked(p.Value, localWords)
		}
	}
	return out
}

// safetyBeforeProof lets the new steps of the stop and the isolation stand
// before the built-in steps that end them: what stops the pump, and what
// proves the isolation and comes after that proof.
func (l *loader) safetyBeforeProof(base *layer, steps []entry) {
	ends := map[SafetyFor][]*entry{}
	for i := range base.sections["safety"] {
		e := &base.sections["safety"][i]
		switch {
		case said(e.value, "for", string(ForStopping)) && !said(e.value, "skip-on-stop", "true"):
			ends[ForStopping] = append(ends[ForStopping], e)
		case said(e.value, "for", string(ForIsolation)) && said(e.value, "in-full", "true"):
			ends[ForIsolation] = append(ends[ForIsolation], e)
		}
	}
	for _, e := range steps {
		if said(e.value, "for", string(ForStopping)) && !said(e.value, "skip-on-stop", "true") {
			l.problems.Add(e.id.Pos, source.NotAllowed, "%s would hold up a stop that a stop condition demands at once; a step of a local book for: stopping needs skip-on-stop: true", e.id.Text)
		}
		for _, purpose := range []SafetyFor{ForStopping, ForIsolation} {
			if said(e.value, "for", string(purpose)) {
				l.before(e, ends[purpose])
			}
		}
	}
}

// mindLocalOpenings has the return steps that come before each outermost opening
// of the built-in book is closed, such as counting the tools, come before those of
// a local book too: no built-in step can name them.
func (b *Book) mindLocalOpenings() {
	var own, local []string // outermost: behind no other one
	for _, o := range b.Openings.List {
		switch {
		case len(o.Needs) > 0:
		case o.FromLocal:
			local = append(local, o.ID)
		default:
			own = append(own, o.ID)
		}
	}
	for _, r := range b.Returns.List {
		misses := func(id string) bool { return !slices.Contains(r.Before, id) }
		if len(own) > 0 && !slices.ContainsFunc(own, misses) {
			r.Before = append(r.Before, slices.DeleteFunc(slices.Clone(local), func(id string) bool { return !misses(id) })...)
		}
	}
}

// said says whether a mapping gives a word for a key.
func said(n *source.Node, key, word string) bool {
	p := pairOf(n, key)
	return p != nil && p.Value.Kind == source.Scalar && p.Value.Text == word
}

// before lets built-in steps come after a new one.
func (l *loader) before(step entry, ends []*entry) {
	if p := pairOf(step.value, "after"); p != nil {
		for _, item := range itemsOf(p.Value) {
			if slices.ContainsFunc(ends, func(e *entry) bool { return e.id.Text == item.Text }) {
				l.problems.Add(item.Pos, source.NotAllowed, "%s cannot come after %s, which ends the stop or proves the isolation: a step of a local book stands before that", step.id.Text, item.Text)
				return
			}
		}
	}
	for _, e := range ends {
		after := &source.Node{Pos: step.id.Pos, Kind: source.List}
		if p := pairOf(e.value, "after"); p != nil {
			after.Items = itemsOf(p.Value)
		}
		after.Items = append(slices.Clone(after.Items), step.id)
		e.value = merged(e.value, &source.Node{Kind: source.Mapping, Pos: e.value.Pos, Pairs: []source.Pair{{Key: wordsAt(step.id, "after"), Value: after}}})
	}
}

// placeFor gives where new entries stand in a section: at the end, but return
// steps before the first one that is done with everything closed.
func (l *layer) placeFor(section string) int {
	if section == "return" {
		for i, e := range l.sections[section] {
			if e.value.Kind == source.Mapping && pairOf(e.value, "before") == nil {
				return i
			}
		}
	}
	return len(l.sections[section])
}

// ownBasis demands that what is changed says on what ground.
func (l *loader) ownBasis(id string, pos source.Pos, n *source.Node) {
	if n.Kind != source.Mapping {
		return // reported when it is parsed
	}
	for _, p := range n.Pairs {
		if p.Key.Text == "basis" {
			return
		}
	}
	l.problems.Add(pos, source.Missing, "%s is changed without a basis; say on what ground", id)
}

// merged lays the keys of over on those of base. Neither is changed.
func merged(base, over *source.Node) *source.Node {
	if base == nil {
		return over
	}
	out := *over
	out.Pairs = nil
	for _, p := range base.Pairs {
		if q := pairOf(over, p.Key.Text); q != nil {
			p = *q
		}
		out.Pairs = append(out.Pairs, p)
	}
	for _, q := range over.Pairs {
		if pairOf(base, q.Key.Text) == nil {
			out.Pairs = append(out.Pairs, q)
		}
	}
	return &out
}

func pairOf(n *source.Node, key string) *source.Pair {
	for i := range n.Pairs {
		if n.Pairs[i].Key.Text == key {
			return &n.Pairs[i]
		}
	}
	return nil
}
