package engine

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/evidence/source"
)

// rodLow is readings of cylinder 2 whose rod stands low by so many thou, in
// the middle and unchanged along the stroke, read to a step of thou.
func rodLow(by, step float64) string {
	return fmt.Sprintf(`measured:
  rod-in-opening:
    2: {resolution: %[3]g thou, rod: parted, crosshead: seated, back: {top: %[1]g thou, bottom: %[2]g thou}, middle: {top: %[1]g thou, bottom: %[2]g thou}, front: {top: %[1]g thou, bottom: %[2]g thou}}
`, 125+by, 125-by, step)
}

const openAt2 = "pump: {action: triplex-single-acting, state: isolated, open: [crosshead-cover-off: 2, diaphragm-housing-off: 2]}\n"

func chanceOfCause(t *testing.T, r *Report, cause, cylinder string) float64 {
	t.Helper()
	for _, c := range r.Causes {
		if c.Cause == cause && c.Cylinder == cylinder {
			return c.Probability
		}
	}
	t.Fatalf("%s of %s is not in the report", cause, cylinder)
	return 0
}

func judgedBy(t *testing.T, r *Report, threshold, cylinder string) chances.MeasuredFinding {
	t.Helper()
	for _, s := range r.Measured.Thresholds {
		if s.Threshold == threshold && s.Cylinder == cylinder {
			return s
		}
	}
	t.Fatalf("the threshold %s of %s was not looked for", threshold, cylinder)
	return chances.MeasuredFinding{}
}

// With readings alone a worn guide goes from its prior to the first place.
func TestReadingsAloneMoveTheRanking(t *testing.T) {
	before := answerTo(t, openAt2)
	after := answerTo(t, openAt2+rodLow(12, 1)+"  upper-guide: {2: {resolution: 1 thou, rear: 33 thou, middle: 33 thou, front: 33 thou}}\n")
	first := after.Causes[0]
	assert.Equal(t, []string{"guide-and-crosshead-worn", "2"}, []string{first.Cause, first.Cylinder})
	prior := chanceOfCause(t, before, "guide-and-crosshead-worn", "2")
	assert.Less(t, prior, 0.05)
	assert.Greater(t, first.Probability, 0.5)
	for _, other := range []string{"1", "3"} {
		assert.InDelta(t, prior, chanceOfCause(t, after, "guide-and-crosshead-worn", other), 0.01, "nothing was read there")
	}
	assert.True(t, slices.ContainsFunc(after.Found, func(f chances.Finding) bool {
		return f.Sign == "rod-off-centre" && f.Kind == "low" && f.Answer == "present" && f.Measured && !f.InDoubt && slices.Equal(f.Places, []evidence.Place{{Cylinder: "2"}})
	}))
	assert.Nil(t, before.Measured, "nothing was measured")
}

// The book weighs from 5 thou. Near it the reading is worth less, and at it
// nothing.
func TestNearTheLimitAReadingWeighsLess(t *testing.T) {
	weight := func(by float64) float64 {
		r := answerTo(t, openAt2+rodLow(by, 1))
		odds := func(p float64) float64 { return p / (1 - p) }
		prior := chanceOfCause(t, answerTo(t, openAt2), "guide-and-crosshead-worn", "2")
		return odds(chanceOfCause(t, r, "guide-and-crosshead-worn", "2")) / odds(prior)
	}
	far, near, below := weight(12), weight(5.2), weight(2)
	assert.Greater(t, far, near)
	assert.Greater(t, near, 1.0)
	assert.Less(t, below, 1.0)

	at := judgedBy(t, answerTo(t, openAt2+rodLow(5, 1)), "rod-measured-low", "2")
	assert.InDelta(t, 0.5, at.Chance, 1e-6)
	in := answerTo(t, openAt2+rodLow(5.2, 1))
	assert.True(t, in.Found[0].Measured && in.Found[0].InDoubt)
}

