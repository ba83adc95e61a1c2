package record

import (
	"cmp"
	"maps"
	"slices"

	"telltale/evidence"
	"telltale/evidence/source"
)

// said is what a case file says of one sign, line by line, before the
// parser weighs the lines together: what one line left open stays on record
// even if another line has narrowed it.
type said struct {
	exact   map[evidence.Place]verdict // one place of the sign's level
	vague   map[evidence.Place]string  // present somewhere inside, with its kind
	unknown map[evidence.Place]bool    // nobody knows
}

// verdict is absent, or present with a kind if that is known.
type verdict struct {
	absent bool
	kind   string
}

func nothingSaid() said {
	return said{exact: map[evidence.Place]verdict{}, vague: map[evidence.Place]string{}, unknown: map[evidence.Place]bool{}}
}

func (s said) equal(o said) bool {
	return maps.Equal(s.exact, o.exact) && maps.Equal(s.vague, o.vague) && maps.Equal(s.unknown, o.unknown)
}

// topic is one sign on one pump.
type topic struct {
	layout evidence.Layout
	word   evidence.SignWord
}

func (t topic) places() []evidence.Place { return t.layout.Places(t.word.Level) }

func (t topic) under(p evidence.Place) []evidence.Place { return t.layout.Under(p, t.word.Level) }

func (t topic) inside(p evidence.Place, over map[evidence.Place]bool) bool {
	return !slices.ContainsFunc(t.under(p), func(q evidence.Place) bool { return !over[q] })
}

// note adds one line that was read.
func (t topic) note(s said, answer string, at evidence.Place) {
	over := t.under(at)
	switch {
	case answer == "unknown":
		for _, p := range over {
			s.unknown[p] = true
		}
	case answer == "absent":
		for _, p := range over {
			s.exact[p] = verdict{absent: true}
		}
	case len(over) == 1:
		s.exact[over[0]] = verdict{kind: cmp.Or(kindOf(answer), s.exact[over[0]].kind)}
	default:
		s.vague[at] = cmp.Or(kindOf(answer), s.vague[at])
	}
}

func kindOf(answer string) string {
	if answer == "present" {
		return ""
	}
	return answer
}

// answered adds a new answer of somebody. What can be true beside it stays;
// what cannot gives way at its places. It is false when the sign was said to
// be somewhere and no place is left for that.
func (t topic) answered(s said, answer string, at evidence.Place) (said, bool) {
	over := map[evidence.Place]bool{}
	for _, p := range t.under(at) {
		over[p] = true
	}
	if answer != "absent" && answer != "unknown" {
		beside := s.clone()
		for p := range over {
			delete(beside.unknown, p)
		}
		if len(over) > 1 && beside.vague[at] != "" && kindOf(answer) != "" {
			delete(beside.vague, at) // a file holds one kind of it: the newer
		}
		if t.allows(beside, answer, over) {
			t.note(beside, answer, at)
			if t.possible(beside) {
				return beside, true
			}
		}
	}
	instead := s.clone()
	t.forget(instead, over)
	t.note(instead, answer, at)
	return instead, t.possible(instead)
}

// allows says whether an answer for one place agrees with what is known of it.
func (t topic) allows(s said, answer string, over map[evidence.Place]bool) bool {
	if len(over) > 1 {
		return true // possible tells
	}
	for p := range over {
		if v, known := s.exact[p]; known && !v.shows(kindOf(answer)) {
			return false
		}
	}
	return true
}

// shows says whether what is known of a place can be of this kind.
func (v verdict) shows(kind string) bool {
	return !v.absent && (kind == "" || v.kind == "" || v.kind == kind)
}

// possible says whether everything that was said can be true at once: whether
// each "somewhere" finds a place.
func (t topic) possible(s said) bool {
	for at, kind := range s.vague {
		rest := s.clone()
		delete(rest.vague, at)
		for _, p := range t.under(at) {
			v, known := s.exact[p]
			if known && !v.shows(kind) {
				continue
			}
			rest.exact[p] = verdict{kind: cmp.Or(v.kind, kind)}
			if t.possible(rest) {
				return true
			}
			delete(rest.exact, p)
			if known {
				rest.exact[p] = v
			}
		}
		return false
	}
	return true
}

func (s said) clone() said {
	return said{exact: maps.Clone(s.exact), vague: maps.Clone(s.vague), unknown: maps.Clone(s.unknown)}
}

// forget takes out what was said of just these places.
func (t topic) forget(s said, over map[evidence.Place]bool) {
	for p := range over {
		delete(s.exact, p)
		delete(s.unknown, p)
	}
	for at := range s.vague {
		if t.inside(at, over) {
			delete(s.vague, at)
		}
	}
}

// column is one key of a finding written as a mapping: an answer with its
// places, or a place with its answer.
type column struct {
	key    string
	place  evidence.Place
	answer string   // of a place
	items  []string // places of an answer
	word   string   // all or others instead of them
}

func (t topic) isAnswer(text string) bool { return slices.Contains(t.word.Answers(), text) }

// columns reads a finding that the parser has found to be right.
func (t topic) columns(n *source.Node) []column {
	var out []column
	for _, p := range n.Pairs {
		if p.Value.Kind == source.Null {
			continue
		}
		if !t.isAnswer(p.Key.Text) {
			place, _, _ := t.layout.Find(p.Key.Text)
			out = append(out, column{key: p.Key.Text, place: place, answer: p.Value.Text})
			continue
		}
		c := column{key: p.Key.Text}
		if p.Value.Kind == source.Scalar && (p.Value.Text == "all" || p.Value.Text == "others") {
			c.word = p.Value.Text
		} else {
			c.items = texts(p.Value)
		}
		out = append(out, c)
	}
	return out
}

// read gives what a finding says.
func (t topic) read(n *source.Node) said {
	out := nothingSaid()
	if n != nil {
		for _, s := range evidence.Statements(n, t.layout, t.word) {
			t.note(out, s.Answer, s.At)
		}
	}
	return out
}

// meaning is read of a finding with these keys.
func (t topic) meaning(columns []column) said { return t.read(written(columns)) }

// written is the finding with these keys.
func written(columns []column) *source.Node {
	var fields []source.Field
	for _, c := range columns {
		fields = append(fields, source.Field{Key: c.key, Value: c.value()})
	}
	return source.Fields(fields...)
}
