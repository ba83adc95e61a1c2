package pages

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/words"
	"telltale/engine"
	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// told tells a cause of a report by its chance.
func told(c chances.Cause, role rules.Role) chances.Told {
	return chances.Told{Cause: c.Cause, Place: c.Place, Title: c.Title, Role: string(role), Probability: c.Probability}
}

func root(c chances.Cause, p float64, through string) chances.Root {
	return chances.Root{Cause: c.Cause, Place: c.Place, Title: c.Title, Probability: p, Through: through}
}

// withTroubles has two troubles of the first causes of a report: a failure with
// its roots, and a cause that nothing brought on.
func withTroubles(r *engine.Report) {
	if r.LeavePump || len(r.Causes) < 9 {
		return
	}
	c := r.Causes
	r.Causes[0].Role, r.Causes[1].Role, r.Causes[2].Role = string(rules.Failure), string(rules.Root), string(rules.Failure)
	r.Causes[0].BroughtOnBy, r.Causes[0].ByItself = []chances.Root{root(c[1], 0.62, ""), root(c[4], 0.21, "")}, 0.2
	r.Causes[1].BroughtOnBy, r.Causes[1].ByItself = nil, 1
	r.Causes[2].BroughtOnBy, r.Causes[2].ByItself = []chances.Root{root(c[1], 0.12, "")}, 0.88
	r.Troubles = []chances.Trouble{
		{
			Failed: []chances.Told{told(c[0], rules.Failure), told(c[2], rules.Failure), told(c[3], rules.Failure)}, ByItself: 0.2,
			BroughtOnBy: []chances.Root{root(c[1], 0.62, ""), root(c[4], 0.21, c[3].Cause), root(c[5], 0.04, "")},
			Or:          []chances.Told{told(c[6], rules.Failure)},
			Wrong:       &chances.Wrong{Check: "face-feeler", Place: c[0].Place, Title: "Feeler gauge at the face", Then: 0.11},
		},
		{Failed: []chances.Told{told(c[7], rules.Root)}, BroughtOnBy: []chances.Root{}, ByItself: 1, Or: []chances.Told{}, Wrong: &chances.Wrong{Sign: "knock", Title: "Knock", Then: 0.02}},
	}
}

// troubleTexts are the lines of a trouble, as every view must have them.
func troubleTexts(r *engine.Report, t *chances.Trouble) []string {
	var out []string
	var each func([]doc.Item)
	each = func(items []doc.Item) {
		for _, i := range items {
			out = append(out, doc.Said(i.Strong, i.Text)...)
			each(i.Below)
		}
	}
	each(troubleLines(r, t))
	return out
}

var demo = "pump: {action: triplex-single-acting, state: stopped}\nfindings: {wiper-leaks: {again: [2]}, pistons-fail-often: {one-sided: [2]}}\n"

func troubled(t *testing.T) Input {
	in := input(t, demo)
	withTroubles(in.Plan.Report)
	require.Len(t, in.Plan.Troubles, 2)
	return in
}

