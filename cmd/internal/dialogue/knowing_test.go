package dialogue

import (
	"cmp"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine/hear"
	"telltale/engine/prove"
	"telltale/evidence"
	"telltale/rules"
)

// knowing is a crew that knows what it meant.
type knowing struct {
	book  *rules.Book
	story *prove.Story
	lines map[string][]hear.Heard // what a line of the talk says, by its words without places
	told  bool
	tried map[string]bool  // what was put right once is not put right again
	fix   *hear.Heard      // the line that is put right
	want  *prove.Meaning   // into this
	open  []*prove.Meaning // what was meant and is in no line yet
}

// keysOf are the keys that an answer takes, Enter counted; the story itself is not.
func keysOf(p *prompt.Prompt, a prompt.Answer) int {
	keys, number := max(1, len(a.Chosen)), 0
	for _, o := range p.Options {
		if !o.Aside {
			number++
		}
		switch {
		case slices.Contains(a.Chosen, o.ID) && o.Aside:
			keys++ // one letter
		case slices.Contains(a.Chosen, o.ID):
			keys += len(strconv.Itoa(number))
		}
	}
	return keys
}

// linesOf are all lines that the talk can say of something that was heard, by their
// words.
func linesOf(book *rules.Book) map[string][]hear.Heard {
	out := map[string][]hear.Heard{}
	add := func(h hear.Heard) {
		line := pages.HeardLine(book, &h)
		out[line] = append(out[line], h)
	}
	for _, s := range book.Signs.List {
		for _, answer := range []string{"present", "absent", "unknown"} {
			add(hear.Heard{Is: hear.IsSign, ID: s.ID, Answer: answer})
		}
		for _, kind := range s.KindIDs() {
			add(hear.Heard{Is: hear.IsSign, ID: s.ID, Answer: "present", Kind: kind})
		}
	}
	for _, w := range book.Works.List {
		for _, kind := range []string{"", hear.Cured, hear.NotCured} {
			add(hear.Heard{Is: hear.IsWork, ID: w.ID, Answer: "present", Kind: kind})
		}
		add(hear.Heard{Is: hear.IsWork, ID: w.ID, Answer: "absent"})
	}
	for _, k := range book.Checks.List {
		add(hear.Heard{Is: hear.IsCheck, ID: k.ID, Answer: "present"})
		add(hear.Heard{Is: hear.IsCheck, ID: k.ID, Answer: "absent"})
	}
	return out
}

// weak is what a line says of the words that it rests on.
var weak = regexp.MustCompile(` \(weak[^:"]*: "(.*?)(\.\.\.)?"\)$`)

// bare is a line without what is said of when it was seen and of the words that it
// rests on.
func bare(line string) string {
	return weak.ReplaceAllString(strings.TrimSuffix(line, " (as seen at the last stop; nobody opens a running pump)"), "")
}

// read gives what a line of the talk says; more than one where the book calls two
// things alike.
func (c *knowing) read(line string) []hear.Heard {
	line = bare(line)
	best := ""
	for words := range c.lines {
		if len(words) > len(best) && (line == words || strings.HasPrefix(line, words+": ")) {
			best = words
		}
	}
	if best == "" {
		return nil
	}
	all := slices.Clone(c.lines[best])
	rest := strings.TrimPrefix(strings.TrimPrefix(line, best), ": ")
	rest, _, _ = strings.Cut(rest, ": ")
	for i := range all {
		if rest == "every cylinder" {
			all[i].Places = c.story.Layout.Places(evidence.OfCylinder)
			continue
		}
		all[i].OneOf = strings.Contains(rest, " or ")
		for _, name := range strings.FieldsFunc(strings.NewReplacer(" and ", "|", " or ", "|").Replace(rest), func(r rune) bool { return r == '|' }) {
			for _, level := range evidence.Levels() {
				for _, p := range c.story.Layout.Places(evidence.Level(level)) {
					if words.Place(p) == name && !slices.Contains(all[i].Places, p) {
						all[i].Places = append(all[i].Places, p)
					}
				}
			}
		}
	}
	return all
}

