package pages

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/evidence"
	"telltale/rules"
)

// Pick says which entries of a rulebook are wanted: those of a group of causes,
// of a kind of pump; empty is all.
type Pick struct {
	Group  string
	Action string
}

// judged stands under every figure of a book.
const judged = "How common, how often and how surely are judgement, not counted failures."

// Rulebook is what a rulebook holds: the causes by group, the signs, the works and
// the muds.
func Rulebook(b *rules.Book, pick Pick) *doc.Document {
	d := ofBook(b)
	d.Lines = append(d.Lines, fmt.Sprintf("%d causes, %d signs, %d checks", len(b.Causes.List), len(b.Signs.List), len(b.Checks.List)))
	for _, g := range b.Groups.List {
		var lines []doc.Item
		for _, c := range b.Causes.List {
			if c.Group == g.ID && onPump(b, c.When, pick.Action) {
				lines = append(lines, naming(fmt.Sprintf("%s: %s (%s)", c.ID, c.Title, howCommon(b, c)), "cause", c.ID))
			}
		}
		if pick.Group == "" || pick.Group == g.ID {
			d.Add(doc.Section{Heading: g.Title, Aside: " (" + g.ID + ")", Parts: []doc.Part{{Items: lines}}})
		}
	}
	if pick.Group == "" {
		work := func(w *rules.Work) doc.Item {
			item, right := naming(w.ID+": "+w.Title, "work", w.ID), doc.Each(w.PutsRight, func(f rules.Find) string { return f.Cause })
			return oneLine("", item, naming(doc.If(len(right) > 0, "; puts right: "+list(right)), "cause", right...))
		}
		d.Add(signsOf(b, pick),
			doc.Section{Heading: "Works", Aside: " (for recent in the case file)", Parts: []doc.Part{{Items: doc.Each(b.Works.List, work)}}},
			doc.Section{Heading: "Muds", Aside: " (for before-and-now in the case file)", Parts: []doc.Part{{Items: doc.Each(b.Muds.List, func(m *rules.Mud) doc.Item { return naming(m.ID+": "+m.Title, "mud", m.ID) })}}})
	}
	d.Add(doc.Section{Heading: "Notes", Parts: []doc.Part{doc.List("rulebook show ID tells more: of a cause, a sign, a check, an opening, a safety step, a return step, a stop, a rating, a limit, a work, a mud.", judged)}})
	return d
}

// ofBook starts a page about a rulebook.
func ofBook(b *rules.Book) *doc.Document {
	d := &doc.Document{Title: fmt.Sprintf("%s, version %s, digest %s", b.Name, b.Version, b.Digest)}
	if b.Local != nil {
		d.Lines = []string{"changed by the " + b.Local.String()}
	}
	return d
}

// signsOf names what a case file can report, with the kinds of each.
func signsOf(b *rules.Book, pick Pick) doc.Section {
	var lines []doc.Item
	for _, sign := range b.Signs.List {
		if !onPump(b, sign.When, pick.Action) {
			continue
		}
		kinds := list(sign.KindIDs())
		lines = append(lines, naming(fmt.Sprintf("%s: %s (of the %s)", sign.ID, sign.Title, sign.Level)+doc.If(kinds != "", "; kinds: "+kinds), "sign", sign.ID))
	}
	return doc.Section{Heading: "Signs", Aside: " (for the case file)", Parts: []doc.Part{{Items: lines}}}
}

// onPump says whether a condition can hold on a kind of pump; any when it is
// empty.
func onPump(b *rules.Book, when *rules.Condition, action string) bool {
	return action == "" || when.Holds(rules.BareCase(evidence.Action(action)), b)
}

func howCommon(b *rules.Book, c *rules.Cause) string {
	return fmt.Sprintf("%s: in %s of troubled pumps; looked for in each %s", scaleWord(b.Scale.HowCommon, c.Common), share(c.Common), c.Level)
}

// scaleWord gives the scale's word for a chance, or "by number".
func scaleWord(scale rules.Words, p float64) string {
	return cmp.Or(strings.ReplaceAll(scale.Word(p), "-", " "), "by number")
}

// rated is a chance by the scale's word and in figures, with what it is of.
func rated(scale rules.Words, p float64, of doc.Item) doc.Item {
	return doc.Item{Text: fmt.Sprintf("%s (%s): %s", scaleWord(scale, p), share(p), of.Text), To: of.To}
}

func share(p float64) string { return fmt.Sprintf("%.3g %%", 100*p) }

