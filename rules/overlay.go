package rules

import "telltale/evidence/source"

// Local names a local book that was laid over the built-in one.
type Local struct {
	Name    string
	Version string
	Digest  string
}

// localName reads the header of a local book, which must have one.
func (l *loader) localName(local *layer, digest string) *Local {
	n := local.single["rulebook"]
	if n == nil {
		l.problems.Add(source.Pos{File: "the local rulebook", Line: 1, Col: 1}, "no file has a section \"rulebook\" with name and version")
		return nil
	}
	o := n.Object(&l.problems, "rulebook")
	out := &Local{Name: o.Need("name").String(&l.problems, "the name"), Version: o.Need("version").String(&l.problems, "the version"), Digest: digest}
	o.Close()
	return out
}

// overlay gives the base with the local entries laid over it.
func (l *loader) overlay(base, local *layer) layer {
	for _, section := range []string{"scale", "planning", "readings", "teardown", "practice"} {
		if over := local.single[section]; over != nil {
			l.ownBasis(section, over.Pos, over)
			base.single[section] = merged(base.single[section], over, 2)
		}
	}
	if over := local.single["haste"]; over != nil {
		l.problems.Add(over.Pos, "a local book cannot change how long trouble waits; give a cause of it a more urgent word instead (haste: under the cause)")
	}
	if over := local.single["accepted"]; over != nil {
		base.single["accepted"] = over
	}
	for _, section := range tableSections {
		for _, e := range local.sections[section] {
			l.ownBasis(e.id.Text, e.id.Pos, e.value)
			if under := base.find(section, e.id.Text); under != nil {
				if section == "safety" {
					l.onlySafer(e)
				}
				if section == "causes" {
					e.value = l.onlySooner(under.value, e.value, e.id.Text)
				}
				under.value = merged(under.value, e.value, 1)
				continue
			}
			base.add(section, e)
		}
	}
	return *base
}

// onlySafer refuses a local book that takes a guard away: what a safety step is
// for, when it holds, what comes before it and whether it is repeated stay as
// they are.
func (l *loader) onlySafer(e entry) {
	for _, p := range e.value.Pairs {
		switch p.Key.Text {
		case "for", "when", "again", "after", "skip-on-stop":
			l.problems.Add(p.Key.Pos, "a local book cannot change %q of the safety step %s; add a step of its own instead", p.Key.Text, e.id.Text)
		}
	}
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
	l.problems.Add(pos, "%s is changed without a basis; say on what ground", id)
}

// merged lays the keys of over on those of base, down to a depth; deeper
// values are replaced whole. Neither is changed.
func merged(base, over *source.Node, depth int) *source.Node {
	if depth == 0 || base == nil || base.Kind != source.Mapping || over.Kind != source.Mapping {
		return over
	}
	out := *over
	out.Pairs = nil
	for _, p := range base.Pairs {
		if q := pairOf(over, p.Key.Text); q != nil {
			p = source.Pair{Key: q.Key, Value: merged(p.Value, q.Value, depth-1)}
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
