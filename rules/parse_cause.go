package rules

import (
	"cmp"
	"slices"

	"telltale/evidence"
	"telltale/evidence/source"
)

// mostTimes bounds how far one condition may move the odds of a cause.
const mostTimes = 1000

func (l *loader) parseCause(o *source.Object, e Entry) *Cause {
	c := &Cause{Entry: e, Level: l.level(o)}
	c.Group = l.id(o.Need("group"), "groups")
	c.Role = oneOf(l, o.Need("role"), "role", Failure, Root)
	c.Common = l.chance(o.Need("how-common"), l.book.Scale.HowCommon, "how-common")
	c.Odds = l.oddsRules(o.Get("odds"))
	c.Shows = l.links(o.Need("shows"), false)
	c.ShowsWhen = l.linksWhen(o.Get("shows-when"))
	c.Brings = l.parseBrings(o.Get("brings"), e.ID)
	c.Why, c.Repair, c.LookAgain = l.text(o, "why"), l.text(o, "repair"), l.text(o, "look-again")
	c.Sum = l.optional(o, "sum")
	c.Parts = l.partNeeds(o.Get("parts"))
	c.Haste = l.parseHaste(o.Need("haste"))
	c.HasteWhen = l.hasteRules(o.Get("haste-when"), c.Haste.Wait)
	c.Behind = BehindPump
	if n := o.Get("behind"); n != nil {
		c.Behind = oneOf(l, n, "what the repair is done behind", BehindPump, BehindLine, BehindNothing)
	}
	c.Safety = l.ids(o.Get("safety"), "safety")
	when := o.Get("when")
	c.When = l.readCondition(when)
	if c.When != nil && c.When.Findings {
		l.problems.Add(when.Pos, source.BadCondition, "whether a cause can be on a pump cannot depend on findings, work or state; use odds")
	}
	return c
}

func (l *loader) oddsRules(n *source.Node) []OddsRule {
	var out []OddsRule
	for _, o := range l.objects(n, "odds") {
		rule := OddsRule{
			When:  l.readCondition(o.Need("when")),
			Times: o.Need("times").Number(&l.problems, "times", 1.0/mostTimes, mostTimes),
			Basis: l.basis(o),
		}
		o.Close()
		out = append(out, rule)
	}
	return out
}

// objects reads a list of mappings.
func (l *loader) objects(n *source.Node, what string) []*source.Object {
	if n == nil {
		return nil
	}
	if n.Kind != source.List {
		l.problems.Add(n.Pos, source.WrongForm, "%s must be a list of lines that start with \"- \"; read %s", what, n.Kind)
		return nil
	}
	var out []*source.Object
	for _, item := range n.Items {
		out = append(out, item.Object(&l.problems, "an item of "+what))
	}
	return out
}

func (l *loader) linksWhen(n *source.Node) []LinksWhen {
	var out []LinksWhen
	for _, o := range l.objects(n, "shows-when") {
		out = append(out, LinksWhen{When: l.readCondition(o.Need("when")), Links: l.links(o.Need("shows"), true)})
		o.Close()
	}
	return out
}

// links reads `sign: word` and, for a sign with kinds,
// `sign: {kind: word}`. never is allowed where a link can be taken away.
func (l *loader) links(n *source.Node, never bool) []Link {
	var out []Link
	for _, p := range l.pairs(n, "shows") {
		if l.id(p.Key, "signs") == "" {
			continue
		}
		if sign := l.book.Signs.Get(p.Key.Text); sign != nil {
			out = append(out, l.link(sign, p.Value, never))
		}
	}
	return out
}

func (l *loader) link(sign *Sign, n *source.Node, never bool) Link {
	link := Link{Sign: sign.ID}
	if never && n.Kind == source.Scalar && n.Text == "never" {
		if len(sign.Kinds) > 0 {
			link.Kinds = make([]float64, len(sign.Kinds))
		}
		return link
	}
	if len(sign.Kinds) == 0 {
		link.Total = l.chance(n, l.book.Scale.Shows, "how often")
		return link
	}
	if n.Kind != source.Mapping {
		l.problems.Add(n.Pos, source.DoesNotFit, "%s has kinds; say how often for each kind that the cause shows%s", sign.ID, source.Expected("", sign.KindIDs()))
		return link
	}
	link.Kinds = make([]float64, len(sign.Kinds))
	for _, p := range n.Pairs {
		if p.Key.Word(&l.problems, "kind", sign.KindIDs()) == "" {
			continue
		}
		for i, k := range sign.Kinds {
			if k.ID == p.Key.Text {
				link.Kinds[i] = l.chance(p.Value, l.book.Scale.Shows, "how often")
				link.Total += link.Kinds[i]
			}
		}
	}
	if link.Total == 0 {
		l.problems.Add(n.Pos, source.DoesNotFit, "%s names no kind; say how often for each kind that the cause shows%s", sign.ID, source.Expected("", sign.KindIDs()))
	}
	if link.Total > 1 {
		l.problems.Add(n.Pos, source.OutOfRange, "the kinds of %s add up to %.3g; at most 1 is possible, since one finding has one kind", sign.ID, link.Total)
	}
	return link
}

// LinksFor gives what the cause shows on this pump in this case, the links
// that hold only sometimes laid over the rest.
func (c *Cause) LinksFor(k *evidence.Case, b *Book) []Link {
	links := c.Shows
	for _, over := range c.ShowsWhen {
		if over.When.Holds(k, b) {
			links = overlay(links, over.Links)
		}
	}
	return links
}

// CanShow says whether the cause shows a sign in this case, of this kind if
// one is named: by itself, or as something else brought it on.
func (c *Cause) CanShow(sign, kind string, k *evidence.Case, b *Book) bool {
	i := -1
	if kind != "" {
		i = slices.Index(b.Signs.Get(sign).KindIDs(), kind)
	}
	return slices.ContainsFunc(c.WaysFor(k, b), func(links []Link) bool {
		link := find(links, sign)
		return link != nil && (kind == "" || i >= 0 && link.Kinds[i] > 0)
	})
}

func overlay(base, over []Link) []Link {
	out := make([]Link, 0, len(base)+len(over))
	for _, link := range base {
		if find(over, link.Sign) == nil {
			out = append(out, link)
		}
	}
	for _, link := range over {
		if link.Total > 0 {
			out = append(out, link)
		}
	}
	return out
}

func find(links []Link, sign string) *Link {
	for i := range links {
		if links[i].Sign == sign {
			return &links[i]
		}
	}
	return nil
}

// partNeeds reads the parts that a cause takes, with how often: {piston:
// almost-always, liner: sometimes}.
func (l *loader) partNeeds(n *source.Node) []PartNeed {
	var out []PartNeed
	for _, p := range l.pairs(n, "parts") {
		if id := l.id(p.Key, "parts"); id != "" {
			out = append(out, PartNeed{Part: id, Chance: l.chance(p.Value, l.book.Scale.Shows, "how often the part is taken")})
		}
	}
	slices.SortStableFunc(out, func(a, b PartNeed) int { return cmp.Compare(b.Chance, a.Chance) })
	return out
}