// Entry is all that a rulebook says under one id, whatever it is; false if it
// has no such id.
func Entry(b *rules.Book, id string, pick Pick) (*doc.Document, bool) {
	e := entry{book: b, id: id, pick: pick}
	found(b.Causes.Get(id), e.cause)
	found(b.Signs.Get(id), e.sign)
	found(b.Checks.Get(id), e.check)
	found(b.Openings.Get(id), e.opening)
	found(b.Safety.Get(id), e.safety)
	found(b.Stops.Get(id), e.stop)
	found(b.Ratings.Get(id), e.rating)
	found(b.Limits.Get(id), e.limit)
	found(b.Returns.Get(id), e.back)
	found(b.Works.Get(id), e.work)
	found(b.Muds.Get(id), e.mud)
	if len(e.told) == 0 {
		return nil, false
	}
	d := ofBook(b)
	d.Add(append(e.told, doc.Section{Heading: "Notes", Parts: []doc.Part{doc.List(judged)}})...)
	return d, true
}

// found tells of an entry, if the book has it.
func found[T any](x *T, tell func(*T)) {
	if x != nil {
		tell(x)
	}
}

// entry gathers what a book says under an id, a section for each kind of entry.
type entry struct {
	book *rules.Book
	id   string
	pick Pick
	told []doc.Section
}

// tell starts the section of an entry.
func (e *entry) tell(kind, title string) {
	e.told = append(e.told, doc.Section{Heading: kind, Aside: fmt.Sprintf(" %s: %s", e.id, title)})
}

func (e *entry) add(p doc.Part) {
	s := &e.told[len(e.told)-1]
	s.Parts = append(s.Parts, p)
}

// facts adds labels with their texts, those that have one.
func (e *entry) facts(labelled ...string) {
	for i := 0; i < len(labelled); i += 2 {
		e.fact(labelled[i], prose(labelled[i+1]))
	}
}

// fact adds a line that names something behind its label, if it says anything.
func (e *entry) fact(label string, text doc.Item) {
	if text.Text != "" {
		e.add(doc.Part{Facts: []doc.Fact{{Label: label, Text: text.Text, To: text.To}}})
	}
}

func list(ids []string) string { return strings.Join(ids, ", ") }

func (e *entry) condition(label string, when *rules.Condition) {
	for ; when != nil; when = when.Or {
		e.fact(label, source(when))
		label = "Or " + strings.ToLower(label)
	}
}

// waitText says how long a cause can wait, and why.
func waitText(h rules.Haste) string {
	return strings.ReplaceAll(string(h.Wait), "-", " ") + ": " + h.Because
}

// actions are the kinds of pump that are picked and that a condition allows.
func (e *entry) actions(when *rules.Condition) []string {
	return slices.DeleteFunc(evidence.Actions(), func(a string) bool {
		return e.pick.Action != "" && e.pick.Action != a || !onPump(e.book, when, a)
	})
}

func (e *entry) cause(c *rules.Cause) {
	b := e.book
	e.tell("cause", c.Title)
	e.facts("Area", c.Group+", of the "+string(c.Level), "Role", roleWords[c.Role], "Common", howCommon(b, c))
	e.condition("On", c.When)
	for _, o := range c.Odds {
		e.fact("Odds", lead(fmt.Sprintf("times %g when ", o.Times), source(o.When)))
	}
	e.facts("Why", c.Why)
	for _, action := range e.actions(c.When) {
		var lines []doc.Item
		for _, link := range c.LinksFor(rules.BareCase(evidence.Action(action)), b) {
			lines = append(lines, linkLines(b, link, "sign", link.Sign)...)
		}
		e.add(listed("Shows, on a "+words.Pump(action)+" pump:", lines))
	}
	e.bring("It brings on:", doc.Each(c.Brings, func(r rules.Bring) bringLine { return bringLine{r.Cause, r} }))
	e.bring("What brings it on:", doc.Each(b.BroughtBy(c.ID), func(r rules.Brought) bringLine { return bringLine{r.By.ID, r.Bring} }))
	var lines []doc.Item
	var parts []string
	for _, check := range b.ChecksFor(c.ID) {
		for _, find := range check.Finds {
			if find.Cause == c.ID {
				lines = append(lines, rated(b.Scale.Finds, find.Sure, naming(check.ID, "check", check.ID)))
			}
		}
	}
	e.add(listed("Checks that expose it:", lines))
	safety := doc.Each(c.Safety, func(id string) string { return b.Safety.Get(id).Title })
	for _, p := range c.Parts {
		parts = append(parts, bracketed(b.Parts.Get(p.Part).Title, share(p.Chance)))
	}
	e.facts("Repair", c.Behind.Words(safety)+" "+c.Repair, "Then", c.LookAgain, "Parts", list(parts), "Wait", waitText(c.Haste))
	for _, rule := range c.HasteWhen {
		e.fact("Wait", lead(waitText(rule.Haste)+" When ", source(rule.When)))
	}
	e.facts("Basis", c.Basis)
}

