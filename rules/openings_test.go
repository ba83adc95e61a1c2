package rules

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

// pieceBook is smallBook with a rod that breaks: its piece comes out before
// anything turns, in place of drawing the piston.
var pieceBook = strings.NewReplacer(
	"  knock: {", "  broken: {title: Broken, ask: Broken, of: cylinder, pump: any, basis: judgement}\n  knock: {",
	"safety:\n", `  piston-out: {title: Out, of: cylinder, needs: [cover-off], safety: [turn], minutes: 5, do: Out., close: {title: In, minutes: 5, do: In.}, basis: judgement}
  piece-out: {title: Piece out, of: cylinder, where: [broken], stands-for: [piston-out], before-turning: true, needs: [cover-off], minutes: 5, do: Out., close: {title: In, minutes: 5, do: In.}, basis: judgement}
safety:
  turn: {title: Turn, for: named, signal: danger, turns: true, after: [lock-off], minutes: 1, do: Turn., basis: judgement}
`,
	"stops:\n", `  feel-lines: {title: Feel, of: pump, pump: not-isolated, minutes: 5, do: Feel., finds: {rod-crooked: surely}, results: [{if: A gap, then: Tighten., points-to: [rod-crooked]}], basis: judgement}
  look-in: {title: Look in, of: cylinder, pump: isolated, openings: [piston-out], minutes: 5, do: Look., finds: {rod-crooked: surely}, results: [{if: A gap, then: Tighten., points-to: [rod-crooked]}], basis: judgement}
stops:
`).Replace(smallBook)

func TestMistakesOfOpeningsHaveTheirPlace(t *testing.T) {
	_, err := load(pieceBook)
	require.NoError(t, err)
	for name, c := range map[string]struct{ old, new, want string }{
		"no sign":              {"where: [broken], ", "", "missing | opening piece-out has before-turning or stands-for, so it must say where: the signs of which one shows there"},
		"a sign of the pump":   {"where: [broken]", "where: [knock]", "does-not-fit | where of piece-out is of the pump but needs opening piece-out, which is of the cylinder"},
		"stands behind itself": {"before-turning: true, needs: [cover-off]", "before-turning: true, needs: [piston-out]", "unsafe | opening piece-out waits for itself"},
		"turned on the way":    {"before-turning: true, needs: [cover-off]", "before-turning: true, safety: [turn], needs: [cover-off]", "unsafe | opening piece-out must be open before anything turns the pump, but a safety step of it, or of what it needs, turns it"},
		"an isolation that turns": {"for: isolation, signal: danger, in-full: true", "for: isolation, turns: true, signal: danger, in-full: true",
			"unsafe | lock-off turns the pump, so it must be for: named, behind the isolation; read isolation"},
		"isolated before lines that must be open": {"pump: not-isolated, minutes", "pump: not-isolated, safety: [turn], minutes",
			"unsafe | feel-lines needs the pump not-isolated, but its safety step lock-off comes after the pump is stopped or isolated"},
		"closed where its stand-in is needed": {"openings: [piston-out]", "openings: [piece-out], closed: [piston-out]", "unsafe | check look-in wants piston-out closed, but it, or a check before it, needs it open"},
	} {
		t.Run(name, func(t *testing.T) {
			require.Equal(t, 1, strings.Count(pieceBook, c.old), name)
			_, err := load(strings.Replace(pieceBook, c.old, c.new, 1))
			require.Error(t, err, name)
			mistaken(t, err, c.want)
		})
	}
}

// A book in which what comes before a check only now and then opens what the
// check wants closed is sound: the check is left out then.
func TestAConditionalOrderMayOpenWhatMustBeClosed(t *testing.T) {
	const after = ", closed: [piston-out], after-when: [{when: present(\"knock\"), after: [look-in]}]"
	_, err := load(strings.Replace(pieceBook, "  gauge-face: {title: Gauge, of: cylinder, pump: isolated", "  gauge-face: {title: Gauge, of: cylinder, pump: isolated"+after, 1))
	assert.NoError(t, err)
}

func TestWhatComesBeforeTurning(t *testing.T) {
	book, err := load(pieceBook)
	require.NoError(t, err)
	one, two := evidence.Place{Cylinder: "1"}, evidence.Place{Cylinder: "2"}
	lookIn := book.Checks.Get("look-in")
	for _, c := range []struct {
		finding, open string
		left          []evidence.At
		known         bool
		opened        string // for the piston of cylinder 1
		may           bool   // look into cylinder 2
	}{
		{"broken: absent", "", nil, true, "piston-out", true},
		{"broken: {1: present}", "", []evidence.At{{ID: "piece-out", Place: one}}, true, "piece-out", true},
		{"broken: {2: present}", "", []evidence.At{{ID: "piece-out", Place: two}}, true, "piston-out", true},
		{"broken: present", "", nil, false, "piston-out", false},
		{"broken: {present: somewhere, absent: [1]}", "", nil, false, "piston-out", false},
		{"broken: {1: present}", ", open: [piece-out: 1]", nil, true, "piece-out", true},
	} {
		t.Run(c.finding, func(t *testing.T) {
			k, err := evidence.ParseCase("c.yaml", []byte("pump: {action: triplex-single-acting, state: isolated"+c.open+"}\nfindings: {"+c.finding+"}"), book.Vocabulary())
			require.NoError(t, err, c.finding)
			left, known := book.BeforeTurning(k)
			assert.Equal(t, c.left, left, c.finding)
			assert.Equal(t, c.known, known, c.finding)
			assert.Equal(t, c.opened, book.ToOpen("piston-out", one, k).ID, c.finding)
			assert.Equal(t, c.may, book.MayTurn(lookIn, two, k), c.finding)
			assert.Equal(t, c.open != "", book.IsOpen("piston-out", one, k.Pump.Open), c.finding)
		})
	}
}
