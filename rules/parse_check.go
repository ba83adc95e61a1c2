package rules

import (
	"iter"
	"slices"

	"telltale/evidence"
	"telltale/evidence/source"
)

func (l *loader) parseCheck(o *source.Object, e Entry) *Check {
	c := &Check{Entry: e, Level: l.level(o), Do: l.text(o, "do")}
	c.Pump = oneOf(l, o.Need("pump"), "pump", pumpNeeds...)
	c.Desk = o.Get("place").Word(&l.problems, "place", checkPlaces) == deskPlace
	c.Openings = l.ids(o.Get("openings"), "openings")
	c.Safety = l.ids(o.Get("safety"), "safety")
	c.After = l.ids(o.Get("after"), "checks")
	c.AfterWhen = l.afterRules(o.Get("after-when"))
	c.FirstWhen = l.readCondition(o.Get("first-when"))
	c.Minutes = l.minutes(o.Need("minutes"))
	c.Tools = l.texts(o.Get("tools"), "tools")
	c.Finds = l.finds(o.Need("finds"))
	c.Results = l.results(o.Need("results"))
	c.Answers = l.ids(o.Get("answers"), "signs")
	c.Main = l.ids(o.Get("main"), "signs")
	for _, id := range c.Main {
		if !slices.Contains(c.Answers, id) {
			l.problems.Add(e.Pos, source.DoesNotFit, "%s has the main question %s, but does not answer it%s", e.ID, id, source.Expected(id, c.Answers))
		}
	}
	for _, r := range c.Results {
		if r.Shows != "" && !slices.Contains(c.Answers, r.Shows) {
			l.problems.Add(e.Pos, source.DoesNotFit, "a result of %s shows %s, but the check does not answer it%s", e.ID, r.Shows, source.Expected(r.Shows, c.Answers))
		}
	}
	c.Closed = l.ids(o.Get("closed"), "openings")
	c.NotWhere = l.ids(o.Get("not-where"), "signs")
	c.Hands = l.hands(o)
	c.Read = l.blanks(o.Get("read"))
	c.Picture = l.picture(o)
	c.When = l.readCondition(o.Get("when"))
	if c.Desk && (c.Pump != "" && c.Pump != NeedsNothing || len(c.Safety) > 0) {
		l.problems.Add(e.Pos, source.Unsafe, "%s is done at a desk, so it needs pump: any and no safety", e.ID)
	}
	if len(c.Openings) > 0 && c.Pump != "" && c.Pump != NeedsIsolated {
		l.problems.Add(e.Pos, source.Unsafe, "%s needs something opened, so it needs pump: isolated; read %s", e.ID, c.Pump)
	}
	return c
}

// Where a check is done, if the book says it.
const deskPlace = "desk"

var checkPlaces = []string{deskPlace}

func (l *loader) afterRules(n *source.Node) []AfterRule {
	var out []AfterRule
	for _, o := range l.objects(n, "after-when") {
		out = append(out, AfterRule{When: l.readCondition(o.Need("when")), After: l.ids(o.Need("after"), "checks")})
		o.Close()
	}
	return out
}

// AfterIn gives the checks that come before this one in a case.
func (c *Check) AfterIn(k *evidence.Case, b *Book) []string {
	out := c.After
	for _, rule := range c.AfterWhen {
		if rule.When.Holds(k, b) {
			out = append(append([]string{}, out...), rule.After...)
		}
	}
	return out
}

// ChecksBefore gives the checks that always come before one, each once.
func (b *Book) ChecksBefore(id string) iter.Seq[string] {
	return reach(b.Checks.Get(id).After, func(id string) []string { return b.Checks.Get(id).After })
}

// everAfter gives all checks that can come before this one.
func (c *Check) everAfter() []string {
	out := append([]string{}, c.After...)
	for _, rule := range c.AfterWhen {
		out = append(out, rule.After...)
	}
	return out
}

func (l *loader) finds(n *source.Node) []Find {
	var out []Find
	for _, p := range l.pairs(n, "finds") {
		if l.id(p.Key, "causes") != "" {
			out = append(out, Find{Cause: p.Key.Text, Sure: l.chance(p.Value, l.book.Scale.Finds, "how surely")})
		}
	}
	return out
}

// blanks reads the readings to take: `- what`, or `- {what: ..., limits: [...]}`.
func (l *loader) blanks(n *source.Node) []ReadBlank {
	var out []ReadBlank
	if n == nil {
		return nil
	}
	if n.Kind != source.List {
		l.problems.Add(n.Pos, source.WrongForm, "read must be a list of readings to write down")
		return nil
	}
	for _, item := range n.Items {
		if item.Kind == source.Scalar {
			out = append(out, ReadBlank{What: l.placeholders(item)})
			continue
		}
		o := item.Object(&l.problems, "a reading")
		b := ReadBlank{What: l.text(o, "what")}
		b.Limits = l.ids(o.Get("limits"), "limits")
		o.Close()
		out = append(out, b)
	}
	return out
}

func (l *loader) results(n *source.Node) []Result {
	var out []Result
	for _, o := range l.objects(n, "results") {
		r := Result{
			If: l.text(o, "if"), Then: l.text(o, "then"),
			PointsTo: l.ids(o.Get("points-to"), "causes"), Clears: l.ids(o.Get("clears"), "causes"),
		}
		r.Shows, r.Kind = l.shown(o.Get("shows"))
		out = append(out, r)
		o.Close()
	}
	return out
}

// MainQuestions are the signs that a check is for: what the book marks, or
// its only answer. None: it is a look all round.
func (c *Check) MainQuestions() []string {
	if len(c.Main) == 0 && len(c.Answers) == 1 {
		return c.Answers
	}
	return c.Main
}

// CanProve says whether a check can prove a cause: one of its results points to
// the cause, and it hardly ever misses it.
func (b *Book) CanProve(c *Check, cause string) bool {
	sure := slices.ContainsFunc(c.Finds, func(f Find) bool { return f.Cause == cause && f.Sure >= b.Straight.Proves })
	return sure && slices.ContainsFunc(c.Results, func(r Result) bool { return slices.Contains(r.PointsTo, cause) })
}