// A block says first what failed, beside it what would prove that wrong, then
// what failed with it, what brought it on with its own chance, and what else.
func TestATroubleIsToldInItsOrder(t *testing.T) {
	r := troubled(t).Plan.Report
	c := r.Causes
	at := func(c chances.Cause) string { return words.Titled(c.Title, c.Place) }
	assert.Equal(t, []string{
		failedLead(r.Troubles[0].Failed[0], false), at(c[0]) + " (" + words.Likely(c[0].Probability) + ").",
		`If "Feeler gauge at the face, cylinder 2" finds nothing, its chance falls to 10 % (very unlikely).`,
		withLead(r.Troubles[0].Failed[1:]), at(c[2]) + " (" + words.Likely(c[2].Probability) + ").", at(c[3]) + " (" + words.Likely(c[3].Probability) + ").",
		"If so, what brought it on:", at(c[1]) + " (likely, 60 %).", at(c[4]) + " (unlikely, 20 %). By way of: " + c[3].Title + ".",
		"1 more root, under 5 %.", "Nothing deeper: wear, age or chance (unlikely, 20 %).",
		"If it is not that:", at(c[6]) + " (" + words.Likely(c[6].Probability) + ").",
	}, troubleTexts(r, &r.Troubles[0]))
	second := troubleTexts(r, &r.Troubles[1])
	assert.Equal(t, []string{"What may be wrong:", at(c[7]) + " (" + words.Likely(c[7].Probability) + ").", `If "Knock" does not show, its chance falls to under 5 % (almost no chance).`, "If it is not that:"}, second[:4])
	assert.NotContains(t, strings.Join(second, " "), "Nothing deeper")
	assert.Equal(t, []string{"2 troubles are told. Each stands by itself, because one does not bring the other on."}, troubles(r, false).Parts[0].Text)
	assert.Equal(t, "Trouble 2, besides", troubles(r, false).Parts[2].Head)
	assert.Equal(t, noneLine(r), troubles(r, false).Parts[3].Text[0], "once, behind the last of them")
}

// A failure that no cause of the book brings on is not put down to wear as if the
// book had looked.
func TestNoRootIsWhatTheRulebookKnows(t *testing.T) {
	r := troubled(t).Plan.Report
	r.Troubles[0].BroughtOnBy, r.Troubles[0].ByItself = nil, 1
	assert.Contains(t, troubleTexts(r, &r.Troubles[0]), "Nothing deeper that the rulebook knows: wear, age or chance (almost certain, over 95 %).")
}

// What is proved has no number and nothing beside it, its root keeps its own.
func TestAProvedFailureHasNoNumber(t *testing.T) {
	r := troubled(t).Plan.Report
	r.Troubles[0].Failed[0].Proved, r.Troubles[0].Failed[0].Probability = true, 1
	r.Confirmed = []chances.Confirmed{{Cause: r.Causes[1].Cause, Place: r.Causes[1].Place}}
	said := troubleTexts(r, &r.Troubles[0])
	assert.Equal(t, words.Titled(r.Causes[0].Title, r.Causes[0].Place)+" (proved).", said[1])
	text := strings.Join(said, " ")
	assert.NotContains(t, text, "If it is not that")
	assert.NotContains(t, text, "Feeler gauge")
	assert.Contains(t, text, "(likely, 60 %). It is proved to be there.")
	assert.Contains(t, noneLine(r), "ruled out, since something is proved")
}

// What is said of a cause is no firmer than the word for its chance.
func TestTheLeadSaysNoMoreThanTheChance(t *testing.T) {
	var said []string
	for _, c := range []chances.Told{{Probability: 0.3}, {Probability: 0.55}, {Probability: 0.6}, {Probability: 1, Proved: true}} {
		said = append(said, failedLead(c, false), failedLead(c, true))
	}
	assert.Equal(t, []string{
		"What may have failed:", "What may be wrong:", "What may have failed:", "What may be wrong:", "What probably failed:", "What is probably wrong:", "What failed:", "What is wrong:",
	}, said)
}

// Roots under 5 % are counted, not told, and never more than four are told.
func TestVeryUnlikelyRootsAreCounted(t *testing.T) {
	shown := func(chance ...float64) string {
		var trouble chances.Trouble
		for i, p := range chance {
			trouble.BroughtOnBy = append(trouble.BroughtOnBy, chances.Root{Cause: string(rune('a' + i)), Probability: p})
		}
		roots := shownRoots(&trouble)
		return fmt.Sprint(len(roots), " ", moreRoots(&trouble, roots))
	}
	assert.Equal(t, "0 ", shown())
	assert.Equal(t, "0 2 roots, each under 5 %.", shown(0.02, 0.01))
	assert.Equal(t, "2 1 more root, under 5 %.", shown(0.5, 0.05, 0.02))
	assert.Equal(t, "4 2 more roots, each 50 % or less.", shown(0.5, 0.5, 0.5, 0.5, 0.5, 0.1))
	assert.Equal(t, "1 ", shown(0.3))
}