// One reading in fifty is plainly wrong, on either side: however far past the
// threshold, no reading is worth more than .99 against .01, which is 19.96 db.
func TestAMisreadReadingBoundsTheWeight(t *testing.T) {
	book, _ := builtInCase(t, openAt2)
	require.Equal(t, 0.02, book.Readings.Misread)
	most := 10 * math.Log10(0.99/0.01)
	for _, by := range []float64{-20, -2, 0, 8, 20, 60} {
		r := answerTo(t, openAt2+rodLow(by, 1))
		for _, c := range r.Causes {
			for _, reason := range append(append([]chances.Reason{}, c.For...), c.Against...) {
				assert.LessOrEqual(t, math.Abs(reason.Decibans), most+1e-9, "%g thou, %s: finding %d", by, c.Cause, reason.Finding)
			}
		}
	}
}

// The crew's own word and a reading that agrees with it are one finding.
func TestAReadingBesideTheCrewsWordIsNotCountedTwice(t *testing.T) {
	const said = "findings: {rod-off-centre: {2: low}}\n"
	alone, both := answerTo(t, openAt2+said), answerTo(t, openAt2+said+rodLow(12, 1))
	require.Len(t, both.Causes, len(alone.Causes))
	for _, c := range alone.Causes {
		assert.InDelta(t, c.Probability, chanceAt(both, c.Cause, c.Place), 1e-12, c.Cause)
	}
	sign := judgedBy(t, both, "rod-measured-low", "2")
	assert.False(t, sign.Counted)
	assert.Equal(t, "the crew's own word on it is weighed", sign.Why)
	assert.Greater(t, sign.Chance, 0.99, "it is shown all the same")

	// Where the crew only says "somewhere", the reading says where.
	vague := answerTo(t, openAt2+"findings: {rod-off-centre: present}\n"+rodLow(12, 1))
	assert.True(t, judgedBy(t, vague, "rod-measured-low", "2").Counted)
}

func chanceAt(r *Report, cause string, where evidence.Place) float64 {
	for _, c := range r.Causes {
		if c.Cause == cause && c.Place == where {
			return c.Probability
		}
	}
	return math.NaN()
}

// A reading that plainly says the opposite is an error at both places; one in
// doubt is not.
func TestAReadingAgainstTheCrewsWord(t *testing.T) {
	for name, c := range map[string]struct{ said, want string }{
		"absent":       {"findings: {rod-off-centre: {absent: [2]}}\n", `case.yaml:2:38: rod-off-centre (2) is absent here, but the readings at line 5 show it (above 5 thou (0.127 mm); the rulebook's figure to weigh by, no limit, 100 %); keep one`},
		"another kind": {"findings: {rod-off-centre: {high: [2]}}\n", `case.yaml:2:36: rod-off-centre (2) is high here, but the readings at line 5 speak against it (not above 5 thou (0.127 mm); the rulebook's figure to weigh by, no limit, 100 %); keep one`},
	} {
		text := openAt2 + c.said + rodLow(12, 1)
		book, k := builtInCase(t, text)
		for _, run := range []func() (*Report, error){
			func() (*Report, error) { return Diagnose(book, k) }, func() (*Report, error) { return Measure(book, k) },
		} {
			r, err := run()
			var input *source.InputError
			require.ErrorAs(t, err, &input, name)
			assert.EqualError(t, err, c.want, name)
			require.NotNil(t, r, "the stops speak all the same")
			assert.Empty(t, r.Causes)
		}
	}
	doubt := answerTo(t, openAt2+"findings: {rod-off-centre: {absent: [2]}}\n"+rodLow(5.1, 1))
	assert.False(t, judgedBy(t, doubt, "rod-measured-low", "2").Counted, "the crew's word stands")
}

// A reading is called plain from 95 in 100. The mean height of readings to a
// thou is known to 1/root 24 thou, so 0.38 of it past 5 thou is 97 in 100 and
// 0.26 is 90 in 100 (normal tables, from memory: 1.88 and 1.28).
func TestHowPlainAReadingMustBeToContradict(t *testing.T) {
	for name, c := range map[string]struct {
		said  string
		by    float64
		plain bool
	}{
		"absent, 97 in 100 there":    {"absent: [2]", 5.38, true},
		"absent, 90 in 100 there":    {"absent: [2]", 5.26, false},
		"low, 97 in 100 not there":   {"low: [2]", 4.62, true},
		"low, 90 in 100 not there":   {"low: [2]", 4.74, false},
		"present, of whatever kind":  {"present: [2]", 2, false},
		"low somewhere, not just 2":  {"low: [1]", 2, false},
		"sideways was not looked at": {"sideways: [2]", 2, false},
	} {
		book, k := builtInCase(t, openAt2+"findings: {rod-off-centre: {"+c.said+"}}\n"+rodLow(c.by, 1))
		_, err := Measure(book, k)
		assert.Equal(t, c.plain, err != nil, "%s: %v", name, err)
	}
}