// is says whether a line says what was meant: the thing, its answer, its kind, and
// where.
func (c *knowing) is(h *hear.Heard, m *prove.Meaning) bool {
	return c.about(h, m) && h.Answer == c.meantAnswer(m) && c.kindIs(h.ID, h.Kind, m) && c.placesAre(h, m)
}

func (c *knowing) meantAnswer(m *prove.Meaning) string {
	if m.Is == hear.IsSign {
		return m.Answer
	}
	return "present"
}

func (c *knowing) about(h *hear.Heard, m *prove.Meaning) bool {
	return m.Is != "" && m.Is != hear.IsGuess && slices.Contains(m.IDs, h.ID) && (h.Is != hear.IsSign || m.Answer != "")
}

// kindIs says whether a kind can stand for what was meant: of the sign itself only
// that which was said, of another that says it too any.
func (c *knowing) kindIs(id, kind string, m *prove.Meaning) bool {
	return m.Is != hear.IsSign || kind == "" || id != m.IDs[0] || kind == m.Kind
}

func (c *knowing) placesAre(h *hear.Heard, m *prove.Meaning) bool {
	s := c.book.Signs.Get(h.ID)
	if h.Is != hear.IsSign || s.Level == evidence.OfPump {
		return true
	}
	got := placesTold(s, *h)
	if len(got) == 0 {
		return h.Answer != string(evidence.Absent) || c.everywhere(s, m)
	}
	if h.Answer != string(evidence.Present) { // an end that is not named is one of them
		var all []evidence.Place
		for _, p := range got {
			all = append(all, c.story.Layout.Under(p, s.Level)...)
		}
		got = all
	}
	return !slices.ContainsFunc(got, func(p evidence.Place) bool { return !c.at(s, p, m) })
}

// at says whether it was said of a place.
func (c *knowing) at(s *rules.Sign, p evidence.Place, m *prove.Meaning) bool {
	if len(m.Places) == 0 {
		return m.Answer == string(evidence.Absent)
	}
	return slices.ContainsFunc(m.Places, func(q evidence.Place) bool { return q.Touches(p) })
}

// everywhere says whether it was said of all places of a sign.
func (c *knowing) everywhere(s *rules.Sign, m *prove.Meaning) bool {
	return len(m.Places) == 0 || !slices.ContainsFunc(c.story.Layout.Places(s.Level), func(p evidence.Place) bool { return !c.at(s, p, m) })
}

// meant is what was meant by some words: what they share a letter with.
func (c *knowing) meant(words string) (out []*prove.Meaning) {
	from := strings.Index(c.story.Told, words)
	for i := range c.story.Meaning {
		m := &c.story.Meaning[i]
		start := strings.Index(c.story.Told, m.Words)
		if from < 0 || start < from+len(words) && from < start+len(m.Words) {
			out = append(out, m)
		}
	}
	return out
}

func (c *knowing) all() []*prove.Meaning { return c.meant(c.story.Told) }

// answer is what the crew answers; false where it has told all.
func (c *knowing) answer(p *prompt.Prompt) (prompt.Answer, bool) {
	chosen := func(ids ...string) (prompt.Answer, bool) { return prompt.Answer{Chosen: ids}, true }
	what, _, _ := strings.Cut(p.ID, " ")
	switch what {
	case "still":
		return chosen("yes")
	case "stop":
		return chosen("read")
	case "tell":
		switch {
		case !c.told:
			c.told = true
			return prompt.Answer{Text: c.story.Told}, true
		case offers(p, "nothing"):
			return chosen("nothing")
		}
		return prompt.Answer{}, true
	case "urgent":
		if ids := c.urgent(p); len(ids) > 0 {
			return chosen(ids...)
		}
		return chosen("none")
	case "opposite":
		return chosen(c.which(p))
	case "agree":
		return chosen(c.putsRight(p)...)
	case "put":
		return chosen(c.instead(p)...)
	case "where":
		return chosen(c.where(p)...)
	case "kind":
		return chosen(c.kind(p)...)
	}
	return prompt.Answer{}, false
}

