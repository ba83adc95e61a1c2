package rules

import (
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// procedureLines is a procedure and a gauge for measuredBook.
const procedureLines = `procedures:
  shim-it:
    title: Shim it
    tools: [bar]
    basis: judgement
    steps:
      - {title: Turn it, do: "Turn it by hand.", signal: danger, caution: Hands out.}
      - {title: Shim it, for: [lower, shims-in], do: "Screws to {cap-torque}.", writes: after, picture: locking-wire, basis: "common practice, no source"}
gauges:
  block: {title: Block, resolves: 2 thou, checks: [gauge-face], do: Fill the gap., basis: judgement}
`

func TestProceduresAndGaugesLoad(t *testing.T) {
	b, err := load(measuredBook + procedureLines)
	require.NoError(t, err)
	p := b.Procedures.Get("shim-it")
	assert.Equal(t, []string{"bar"}, p.Tools)
	require.Len(t, p.Steps, 2)
	assert.Equal(t, ProcedureStep{Title: "Turn it", Do: "Turn it by hand.", Signal: "danger", Caution: "Hands out.", Basis: BasisJudgement}, p.Steps[0])
	assert.Equal(t, ProcedureStep{Title: "Shim it", Do: "Screws to {cap-torque}.", For: []Situation{AtLower, ShimsIn}, Writes: WritesAfter, Picture: LockingWire, Basis: BasisPractice}, p.Steps[1])
	assert.Len(t, p.In(AtLower, ShimsIn, SameEnds), 2)
	assert.Len(t, p.In(AtLower, ShimsOut), 1, "every situation of a step must hold")
	require.Len(t, b.GaugesFor("gauge-face"), 1)
	assert.InDelta(t, 2*25.4e-6, b.GaugesFor("gauge-face")[0].Resolves.SI, 1e-12)
	assert.Empty(t, b.GaugesFor("no-such-check"))
}

func TestEveryMistakeOfAProcedureHasItsPlace(t *testing.T) {
	for name, c := range map[string]struct{ old, new, want string }{
		"caution without signal": {"signal: danger, ", "", `missing | an item of steps has no "signal"`},
		"signal without caution": {", caution: Hands out.", "", "needs-other | a signal word goes with a caution:"},
		"unknown situation":      {"[lower, shims-in]", "[lowr, shims-in]", `unknown-name | unknown situation "lowr"; expected one of: after-lower, ask-first, different-ends, lower, same-ends, shims-in, shims-out, upper; did you mean lower?`},
		"unknown thing to write": {"writes: after", "writes: later", `unknown-name | unknown thing to write "later"; expected one of: after, before, name`},
		"unknown picture":        {"picture: locking-wire", "picture: locking-wier", `unknown-name | unknown picture "locking-wier"; expected one of: loaded-guide, locking-wire, over-crosshead, packing-order, round-flange, round-rod, shim-under-guide, valve-pot; did you mean locking-wire?`},
		"unknown limit":          {"{cap-torque}.", "{cap-torqe}.", `unknown-name | unknown limit "cap-torqe"`},
		"no text":                {"do: \"Turn it by hand.\", ", "", `missing | an item of steps has no "do"`},
		"unknown key":            {"title: Turn it,", "titel: Turn it,", `unknown-key | an item of steps has no key "titel"`},
		"no steps":               {"    steps:\n", "    step:\n", `missing | shim-it has no "steps"`},
		"basis of a step":        {`basis: "common practice, no source"}`, "basis: hearsay}", `missing | basis "hearsay" says too little`},
		"gauge of a pressure":    {"resolves: 2 thou", "resolves: 2 psi", `wrong-unit | "2 psi" is a pressure; expected a length`},
		"gauge of no check":      {"checks: [gauge-face]", "checks: [lissen]", `unknown-name | unknown check "lissen"`},
	} {
		t.Run(name, func(t *testing.T) {
			require.Contains(t, procedureLines, c.old)
			_, err := load(measuredBook + strings.Replace(procedureLines, c.old, c.new, 1))
			require.Error(t, err)
			mistaken(t, err, c.want)
			assert.Regexp(t, `^book/a\.yaml:\d+:\d+: `, err.Error())
		})
	}
}

// A stranger's book cannot take a caution or a step out of a procedure.
func TestALocalBookCannotChangeAProcedure(t *testing.T) {
	const local = `rulebook: {name: rig 7, version: "3"}
procedures:
  shims-at-a-guide: {%s, basis: judgement}
`
	over := func(change string) (*Book, error) {
		return LoadOver(fstest.MapFS{"local.yaml": {Data: []byte(strings.Replace(local, "%s", change, 1))}}, "local")
	}
	_, err := over("steps: [{title: In, do: Push it in.}]")
	require.ErrorContains(t, err, `local/local.yaml:3:29: a local book cannot change "steps" of shims-at-a-guide`)
	b, err := over("tools: [our own lifting wedge]")
	require.NoError(t, err)
	assert.Contains(t, strings.Join(b.Procedures.Get("shims-at-a-guide").Tools, ", "), "our own lifting wedge")
	assert.Contains(t, b.Procedures.Get("shims-at-a-guide").Tools, "pry bar")
}

// sentences parts a text; a blank or a limit is no end of one.
func sentences(text string) []string { return regexp.MustCompile(`[.?!:;] `).Split(text, -1) }

// handsOrForce are the words of steps in which something moves, presses or can
// fall on a hand.
var handsOrForce = regexp.MustCompile(`(?i)\b(turn|lift|pry|push|draw|press|ease|tighten|torque|clamps?|blocks?|guide end|leaf|wire|shim)\b`)

// ordering are the steps that say what comes first and have no hand in anything: a
// signal word before them would hurt nobody to leave out, and wear the others out.
var ordering = []string{"Lower guide first", "The engineer decides first", "Centre guide first"}

// Every step is short, and where hands or force are in it, it says the danger.
func TestStepsAreShortAndCautious(t *testing.T) {
	b, err := BuiltIn()
	require.NoError(t, err)
	require.NotEmpty(t, b.Procedures.List)
	cautions := 0
	for _, p := range b.Procedures.List {
		for _, s := range p.Steps {
			for _, sentence := range append(sentences(s.Do), sentences(s.Caution)...) {
				assert.LessOrEqual(t, len(strings.Fields(sentence)), 20, "%s: %s", s.Title, sentence)
			}
			assert.Regexp(t, `^[A-Z].*\.$`, s.Do, s.Title)
			if s.Caution != "" {
				assert.Regexp(t, `^[A-Z].*\.$`, s.Caution, s.Title)
			}
			if handsOrForce.MatchString(s.Do) && !slices.Contains(ordering, s.Title) {
				assert.NotEmpty(t, s.Caution, s.Title)
				cautions++
			}
		}
	}
	assert.GreaterOrEqual(t, cautions, 15)
	for _, g := range b.Gauges.List {
		for _, sentence := range sentences(g.Do) {
			assert.LessOrEqual(t, len(strings.Fields(sentence)), 20, "%s: %s", g.ID, sentence)
		}
	}
}

// What the steps must say, in this order; common practice, no source.
func TestTheStepsOfShimmingInTheirOrder(t *testing.T) {
	b, err := BuiltIn()
	require.NoError(t, err)
	p := b.Procedures.Get("shims-at-a-guide")
	for name, c := range map[string]struct {
		holds []Situation
		want  []string // in this order, in what is done or warned of
		not   string
	}{
		"lower, in": {[]Situation{AtLower, ShimsIn, SameEnds}, []string{
			"Isolated, locked", "centre guide, shim it before", "Do not shift the centre guide", "by hand with the barring gear", "at the end away from the one to be shimmed",
			"Never by power", "take the outer clamp off. Slack the inner clamp", "evenly with the pry bar", "Hands out while it lifts",
			"from the middle, right through, across the whole width", "flat on the support above the power frame. None sticks out",
			"{guide-clamp-torque}", "other end", "same thickness at both ends", "rod in its opening at back, middle and front", "No rod is joined before",
			"long feeler leaf right across", "maintenance engineer or the tool pusher", "screw that is not to torque", "Equipment engineer first", "new wire",
		}, "wedges"},
		"lower, out":       {[]Situation{AtLower, ShimsOut, SameEnds}, []string{"pry bar", "Draw out shims", "across the whole width", "{guide-clamp-torque}", "new wire"}, "Push the shims in"},
		"lower, different": {[]Situation{AtLower, ShimsIn, DifferentEnds, AskFirst}, []string{"Write down what he decides", "pry bar", "thickness that the engineer decided"}, "same thickness at both ends"},
		"upper, in": {[]Situation{AtUpper, ShimsIn, SameEnds}, []string{
			"Isolated, locked", "by hand with the barring gear", "They must carry its weight", "outer clamp off", "above the guide, from the middle", "{guide-clamp-torque}",
			"same thickness at both ends", "Measure over the crosshead at every place", "right across", "new wire",
		}, "pry bar"},
		"upper after lower": {[]Situation{AtUpper, ShimsIn, SameEnds, AfterLower}, []string{"Shim the lower guide first", "outer clamp off"}, "pry bar"},
	} {
		t.Run(name, func(t *testing.T) {
			text := ""
			for _, s := range p.In(c.holds...) {
				text += s.Title + ". " + s.Do + " " + s.Caution + "\n"
			}
			rest := text
			for _, want := range c.want {
				_, after, found := strings.Cut(rest, want)
				require.True(t, found, "%q is missing, or not in its place, in\n%s", want, text)
				rest = after
			}
			assert.NotContains(t, text, c.not)
			assert.NotContains(t, text, "{crosshead-cap-screw-torque}")
		})
	}
}
