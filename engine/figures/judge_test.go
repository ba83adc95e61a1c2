package figures_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// upperGuide is rodCase with other clearances over the crosshead; none is "".
func upperGuide(rod, upper string) string {
	text := triplex + "measured:\n"
	if rod != "" {
		text += "  rod-in-opening: {2: {resolution: 1 thou, " + ready + rod + "}}\n"
	}
	if upper != "" {
		text += "  upper-guide: {2: {resolution: 1 thou, " + upper + "}}\n"
	}
	return text
}

// What is graver comes before the centring: the limits are 15 to 25 thou
// (common practice, no source), the rod is 12 thou low unless said otherwise.
func TestTheGraverOutcomeComesFirst(t *testing.T) {
	level := strings.NewReplacer("137", "125", "113", "125").Replace(low24)
	for name, c := range map[string]struct {
		rod, upper, want string
		packs            int
		upperShims       bool
	}{
		"room enough":              {low24, "rear: 33 thou, front: 33 thou", "equal-shims", 1, false},
		"too tight now":            {low24, "rear: 33 thou, front: 4 thou", "tight-now", 0, false},
		"under common practice":    {low24, "rear: 12 thou, front: 12 thou", "ask-pump-figure", 0, false},
		"perhaps too tight now":    {low24, "rear: 16 thou, front: 15.3 thou", "doubt-now", 0, false},
		"differs along the guide":  {low24, "rear: 45 thou, front: 30 thou", "uneven-now", 0, false},
		"not measured":             {low24, "", "measure-upper-first", 0, false},
		"would be too tight":       {low24, "rear: 20 thou, front: 20 thou", "stop-and-ask", 0, false},
		"would be in doubt":        {low24, "rear: 27.3 thou, front: 27.3 thou", "doubt-after", 0, false},
		"centred and too slack":    {level, "rear: 33 thou, front: 33 thou", "upper-shims-only", 0, true},
		"centred":                  {level, "rear: 20 thou, front: 20 thou", "none-needed", 0, false},
		"guide alone, slack":       {"", "rear: 33 thou, front: 33 thou", "slack-now", 0, false},
		"guide alone, inside":      {"", "rear: 20 thou", "inside-now", 0, false},
		"guide alone, tight":       {"", "rear: 4 thou", "tight-now", 0, false},
		"guide alone, 10 thou":     {"", "rear: 10 thou", "ask-pump-figure", 0, false},
		"guide alone, 14 thou":     {"", "rear: 14 thou, middle: 14 thou, front: 14 thou", "ask-pump-figure", 0, false},
		"changes along the stroke": {strings.Replace(low24, "back: {top: 137 thou, bottom: 113 thou}", "back: {top: 142 thou, bottom: 108 thou}", 1), "rear: 33 thou, front: 33 thou", "ask-engineer-first", 1, false},
	} {
		t.Run(name, func(t *testing.T) {
			f := work(t, upperGuide(c.rod, c.upper))
			require.Len(t, f.Centring, 1)
			got := f.Centring[0]
			assert.EqualValues(t, c.want, got.Outcome)
			assert.Len(t, got.Packs, c.packs)
			assert.Equal(t, c.upperShims, got.UpperFix != nil && got.UpperFix.Pack != nil)
			assert.Equal(t, builtIn(t).Advice.Get(c.want).Title, got.Title)
			assert.NotEmpty(t, got.Do)
		})
	}
}

// Where the guide must not be lifted there is nothing "after" either.
func TestNoForecastOfALiftThatMustNotBe(t *testing.T) {
	for _, upper := range []string{"rear: 10 thou", "rear: 45 thou, front: 30 thou", ""} {
		t.Run(upper, func(t *testing.T) {
			c := work(t, upperGuide(low24, upper)).Centring[0]
			assert.Nil(t, c.Planes[0].Rests, upper)
			assert.Equal(t, upper == "", c.Wanted != nil, "a thickness only where the clearance is still to be measured: %s", upper)
			for _, p := range c.Planes[0].Positions {
				assert.Nil(t, p.After, upper)
			}
			for _, u := range c.Upper {
				assert.Nil(t, u.After, upper)
			}
		})
	}
}

// A rod that is off by less than the book calls low is left alone, and by this
// pump's own limit if the manual gives one.
func TestALittleLowIsLeftAlone(t *testing.T) {
	little := strings.NewReplacer("137", "128", "113", "120").Replace(low24) // 4 thou low
	c := work(t, upperGuide(little, "rear: 20 thou")).Centring[0]
	assert.EqualValues(t, "none-needed", c.Outcome)
	assert.Contains(t, codes(&c), "small-enough")
	assert.InDelta(t, -4*thou, c.Planes[0].Height.Mean.Mean, 1e-12, "it is shown all the same")
	c = work(t, upperGuide(little, "rear: 20 thou")+"manual: {rod-off-centre-most: 3 thou}\n").Centring[0]
	assert.EqualValues(t, "equal-shims", c.Outcome)
	assert.InDelta(t, 4*thou, c.Wanted.Front.Mean, 1e-12)
}