// urgent chooses of what would call for a stop what was meant, and what can be put
// right into it.
func (c *knowing) urgent(p *prompt.Prompt) (ids []string) {
	c.open = c.all()
	for _, o := range p.Options {
		if _, m := c.mendable(o.Title); !o.Aside && (m != nil || c.right(o.Title)) {
			ids = append(ids, o.ID)
		}
	}
	return ids
}

// right says whether a line is what was meant somewhere in the story.
func (c *knowing) right(line string) bool {
	if strings.HasPrefix(line, "A guess: ") || line == "Reading" || strings.HasPrefix(line, "Reading: ") {
		return true // kept in words; figures are those that were told
	}
	return slices.ContainsFunc(c.read(line), func(h hear.Heard) bool {
		return slices.ContainsFunc(c.all(), func(m *prove.Meaning) bool { return c.is(&h, m) })
	})
}

// which says which of two opposites is so, or that both are, with the place of the
// one that is told now.
func (c *knowing) which(p *prompt.Prompt) string {
	so := map[string]bool{}
	now := ""
	c.open = c.all()
	for _, o := range p.Options {
		_, line, _ := strings.Cut(o.Title, ": ")
		so[o.ID] = slices.ContainsFunc(strings.Split(line, "; "), c.right)
		if o.ID == "now" {
			now = line
		}
	}
	switch h, m := c.mendable(now); {
	case so["now"]:
		return "now"
	case so["before"] && m != nil && offers(p, "where") && c.want == nil && m.Answer == h.Answer && len(m.Places) > 0:
		c.fix, c.want = h, m
		return "where"
	case so["before"]:
		return "before"
	}
	return "unknown"
}

// putsRight puts right, one line after the other, what can be, as long as something
// that was meant is in no line; then it strikes out the rest that is wrong, and agrees.
func (c *knowing) putsRight(p *prompt.Prompt) []string {
	c.fix, c.want = nil, nil
	var lines, wrong []prompt.Option
	for _, o := range p.Options {
		if strings.HasPrefix(o.ID, "line ") {
			lines = append(lines, o)
		}
	}
	c.open = doc.Only(c.all(), func(m *prove.Meaning) bool {
		return !slices.ContainsFunc(lines, func(o prompt.Option) bool {
			return slices.ContainsFunc(c.read(o.Title), func(h hear.Heard) bool { return c.is(&h, m) })
		})
	})
	for _, o := range lines {
		if !c.right(o.Title) {
			wrong = append(wrong, o)
		}
	}
	for _, o := range wrong {
		if h, m := c.mendable(o.Title); m != nil {
			c.fix, c.want = h, m
			return []string{o.ID}
		}
	}
	for _, o := range wrong {
		if !c.tried[bare(o.Title)] && slices.ContainsFunc(c.open, func(m *prove.Meaning) bool { return len(m.IDs) > 0 && m.Is != hear.IsReading }) {
			return []string{o.ID} // what it may be instead is seen only then
		}
	}
	if len(wrong) > 0 {
		return doc.Each(wrong, func(o prompt.Option) string { return o.ID })
	}
	return c.besides(p)
}

