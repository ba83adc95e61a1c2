package rules

import (
	"slices"

	"telltale/evidence/source"
)

var pumpNeeds = []PumpNeed{NeedsRunning, NeedsLive, NeedsStopped, NeedsNothing, NeedsNotIsolated, NeedsIsolated}

func (l *loader) parseSign(o *source.Object, e Entry) *Sign {
	s := &Sign{Entry: e, Ask: l.text(o, "ask"), Tell: l.optional(o, "tell"), Level: l.level(o)}
	s.Pump = oneOf(l, o.Need("pump"), "pump", pumpNeeds...)
	s.Openings = l.ids(o.Get("openings"), "openings")
	s.Background = l.book.Scale.Background["usual"]
	if n := o.Get("background"); n != nil {
		s.Background = 0
		if n.Text != "0" { // 0: never seen without a cause of this book
			s.Background = l.chance(n, l.book.Scale.Background, "background")
		}
	}
	s.Kinds = l.kinds(o.Get("kinds"))
	s.Reckoned = o.Get("reckoned").Bool(&l.problems, "reckoned")
	s.Follows = l.ids(o.Get("follows"), "signs")
	when := o.Get("when")
	s.When = l.readCondition(when)
	if s.When != nil && s.When.Findings {
		l.problems.Add(when.Pos, source.BadCondition, "whether a sign is on a pump cannot depend on findings, work or state")
	}
	if len(s.Openings) > 0 && s.Pump != "" && s.Pump != NeedsIsolated {
		l.problems.Add(e.Pos, source.Unsafe, "%s needs something opened, so it needs pump: isolated; read %s", e.ID, s.Pump)
	}
	return s
}

func (l *loader) kinds(n *source.Node) []Kind {
	var out []Kind
	for _, p := range l.pairs(n, "kinds") {
		if !isID(p.Key.Text) || slices.Contains([]string{"present", "absent", "unknown", "all", "others", "left", "right"}, p.Key.Text) {
			l.problems.Add(p.Key.Pos, source.BadName, "%q cannot be a kind; expected lower-case words with hyphens, not a word of the case file", source.Clip(p.Key.Text))
			continue
		}
		out = append(out, Kind{ID: p.Key.Text, Title: p.Value.String(&l.problems, "the kind's title")})
	}
	return out
}
