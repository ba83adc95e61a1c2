package hear

import (
	"fmt"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/evidence/speech"
	"telltale/rules"
)

func listener(t testing.TB) *Listener {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	return New(book)
}

func layout(a evidence.Action) evidence.Layout {
	return evidence.Layout{Action: a, Cylinders: evidence.DefaultCylinders(a)}
}

// brief writes a statement as "wiper-leaks again present [2]".
func brief(h Heard) string {
	var at []string
	for _, p := range h.Places {
		at = append(at, p.String())
	}
	out := strings.Join(strings.Fields(h.ID+" "+h.Kind+" "+h.Answer), " ")
	if h.Is == IsGuess {
		out = "guess"
	}
	if len(at) > 0 {
		out += fmt.Sprintf(" %v", at)
	}
	if h.OneOf {
		out += " one of"
	}
	return out
}

func heard(t *testing.T, l *Listener, a evidence.Action, story string) []string {
	t.Helper()
	var out []string
	for _, h := range l.Hear(story, layout(a)).Heard {
		out = append(out, brief(h))
	}
	return out
}

// Where it is, in the ways that a crew has of saying so.
func TestPlaces(t *testing.T) {
	l := listener(t)
	for story, want := range map[string]string{
		"wiper on 2 leaks":                         "wiper-leaks present [2]",
		"wiper on no. 2 leaks":                     "wiper-leaks present [2]",
		"number two wiper leaks":                   "wiper-leaks present [2]",
		"#2 wiper leaks":                           "wiper-leaks present [2]",
		"the middle wiper leaks":                   "wiper-leaks present [2]",
		"the right wiper leaks":                    "wiper-leaks present [3]",
		"the wiper leaks right after the start":    "wiper-leaks present", // "right" is no side there
		"number 3 started to knock":                "knock-at-cylinder present [3]",
		"wiper leaks maybe 10 drops a minute":      "wiper-leaks present", // no guess: about ten
		"the wiper of 1 and 3 leaks":               "wiper-leaks present [1 3]",
		"wiper leaks on one of the outside ones":   "wiper-leaks present [1 3] one of",
		"wiper leaks":                              "wiper-leaks present",
		"wiper on pump 2 leaks":                    "wiper-leaks present", // which pump, not which cylinder
		"wiper leaks for two pumps":                "wiper-leaks present",
		"weep hole runs on 3, that was 2 days ago": "weep-hole-runs present [3]",
	} {
		got := heard(t, l, evidence.Triplex, story)
		require.NotEmpty(t, got, story)
		assert.Equal(t, want, got[0], story)
	}
	got := l.Hear("left head end hisses", layout(evidence.Duplex)).Heard
	require.NotEmpty(t, got)
	assert.Equal(t, []evidence.Place{{Cylinder: "left", End: "head"}}, got[0].Places)
	got = l.Hear("right back one hisses", layout(evidence.Duplex)).Heard
	require.NotEmpty(t, got)
	assert.Equal(t, []evidence.Place{{Cylinder: "right", End: "crank"}}, got[0].Places)
}

// There or not, in the ways that a crew has of saying so.
func TestThereOrNot(t *testing.T) {
	l := listener(t)
	for story, want := range map[string]string{
		"oil is milky":                      "present",
		"oil is not milky":                  "absent",
		"oil isnt milky":                    "absent",
		"no milky oil":                      "absent",
		"not sure if the oil is milky":      "unknown",
		"didn't look whether oil is milky":  "unknown",
		"weep hole runs":                    "present",
		"weep hole is dry":                  "absent",
		"never a drop out of the weep hole": "absent",
		"the oil pressure is zero, nothing": "present",
		"a dry squeal at the liner":         "present",
		"there is no squeal":                "absent",
	} {
		got := l.Hear(story, layout(evidence.Triplex)).Heard
		require.NotEmpty(t, got, story)
		assert.Equal(t, want, got[0].Answer, "%s: %s", story, brief(got[0]))
	}
}