// One root at several cylinders takes one line, as long as its chance is the same;
// where it is proved is said of each.
func TestOneRootAtSeveralCylindersTakesOneLine(t *testing.T) {
	at := func(cylinder string, p float64) chances.Root {
		return chances.Root{Cause: "guide-low", Title: "Guide low", Place: evidence.Place{Cylinder: cylinder}, Probability: p}
	}
	r := &engine.Report{}
	r.Confirmed = []chances.Confirmed{{Cause: "guide-low", Place: evidence.Place{Cylinder: "3"}}}
	trouble := chances.Trouble{Failed: []chances.Told{{Title: "Wiper worn", Probability: 0.9}}, BroughtOnBy: []chances.Root{at("1", 0.31), at("2", 0.3), at("3", 0.29), at("4", 0.1)}}
	text := strings.Join(troubleTexts(r, &trouble), "\n")
	assert.Contains(t, text, "\nGuide low, cylinders 1, 2 and 3 (each unlikely, 30 %). It is proved to be there: cylinder 3.\nGuide low, cylinder 4 (very unlikely, 10 %).\n")
	assert.Equal(t, []string{"Guide low, left cylinder, head end and right cylinder, head end (each unlikely, 30 %)"}, words.Roots([]chances.Root{
		{Title: "Guide low", Place: evidence.Place{Cylinder: "left", End: "head"}, Probability: 0.3}, {Title: "Guide low", Place: evidence.Place{Cylinder: "right", End: "head"}, Probability: 0.3},
	}))
}

// What takes less than a quarter of a chance away proves nothing wrong.
func TestOnlyAFallIsCalledOne(t *testing.T) {
	said := func(then float64) string {
		return wrongLine(&chances.Trouble{Failed: []chances.Told{{Probability: 0.96}}, Wrong: &chances.Wrong{Check: "look", Title: "Look", Then: then}})
	}
	assert.Equal(t, "No single look or answer would prove it wrong.", said(0.73))
	assert.Equal(t, `If "Look" finds nothing, its chance falls to 70 % (likely).`, said(0.71))
}

// What the crew leaves is not told as if nobody had asked.
func TestARootThatTheCrewLeaves(t *testing.T) {
	c := chances.Confirmed{Corrected: true, LookedAgain: true, RootsLeft: []chances.Root{{Title: "Guide low", Probability: 0.3}}}
	assert.Equal(t, "Root not looked at yet:", provedFacts(c)[1].Strong)
	c.RootLeft = true
	assert.Equal(t, "Root not looked at; the crew said yes to leaving it:", provedFacts(c)[1].Strong)
}

// What it is if it is not that explains a finding that the trouble explains, where
// the list has such a cause: a likelier one that belongs elsewhere is no answer.
func TestWhatElseItIsSharesAFinding(t *testing.T) {
	cause := func(id string, p float64, finding int) chances.Cause {
		return chances.Cause{Cause: id, Title: id, Probability: p, For: []chances.Reason{{Finding: finding, Decibans: 5}}}
	}
	r := &engine.Report{}
	r.Causes = []chances.Cause{cause("valve", 0.9, 1), cause("piston", 0.4, 2), cause("spring", 0.1, 1)}
	r.Troubles = []chances.Trouble{{Failed: []chances.Told{{Cause: "valve"}}}}
	assert.Equal(t, "spring", others(r, &r.Troubles[0])[0].Cause)
	r.Causes = r.Causes[:2]
	assert.Equal(t, "piston", others(r, &r.Troubles[0])[0].Cause)
}

