package record

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"telltale/evidence"
)

func TestAnswersAreMergedIntoAFinding(t *testing.T) {
	wiper := func(answer string, places ...string) []Edit {
		var ps []evidence.Place
		for _, p := range places {
			ps = append(ps, at(p))
		}
		return []Edit{SetFinding("wiper-leaks", answer, ps...)}
	}
	hiss := func(answer, place string) []Edit { return []Edit{SetFinding("hiss", answer, at(place))} }
	for name, c := range map[string]change{
		"first answer":         {triplex, "", wiper("again", "2"), "findings:\n  wiper-leaks: {again: [2]}\n"},
		"of the pump":          {triplex, "", []Edit{SetFinding("knock", "once")}, "findings:\n  knock: once\n"},
		"pump, again":          {triplex, "findings:\n  knock: once # Joe\n", []Edit{SetFinding("knock", "twice")}, "findings:\n  knock: twice # Joe\n"},
		"nowhere":              {triplex, "", wiper("absent"), "findings:\n  wiper-leaks: absent\n"},
		"another place":        {triplex, "findings: {wiper-leaks: {again: [2]}}\n", wiper("absent", "1", "3"), "findings: {wiper-leaks: {again: [2], absent: [1, 3]}}\n"},
		"others hold it":       {triplex, "findings: {wiper-leaks: {again: [2], absent: others}}\n", wiper("absent", "3"), "findings: {wiper-leaks: {again: [2], absent: others}}\n"},
		"others give way":      {triplex, "findings: {wiper-leaks: {again: [2], absent: others}}\n", wiper("again", "3"), "findings: {wiper-leaks: {again: [2, 3], absent: others}}\n"},
		"by place":             {triplex, "findings:\n  wiper-leaks:\n    2: again # seen\n", wiper("absent", "1"), "findings:\n  wiper-leaks:\n    2: again # seen\n    1: absent\n"},
		"the kind":             {triplex, "findings:\n  wiper-leaks:\n    2: present # seen\n", wiper("again", "2"), "findings:\n  wiper-leaks:\n    2: again   # seen\n"},
		"kind is known better": {triplex, "findings: {wiper-leaks: {again: [2]}}\n", wiper("present", "2"), "findings: {wiper-leaks: {again: [2]}}\n"},
		"another kind":         {triplex, "findings: {wiper-leaks: {again: [2, 3]}}\n", wiper("first", "2"), "findings: {wiper-leaks: {again: [3], first: [2]}}\n"},
		"all but one":          {triplex, "findings: {wiper-leaks: {again: all}}\n", wiper("absent", "2"), "findings: {wiper-leaks: {again: [1, 3], absent: [2]}}\n"},
		"nowhere but one":      {triplex, "findings:\n  wiper-leaks: absent # Joe\n", wiper("present", "2"), "findings:\n  wiper-leaks: {present: [2], absent: [1, 3]} # Joe\n"},
		"somewhere":            {triplex, "findings: {wiper-leaks: again}\n", wiper("absent", "2"), "findings: {wiper-leaks: {again: [somewhere], absent: [2]}}\n"},
		"somewhere, its kind":  {triplex, "findings: {wiper-leaks: present}\n", wiper("again"), "findings: {wiper-leaks: again}\n"},
		"somewhere taken back": {triplex, "findings: {wiper-leaks: {again: [somewhere], absent: [2]}}\n", wiper("absent"), "findings: {wiper-leaks: {absent: [2, 1, 3]}}\n"},
		"nobody knows":         {triplex, "findings: {wiper-leaks: {again: [2], absent: [1]}}\n", wiper("unknown", "2"), "findings: {wiper-leaks: {absent: [1], unknown: [2]}}\n"},
		"known after all":      {triplex, "findings: {wiper-leaks: unknown}\n", wiper("again", "2"), "findings: {wiper-leaks: {again: [2], unknown: [1, 3]}}\n"},
		"cleared":              {triplex, "findings: {wiper-leaks: {again: [2], absent: others}}\n", []Edit{ClearFinding("wiper-leaks", at("3"))}, "findings: {wiper-leaks: {again: [2], absent: [1]}}\n"},
		"cleared altogether":   {triplex, "findings: {wiper-leaks: {again: [2], absent: others}}\n", []Edit{ClearFinding("wiper-leaks")}, ""},
		"one end":              {duplex, "", hiss("suction", "left head"), "findings:\n  hiss: {suction: [left head]}\n"},
		"end not known":        {duplex, "", hiss("suction", "left"), "findings:\n  hiss: {suction: [left]}\n"},
		"the other end not":    {duplex, "findings: {hiss: {left: suction}}\n", hiss("absent", "left head"), "findings: {hiss: {left: suction, left head: absent}}\n"},
		"neither end":          {duplex, "findings: {hiss: {left: suction}}\n", hiss("absent", "left"), "findings: {hiss: {left head: absent, left crank: absent}}\n"},
	} {
		t.Run(name, c.check)
	}
}

