package engine

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pgregory.net/rapid"

	"telltale/engine/chances"
	"telltale/engine/work"
)

// What needs covers off and was read beside moving parts gives no shim, moves
// no chance, and is said; at a stop it counts like any other.
func TestBesideMovingParts(t *testing.T) {
	readings := `
measured:
  rod-in-opening: {2: {resolution: 1 thou, rod: parted, crosshead: seated, middle: {top: 142 thou, bottom: 118 thou}}}
`
	for name, c := range map[string]struct {
		state, taken string
		used         bool
	}{
		"running, not said":             {"running", "", false},
		"running, beside moving parts":  {"running", "taken: while-running\n", false},
		"running, at the last stop":     {"running", "taken: at-last-stop\n", true},
		"running, this at a stop":       {"running", "taken: {at-last-stop: [rod-in-opening], while-running: others}\n", true},
		"isolated, not said":            {"isolated", "", true},
		"isolated, beside moving parts": {"isolated", "taken: {while-running: [rod-in-opening]}\n", false},
	} {
		t.Run(name, func(t *testing.T) {
			book, k := builtInCase(t, "pump: {action: triplex-single-acting, state: "+c.state+"}\nfindings: {wiper-leaks: {again: [2]}}"+readings+c.taken)
			m, err := Measure(book, k)
			require.NoError(t, err)
			assert.Equal(t, c.used, len(m.Measured.Centring) > 0, "a shim is worked out")
			r, err := Diagnose(book, k)
			require.NoError(t, err)
			assert.Equal(t, c.used, r.Measured != nil && len(r.Measured.Thresholds) > 0)
			said := []string{}
			for _, s := range r.Stop {
				said = append(said, s.ID)
			}
			if c.used {
				assert.Empty(t, r.Beside)
				assert.NotContains(t, said, "taken-beside-moving-parts")
				return
			}
			assert.Contains(t, said, "taken-beside-moving-parts")
			assert.Equal(t, []chances.Beside{{Name: "rod-in-opening", Title: "readings rod-in-opening"}}, r.Beside)
		})
	}
}

// The stops and what must be out before anything turns the pump hear what is
// not weighed; what needs nothing opened is never beside moving parts.
func TestStopsHearWhatIsNotWeighed(t *testing.T) {
	stops := func(findings string) (*Report, []string) {
		book, k := builtInCase(t, "pump: {action: triplex-single-acting, state: running}\nfindings: "+findings+"\n")
		r, err := Diagnose(book, k)
		require.NoError(t, err)
		said := []string{}
		for _, s := range r.Stop {
			said = append(said, s.ID)
		}
		return r, said
	}
	r, said := stops("{rod-broken: present, break-place: {1: rod-joint}}")
	assert.Contains(t, said, "taken-beside-moving-parts")
	assert.NotZero(t, position(r, work.StepOpening, "loose-piece-out"), "where it broke is heard")
	for _, f := range r.Found {
		assert.NotEqual(t, "break-place", f.Sign)
	}
	r, said = stops("{dampener-gas: mud-at-valve}")
	assert.Equal(t, []string{"dampener-mud-at-valve"}, said)
	assert.Len(t, r.Found, 1)
}

// Whatever is found and whatever is likely: on the way of the offer every step
// finds what it needs before it, as in the whole list.
func TestGoingStraightIsGuarded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		book := *builtIn(t)
		book.Straight.Likely = 0.05
		d := drawBuiltIn(t, &book, 4)
		k := d.parse(t, &book, d.findings)
		r, err := Outline(&book, k)
		if err != nil || r.GoStraight == nil {
			t.Skip("nothing to go straight to")
		}
		g := r.GoStraight
		target := r.Steps[g.Step-1]
		require.Equal(t, g.Check, target.ID)
		require.True(t, book.CanProve(book.Checks.Get(g.Check), g.Cause))
		way := *r
		way.Steps = nil
		for _, step := range r.Steps[:g.Step] {
			if g.Passes(step.Number) {
				step.Number = len(way.Steps) + 1
				way.Steps = append(way.Steps, step)
			}
		}
		fault := unsafe(&book, k, &way)
		// The way alone does not close up, and need not hold what only a whole list must.
		partial := []string{"left open", "return", "is not in the list"}
		if fault != "" && !slices.ContainsFunc(partial, func(words string) bool { return strings.Contains(fault, words) }) {
			t.Fatalf("%s\n%+v", fault, way.Steps)
		}
	})
}

func TestGoStraightIsOffered(t *testing.T) {
	book, k := builtInCase(t, "pump: {action: triplex-single-acting, state: stopped, rotation: unknown}\nfindings: {guide-wear: {upper: all}}\n")
	r, err := Diagnose(book, k)
	require.NoError(t, err)
	require.NotNil(t, r.GoStraight)
	assert.Equal(t, "reverse-rotation", r.GoStraight.Cause)
	assert.Equal(t, "rotation-bump", r.GoStraight.Check)
	assert.GreaterOrEqual(t, r.GoStraight.Probability, 0.9)
	_, k = builtInCase(t, "pump: {action: triplex-single-acting, state: running}\nfindings: {wiper-leaks: {again: [2]}}\n")
	r, err = Diagnose(book, k)
	require.NoError(t, err)
	assert.Nil(t, r.GoStraight, "nothing is likely enough")
}

// Two words that do not go together are said, until one is taken out or the
// cause was put right in between.
func TestContradictions(t *testing.T) {
	head := "pump: {action: triplex-single-acting, state: isolated}\n"
	for name, c := range map[string]struct {
		text string
		want int
	}{
		"cut through, and nothing found there": {"findings: {valve-damage: {2: fluid-cut}}\nchecked: {valve-look: {nothing: [2]}}", 1},
		"nothing found elsewhere":              {"findings: {valve-damage: {2: fluid-cut}}\nchecked: {valve-look: {nothing: [1]}}", 0},
		"proved, and nothing found there":      {"confirmed: [suction-valve-cut: 2]\nchecked: {valve-look: {nothing: [2]}}", 1},
		"put right in between":                 {"findings: {valve-damage: {2: fluid-cut}}\nconfirmed: [suction-valve-cut: 2]\ncorrected: [suction-valve-cut: 2]\nchecked: {valve-look: {nothing: [2]}}", 0},
		"a look all round found nothing else":  {"findings: {wiper-leaks: {again: [2]}}\nchecked: {leak-look: {nothing: [2]}}", 0},
	} {
		t.Run(name, func(t *testing.T) {
			book, k := builtInCase(t, head+c.text+"\n")
			assert.Len(t, chances.Contradictions(book, k), c.want)
		})
	}
}

// A case in which all is done says so and sends nobody to correct it again.
func TestAClosedCase(t *testing.T) {
	text := "findings: {hiss: {2: discharge-stroke}}\nconfirmed: [suction-valve-cut: 2]\ncorrected: [suction-valve-cut: 2]\n"
	book, k := builtInCase(t, "pump: {action: triplex-single-acting, state: running}\n"+text+"looked-again: [suction-valve-cut: 2]\n")
	r, err := Diagnose(book, k)
	require.NoError(t, err)
	assert.True(t, r.Closed)
	assert.Empty(t, r.Steps)
	assert.Contains(t, r.Notes[len(r.Notes)-1], "This case is closed")
	_, k = builtInCase(t, "pump: {action: triplex-single-acting, state: isolated}\n"+text)
	r, err = Diagnose(book, k)
	require.NoError(t, err)
	assert.False(t, r.Closed)
	assert.Contains(t, r.Notes[len(r.Notes)-1], "Look at each again")
}
