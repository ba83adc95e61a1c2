package page

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"telltale/evidence"
	"telltale/rules"
)

// BookFilter picks entries: a group of causes, a kind of pump; empty picks
// all.
type BookFilter struct {
	Group  string
	Action string
}

// BookList writes what a rulebook holds: the causes by group, the signs,
// and how many entries of each kind there are.
func BookList(w io.Writer, b *rules.Book, f BookFilter, width int) error {
	s := &sheet{width: width}
	s.para("", "  ", fmt.Sprintf("%s, version %s, digest %s: %d causes, %d signs, %d checks", b.Name, b.Version, b.Digest, len(b.Causes.List), len(b.Signs.List), len(b.Checks.List)))
	if b.Local != nil {
		s.para("  ", "  ", "changed by the "+b.Local.String())
	}
	for _, g := range b.Groups.List {
		if f.Group != "" && f.Group != g.ID {
			continue
		}
		s.heading(strings.ToUpper(g.Title) + " (" + g.ID + ")")
		for _, c := range b.Causes.List {
			if c.Group == g.ID && onPump(b, c.When, f.Action) {
				s.para("  ", "      ", fmt.Sprintf("%s: %s (%s)", c.ID, c.Title, howCommon(b, c)))
			}
		}
	}
	if f.Group == "" {
		s.signList(b, f)
	}
	s.WriteByte('\n')
	s.para("", "", "rulebook show ID tells more: of a cause, a sign, a check, an opening, a safety step, a stop, a limit.")
	s.para("", "", judged)
	return s.flush(w)
}

// signList names what a case file can report, with the kinds of each.
func (s *sheet) signList(b *rules.Book, f BookFilter) {
	s.heading("SIGNS (for the case file)")
	for _, sign := range b.Signs.List {
		if !onPump(b, sign.When, f.Action) {
			continue
		}
		line := fmt.Sprintf("%s: %s (of the %s)", sign.ID, sign.Title, sign.Level)
		if kinds := sign.KindIDs(); len(kinds) > 0 {
			line += "; kinds: " + strings.Join(kinds, ", ")
		}
		s.para("  ", "      ", line)
	}
}

// judged is printed with every figure of a book.
const judged = "How common, how often and how surely are judgement, not counted failures."

func (s *sheet) flush(w io.Writer) error {
	_, err := w.Write(s.Bytes())
	return err
}

// onPump says whether a condition can hold on a kind of pump; any when it is
// empty.
func onPump(b *rules.Book, when *rules.Condition, action string) bool {
	return action == "" || when.Holds(rules.BareCase(evidence.Action(action)), b)
}

func howCommon(b *rules.Book, c *rules.Cause) string {
	return fmt.Sprintf("%s: in %s of troubled pumps; looked for in each %s", word(b.Scale.HowCommon, c.Common), share(c.Common), c.Level)
}

// word gives the scale's word for a chance, or "by number".
func word(scale rules.Words, p float64) string {
	if w := scale.Word(p); w != "" {
		return strings.ReplaceAll(w, "-", " ")
	}
	return "by number"
}

func share(p float64) string { return fmt.Sprintf("%.3g %%", 100*p) }

// BookEntry writes one entry of a rulebook, whatever it is; false if the book
// has no such id.
func BookEntry(w io.Writer, b *rules.Book, id string, f BookFilter, width int) (bool, error) {
	s := &sheet{width: width}
	found := false
	for _, show := range []func(*rules.Book, string, BookFilter) bool{s.cause, s.sign, s.check, s.openingEntry, s.safetyEntry, s.stopEntry, s.ratingEntry, s.limitEntry} {
		found = show(b, id, f) || found
	}
	if found {
		s.para("  ", "  ", judged)
	}
	return found, s.flush(w)
}

func (s *sheet) entry(kind, id, title string) {
	if s.Len() > 0 {
		s.WriteByte('\n')
	}
	s.para("", "  ", fmt.Sprintf("%s %s: %s", strings.ToUpper(kind), id, title))
}

// waitText says how long a cause can wait, and why.
func waitText(h rules.Haste) string {
	return strings.ReplaceAll(string(h.Wait), "-", " ") + ": " + h.Because
}

func safetyTitles(b *rules.Book, ids []string) []string {
	var out []string
	for _, id := range ids {
		out = append(out, b.Safety.Get(id).Title)
	}
	return out
}