// Never one cause alone, and none of these with its share behind the last block: of
// 26 calls at rigs 11 had two findings. Beside the first cause stands
// what would prove it wrong: what confirms is looked for, what refutes is not
// (Nickerson 1998, confirmation bias; from memory).
func TestNoCauseStandsAlone(t *testing.T) {
	for file, text := range viewCases(t) {
		in := input(t, text)
		r := in.Plan.Report
		if len(r.Troubles) == 0 {
			withTroubles(r)
		}
		for n := range r.Troubles {
			lines := troubleLines(r, &r.Troubles[n])
			assert.Equal(t, noneLine(r), troubles(r, false).Parts[len(r.Troubles)+1].Text[0], file)
			first := r.Troubles[n].Failed[0]
			if first.Proved {
				continue
			}
			require.Len(t, lines[0].Below, 1, file)
			assert.Regexp(t, `^If .+, its chance falls to .+ %|would prove it wrong`, lines[0].Below[0].Text)
			others := 0
			for _, line := range lines[1:] {
				others += len(line.Below) + len(doc.Said(line.Text))
			}
			assert.Positive(t, others, "%s: %s stands alone", file, first.Title)
		}
		for _, d := range []*doc.Document{Triage(r, false), JobSheet(in)} {
			for _, s := range d.Sections {
				if s.Heading == causesHead && len(r.Causes) > 1 {
					var text strings.Builder
					require.NoError(t, (&doc.Document{Sections: []doc.Section{s}}).Text(&text, 160))
					for _, c := range r.Causes[:2] {
						assert.Contains(t, gaps.ReplaceAllString(text.String(), " "), words.Titled(c.Title, c.Place), file)
					}
				}
			}
		}
	}
}

// What the first trouble may be instead is no rival of the second one too.
func TestARivalIsToldOnce(t *testing.T) {
	r := troubled(t).Plan.Report
	got := others(r, &r.Troubles[1])
	require.Len(t, got, 1)
	assert.Equal(t, told(r.Causes[8], rules.Role(r.Causes[8].Role)), got[0])
}

// sentences are what ends with a full stop, a line that has none, or what a
// mark of a list parts.
var sentences = regexp.MustCompile(`[.?!](?:\s+|$)`)

// Descriptions have 25 words at most and the condition comes first (Simplified
// Technical English, ASD-STE100, rules 6.3 and 5.4; from memory): with every title
// of the built-in book.
func TestSentencesOfATroubleAreShort(t *testing.T) {
	r := troubled(t).Plan.Report
	short := func(text string) {
		t.Helper()
		for _, s := range sentences.Split(text, -1) {
			assert.LessOrEqual(t, len(strings.Fields(s)), 25, s)
		}
	}
	longest := func(titles []string) (out string) {
		for _, title := range titles {
			if len(strings.Fields(title)) > len(strings.Fields(out)) {
				out = title
			}
		}
		return out
	}
	book := builtIn(t)
	place := r.Causes[0].Place
	place.Cylinder, place.End = "left", "crank"
	cause := longest(doc.Each(book.Causes.List, func(c *rules.Cause) string { return c.Title })) // at a place, whatever it is of
	var longestID string
	for _, c := range r.Causes {
		if c.Title == cause {
			longestID = c.Cause
		}
	}
	require.NotEmpty(t, longestID)
	for n := range r.Troubles {
		trouble := &r.Troubles[n]
		trouble.Failed[0].Probability = 0.9
		for i := range trouble.Failed {
			trouble.Failed[i].Title, trouble.Failed[i].Place = cause, place
		}
		for i := range trouble.BroughtOnBy {
			trouble.BroughtOnBy[i].Title, trouble.BroughtOnBy[i].Place, trouble.BroughtOnBy[i].Through = cause, place, longestID
		}
		looks := doc.Each(book.Checks.List, func(c *rules.Check) chances.Wrong {
			return chances.Wrong{Check: c.ID, Place: c.Level.Of(place), Title: c.Title, Then: 0.2}
		})
		answers := doc.Each(book.Signs.List, func(s *rules.Sign) chances.Wrong {
			return chances.Wrong{Sign: s.ID, Place: s.Level.Of(place), Title: s.Title, Then: 0.2}
		})
		for _, wrong := range append(looks, answers...) {
			trouble.Wrong = &wrong
			short(wrongLine(trouble))
			assert.Regexp(t, `^If .+, its chance falls to 20 % \(unlikely\)\.$`, wrongLine(trouble))
		}
		for _, text := range troubleTexts(r, trouble) {
			short(text)
		}
	}
	for _, part := range troubles(r, true).Parts {
		for _, text := range part.Text {
			short(text)
		}
	}
	c := r.Causes[0]
	c.BroughtOnBy[0].Title, c.BroughtOnBy[0].Place = cause, place
	short(roleNote(c))
}

