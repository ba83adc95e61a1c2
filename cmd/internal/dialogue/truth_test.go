package dialogue

import (
	"cmp"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/cmd/internal/words"
	"telltale/engine/hear"
	"telltale/engine/prove"
	"telltale/evidence"
	"telltale/evidence/record"
	"telltale/rules"
)

// Every told story of the book's proofs is told in the real talk by a crew that knows
// what it meant: it picks what is right of what is offered, and puts right or strikes
// out what is wrong in the list that it agrees to. Then the file is held against what
// was meant. The floors are some points from what was reached; they are no claim of
// how well a real crew is understood, which picks with less care.
//
//	TELLTALE_TRUTH=1 go test -v -run TestACrewThatKnowsTheTruth ./cmd/internal/dialogue
//
// plays all of them, not a dozen of each set, and tells what was missed and what is wrong in
// the tuned ones.
func TestACrewThatKnowsTheTruth(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	suite, err := prove.Load(book, prove.Dir{Files: rules.BuiltInFiles(), Name: "rules/book"})
	require.NoError(t, err)
	talk := &Talk{Book: book.WithoutFirmness(), File: "case.yaml", Now: noon}
	lines := linesOf(book)
	for _, set := range []struct {
		name           string
		missing, wrong float64 // at most, as a share of what was meant
	}{
		{prove.Tuned, 0.20, 0.01},
		{prove.HeldBack, 0.25, 0.02},
		{prove.Apart, 0.30, 0.02},
	} {
		var sum tally
		of := doc.Only(suite.Stories, func(s *prove.Story) bool { return s.Set == set.name })
		every := max(1, len(of)/12)
		if os.Getenv("TELLTALE_TRUTH") != "" {
			every = 1
		}
		for i := 0; i < len(of); i += every {
			s := of[i]
			one := tellTruly(t, talk, &knowing{book: book, story: s, lines: lines, tried: map[string]bool{}})
			sum.add(one)
			if set.name == prove.Tuned && os.Getenv("TELLTALE_TRUTH") != "" {
				t.Logf("%s", strings.Join(append([]string{s.ID}, one.lines...), "\n\t"))
			}
		}
		t.Logf("%s", sum.String(set.name))
		assert.Zero(t, sum.dropped, "%s: in no finding and in no words", set.name)
		assert.LessOrEqual(t, float64(sum.missing), set.missing*float64(sum.meant), "%s: missing", set.name)
		assert.LessOrEqual(t, float64(sum.wrong), set.wrong*float64(sum.meant), "%s: wrong", set.name)
	}
}

// tally counts over stories.
type tally struct {
	stories, meant, keys, prompts int
	missing                       int // said, and in the file only as words
	less                          int // in the file without the place or the kind that was said
	wrong                         int // in the file and not said so
	dropped                       int // neither in the file nor in its words
	missed                        map[hear.Is]int
	lines                         []string
}

func (s *tally) add(o tally) {
	s.stories, s.meant, s.keys, s.prompts = s.stories+1, s.meant+o.meant, s.keys+o.keys, s.prompts+o.prompts
	s.missing, s.less, s.wrong, s.dropped = s.missing+o.missing, s.less+o.less, s.wrong+o.wrong, s.dropped+o.dropped
	if s.missed == nil {
		s.missed = map[hear.Is]int{}
	}
	for is, n := range o.missed {
		s.missed[is] += n
	}
}

func (s *tally) String(set string) string {
	share := func(n int) string { return fmt.Sprintf("%d (%.1f %%)", n, 100*float64(n)/float64(s.meant)) }
	return fmt.Sprintf("%s: %d stories, meant %d, missing %s %v, less %s, wrong %s, dropped %d, keys a story %.1f, prompts a story %.1f", set, s.stories, s.meant,
		share(s.missing), s.missed, share(s.less), share(s.wrong), s.dropped, float64(s.keys)/float64(s.stories), float64(s.prompts)/float64(s.stories))
}

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

