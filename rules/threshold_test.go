package rules

import (
	"errors"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/evidence/source"
)

// readingsLine is the readings section of measuredBook.
const readingsLine = "readings: {upper-guide-least: gap-least, upper-guide-most: gap-most, rod-load: load-most, misread: 0.02, significant: 2, guard: 1.645, most-pieces: 4, shim-series: [5 thou, 1 thou, 0.05 mm], suction-factor: 1.4, suction-doubt: 0.1, air-pressure: 14.7 psi, vapour-pressure: 0.5 psi, crank-ratio: 0.2, confidence: 0.95, like-one-dead: 2, life-shape-least: 0.5, life-shape-most: 8, usual-loss: 0.04, basis: judgement}\n"

// measuredBook is smallBook with what readings need; the tests spoil one line.
var measuredBook = strings.NewReplacer(
	"limits: {cap-torque: {title: Torque of the cap screws, dimension: torque, basis: judgement}}", `limits:
  cap-torque: {title: Torque of the cap screws, dimension: torque, basis: judgement}
  gap-least: {title: Least gap, dimension: length, value: 15 thou, basis: judgement}
  gap-most: {title: Most gap, dimension: length, value: 25 thou, basis: judgement}
  load-most: {title: Rod load, dimension: force, basis: judgement}
  wear-most: {title: Wear, dimension: length, basis: judgement}`,
	"  knock: {title: Knock,", `  off-centre: {title: Off centre, ask: Where, of: cylinder, pump: any, kinds: {low: low, high: high}, basis: judgement}
  short: {title: Short, ask: Short, of: pump, pump: any, basis: judgement}
  changed: {title: Changed, ask: Changed, of: chamber, pump: any, basis: judgement}
  knock: {title: Knock,`,
).Replace(smallBook) + readingsLine + `thresholds:
  low: {title: Low, of: rod-low-by, above: {limit: wear-most, else: 5 thou}, shows: {off-centre: low}, basis: judgement}
  lost: {title: Lost, of: output-loss, above: 0.08, below: 0.18, shows: short, when: 'action_is("duplex-double-acting")', basis: judgement}
parts:
  valve: {title: Valve, of: chamber, often: changed, times: 1.5, basis: judgement}
advice:
  equal-shims: {title: Shims, do: ["Turn {cap-torque}."], basis: judgement}
`

func TestSignsLivesAndReadingsLoad(t *testing.T) {
	b, err := load(measuredBook)
	require.NoError(t, err)
	low := b.Thresholds.Get("low")
	assert.Equal(t, RodLowBy, low.Of)
	assert.Equal(t, []string{"off-centre", "low"}, []string{low.Sign, low.Kind})
	assert.Equal(t, MeasuredKind{Level: evidence.OfCylinder, Block: "rod-in-opening"}, low.Of.Kind())
	assert.Nil(t, low.Below)
	lost := b.Thresholds.Get("lost")
	assert.Equal(t, MeasuredKind{Level: evidence.OfPump, Share: true, Block: "tank-test"}, lost.Of.Kind())
	assert.Equal(t, "", lost.Kind)
	assert.False(t, lost.When.HoldsForPump(&BareCase(evidence.Triplex).Pump))
	require.Contains(t, b.Vocabulary().Parts, "valve")
	assert.Equal(t, evidence.OfChamber, b.Vocabulary().Parts["valve"].Level)
	assert.Equal(t, 1.5, b.Parts.Get("valve").Times)
	assert.Equal(t, []string{"Turn {cap-torque}."}, b.Advice.Get("equal-shims").Do)
	r := b.Readings
	assert.Equal(t, []string{"gap-least", "gap-most", "load-most"}, []string{r.UpperLeast, r.UpperMost, r.RodLoad})
	var series []string
	for _, q := range r.ShimSeries {
		series = append(series, q.Written)
	}
	assert.Equal(t, []string{"1 thou", "0.05 mm", "5 thou"}, series, "thinnest first, whatever the unit")
	assert.InEpsilon(t, 14.7*6894.757, r.AirPressure.SI, 1e-6) // NIST SP 811, from memory
	assert.Equal(t, 4, r.MostPieces)
}