// listed is a list under a line of text.
func listed(head string, lines []doc.Item) doc.Part {
	return doc.Part{Text: []string{head}, Items: lines}
}

// linkLines say how often a cause shows a sign, for each kind if it has any; kind
// and id are of what the line is about.
func linkLines(b *rules.Book, link rules.Link, kind, id string) []doc.Item {
	if len(link.Kinds) == 0 {
		return []doc.Item{rated(b.Scale.Shows, link.Total, naming(id, kind, id))}
	}
	var out []doc.Item
	for i, k := range b.Signs.Get(link.Sign).Kinds {
		if p := link.Kinds[i]; p > 0 {
			out = append(out, rated(b.Scale.Shows, p, naming(id+": "+k.ID, kind, id)))
		}
	}
	return out
}

func (e *entry) sign(sign *rules.Sign) {
	b := e.book
	e.tell("sign", sign.Title)
	e.facts("Ask", sign.Ask, "Look", sign.Tell, "Of", fmt.Sprintf("the %s; pump: %s", sign.Level, sign.Pump))
	e.fact("Open", ids("opening", sign.Openings))
	e.condition("On", sign.When)
	e.facts("Without", fmt.Sprintf("a cause of this book in %s of cases", share(sign.Background)))
	for _, k := range sign.Kinds {
		e.facts("Kind", k.ID+": "+k.Title)
	}
	for _, action := range e.actions(sign.When) {
		k := rules.BareCase(evidence.Action(action))
		var lines []doc.Item
		for _, c := range b.Causes.List {
			if e.pick.Group != "" && e.pick.Group != c.Group || !c.When.Holds(k, b) {
				continue
			}
			for _, link := range c.LinksFor(k, b) {
				if link.Sign == sign.ID {
					lines = append(lines, linkLines(b, link, "cause", c.ID)...)
				}
			}
			lines = append(lines, broughtLines(b, k, c, sign.ID)...)
		}
		e.add(listed("Causes that give it, on a "+words.Pump(action)+" pump:", lines))
	}
	e.facts("Basis", sign.Basis)
}

func (e *entry) check(c *rules.Check) {
	b := e.book
	e.tell("check", c.Title)
	e.facts("Of", fmt.Sprintf("the %s; pump: %s; %s", c.Level, c.Pump, words.Minutes(c.Minutes)))
	e.fact("Open", ids("opening", c.Openings))
	e.fact("Closed", ids("opening", c.Closed))
	e.fact("Not where", ids("sign", c.NotWhere))
	e.fact("Safety", ids("safety", c.Safety))
	e.fact("After", ids("check", c.After))
	for _, rule := range c.AfterWhen {
		e.fact("After", oneLine(" when ", ids("check", rule.After), source(rule.When)))
	}
	e.condition("First", c.FirstWhen)
	e.condition("On", c.When)
	e.facts("Tools", list(c.Tools), "Do", c.Do)
	finds := doc.Each(c.Finds, func(find rules.Find) doc.Item {
		return rated(b.Scale.Finds, find.Sure, naming(find.Cause, "cause", find.Cause))
	})
	results := doc.Each(c.Results, func(r rules.Result) doc.Item { return prose(r.If + ": " + r.Then) })
	e.add(listed("What it settles:", append(finds, results...)))
	e.fact("Answers", ids("sign", c.Answers))
	e.facts("Basis", c.Basis)
}

func (e *entry) opening(o *rules.Opening) {
	e.tell("opening", o.Title)
	e.facts("Of", fmt.Sprintf("the %s; %s, closing %s", o.Level, words.Minutes(o.Minutes), words.Minutes(o.Close.Minutes)))
	e.fact("Needs", naming(list(append([]string{"the isolation"}, o.Needs...)), "opening", o.Needs...))
	e.fact("Where", ids("sign", o.Where))
	e.fact("In place of", ids("opening", o.StandsFor))
	e.facts("Turning", doc.If(o.BeforeTurning, "nothing turns the pump before it is open"))
	e.fact("Safety", ids("safety", o.Safety))
	e.condition("On", o.When)
	e.facts("Do", o.Do, "Close", o.Close.Title+". "+o.Close.Do, "Basis", o.Basis)
}

