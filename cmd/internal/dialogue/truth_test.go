package dialogue

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/doc"
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