// The manual comes before the book's limit, and that before the figure to weigh by.
func TestWhichThresholdCounts(t *testing.T) {
	b, err := load(measuredBook)
	require.NoError(t, err)
	thou := func(x float64) evidence.Quantity {
		return evidence.Quantity{Dimension: evidence.Length, SI: x * 25.4e-6, Written: "of the manual"}
	}
	manual := &evidence.Case{Manual: map[string]evidence.Quantity{"wear-most": thou(8), "gap-least": thou(9)}}
	blank := &evidence.Case{}
	for name, c := range map[string]struct {
		t     Bound
		k     *evidence.Case
		thou  float64
		ok    bool
		basis string
	}{
		"manual before else":     {*b.Thresholds.Get("low").Above, manual, 8, true, "this pump's manual"},
		"else":                   {*b.Thresholds.Get("low").Above, blank, 5, true, "the rulebook's figure to weigh by, no limit"},
		"manual before the book": {Bound{Limit: "gap-least"}, manual, 9, true, "this pump's manual"},
		"the book's limit":       {Bound{Limit: "gap-least"}, blank, 15, true, "judgement"},
		"no figure":              {Bound{Limit: "wear-most"}, blank, 0, false, ""},
	} {
		t.Run(name, func(t *testing.T) {
			at, ok := c.t.In(b, c.k)
			assert.InDelta(t, c.thou*25.4e-6, at, 1e-12, name)
			assert.Equal(t, c.ok, ok, name)
			if ok {
				_, basis := c.t.Text(b, c.k, BasisJudgement)
				assert.Equal(t, c.basis, basis, name)
			}
		})
	}
	figure, basis := b.Thresholds.Get("lost").Above.Text(b, blank, BasisPractice)
	assert.Equal(t, "8 %", figure)
	assert.Equal(t, BasisPractice, basis, "a figure that is not judged rests on what the sign rests on")
}