func TestAnswersThatACaseCannotTake(t *testing.T) {
	for name, c := range map[string]refusal{
		"sign":           {triplex, "", SetFinding("wiper-leak", "again"), `unknown sign "wiper-leak"; expected one of: hiss, knock, rod-marked, wiper-leaks; did you mean wiper-leaks?`},
		"answer":         {triplex, "", SetFinding("wiper-leaks", "agin", at("2")), `unknown answer "agin"; expected one of: absent, again, first, present, unknown; did you mean again?`},
		"place":          {triplex, "", SetFinding("wiper-leaks", "again", at("4")), `"4" is neither a cylinder of this pump nor an answer; expected one of: 1, 2, 3, absent, again, first, present, unknown`},
		"no place":       {triplex, "", SetFinding("knock", "once", at("2")), "knock belongs to the whole pump; write one answer, without cylinders"},
		"piece by piece": {triplex, "findings: {wiper-leaks: {again: somewhere, absent: [1, 2]}}\n", SetFinding("wiper-leaks", "absent", at("3")), "wiper-leaks was said to be present somewhere, and now no place is left where it can be; take that back first"},
	} {
		t.Run(name, c.check)
	}
}

// world is what every place of a sign really shows: "" nothing, a kind, or
// a kind that has no name.
type world map[evidence.Place]string

const nameless = "?"

func worldsOf(t topic) []world {
	out := []world{{}}
	for _, p := range t.places() {
		var more []world
		for _, w := range out {
			for _, v := range append([]string{"", nameless}, t.word.Kinds...) {
				next := world{p: v}
				for q, x := range w {
					next[q] = x
				}
				more = append(more, next)
			}
		}
		out = more
	}
	return out
}

func (w world) fits(f evidence.Finding) bool {
	some := slices.ContainsFunc(f.Over, func(p evidence.Place) bool { return w[p] != "" && (f.Kind == "" || w[p] == f.Kind) })
	return some == (f.Answer == evidence.Present)
}

func possible(worlds []world, findings []evidence.Finding) []world {
	return slices.DeleteFunc(slices.Clone(worlds), func(w world) bool {
		return slices.ContainsFunc(findings, func(f evidence.Finding) bool { return !w.fits(f) })
	})
}

func of(k *evidence.Case, sign string) (findings []evidence.Finding, unknown map[evidence.Place]bool) {
	unknown = map[evidence.Place]bool{}
	for _, f := range k.Findings {
		if f.Sign == sign {
			findings = append(findings, f)
		}
	}
	for _, a := range k.NotKnown {
		if a.ID == sign {
			unknown[a.Place] = true
		}
	}
	return findings, unknown
}

// claims gives what was said as findings, without what was said of places
// inside some.
func (t topic) claims(s said, without []evidence.Place) []evidence.Finding {
	var out []evidence.Finding
	for p, v := range s.exact {
		answer := evidence.Present
		if v.absent {
			answer = evidence.Absent
		}
		out = append(out, evidence.Finding{Answer: answer, Kind: v.kind, Over: []evidence.Place{p}})
	}
	for p, kind := range s.vague {
		out = append(out, evidence.Finding{Answer: evidence.Present, Kind: kind, Over: t.under(p)})
	}
	return slices.DeleteFunc(out, func(f evidence.Finding) bool {
		return !slices.ContainsFunc(f.Over, func(p evidence.Place) bool { return !slices.Contains(without, p) })
	})
}

// drawFinding writes a finding in any form that a file may have.
func drawFinding(t *rapid.T, topic topic) string {
	answers := append([]string{"present", "absent", "unknown"}, topic.word.Kinds...)
	pick := func(from []string, what string) string { return rapid.SampledFrom(from).Draw(t, what) }
	if topic.word.Level == evidence.OfPump || rapid.IntRange(0, 3).Draw(t, "form") == 0 {
		return pick(answers, "answer")
	}
	var places []string
	for _, p := range topic.anywhere()[1:] {
		places = append(places, p.String())
	}
	keys := map[string]string{}
	for range rapid.IntRange(1, 3).Draw(t, "keys") {
		answer := pick(answers, "answer")
		switch rapid.IntRange(0, 5).Draw(t, "key") {
		case 0, 1:
			keys[pick(places, "place")] = answer
		case 2:
			keys[answer] = pick([]string{"all", "others"}, "word")
		case 3:
			keys[answer] = "[somewhere, " + pick(places, "place") + "]"
		default:
			keys[answer] = "[" + pick(places, "place") + ", " + pick(places, "place") + "]"
		}
	}
	var parts []string
	for k, v := range keys {
		parts = append(parts, k+": "+v)
	}
	slices.Sort(parts)
	return "{" + strings.Join(parts, ", ") + "}"
}