// One and not the others: two statements.
func TestOnlyOne(t *testing.T) {
	l := listener(t)
	assert.Equal(t, []string{"wiper-leaks present [2]", "wiper-leaks absent [1 3]"}, heard(t, l, evidence.Triplex, "only the wiper on 2 leaks"))
	assert.Equal(t, []string{"wiper-leaks present [2]", "wiper-leaks absent [1 3]"}, heard(t, l, evidence.Triplex, "wiper leaks on 2 but not 1 and 3"))
}

// A guess is kept and is no finding; a figure is no place; a slip is mended and
// said to be one.
func TestGuessFigureSlip(t *testing.T) {
	l := listener(t)
	assert.Equal(t, []string{"guess"}, heard(t, l, evidence.Triplex, "I reckon it's the dampener"))
	got := l.Hear("pressure down from 2800 psi to 2400 psi", layout(evidence.Triplex)).Heard
	require.NotEmpty(t, got)
	assert.Equal(t, "pressure-low", got[0].ID)
	assert.Equal(t, []Figure{{What: "discharge", Value: 2800, Unit: "psi", Was: true, Change: false}, {What: "discharge", Value: 2400, Unit: "psi"}}, got[0].Figures)
	got = l.Hear("lost 400 psi", layout(evidence.Triplex)).Heard
	require.NotEmpty(t, got)
	assert.True(t, got[0].Figures[0].Change)
	got = l.Hear("wipper leeks", layout(evidence.Triplex)).Heard
	require.NotEmpty(t, got)
	assert.Equal(t, "wiper-leaks", got[0].ID)
	assert.Contains(t, got[0].Because, "slip")
}

// Every word that carries meaning ends in what was heard or in what was not.
func nothingDropped(t *testing.T, l *Listener, story string, got Story) {
	t.Helper()
	all := ""
	for _, h := range got.Heard {
		all += " " + h.Words
	}
	all += " " + strings.Join(got.NotHeard, " ")
	kept := map[string]int{}
	for _, w := range speech.Words(all) {
		kept[w.Lower]++
	}
	for _, it := range l.items(speech.Words(story), false) {
		if it.role == rules.SaysNothing || it.isNumber || it.term < 0 && len(it.stem) < 3 {
			continue
		}
		for _, w := range speech.Words(story)[it.from:it.to] {
			if !joints[w.Lower] && kept[w.Lower] == 0 {
				t.Fatalf("%q of %q was dropped: heard %v, not heard %q", w.Lower, story, got.Heard, got.NotHeard)
			}
		}
	}
}

func FuzzHear(f *testing.F) {
	l := listener(f)
	for _, s := range []string{"", "wiper on 2 leaks again, 1 and 3 are dry", "not", "two", "1, 2 and 3", "I reckon", "from 2800 to 2400 psi", "\xff\x00 knock", strings.Repeat("no knock and ", 50), "only", "purple elephants in the doghouse"} {
		f.Add(s, true)
	}
	f.Fuzz(func(t *testing.T, story string, triplex bool) {
		if len(story) > 2000 {
			return
		}
		a := evidence.Duplex
		if triplex {
			a = evidence.Triplex
		}
		got := l.Hear(story, layout(a))
		for _, h := range got.Heard {
			if h.Start < 0 || h.End < h.Start || h.End > len(story) {
				t.Fatalf("%q: stands at %d to %d", h.Words, h.Start, h.End)
			}
			if h.Is == IsSign && l.book.Signs.Get(h.ID) == nil {
				t.Fatalf("no sign %q", h.ID)
			}
		}
		nothingDropped(t, l, story, got)
		assert.Equal(t, got, l.Hear(story, layout(a)))
	})
}