func TestEveryMistakeOfReadingsHasItsPlace(t *testing.T) {
	for name, c := range map[string]struct{ old, new, want string }{
		"unknown value":       {"of: rod-low-by", "of: rod-low", `unknown-name | unknown measured value "rod-low"; did you mean rod-low-by?`},
		"no value":            {"of: rod-low-by, ", "", `missing | low has no "of"`},
		"unknown sign":        {"{off-centre: low}", "{of-centre: low}", `unknown-name | unknown sign "of-centre"; expected one of: changed, knock, off-centre, short, wiper-leaks; did you mean off-centre?`},
		"wrong kind":          {"{off-centre: low}", "{off-centre: lo}", `unknown-name | unknown kind "lo"; expected one of: high, low; did you mean low?`},
		"kind of none":        {"shows: short", "shows: {short: some}", `unknown-name | unknown kind "some"`},
		"shows nothing":       {", shows: {off-centre: low}", "", `missing | low has no "shows"`},
		"level":               {"shows: {off-centre: low}", "shows: short", `does-not-fit | low`},
		"level of the pump":   {"shows: short", "shows: {off-centre: low}", `does-not-fit | output-loss is measured by pump, but off-centre belongs to a cylinder`},
		"no threshold":        {"above: {limit: wear-most, else: 5 thou}, ", "", `missing | low has neither above: nor below:`},
		"unknown limit":       {"limit: wear-most", "limit: wear", `unknown-name | unknown limit "wear"; expected one of: cap-torque, gap-least, gap-most, load-most, wear-most; did you mean wear-most?`},
		"torque for a length": {"limit: wear-most", "limit: cap-torque", `does-not-fit | the limit cap-torque is a torque and does not fit here`},
		"limit for a share":   {"above: 0.08", "above: {limit: wear-most, else: 0.08}", `does-not-fit | the limit wear-most is a length and does not fit here`},
		"else of a pressure":  {"else: 5 thou", "else: 5 psi", `wrong-unit | "5 psi" is a pressure; expected a length`},
		"length for a share":  {"above: 0.08", "above: 5 thou", `out-of-range | a share must be a number from 0 to 1; read "5 thou"`},
		"share over one":      {"above: 0.08", "above: 8", `out-of-range | a share must be a number from 0 to 1; read "8"`},
		"share for a length":  {"{limit: wear-most, else: 5 thou}", "0.08", `not-a-quantity | "0.08" is not a quantity: the unit is missing; expected a length`},
		"threshold key":       {"else: 5 thou", "els: 5 thou", `unknown-key | a threshold has no key "els"; expected one of: else, limit; did you mean else?`},
		"condition":           {`action_is("duplex-double-acting")`, `action_is("duplex")`, `bad-condition | in the condition: action_is does not know "duplex"`},
		"sign key":            {"of: rod-low-by", "off: x, of: rod-low-by", `unknown-key | low has no key "off"`},
		"sign basis":          {"shows: {off-centre: low}, basis: judgement", "shows: {off-centre: low}", `missing | low has no "basis"`},
		"life's sign":         {"often: changed", "often: change", `unknown-name | unknown sign "change"; expected one of: changed,`},
		"life's level":        {"title: Valve, of: chamber", "title: Valve, of: cylinder", `does-not-fit | valve belongs to a cylinder, but changed to a chamber`},
		"life's times":        {"times: 1.5", "times: 0.5", `out-of-range | times must be a number from 1 to 100; read "0.5"`},
		"advice's limit":      {"{cap-torque}.\"], basis", "{cap-torqe}.\"], basis", `unknown-name | unknown limit "cap-torqe"; expected one of: cap-torque`},
		"lower than nothing":  {"dimension: length, value: 15 thou,", "dimension: length, as-low-as: 6 thou,", `needs-other | as-low-as goes with a value: that is no lower than it`},
		"lower than higher":   {"value: 15 thou,", "value: 15 thou, as-low-as: 16 thou,", `needs-other | as-low-as goes with a value: that is no lower than it`},
		"lower by a pressure": {"value: 15 thou,", "value: 15 thou, as-low-as: 16 psi,", `wrong-unit | "16 psi" is a pressure; expected a length`},
		"advice's text":       {`do: ["Turn {cap-torque}."]`, `does: []`, `unknown-key | equal-shims has no key "does"`},
		"no readings":         {readingsLine, "", `missing | no file has a section "readings"`},
		"readings' key":       {"misread: 0.02", "misreading: 0.02", `missing | readings has no "misread"`},
		"misread":             {"misread: 0.02", "misread: 0.6", `out-of-range | misread must be a number from 0 to 0.5; read "0.6"`},
		"unknown least":       {"upper-guide-least: gap-least", "upper-guide-least: gap", `unknown-name | unknown limit "gap"`},
		"force for a length":  {"upper-guide-most: gap-most", "upper-guide-most: load-most", `does-not-fit | the limit load-most is a force; expected a length`},
		"length for a force":  {"rod-load: load-most", "rod-load: gap-most", `does-not-fit | the limit gap-most is a length; expected a force`},
		"pieces":              {"most-pieces: 4", "most-pieces: 5", `out-of-range | most-pieces must be a number from 1 to 4; read "5"`},
		"shim of a pressure":  {"[5 thou, 1 thou", "[5 psi, 1 thou", `wrong-unit | "5 psi" is a pressure; expected a length`},
		"shim of nothing":     {"[5 thou, 1 thou", "[0 thou, 1 thou", `out-of-range | "0 thou" is no thickness of a shim; is the unit right?`},
		"shim of a foot":      {"[5 thou, 1 thou", "[1 ft, 1 thou", `out-of-range | "1 ft" is no thickness of a shim; is the unit right?`},
		"too many shims":      {"[5 thou, 1 thou", "[" + strings.Repeat("5 thou, ", 23) + "1 thou", `too-large | shim-series has 25 thicknesses; the most is 24`},
		"air":                 {"air-pressure: 14.7 psi", "air-pressure: 14.7 ft", `wrong-unit | "14.7 ft" is a length; expected a pressure`},
		"crank ratio":         {"crank-ratio: 0.2", "crank-ratio: 5", `out-of-range | crank-ratio must be a number from 0.01 to 0.9; read "5"`},
		"confidence":          {"confidence: 0.95", "confidence: 95", `out-of-range | confidence must be a number from 0.5 to 0.999; read "95"`},
		"readings' basis":     {"usual-loss: 0.04, basis: judgement", "usual-loss: 0.04", `missing | readings has no "basis"`},
	} {
		t.Run(name, func(t *testing.T) {
			require.Contains(t, measuredBook, c.old)
			b, err := load(strings.Replace(measuredBook, c.old, c.new, 1))
			require.Nil(t, b)
			var input *source.InputError
			require.True(t, errors.As(err, &input), "%v", err)
			mistaken(t, err, c.want)
			assert.Regexp(t, regexp.MustCompile(`^book/a\.yaml:\d+:\d+: |^the rulebook:1:1: `), err.Error())
		})
	}
}

