package prove

import (
	"slices"
	"strings"

	"telltale/engine/hear"
	"telltale/evidence"
	"telltale/evidence/source"
)

func (r *reader) story(id *source.Node, o *source.Object) *Story {
	s := &Story{ID: id.Text, Pos: id.Pos}
	s.Set = o.Need("set").Word(&r.problems, "set", Sets())
	action := evidence.Action(o.Need("action").Word(&r.problems, "action", evidence.Actions()))
	s.Layout = evidence.Layout{Action: action, Cylinders: evidence.DefaultCylinders(action)}
	s.Told = o.Need("told").String(&r.problems, "what was told")
	n := o.Need("heard")
	if n == nil || n.Kind != source.List {
		return s
	}
	for _, item := range n.Items {
		m := item.Object(&r.problems, "a meaning")
		s.Meaning = append(s.Meaning, r.meaning(s, item, m))
		m.Close()
	}
	return s
}

func (r *reader) meaning(s *Story, n *source.Node, o *source.Object) Meaning {
	m := Meaning{Pos: n.Pos, Words: o.Need("words").String(&r.problems, "words")}
	if !strings.Contains(s.Told, m.Words) {
		r.problems.Add(n.Pos, source.DoesNotFit, "the words %q do not stand in what was told", source.Clip(m.Words))
	}
	for is, ids := range r.ids {
		if v := o.Get(string(is)); v != nil {
			m.Is = is
			if ids == nil {
				m.IDs = []string{v.String(&r.problems, "reading")}
				continue
			}
			m.IDs = append(m.IDs, v.Word(&r.problems, string(is), ids))
			for _, other := range o.Get("or").Scalars(&r.problems, "or") {
				m.IDs = append(m.IDs, other.Word(&r.problems, "sign, work or check", slices.Concat(r.ids[hear.IsSign], r.ids[hear.IsWork], r.ids[hear.IsCheck])))
			}
		}
	}
	if o.Get("guess").Bool(&r.problems, "guess") {
		m.Is = hear.IsGuess
	}
	nothing := o.Get("nothing") // what the words mean, for which the book has no word
	if nothing != nil {
		nothing.String(&r.problems, "nothing")
	}
	if (m.Is == "") != (nothing != nil) {
		r.problems.Add(n.Pos, source.NeedsOther, "a meaning is one of sign, work, check, reading, guess: true or nothing: ...")
	}
	m.Answer = string(evidence.Present)
	if m.Is == hear.IsSign {
		m.Answer = o.Need("answer").Word(&r.problems, "answer", []string{string(evidence.Present), string(evidence.Absent), evidence.Unknown})
		if k := o.Get("kind"); k != nil && r.book.Signs.Get(m.IDs[0]) != nil {
			m.Kind = k.Word(&r.problems, "kind", r.book.Signs.Get(m.IDs[0]).KindIDs())
		}
	}
	for _, key := range []string{"at", "one-of"} {
		for _, item := range o.Get(key).Scalars(&r.problems, "places") {
			p, names, ok := s.Layout.Find(item.Text)
			if !ok {
				r.problems.Add(item.Pos, source.UnknownName, "unknown place %q%s", source.Clip(item.Text), source.Expected(item.Text, names))
				continue
			}
			m.Places = append(m.Places, p)
			m.OneOf = key == "one-of"
		}
	}
	return m
}