// Low already says not high: what a reading says against a kind is not weighed
// beside another kind that is there.
func TestOneKindOfASignIsWeighed(t *testing.T) {
	r := answerTo(t, openAt2+rodLow(12, 1))
	assert.True(t, judgedBy(t, r, "rod-measured-low", "2").Counted)
	high := judgedBy(t, r, "rod-measured-high", "2")
	assert.False(t, high.Counted)
	assert.Equal(t, "another kind is there", high.Why)
	assert.Less(t, high.Chance, 0.01)

	// A rod that stands right is weighed against each kind.
	right := answerTo(t, openAt2+rodLow(0, 1))
	for _, sign := range []string{"rod-measured-low", "rod-measured-high", "rod-measured-changing"} {
		assert.True(t, judgedBy(t, right, sign, "2").Counted, sign)
	}
	assert.Less(t, chanceOfCause(t, right, "guide-and-crosshead-worn", "2"), chanceOfCause(t, answerTo(t, openAt2), "guide-and-crosshead-worn", "2"))
}

// A tank that is short by a chamber is short, and by how much is told: one
// finding.
func TestATankTestIsOneFinding(t *testing.T) {
	const pump = "pump: {action: triplex-single-acting, state: stopped, liner: 6 1/2 in, stroke: 12 in}\n"
	test := func(bbl float64) *Report {
		return answerTo(t, fmt.Sprintf("%smeasured: {tank-test: {strokes: 510, volume: %g bbl, volume-within: 0.5 bbl}}\n", pump, bbl))
	}
	counted := func(r *Report) (out []string) {
		for _, s := range r.Measured.Thresholds {
			if s.Counted {
				out = append(out, s.Threshold)
			}
		}
		return out
	}
	assert.Equal(t, []string{"tank-short-by-a-chamber"}, counted(test(40.5)))
	assert.Equal(t, []string{"tank-short-by-some"}, counted(test(54.5)))
	assert.Equal(t, []string{"tank-short"}, counted(test(51.5)), "at 18 % it is short, but of which kind is open")
	for _, s := range test(61).Measured.Thresholds {
		assert.Less(t, s.Chance, 0.05, s.Threshold)
	}
}

// The manual's own limit takes the place of the figure to weigh by.
func TestTheManualsLimitIsWhatASignIsHeldAgainst(t *testing.T) {
	r := answerTo(t, openAt2+"manual: {rod-off-centre-most: 15 thou}\n"+rodLow(12, 1))
	s := judgedBy(t, r, "rod-measured-low", "2")
	assert.Less(t, s.Chance, 0.01)
	assert.Equal(t, "above 15 thou (0.381 mm); this pump's manual", s.Past)
}

// A part that is changed more often than is expected is a sign, weighed by
// how sure that is.
func TestARecordOfPartsIsWeighed(t *testing.T) {
	const pump = "pump: {action: triplex-single-acting, state: stopped}\n"
	r := answerTo(t, pump+"parts: {piston: {from: 0 h, to: 2000 h, expected-life: 700 h, changed-at: {1: [100 h, 300 h, 500 h, 700 h, 900 h, 1100 h, 1300 h, 1500 h, 1700 h, 1900 h], 2: [700 h, 1400 h], 3: []}}}\n")
	one, three := judgedBy(t, r, "piston", "1"), judgedBy(t, r, "piston", "3")
	assert.Greater(t, one.Chance, 0.95)
	assert.Less(t, three.Chance, 0.15, "2000 h without a change")
	before := answerTo(t, pump)
	assert.Greater(t, chanceOfCause(t, r, "guide-and-crosshead-worn", "1"), chanceOfCause(t, before, "guide-and-crosshead-worn", "1"))
	assert.Less(t, chanceOfCause(t, r, "guide-and-crosshead-worn", "3"), chanceOfCause(t, before, "guide-and-crosshead-worn", "3"))
	assert.Equal(t, "mean life below the expected life over 1.5", one.Past)
}