// What is offered besides comes from several sources: the sign spoken of last
// where no thing is named, and what each clause says apart.
func TestOffered(t *testing.T) {
	l := listener(t)
	for story, want := range map[string]string{
		"Wiper on 2 leaks. It went right back to it":       "wiper-leaks present",
		"Knock in number 3. Changed the valve, no better":  "knock-at-cylinder present",
		"Knock in number 3. Changed the valve, that cured": "knock-at-cylinder absent",
	} {
		all := l.Hear(story, layout(evidence.Triplex)).Heard
		require.NotEmpty(t, all, story)
		var offered []string
		for _, o := range all[len(all)-1].Others {
			offered = append(offered, o.ID+" "+o.Answer)
		}
		assert.Contains(t, offered, want, story)
	}
}

// What was done and that it was no use are two things, also where nothing parts
// them; the second is never strong, for the work is carried on.
func TestDoneAndNoUse(t *testing.T) {
	all := listener(t).Hear("put new suction valves in 2 no change", layout(evidence.Triplex)).Heard
	require.Len(t, all, 2)
	assert.Equal(t, []string{"valves-changed present [2]", "valves-changed not-cured present [2]"}, []string{brief(all[0]), brief(all[1])})
	assert.NotEqual(t, Strong, all[1].Strength)
}

// What hearing takes grows with the words of a story and not by their square: twice the
// words take hardly more than twice the memory, whatever parts them.
func TestALongStoryGrowsWithItsWords(t *testing.T) {
	l := listener(t)
	taken := func(story string) (bytes, allocs float64) {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		l.Hear(story, layout(evidence.Triplex))
		runtime.ReadMemStats(&after)
		return float64(after.TotalAlloc - before.TotalAlloc), float64(after.Mallocs - before.Mallocs)
	}
	for _, sep := range []string{". ", ", ", " and ", " or ", " ", "\n"} {
		bytes, allocs := taken(longStory(400, sep))
		more, moreAllocs := taken(longStory(800, sep))
		assert.Less(t, more, 2.25*bytes, "%q", sep)
		assert.Less(t, moreAllocs, 2.25*allocs, "%q", sep)
	}
}

// longStory is one of so many words, drawn from phrases of the lexicon.
func longStory(words int, sep string) string {
	told := strings.Fields("wiper leaks on two knock at left valve hisses no smoke pressure fell oil is milky rod scored liner washed out packing hot changed seat gasket gauge swings bolts loose charge low clutch slips chain noisy")
	draw := rand.New(rand.NewPCG(1, 2))
	var out []string
	for range words {
		out = append(out, told[draw.IntN(len(told))])
	}
	return strings.Join(out, sep)
}

// A story of the most words is heard; one more is refused, with how many there are and
// what to do.
func TestTooLong(t *testing.T) {
	assert.NoError(t, TooLong(strings.Repeat("leaks, ", MostWords)))
	assert.NoError(t, TooLong(strings.Repeat("a", LongestStory)))
	assert.EqualError(t, TooLong(strings.Repeat("leaks, ", MostWords+1)), "the story has 1501 words; at most 1500 words are heard at once, and nothing of it was heard. Tell it in parts")
	assert.EqualError(t, TooLong(strings.Repeat("a", LongestStory+1)), "the story has more than 65536 bytes; at most 1500 words are heard at once, and nothing of it was heard. Tell it in parts")
}

func BenchmarkHearLong(b *testing.B) {
	l := listener(b)
	for _, sep := range []string{". ", ", ", " "} {
		story := longStory(MostWords, sep)
		b.Run(map[string]string{". ": "stops", ", ": "commas", " ": "none"}[sep], func(b *testing.B) {
			for b.Loop() {
				l.Hear(story, layout(evidence.Triplex))
			}
		})
	}
}

func BenchmarkHear(b *testing.B) {
	l := listener(b)
	for b.Loop() {
		l.Hear("Wiper on two leaks again a week after we changed it, 1 and 3 are dry. Two hisses when she pushes. No knock. Pressure's down 400 psi, I reckon it's the dampener", layout(evidence.Triplex))
	}
}

func BenchmarkNew(b *testing.B) {
	book, err := rules.BuiltIn()
	require.NoError(b, err)
	for b.Loop() {
		New(book)
	}
}