func TestThePlaceOfAMistakeInASign(t *testing.T) {
	_, err := load(strings.Replace(measuredBook, "{off-centre: low}", "{off-centre: lo}", 1))
	var input *source.InputError
	require.ErrorAs(t, err, &input)
	require.Len(t, input.Problems, 1)
	lines := strings.Split(measuredBook, "\n")
	p := input.Problems[0].Pos
	assert.True(t, strings.HasPrefix(lines[p.Line-1][p.Col-1:], "low}"), "%s: %s", p, lines[p.Line-1])
}

// A local book adds a sign and a word of advice and changes a figure of the
// readings; the rest of the built-in entry stays.
func TestALocalBookChangesReadingsSignsAndAdvice(t *testing.T) {
	const local = `rulebook: {name: rig 7, version: "3"}
readings: {misread: 0.05, shim-series: [2 thou, 10 thou], basis: "source: our own records"}
thresholds:
  rod-measured-low: {title: By the long leaf, basis: judgement}
  rig-liner-taper: {title: Liner tapered, of: liner-taper-by, above: 10 thou, shows: {liner-worn: round}, basis: judgement}
advice:
  equal-shims: {do: [Call the toolpusher first.], basis: common practice, no source}
`
	over := func(text string) (*Book, error) {
		return LoadOver(fstest.MapFS{"local.yaml": {Data: []byte(text)}}, "local")
	}
	b, err := over(strings.Replace(local, "common practice, no source", `"common practice, no source"`, 1))
	require.NoError(t, err)
	base, err := BuiltIn()
	require.NoError(t, err)
	assert.Equal(t, 0.05, b.Readings.Misread)
	assert.Len(t, b.Readings.ShimSeries, 2)
	assert.Equal(t, base.Readings.Significant, b.Readings.Significant)
	low := b.Thresholds.Get("rod-measured-low")
	assert.Equal(t, base.Thresholds.Get("rod-measured-low").Above, low.Above)
	assert.Equal(t, base.Thresholds.Get("rod-measured-low").Title+" (local book: By the long leaf)", low.Title)
	assert.Equal(t, "low", low.Kind)
	assert.Equal(t, LinerTaperBy, b.Thresholds.Get("rig-liner-taper").Of)
	assert.Equal(t, append(base.Advice.Get("equal-shims").Do, "Local book: Call the toolpusher first."), b.Advice.Get("equal-shims").Do)
	assert.Equal(t, base.Advice.Get("equal-shims").Title, b.Advice.Get("equal-shims").Title)

	for name, c := range map[string]struct{ text, want string }{
		"readings without a ground": {"rulebook: {name: rig, version: '1'}\nreadings: {misread: 0.05}\n", "local/local.yaml:2:11: readings is changed without a basis; say on what ground"},
		"sign without a ground":     {"rulebook: {name: rig, version: '1'}\nsigns: {rod-measured-low: {above: 8 thou}}\n", "local/local.yaml:2:9: rod-measured-low is changed without a basis; say on what ground"},
		"advice without a ground":   {"rulebook: {name: rig, version: '1'}\nadvice: {equal-shims: {do: [x]}}\n", "local/local.yaml:2:10: equal-shims is changed without a basis; say on what ground"},
		"a wrong figure":            {"rulebook: {name: rig, version: '1'}\nreadings: {misread: 2, basis: judgement}\n", `local/local.yaml:2:21: misread must be a number from 0 to 0.5; read "2"`},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := over(c.text)
			assert.ErrorContains(t, err, c.want, name)
		})
	}
}