func (e *entry) safety(s *rules.Safety) {
	e.tell("safety step", s.Title)
	isolated := doc.If(s.InFull, "done again when the pump is isolated already")
	if s.TakenOver != nil {
		isolated = "when the pump is isolated already: " + s.TakenOver.Title + ". " + s.TakenOver.Do
	}
	e.facts("Signal", strings.ToUpper(string(s.Signal)), "For", string(s.For), "Turning", doc.If(s.Turns, "it turns the pump"))
	e.fact("After", ids("safety", s.After))
	e.condition("On", s.When)
	e.facts("Do", s.Do, "Isolated", isolated)
	e.fact("Reports", ids("sign", s.Reports))
	e.facts("Basis", s.Basis)
}

func (e *entry) stop(stop *rules.Stop) {
	e.tell("stop", stop.Title)
	e.facts("Signal", strings.ToUpper(string(stop.Signal)), "Stop", stop.By.Words())
	e.condition("When", stop.When)
	e.add(doc.Part{Items: doc.Each(stop.Do, prose)})
	e.facts("Where it stands, first", stop.Standing, "Holds", doc.If(stop.OpenNothing, "every opening, every check with hands in, and the closing up"),
		"Keeps", doc.If(stop.OutOfService, "the pump from running again; the locks stay on"),
		"Once it is over", doc.If(stop.IsolateAnew, "the isolation is made from its first step"), "Basis", stop.Basis)
}

// leads says which way a return step leads.
var leads = map[rules.ReturnFor]string{rules.ForService: "to a pump that runs again", rules.ForOutOfService: "to a pump that a stop keeps out of service"}

func (e *entry) back(r *rules.Return) {
	e.tell("return step", r.Title)
	e.fact("Where", naming(cmp.Or(list(r.Opened), "each time the pump was isolated"), "opening", r.Opened...))
	e.fact("Before", ids("opening", r.Before))
	e.fact("Repeats", ids("check", r.Repeats))
	e.facts("Leads", leads[r.For])
	e.condition("On", r.When)
	e.facts("Do", r.Do, "Basis", r.Basis)
}

func (e *entry) rating(r *rules.Rating) {
	e.tell("rating", r.Title)
	e.fact(cmp.Or(doc.If(r.Least, "Least"), "Most"), naming(r.Limit+": "+e.book.Limits.Get(r.Limit).Title, "limit", r.Limit))
	e.facts("Doubt", doc.If(r.Doubt > 0, share(r.Doubt)+" of it either way"))
	e.condition("On", r.When)
	for _, stop := range e.book.Stops.List {
		if stop.When.AsksRating(r.ID) {
			e.fact("Past it", naming("stop "+stop.ID+": "+stop.Title, "stop", stop.ID))
		}
	}
	e.fact("Shows", naming(r.Sign, "sign", r.Sign))
	e.facts("Basis", r.Basis)
}

func (e *entry) limit(limit *rules.Limit) {
	e.tell("limit", limit.Title)
	value := "blank: from this pump's manual"
	if limit.Value != nil {
		value = limit.Value.String() + "; this pump's manual governs"
		if limit.AsLowAs != nil {
			value += "; its own figure may be as low as " + limit.AsLowAs.String()
		}
	}
	e.facts("Value", value, "Basis", limit.Basis)
}

// work tells what a work puts right, and which causes the book holds to be likelier
// or less likely after it.
func (e *entry) work(w *rules.Work) {
	e.tell("work", w.Title)
	e.add(listed("It puts right, how surely:", doc.Each(w.PutsRight, func(f rules.Find) doc.Item {
		return rated(e.book.Scale.Finds, f.Sure, naming(f.Cause+": "+e.book.Causes.Get(f.Cause).Title, "cause", f.Cause))
	})))
	if len(w.PutsRight) > 0 {
		e.facts("By chance", share(w.Background)+": the trouble goes away with it although it put nothing right")
	}
	var odds []doc.Item
	for _, c := range e.book.Causes.List {
		for _, o := range c.Odds {
			if o.When != nil && slices.Contains(o.When.Names, rules.Name{Of: "works", ID: w.ID}) {
				odds = append(odds, oneLine(", when ", naming(fmt.Sprintf("times %g: %s: %s", o.Times, c.ID, c.Title), "cause", c.ID), source(o.When)))
			}
		}
	}
	e.add(listed("After it the odds are:", odds))
	e.facts("Basis", w.Basis)
}

func (e *entry) mud(m *rules.Mud) {
	e.tell("mud", m.Title)
	e.facts("Pressure", fmt.Sprintf("goes as the strokes to a power from %g to %g", m.Least, m.Most), "Basis", m.Basis)
}