// subject is a sign on one pump with everything that it can show.
type subject struct {
	topic  topic
	worlds []world
}

// TestTheCaseMeansWhatItMeantAndTheNewAnswer holds every edit of a finding
// against all worlds that the file allows before and after it.
func TestTheCaseMeansWhatItMeantAndTheNewAnswer(t *testing.T) {
	subjects := map[string]subject{}
	for head, layout := range layouts() {
		for sign, word := range words().Signs {
			s := topic{layout, word}
			subjects[head+"/"+sign] = subject{s, worldsOf(s)}
		}
	}
	counts := map[string]int{}
	for range 10 {
		rapid.Check(t, func(t *rapid.T) { answerOnce(t, subjects, counts) })
	}
	t.Log(counts)
	for _, what := range []string{"unknown", "both", "replaced"} {
		require.NotZero(t, counts[what], what)
	}
}

func answerOnce(t *rapid.T, subjects map[string]subject, counts map[string]int) {
	head := rapid.SampledFrom([]string{triplex, duplex}).Draw(t, "pump")
	sign := rapid.SampledFrom([]string{"wiper-leaks", "hiss", "knock", "rod-marked"}).Draw(t, "sign")
	s := subjects[head+"/"+sign]
	text := head
	if rapid.IntRange(0, 5).Draw(t, "before") > 0 {
		text += "findings:\n  " + sign + ": " + drawFinding(t, s.topic) + "\n"
	}
	before, err := evidence.ParseCase("case.yaml", []byte(text), words())
	if err != nil {
		return // a contradiction
	}
	if old, _ := of(before, sign); len(possible(s.worlds, old)) == 0 {
		return // one that the parser does not see: two that are somewhere, and room for one
	}
	answer := rapid.SampledFrom(append([]string{"present", "absent", "unknown"}, s.topic.word.Kinds...)).Draw(t, "answer")
	place := rapid.SampledFrom(s.topic.anywhere()).Draw(t, "at")
	over := s.topic.under(place)

	old, oldUnknown := of(before, sign)
	allowed := possible(s.worlds, old)
	told := evidence.Finding{Sign: sign, Answer: evidence.Present, Kind: kindOf(answer), Over: over}
	if answer == "absent" {
		told.Answer, told.Kind = evidence.Absent, ""
	}
	both := possible(allowed, []evidence.Finding{told})

	got, after, err := Apply("case.yaml", []byte(text), words(), SetFinding(sign, answer, place))
	if err != nil {
		counts["refused"]++
		var refused *RefusedError
		require.True(t, errors.As(err, &refused))
		require.Empty(t, both, "refused though possible: %s%s at %q: %v", text, answer, place, err)
		return
	}
	now, unknown := of(after, sign)
	meant := possible(s.worlds, now)
	about := fmt.Sprintf("%s+ %s at %q\n%s", text, answer, place, got)
	require.NotEmpty(t, meant, about)

	for _, p := range over {
		oldUnknown[p] = answer == "unknown"
	}
	for p, is := range oldUnknown {
		require.Equal(t, is, unknown[p], about)
	}
	require.LessOrEqual(t, len(unknown), len(oldUnknown), about)

	lines := s.topic.read(editor(text).doc.Get("findings", sign))
	require.Equal(t, allowed, possible(s.worlds, s.topic.claims(lines, nil)), "read differently from the parser: %s", text)
	want := possible(s.worlds, s.topic.claims(lines, over))
	if kind := lines.vague[place]; told.Kind != "" && kind != "" && kind != told.Kind {
		delete(lines.vague, place) // a file holds one kind of "somewhere in here": the newer
		both = possible(s.worlds, append(s.topic.claims(lines, nil), told))
	}
	switch {
	case answer == "unknown":
		counts["unknown"]++
	case len(both) > 0:
		counts["both"]++
		want = both
	default:
		counts["replaced"]++
		want = possible(want, []evidence.Finding{told})
	}
	require.Equal(t, want, meant, about)
	again, _, err := Apply("case.yaml", got, words(), SetFinding(sign, answer, place))
	require.NoError(t, err)
	require.Equal(t, string(got), string(again), "said twice is said once")
}

func layouts() map[string]evidence.Layout {
	return map[string]evidence.Layout{
		triplex: {Action: evidence.Triplex, Cylinders: evidence.DefaultCylinders(evidence.Triplex)},
		duplex:  {Action: evidence.Duplex, Cylinders: evidence.DefaultCylinders(evidence.Duplex)},
	}
}

func editor(text string) *draft {
	doc, _, err := sound("case.yaml", []byte(text), words())
	if err != nil {
		panic(err)
	}
	return &draft{name: "case.yaml", words: words(), doc: doc}
}