// besides chooses what is right of what may be meant besides; what is not and stands
// for words that meant something is taken to be put right. Then it agrees.
func (c *knowing) besides(p *prompt.Prompt) (ids []string) {
	todo := false
	for _, o := range p.Options {
		if !strings.HasPrefix(o.ID, "perhaps ") {
			continue
		}
		right, about := false, false
		for _, h := range c.read(o.Title) {
			right = right || slices.ContainsFunc(c.open, func(m *prove.Meaning) bool { return c.is(&h, m) })
			about = about || slices.ContainsFunc(c.open, func(m *prove.Meaning) bool { return c.about(&h, m) })
		}
		if said := weak.FindStringSubmatch(o.Title); said != nil {
			about = about || slices.ContainsFunc(c.meant(said[1]), func(m *prove.Meaning) bool {
				return slices.Contains(c.open, m) && len(m.IDs) > 0 && m.Is != hear.IsReading
			})
		}
		if right || about && !c.tried[bare(o.Title)] {
			ids, todo = append(ids, o.ID), todo || !right
		}
	}
	switch {
	case todo:
		return ids
	case offers(p, "more") && len(ids) > 0:
		return ids // first these, then the next page
	case offers(p, "more") && len(c.open) > 0:
		return []string{"more"}
	}
	return append(ids, "yes")
}

// mendable gives what a wrong line can be put right into, of what is in no line yet;
// each is tried once.
func (c *knowing) mendable(line string) (fix *hear.Heard, want *prove.Meaning) {
	if c.tried[bare(line)] {
		return nil, nil
	}
	for _, h := range c.read(line) {
		for _, m := range c.open {
			if c.about(&h, m) && (want == nil || h.Answer == c.meantAnswer(m) && want.Answer != m.Answer) {
				fix, want = &h, m
			}
		}
	}
	return fix, want
}

// instead says what a line is instead: what is right of what is offered, else it is
// put right step by step.
func (c *knowing) instead(p *prompt.Prompt) []string {
	line := strings.TrimSuffix(strings.TrimPrefix(p.Ask, "What is it instead of: "), "? Or say it in other words.")
	first := !c.tried[line]
	c.tried[line] = true
	right := func(is string) string {
		for _, o := range p.Options {
			if strings.HasPrefix(o.ID, is) && slices.ContainsFunc(c.read(o.Title), func(h hear.Heard) bool {
				return slices.ContainsFunc(c.open, func(m *prove.Meaning) bool { return c.is(&h, m) })
			}) {
				return o.ID
			}
		}
		return ""
	}
	if id := right("answer"); id != "" {
		return []string{id}
	}
	if first && c.want != nil {
		answer := "answer " + c.meantAnswer(c.want)
		if c.meantAnswer(c.want) == evidence.Unknown {
			answer = dontKnow.ID
		}
		switch {
		case c.fix.Answer != c.meantAnswer(c.want) && offers(p, answer):
			return []string{answer}
		case !c.placesAre(c.fix, c.want) && offers(p, "where"):
			return []string{"where"}
		case !c.kindIs(c.fix.ID, c.fix.Kind, c.want) && offers(p, "kind"):
			return []string{"kind"}
		}
	}
	return []string{cmp.Or(right("other"), "strike")}
}

func offers(p *prompt.Prompt, id string) bool {
	return slices.ContainsFunc(p.Options, func(o prompt.Option) bool { return o.ID == id })
}

// where names the places that were meant.
func (c *knowing) where(p *prompt.Prompt) (ids []string) {
	s := c.book.Signs.Get(c.fix.ID)
	if len(c.want.Places) == 0 || c.want.OneOf {
		if offers(p, "unknown") {
			return []string{"unknown"}
		}
		return []string{"all"}
	}
	for _, o := range p.Options {
		for _, place := range c.story.Layout.Places(s.Level) {
			if o.ID == placeID(place) && c.at(s, place, c.want) {
				ids = append(ids, o.ID)
			}
		}
	}
	return ids
}

// kind names the kind that was meant.
func (c *knowing) kind(p *prompt.Prompt) []string {
	if c.want.Kind != "" && offers(p, c.want.Kind) && c.fix.ID == c.want.IDs[0] {
		return []string{c.want.Kind}
	}
	return []string{"unknown"}
}