// tellTruly holds one talk and counts what came of it.
func tellTruly(t *testing.T, talk *Talk, c *knowing) tally {
	s := c.story
	text, state := []byte("pump: {action: "+string(s.Layout.Action)+", state: running}\n"), NewState()
	sum := tally{missed: map[hear.Is]int{}}
	for range 200 {
		p, err := talk.Next(text, state)
		require.NoError(t, err, s.ID)
		a, ok := c.answer(&p)
		if !ok {
			k, err := record.Read("case.yaml", text, c.book.Vocabulary())
			require.NoError(t, err, s.ID)
			c.judge(k, &sum)
			return sum
		}
		a.Prompt, a.Rests = p.ID, p.Rests
		sum.keys += keysOf(&p, a)
		sum.prompts++
		text, state, err = talk.Answer(text, state, a)
		require.NoError(t, err, "%s: %s: %v", s.ID, p.Ask, a)
	}
	require.Fail(t, "the talk does not end", s.ID)
	return sum
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

// judge holds the file against what was meant.
func (c *knowing) judge(k *evidence.Case, sum *tally) {
	kept := "" // the crew's own words
	for _, e := range k.Log {
		kept += e.Did + "\n"
	}
	for i := range c.story.Meaning {
		m := &c.story.Meaning[i]
		sum.meant++
		if !strings.Contains(kept, m.Words) {
			sum.dropped++
		}
		switch has, whole := c.has(k, m, kept); {
		case !has:
			sum.missing++
			sum.missed[m.Is]++
			sum.lines = append(sum.lines, fmt.Sprintf("missing %s %v %s %s %v: %q", m.Is, m.IDs, m.Kind, m.Answer, m.Places, m.Words))
		case !whole:
			sum.less++
			sum.lines = append(sum.lines, fmt.Sprintf("less %s %v %s %s %v: %q", m.Is, m.IDs, m.Kind, m.Answer, m.Places, m.Words))
		}
	}
	for _, f := range k.Findings {
		h := hear.Heard{Is: hear.IsSign, ID: f.Sign, Kind: f.Kind, Answer: string(f.Answer)}
		if f.At != (evidence.Place{}) {
			h.Places = []evidence.Place{f.At}
		}
		if !f.Measured && !slices.ContainsFunc(c.all(), func(m *prove.Meaning) bool { return c.is(&h, m) }) {
			sum.wrong++
			sum.lines = append(sum.lines, fmt.Sprintf("wrong %s %s %s %s", f.Sign, f.Kind, f.Answer, f.At))
		}
	}
	for _, w := range k.Recent {
		if !slices.ContainsFunc(c.all(), func(m *prove.Meaning) bool { return slices.Contains(m.IDs, w.ID) }) {
			sum.wrong++
			sum.lines = append(sum.lines, "wrong work "+w.ID)
		}
	}
}

// has says whether the file has what was meant, and whether with all that was said
// of it.
func (c *knowing) has(k *evidence.Case, m *prove.Meaning, kept string) (has, whole bool) {
	switch m.Is {
	case "", hear.IsGuess:
		return true, true // nothing of the file but its words takes it
	case hear.IsReading:
		_, there := k.Measured, k.Pump.Discharge != nil || k.Pump.Speed != nil || k.Measured.Any()
		return there, there
	case hear.IsWork, hear.IsCheck:
		done := slices.ContainsFunc(k.Recent, func(w evidence.Work) bool { return slices.Contains(m.IDs, w.ID) })
		looked := slices.ContainsFunc(m.IDs, func(id string) bool { return strings.Contains(kept, "told as looked at: "+id+":") })
		if done || looked {
			return true, true
		}
	}
	var of []evidence.Finding // what the file has of it
	for _, f := range k.Findings {
		h := hear.Heard{Is: hear.IsSign, ID: f.Sign, Kind: f.Kind, Answer: string(f.Answer)}
		if f.At != (evidence.Place{}) {
			h.Places = []evidence.Place{f.At}
		}
		if c.about(&h, m) && h.Answer == c.meantAnswer(m) && (c.is(&h, m) || len(h.Places) == 0 || len(m.Places) == 0 && c.kindIs(h.ID, h.Kind, m)) {
			of = append(of, f)
		}
	}
	if len(of) == 0 {
		return false, false
	}
	whole = m.Kind == "" || slices.ContainsFunc(of, func(f evidence.Finding) bool { return f.Kind == m.Kind || f.Sign != m.IDs[0] })
	for _, p := range m.Places {
		there := slices.ContainsFunc(of, func(f evidence.Finding) bool {
			return c.book.Signs.Get(f.Sign).Level == evidence.OfPump || f.At.Touches(p) && (f.At != (evidence.Place{}) || f.Answer == evidence.Absent)
		})
		whole = whole && there
	}
	return true, whole
}
