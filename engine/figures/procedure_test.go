package figures_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine/figures"
)

// steps joins the words of one guide's steps.
func steps(p figures.Procedure) string {
	out := ""
	for _, s := range p.Steps {
		out += s.Title + ". " + s.Do + " " + s.Caution + "\n"
	}
	return out
}

// Steps are given for a guide that is to be shimmed on these readings, and for
// no other.
func TestWhenThereAreSteps(t *testing.T) {
	level := strings.NewReplacer("137", "125", "113", "125").Replace(low24)
	high := strings.NewReplacer("top", "bottom", "bottom", "top").Replace(low24)
	changes := strings.NewReplacer("back: {top: 137 thou, bottom: 113 thou}", "back: {top: 142 thou, bottom: 108 thou}", "front: {top: 137 thou, bottom: 113 thou}", "front: {top: 132 thou, bottom: 118 thou}").Replace(low24)
	for name, c := range map[string]struct {
		rod, upper, more string
		guides           []string
		says, never      string
	}{
		"24 thou nearer the bottom":  {low24, "rear: 33 thou, front: 33 thou", "", []string{"lower"}, "Push the shims in", "engineer the readings"},
		"rod high":                   {high, "rear: 20 thou, front: 20 thou", "", []string{"lower"}, "Draw out shims", "Push the shims in"},
		"centred and slack":          {level, "rear: 33 thou, front: 33 thou", "", []string{"upper"}, "above the guide, from the middle", "Lower guide first"},
		"low, and slack after that":  {low24, "rear: 50 thou, front: 50 thou", "", []string{"lower", "upper"}, "pry bar", "wedges"},
		"changes along the stroke":   {changes, "rear: 33 thou, front: 33 thou", "", []string{"lower"}, "The engineer decides first", ""},
		"would be too tight":         {low24, "rear: 20 thou, front: 20 thou", "", nil, "", ""},
		"too tight now":              {low24, "rear: 4 thou, front: 4 thou", "", nil, "", ""},
		"under common practice":      {low24, "rear: 12 thou, front: 12 thou", "", nil, "", ""},
		"differs along the guide":    {low24, "rear: 45 thou, front: 30 thou", "", nil, "", ""},
		"not measured":               {low24, "", "", nil, "", ""},
		"in doubt after":             {low24, "rear: 27.3 thou, front: 27.3 thou", "", nil, "", ""},
		"centred":                    {level, "rear: 20 thou, front: 20 thou", "", nil, "", ""},
		"one place of the stroke":    {"middle: {top: 137 thou, bottom: 113 thou}", "rear: 33 thou, front: 33 thou", "", nil, "", ""},
		"no least is known":          {low24, "rear: 33 thou, front: 33 thou", "manual: {guide-clearance-most: 14 thou}\n", nil, "", ""},
		"shims on hand do not do it": {low24, "rear: 33 thou, front: 33 thou", "shims-on-hand: [50 thou]\n", nil, "", ""},
	} {
		t.Run(name, func(t *testing.T) {
			got := work(t, upperGuide(c.rod, c.upper)+c.more).Centring[0]
			var guides []string
			for _, p := range got.Procedures {
				guides = append(guides, p.Guide)
				for i, s := range p.Steps {
					assert.Equal(t, i+1, s.Number)
				}
			}
			assert.Equal(t, c.guides, guides)
			if len(guides) > 0 {
				assert.Contains(t, steps(got.Procedures[0]), c.says)
				if c.never != "" {
					assert.NotContains(t, steps(got.Procedures[0]), c.never)
				}
			}
		})
	}
	both := work(t, upperGuide(low24, "rear: 50 thou, front: 50 thou")).Centring[0]
	assert.Contains(t, steps(both.Procedures[1]), "Shim the lower guide first.")
	for _, p := range both.Procedures {
		before, after := strings.Index(steps(p), "Measure again, rods still parted"), strings.Index(steps(p), "new wire")
		assert.Less(t, before, after, p.Guide)
	}
}

// One opening that asks for different ends: 17, 12 and 7 thou by hand. The
// engineer gets them; what is reckoned is the mean, 12, for both ends.
func TestOneOpeningAsksForDifferentEnds(t *testing.T) {
	changes := strings.NewReplacer("back: {top: 137 thou, bottom: 113 thou}", "back: {top: 142 thou, bottom: 108 thou}", "front: {top: 137 thou, bottom: 113 thou}", "front: {top: 132 thou, bottom: 118 thou}").Replace(low24)
	c := work(t, upperGuide(changes, "rear: 33 thou, front: 33 thou")).Centring[0]
	require.NotNil(t, c.ByEnds)
	assert.InDelta(t, 17*thou, c.ByEnds.Rear.Mean, 1e-12)
	assert.InDelta(t, 7*thou, c.ByEnds.Front.Mean, 1e-12)
	assert.InDelta(t, 12*thou, c.Wanted.Front.Mean, 1e-12)
	assert.True(t, c.Wanted.Equal)
	assert.Contains(t, codes(&c), "one-plane-asks-for-different-ends")
	assert.EqualValues(t, "ask-engineer-first", c.Outcome)

	same := work(t, upperGuide(low24, "rear: 33 thou, front: 33 thou")).Centring[0]
	assert.Nil(t, same.ByEnds)
	assert.NotContains(t, codes(&same), "one-plane-asks-for-different-ends")
}

// Where two openings show that the guide is tilted, it is said why this is not
// the same thickness at both ends.
func TestWhyTheEndsDiffer(t *testing.T) {
	fine := strings.Replace(rodCase(sloped+secondPlane), "resolution: 1 thou, rod", "resolution: 0.1 thou, rod", 1)
	c := work(t, fine).Centring[0]
	assert.Contains(t, codes(&c), "different-ends-and-why")
	assert.Nil(t, c.ByEnds)
	require.Len(t, c.Procedures, 1)
	assert.Contains(t, steps(c.Procedures[0]), "The engineer decides first")
	assert.Contains(t, steps(c.Procedures[0]), "thickness that the engineer decided")
	assert.NotContains(t, steps(c.Procedures[0]), "same thickness at both ends")
}

// The built-in book has every procedure that is asked for, and gauges for a
// rod in its opening with what each shows.
func TestTheBookHasProceduresAndGauges(t *testing.T) {
	assert.NotNil(t, builtIn(t).Procedures.Get("shims-at-a-guide"))
	gauges := figures.Gauges(builtIn(t).GaugesFor("rod-centring"))
	require.GreaterOrEqual(t, len(gauges), 5)
	for _, g := range gauges {
		assert.Positive(t, g.Shows.Mean, g.Title)
		assert.NotEmpty(t, g.Do, g.Title)
		assert.Equal(t, "judgement", g.Basis, g.Title)
	}
}