// Readings that need something open, in a case that does not say it is open,
// are asked about: what is forgotten is not closed.
func TestReadingsAskWhatStandsOpen(t *testing.T) {
	said := answerTo(t, openAt2+rodLow(12, 1))
	assert.Empty(t, said.Measured.Missing)
	unsaid := answerTo(t, "pump: {action: triplex-single-acting, state: isolated}\n"+rodLow(12, 1))
	require.NotEmpty(t, unsaid.Measured.Missing)
	all := fmt.Sprint(unsaid.Measured.Missing)
	assert.Contains(t, all, `"- crosshead-cover-off: 2"`)
	assert.Contains(t, all, `"- diaphragm-housing-off: 2"`)
}

// The same readings in inch and in metric give the same ranking.
func TestInchAndMetricReadingsRankAlike(t *testing.T) {
	inch := answerTo(t, openAt2+rodLow(12, 1))
	metric := answerTo(t, openAt2+`measured:
  rod-in-opening:
    2: {resolution: 0.0254 mm, rod: parted, crosshead: seated, back: {top: 3.4798 mm, bottom: 2.8702 mm}, middle: {top: 3.4798 mm, bottom: 2.8702 mm}, front: {top: 3.4798 mm, bottom: 2.8702 mm}}
`)
	for _, c := range inch.Causes {
		assert.InDelta(t, c.Probability, chanceAt(metric, c.Cause, c.Place), 1e-9, c.Cause)
	}
}

// Measure gives what Diagnose shows of the readings, and no causes.
func TestMeasureIsTheReadingsOfDiagnose(t *testing.T) {
	book, k := builtInCase(t, openAt2+rodLow(12, 1))
	alone, err := Measure(book, k)
	require.NoError(t, err)
	whole, err := Diagnose(book, k)
	require.NoError(t, err)
	assert.Equal(t, whole.Measured, alone.Measured)
	assert.Equal(t, whole.Found, alone.Found)
	assert.Empty(t, alone.Causes)
	assert.Empty(t, alone.Steps)
	assert.Len(t, k.Findings, 0, "the case is not changed")
}

// 12 thou over the crosshead is a third of the way from the 15 of common
// practice down to the 6 that a small crosshead may have. It is no fault while
// this pump's figure is not known; with the figure it is one.
func TestUnderCommonPracticeIsNoFaultYet(t *testing.T) {
	const upper = "measured: {upper-guide: {2: {resolution: 1 thou, rear: 12 thou, middle: 12 thou, front: 12 thou}}}\n"
	prior := chanceOfCause(t, answerTo(t, openAt2), "crosshead-set-high", "2")
	open := answerTo(t, openAt2+upper)
	sign := judgedBy(t, open, "upper-guide-measured-tight", "2")
	assert.InDelta(t, 1.0/3, sign.Chance, 1e-9)
	assert.Contains(t, sign.Past, "this pump's own figure may be as low as 0.006 in")
	assert.LessOrEqual(t, chanceOfCause(t, open, "crosshead-set-high", "2"), prior)
	for _, thou := range []string{"7", "10", "11", "13", "14"} { // alone it never speaks for a fault
		r := answerTo(t, openAt2+strings.ReplaceAll(upper, "12 thou", thou+" thou"))
		assert.LessOrEqual(t, chanceOfCause(t, r, "crosshead-set-high", "2"), prior*1.001, thou)
	}
	tight := answerTo(t, openAt2+strings.ReplaceAll(upper, "12 thou", "3 thou")) // on any pump
	assert.Greater(t, chanceOfCause(t, tight, "crosshead-set-high", "2"), 10*prior)

	known := answerTo(t, openAt2+upper+"manual: {guide-clearance-least: 15 thou, guide-clearance-most: 25 thou}\n")
	assert.Greater(t, judgedBy(t, known, "upper-guide-measured-tight", "2").Chance, 0.99)
	assert.Greater(t, chanceOfCause(t, known, "crosshead-set-high", "2"), 10*prior)
}