// How likely something is and how firm the figures are never stand in one
// sentence (ICD 203, D.6.e(2)(a), from memory).
func TestLikelyAndFirmAreNotToldInOneSentence(t *testing.T) {
	firm := regexp.MustCompile(`(?i)how firm|judged figure moved`)
	chance := regexp.MustCompile(`\d %|almost no chance|likely|roughly even|almost certain`)
	told := 0
	for file, text := range viewCases(t) {
		in := input(t, text)
		withTroubles(in.Plan.Report)
		for name, d := range map[string]*doc.Document{"triage": Triage(in.Plan.Report, false), "sheet": JobSheet(in)} {
			var content strings.Builder
			require.NoError(t, d.Text(&content, 160))
			for _, s := range sentences.Split(gaps.ReplaceAllString(content.String(), " "), -1) {
				if firm.MatchString(s) {
					told++
					assert.NotRegexp(t, chance, s, "%s %s", file, name)
				}
			}
		}
	}
	assert.Positive(t, told)
}

// Where a step of the list looks for a root, whether it was looked at is to be
// ticked, in the plan and in the hand-over.
func TestARootThatAStepLooksForIsToBeTicked(t *testing.T) {
	in := troubled(t)
	var at string
	for _, s := range in.Plan.Steps {
		if len(s.Looks) > 0 && at == "" {
			at = fmt.Sprintf("step %d", s.Number)
			in.Plan.Troubles[0].BroughtOnBy[0] = chances.Root{Cause: "x", Place: s.Place, Title: s.Looks[0], Probability: 0.9}
			in.Plan.Troubles[0].BroughtOnBy = append(in.Plan.Troubles[0].BroughtOnBy[:1], chances.Root{Cause: "y", Title: "No step looks for it", Probability: 0.5})
		}
	}
	require.NotEmpty(t, at)
	blanks := allRootBlanks(in.Plan.Report)
	require.Len(t, blanks, 1)
	assert.Contains(t, blanks[0].Label, at)
	assert.Equal(t, []string{"yes", "no"}, blanks[0].Boxes)
	left := in.Plan.Troubles[0].BroughtOnBy[1]
	in.Plan.Confirmed = []chances.Confirmed{{RootsLeft: []chances.Root{left}}}
	require.Len(t, allRootBlanks(in.Plan.Report), 2, "what a repair leaves is to be ticked too")
	for name, d := range map[string]*doc.Document{"teardown": Teardown(in.Plan), "sheet": JobSheet(in)} {
		_, said := tags(t, html(t, d))
		assert.Equal(t, 1, strings.Count(said, strings.TrimSuffix(strings.TrimPrefix(blanks[0].Label, rootLooked), ":")), name)
	}
}

// A failure and its root are no rivals in the list of causes, and each says
// which of the two it is.
func TestAFailureAndItsRootAreNoRivals(t *testing.T) {
	r := troubled(t).Plan.Report
	assert.NotEmpty(t, noRivals(likely(r, false)))
	assert.Empty(t, noRivals(r.Causes[:1]))
	assert.Contains(t, roleNote(r.Causes[0]), "A failure. Likeliest root: "+words.Titled(r.Causes[1].Title, r.Causes[1].Place)+" (likely, 60 %)")
	assert.Equal(t, []string{"A root.", "A failure. Likeliest: nothing deeper (very likely, 90 %).", ""}, []string{roleNote(r.Causes[1]), roleNote(r.Causes[2]), roleNote(chances.Cause{})})
}