func (s *sheet) cause(b *rules.Book, id string, f BookFilter) bool {
	c := b.Causes.Get(id)
	if c == nil {
		return false
	}
	s.entry("cause", c.ID, c.Title)
	s.labelled("Area", c.Group+", of the "+string(c.Level))
	s.labelled("Common", howCommon(b, c))
	s.condition("On", c.When)
	for _, o := range c.Odds {
		s.labelled("Odds", fmt.Sprintf("times %g when %s", o.Times, o.When.Source))
	}
	s.labelled("Why", c.Why)
	for _, action := range evidence.Actions() {
		if (f.Action == "" || f.Action == action) && onPump(b, c.When, action) {
			s.links(b, c, action)
		}
	}
	s.WriteString("  Checks that expose it:\n")
	for _, check := range b.ChecksFor(c.ID) {
		for _, find := range check.Finds {
			if find.Cause == c.ID {
				s.para("    ", "      ", fmt.Sprintf("%s (%s): %s", word(b.Scale.Finds, find.Sure), share(find.Sure), check.ID))
			}
		}
	}
	s.labelled("Repair", c.Behind.Words(safetyTitles(b, c.Safety))+" "+c.Repair)
	s.labelled("Then", c.LookAgain)
	s.labelled("Parts", strings.Join(partNames(b, c), ", "))
	s.labelled("If left", c.Ruins)
	s.labelled("Wait", waitText(c.Haste))
	for _, rule := range c.HasteWhen {
		s.labelled("Wait", waitText(rule.Haste)+" When "+rule.When.Source)
	}
	s.labelled("Basis", c.Basis)
	return true
}

// partNames names the parts that a cause takes, with how often.
func partNames(b *rules.Book, c *rules.Cause) []string {
	var out []string
	for _, p := range c.Parts {
		out = append(out, fmt.Sprintf("%s (%s)", b.Parts.Get(p.Part).Title, share(p.Chance)))
	}
	return out
}

func (s *sheet) condition(label string, when *rules.Condition) {
	for ; when != nil; when = when.Or {
		s.labelled(label, when.Source)
		label = "Or " + strings.ToLower(label)
	}
}

func (s *sheet) links(b *rules.Book, c *rules.Cause, action string) {
	s.WriteString("  Shows, on a " + action + " pump:\n")
	for _, link := range c.LinksFor(rules.BareCase(evidence.Action(action)), b) {
		for _, line := range linkLines(b, link) {
			s.para("    ", "      ", line)
		}
	}
}

func linkLines(b *rules.Book, link rules.Link) []string {
	if len(link.Kinds) == 0 {
		return []string{fmt.Sprintf("%s (%s): %s", word(b.Scale.Shows, link.Total), share(link.Total), link.Sign)}
	}
	var out []string
	for i, k := range b.Signs.Get(link.Sign).Kinds {
		if p := link.Kinds[i]; p > 0 {
			out = append(out, fmt.Sprintf("%s (%s): %s: %s", word(b.Scale.Shows, p), share(p), link.Sign, k.ID))
		}
	}
	return out
}

func (s *sheet) sign(b *rules.Book, id string, f BookFilter) bool {
	sign := b.Signs.Get(id)
	if sign == nil {
		return false
	}
	s.entry("sign", sign.ID, sign.Title)
	s.labelled("Ask", sign.Ask)
	s.labelled("Look", sign.Tell)
	s.labelled("Of", fmt.Sprintf("the %s; pump: %s", sign.Level, sign.Pump))
	s.labelled("Open", strings.Join(sign.Openings, ", "))
	s.condition("On", sign.When)
	s.labelled("Without", fmt.Sprintf("a cause of this book in %s of cases", share(sign.Background)))
	for _, k := range sign.Kinds {
		s.labelled("Kind", k.ID+": "+k.Title)
	}
	for _, action := range evidence.Actions() {
		if f.Action != "" && f.Action != action || !onPump(b, sign.When, action) {
			continue
		}
		s.WriteString("  Causes that give it, on a " + action + " pump:\n")
		k := rules.BareCase(evidence.Action(action))
		for _, c := range b.Causes.List {
			if f.Group != "" && f.Group != c.Group || !c.When.Holds(k, b) {
				continue
			}
			for _, link := range c.LinksFor(k, b) {
				if link.Sign == sign.ID {
					for _, line := range linkLines(b, link) {
						s.para("    ", "      ", strings.Replace(line, sign.ID, c.ID, 1))
					}
				}
			}
		}
	}
	s.labelled("Basis", sign.Basis)
	return true
}