// Every line of advice is a whole sentence: a comma in a YAML list without
// quotes would cut it in two.
func TestAdviceIsWholeSentences(t *testing.T) {
	b, err := BuiltIn()
	require.NoError(t, err)
	require.NotEmpty(t, b.Advice.List)
	for _, a := range b.Advice.List {
		for _, line := range a.Do {
			assert.Regexp(t, `^[A-Z].*[.?:]$`, line, "%s at %s", a.ID, a.Pos)
		}
	}
	for _, s := range b.Stops.List {
		for _, line := range s.Do {
			assert.Regexp(t, `^[A-Z].*[.?:]$`, line, "%s at %s", s.ID, s.Pos)
		}
	}
}

// A sign that the book has can be seen on some pump, and its sign is shown
// by a cause; else a reading would be held against nothing.
func TestSignsOfTheBuiltInBookLeadSomewhere(t *testing.T) {
	b, err := BuiltIn()
	require.NoError(t, err)
	kinds := map[string]bool{}
	for _, c := range b.Causes.List {
		links := append([]Link{}, c.Shows...)
		for _, over := range c.ShowsWhen {
			links = append(links, over.Links...)
		}
		for _, r := range c.Brings {
			links = append(links, r.Shows...)
		}
		for _, link := range links {
			if link.Total == 0 {
				continue // taken away
			}
			kinds[link.Sign+" "] = true
			for i, k := range b.Signs.Get(link.Sign).Kinds {
				kinds[link.Sign+" "+k.ID] = kinds[link.Sign+" "+k.ID] || link.Kinds[i] > 0
			}
		}
	}
	for _, s := range b.Thresholds.List {
		assert.True(t, kinds[s.Sign+" "+s.Kind], "no cause shows %s %s, which the sign %s stands for", s.Sign, s.Kind, s.ID)
		assert.True(t, s.When.HoldsForPump(&BareCase(evidence.Triplex).Pump) || s.When.HoldsForPump(&BareCase(evidence.Duplex).Pump), s.ID)
	}
	for _, l := range b.Parts.List {
		if l.Sign == "" {
			continue
		}
		assert.True(t, kinds[l.Sign+" "+l.Kind], "no cause shows %s, which many changes of a %s stand for", l.Sign, l.ID)
	}
}

// A screw's torque stands only where that screw is: the clamps of a guide are
// not the screws of the extension rod, and a head is no valve cover.
func TestEveryScrewHasItsOwnTorque(t *testing.T) {
	b, err := BuiltIn()
	require.NoError(t, err)
	for _, id := range []string{"guide-clamp-torque", "cylinder-head-torque", "cover-bolt-torque", "liner-retainer-torque", "crosshead-cap-screw-torque"} {
		require.NotNil(t, b.Limits.Get(id), id)
		assert.Nil(t, b.Limits.Get(id).Value, "%s belongs to the maker's manual", id)
	}
	guides := 0
	for _, a := range b.Advice.List { // advice is about rods in their openings and guides
		for _, line := range a.Do {
			assert.NotContains(t, line, "{crosshead-cap-screw-torque}", a.ID)
			if strings.Contains(line, "{guide-clamp-torque}") {
				guides++
				assert.Contains(t, line, "lamps", a.ID)
			}
		}
	}
	assert.Positive(t, guides)
	assert.Contains(t, b.Openings.Get("cylinder-open").Close.Do, "{cylinder-head-torque}")
	assert.Contains(t, b.Openings.Get("valve-pot-open").Close.Do, "{cover-bolt-torque}")
}
