package rules

import (
	"telltale/evidence/source"
)

// Bounds of what stands in a book, wide above what the built-in one has: what
// is worked out of a book grows faster than its bytes.
const (
	mostEntries = 300  // of one section, where mostIn says nothing else
	mostItems   = 100  // of one list or mapping of an entry, where mostUnder says nothing else
	mostText    = 4000 // bytes of one text
	mostAfter   = 300  // checks that others come after, over all checks
)

// mostIn are the sections with a bound of their own.
var mostIn = map[string]int{"openings": 60, "safety": 120, "same-words": 600}

// mostUnder are the lists with a bound of their own: what must come before
// something is followed from entry to entry; words and phrases are only listed.
var mostUnder = map[string]int{
	"needs": 24, "after": 24, "openings": 24, "safety": 24, "closed": 24, "stands-for": 24,
	"fixed-order": mostEntries, "shows": mostEntries, // of a cause as many as there are signs
	"words": 600, "against": 600, "present": 600, "absent": 600, "said": 600,
}

// bound gives the bound of a name, or the usual one.
func bound(own map[string]int, name string, usual int) int {
	if most, has := own[name]; has {
		return most
	}
	return usual
}

// bounded reports each list, mapping and text of a layer that is longer than is
// read.
func (l *loader) bounded(layer *layer) {
	for _, section := range tableSections {
		for _, e := range layer.sections[section] {
			l.boundedNode(e.value, e.id.Text)
		}
	}
	for _, section := range singleSections {
		if n := layer.single[section]; n != nil {
			l.boundedNode(n, section)
		}
	}
}

// boundedNode is bounded for what stands under a key.
func (l *loader) boundedNode(n *source.Node, key string) {
	most := bound(mostUnder, key, mostItems)
	for i, item := range n.Items {
		if i == most {
			l.problems.Add(item.Pos, source.TooLarge, "%s has %d items; at most %d are read", source.Clip(key), len(n.Items), most)
			return
		}
		l.boundedNode(item, key)
	}
	for i, p := range n.Pairs {
		if i == most {
			l.problems.Add(p.Key.Pos, source.TooLarge, "%s has %d entries; at most %d are read", source.Clip(key), len(n.Pairs), most)
			return
		}
		l.boundedNode(p.Value, p.Key.Text)
	}
	if len(n.Text) > mostText {
		l.problems.Add(n.Pos, source.TooLarge, "the text under %s has %d bytes; at most %d are read", source.Clip(key), len(n.Text), mostText)
	}
}

// fewEnough reports each section with more entries than are read, where the
// first one too many stands: of a local book, if it has a part in it.
func (l *loader) fewEnough() {
	for _, section := range tableSections {
		entries, most := l.sections[section], bound(mostIn, section, mostEntries)
		if len(entries) <= most {
			continue
		}
		at := entries[most]
		for i := len(entries) - 1; i >= 0 && !at.fresh; i-- {
			if entries[i].fresh {
				at = entries[i]
			}
		}
		l.problems.Add(at.id.Pos, source.TooLarge, "the section %s has %d entries; at most %d are read", section, len(entries), most)
	}
}

// fewEnoughAfter reports the check from which on more come after others than are
// followed: of a local book, if it has a part in it. The order is sought over all
// that each of them waits for.
func (l *loader) fewEnoughAfter() {
	var over *source.Node
	links := 0
	for _, own := range []bool{false, true} { // what a local book adds is too much, not what it adds to
		for _, e := range l.sections["checks"] {
			if e.local != own {
				continue
			}
			links += afterLinks(e.value)
			if over == nil && links > mostAfter {
				over = e.id
			}
		}
	}
	if over != nil {
		l.problems.Add(over.Pos, source.TooLarge, "the checks of this book come after others %d times in all (after: and after-when:); at most %d are read", links, mostAfter)
	}
}

// afterLinks is how many checks an entry names that it comes after.
func afterLinks(check *source.Node) int {
	n := 0
	if after := check.Value("after"); after != nil {
		n = len(after.Items)
	}
	if rules := check.Value("after-when"); rules != nil {
		for _, rule := range rules.Items {
			n += afterLinks(rule)
		}
	}
	return n
}