func (s *sheet) check(b *rules.Book, id string, _ BookFilter) bool {
	c := b.Checks.Get(id)
	if c == nil {
		return false
	}
	s.entry("check", c.ID, c.Title)
	s.labelled("Of", fmt.Sprintf("the %s; pump: %s; %s", c.Level, c.Pump, Minutes(c.Minutes)))
	s.labelled("Open", strings.Join(c.Openings, ", "))
	s.labelled("Closed", strings.Join(c.Closed, ", "))
	s.labelled("Not where", strings.Join(c.NotWhere, ", "))
	s.labelled("Safety", strings.Join(c.Safety, ", "))
	s.labelled("After", strings.Join(c.After, ", "))
	for _, rule := range c.AfterWhen {
		s.labelled("After", strings.Join(rule.After, ", ")+" when "+rule.When.Source)
	}
	s.condition("First", c.FirstWhen)
	s.condition("On", c.When)
	s.labelled("Tools", strings.Join(c.Tools, ", "))
	s.labelled("Do", c.Do)
	s.WriteString("  What it settles:\n")
	for _, find := range c.Finds {
		s.para("    ", "      ", fmt.Sprintf("%s (%s): %s", word(b.Scale.Finds, find.Sure), share(find.Sure), find.Cause))
	}
	for _, r := range c.Results {
		s.para("      - ", "        ", r.If+": "+r.Then)
	}
	s.labelled("Answers", strings.Join(c.Answers, ", "))
	s.labelled("Basis", c.Basis)
	return true
}

func (s *sheet) openingEntry(b *rules.Book, id string, _ BookFilter) bool {
	a := b.Openings.Get(id)
	if a == nil {
		return false
	}
	s.entry("openings", a.ID, a.Title)
	s.labelled("Of", fmt.Sprintf("the %s; %s, closing %s", a.Level, Minutes(a.Minutes), Minutes(a.Close.Minutes)))
	s.labelled("Needs", strings.Join(append([]string{"the isolation"}, a.Needs...), ", "))
	s.labelled("Where", strings.Join(a.Where, ", "))
	s.labelled("In place of", strings.Join(a.StandsFor, ", "))
	if a.BeforeTurning {
		s.labelled("Turning", "nothing turns the pump before it is open")
	}
	s.labelled("Safety", strings.Join(a.Safety, ", "))
	s.condition("On", a.When)
	s.labelled("Do", a.Do)
	s.labelled("Close", a.Close.Title+". "+a.Close.Do)
	s.labelled("Basis", a.Basis)
	return true
}

func (s *sheet) safetyEntry(b *rules.Book, id string, _ BookFilter) bool {
	step := b.Safety.Get(id)
	if step == nil {
		return false
	}
	s.entry("safety step", step.ID, step.Title)
	s.labelled("Signal", strings.ToUpper(string(step.Signal)))
	s.labelled("For", string(step.For))
	if step.Turns {
		s.labelled("Turning", "it turns the pump")
	}
	s.labelled("After", strings.Join(step.After, ", "))
	s.condition("On", step.When)
	s.labelled("Do", step.Do)
	switch t := step.TakenOver; {
	case t != nil:
		s.labelled("Isolated", "when the pump is isolated already: "+t.Title+". "+t.Do)
	case step.InFull:
		s.labelled("Isolated", "done again when the pump is isolated already")
	}
	s.labelled("Reports", strings.Join(step.Reports, ", "))
	s.labelled("Basis", step.Basis)
	return true
}

func (s *sheet) stopEntry(b *rules.Book, id string, _ BookFilter) bool {
	stop := b.Stops.Get(id)
	if stop == nil {
		return false
	}
	s.entry("stop", stop.ID, stop.Title)
	s.labelled("Signal", strings.ToUpper(string(stop.Signal)))
	s.labelled("Stop", stop.By.Words())
	s.condition("When", stop.When)
	for _, do := range stop.Do {
		s.para("      - ", "        ", do)
	}
	if stop.OpenNothing {
		s.labelled("Holds", "every opening, every check with hands in, and the closing up")
	}
	s.labelled("Basis", stop.Basis)
	return true
}

func (s *sheet) ratingEntry(b *rules.Book, id string, _ BookFilter) bool {
	r := b.Ratings.Get(id)
	if r == nil {
		return false
	}
	s.entry("rating", r.ID, r.Title)
	side := "Most"
	if r.Least {
		side = "Least"
	}
	s.labelled(side, r.Limit+": "+b.Limits.Get(r.Limit).Title)
	if r.Doubt > 0 {
		s.labelled("Doubt", share(r.Doubt)+" of it either way")
	}
	s.condition("On", r.When)
	for _, stop := range b.Stops.List {
		if stop.When != nil && slices.Contains(stop.When.Ratings, r.ID) {
			s.labelled("Past it", "stop "+stop.ID+": "+stop.Title)
		}
	}
	s.labelled("Shows", r.Sign)
	s.labelled("Basis", r.Basis)
	return true
}

func (s *sheet) limitEntry(b *rules.Book, id string, _ BookFilter) bool {
	limit := b.Limits.Get(id)
	if limit == nil {
		return false
	}
	s.entry("limit", limit.ID, limit.Title)
	value := "blank: from this pump's manual"
	if limit.Value != nil {
		value = limit.Value.String() + "; this pump's manual governs"
		if limit.AsLowAs != nil {
			value += "; its own figure may be as low as " + limit.AsLowAs.String()
		}
	}
	s.labelled("Value", value)
	s.labelled("Basis", limit.Basis)
	return true
}