func TestWhereTheLimitsComeFrom(t *testing.T) {
	basis := func(manual string) string {
		return work(t, upperGuide("", "rear: 20 thou")+manual).Centring[0].LimitsBasis
	}
	assert.Equal(t, "common practice, no source", basis(""))
	assert.Equal(t, "from this pump's manual", basis("manual: {guide-clearance-least: 14 thou, guide-clearance-most: 30 thou}\n"))
	assert.Equal(t, "one from this pump's manual, one common practice, no source", basis("manual: {guide-clearance-least: 14 thou}\n"))
}

// Common practice, no source: 15 to 25 thou over the crosshead, unless this
// pump's own figure says otherwise. A textbook on reciprocating compressors
// (read second hand, title not noted) gives 0.00075 to 0.001 in for each inch
// of crosshead diameter, so 12 thou is right over a crosshead of 12 to 16 in.
func TestThisPumpsFigureComesBeforeCommonPractice(t *testing.T) {
	for name, c := range map[string]struct {
		upper, manual string
		outcome       string
		stand         string
	}{
		"10 thou, figure not known":        {"10 thou", "", "ask-pump-figure", "under common practice"},
		"14 thou, figure not known":        {"14 thou", "", "ask-pump-figure", "under common practice"},
		"4 thou is tight on any pump":      {"4 thou", "", "tight-now", "under"},
		"15 thou of practice is met":       {"20 thou", "", "inside-now", "inside"},
		"12 thou, the pump has 10 to 14":   {"12 thou", "guide-clearance-least: 10 thou, guide-clearance-most: 14 thou", "inside-now", "inside"},
		"12 thou, the pump has 15 to 25":   {"12 thou", "guide-clearance-least: 15 thou, guide-clearance-most: 25 thou", "tight-now", "under"},
		"20 thou, the pump has 6 to 8":     {"20 thou", "guide-clearance-least: 6 thou, guide-clearance-most: 8 thou", "slack-now", "over"},
		"14 thou, the pump has at least 9": {"14 thou", "guide-clearance-least: 9 thou", "inside-now", "inside"},
	} {
		t.Run(name, func(t *testing.T) {
			text := upperGuide("", "rear: "+c.upper+", front: "+c.upper)
			if c.manual != "" {
				text += "manual: {" + c.manual + "}\n"
			}
			got := work(t, text).Centring[0]
			assert.EqualValues(t, c.outcome, got.Outcome)
			assert.Equal(t, c.stand, got.Upper[0].Stand)
		})
	}
}

// While this pump's figure is not known, no shim takes more away from a
// clearance that is under common practice, and a lift that would leave less is
// not made: 24 less 12 is 12.
func TestNoShimOnCommonPracticeAlone(t *testing.T) {
	for _, upper := range []string{"rear: 12 thou, front: 12 thou", "rear: 24 thou, front: 24 thou"} {
		t.Run(upper, func(t *testing.T) {
			c := work(t, upperGuide(low24, upper)).Centring[0]
			assert.Empty(t, c.Packs, upper)
			assert.Nil(t, c.UpperFix, upper)
		})
	}
	after := work(t, upperGuide(low24, "rear: 24 thou, front: 24 thou")).Centring[0]
	assert.EqualValues(t, "stop-and-ask", after.Outcome)
	assert.Equal(t, "under common practice", after.Upper[0].AfterStand)
	assert.Contains(t, codes(&after), "practice-limit-only")
	own := work(t, upperGuide(low24, "rear: 24 thou, front: 24 thou")+"manual: {guide-clearance-least: 10 thou, guide-clearance-most: 14 thou}\n").Centring[0]
	assert.EqualValues(t, "equal-shims", own.Outcome)
	assert.Equal(t, "inside", own.Upper[0].AfterStand)
	assert.NotContains(t, codes(&own), "practice-limit-only")
}

// Nothing is said of shims where no guide is to be lifted.
func TestNoWordOfShimsBesideTheWordNotToLift(t *testing.T) {
	for _, front := range []string{"4 thou", "12 thou", "15.3 thou", "45 thou"} {
		t.Run(front, func(t *testing.T) {
			c := work(t, strings.Replace(upperGuide(low24, "rear: 30 thou, front: "+front), "crosshead: seated, ", "crosshead: seated, centre-guide: true, ", 1)).Centring[0]
			require.Contains(t, []string{"tight-now", "ask-pump-figure", "doubt-now", "uneven-now"}, string(c.Outcome))
			assert.NotContains(t, codes(&c), "centre-guide-first", front)
			assert.NotContains(t, codes(&c), "upper-under-least", front)
			assert.Empty(t, c.Procedures, front)
		})
	}
}
