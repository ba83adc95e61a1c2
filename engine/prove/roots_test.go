package prove

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/evidence"
	"telltale/rules"
)

// expecting reads one proof of a triplex with these expectations.
func expecting(t *testing.T, expect string) ([]Expectation, error) {
	t.Helper()
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	text := "proofs:\n  a:\n    title: A\n    basis: judgement\n    case: {pump: {action: triplex-single-acting, state: running}}\n    expect: {" + expect + "}\n"
	suite, err := Load(book, Dir{Files: fstest.MapFS{"proofs/a.yaml": {Data: []byte(text)}}, Name: "local"})
	if err != nil {
		return nil, err
	}
	return suite.Proofs[0].Expect, nil
}

// twoTroubles: a piston that a guide or gritty mud wore out, as likely at
// cylinder 3, and an oil pump that failed by itself.
func twoTroubles() *engine.Report {
	two, three := evidence.Place{Cylinder: "2"}, evidence.Place{Cylinder: "3"}
	roots := []chances.Root{
		{Cause: "guide-and-crosshead-worn", Place: two, Probability: 0.4},
		{Cause: "sandy-mud", Probability: 0.25}, {Cause: "liner-scored", Place: two, Probability: 0.25},
	}
	return &engine.Report{
		Troubles: []chances.Trouble{
			{
				Failed:      []chances.Told{{Cause: "piston-worn", Place: two, Probability: 0.5}, {Cause: "wiper-worn-out", Place: two, Probability: 0.2}},
				BroughtOnBy: roots, ByItself: 0.2,
				Or: []chances.Told{{Cause: "piston-worn", Place: three, Probability: 0.5}},
			},
			{Failed: []chances.Told{{Cause: "oil-pump-failing", Probability: 0.3}}, BroughtOnBy: []chances.Root{}, ByItself: 1},
		},
		Causes: []chances.Cause{{Cause: "piston-worn", Place: three, Probability: 0.5, BroughtOnBy: []chances.Root{{Cause: "sandy-mud", Probability: 0.3}}, ByItself: 0.6}},
	}
}

func TestWhatFailedAndWhatBroughtItOn(t *testing.T) {
	for expect, fault := range map[string]string{
		"failed: {piston-worn: 2}":                     "",
		"failed: {piston-worn: 3}":                     "", // the same chance
		"failed: {wiper-worn-out: 2}":                  "piston-worn (2) is told as what failed with 0.500; wiper-worn-out (2) has 0.000",
		"brought-on-by: {guide-and-crosshead-worn: 2}": "",
		"brought-on-by: sandy-mud":                     "guide-and-crosshead-worn (2) leads as the root of piston-worn (2) with 0.400; sandy-mud has 0.250, in place 2",
		"brought-on-by: nothing":                       "guide-and-crosshead-worn (2) leads as the root of piston-worn (2) with 0.400; it came by itself with 0.200",
		"root-within: [{cause: liner-scored, at: 2, of: {piston-worn: 2}, places: 2}]": "", // the same chance as the second
		"root-within: [{cause: liner-scored, at: 2, of: {piston-worn: 2}, places: 1}]": "guide-and-crosshead-worn (2) leads as the root of piston-worn (2) with 0.400; liner-scored (2) has 0.250, in place 3",
		"root-within: [{cause: sandy-mud, of: oil-pump-failing, places: 1}]":           "nothing of the book brings oil-pump-failing on, want sandy-mud",
		"root-within: [{cause: sandy-mud, of: {piston-worn: 3}, places: 1}]":           "",
		"root-within: [{cause: sandy-mud, of: {liner-scored: 1}, places: 1}]":          "liner-scored (1) is not told as what failed",
		"root-chance: [{cause: sandy-mud, of: {piston-worn: 2}, from: 0.2, to: 0.3}]":  "",
		"root-chance: [{cause: sandy-mud, of: {piston-worn: 3}, from: 0, to: 0.2}]":    "the chance of sandy-mud as the root of piston-worn (3) is 0.300, want 0 to 0.2",
		"by-itself: [{cause: piston-worn, at: 3, from: 0.5, to: 0.7}]":                 "",
		"by-itself: [{cause: oil-pump-failing, from: 0, to: 0.7}]":                     "the chance of nothing as the root of oil-pump-failing is 1.000, want 0 to 0.7",
		"troubles: 2": "",
		"troubles: 1": "2 troubles are told, want 1",
	} {
		t.Run(expect, func(t *testing.T) {
			wanted, err := expecting(t, expect)
			require.NoError(t, err)
			require.Len(t, wanted, 1)
			assert.Equal(t, fault, wanted[0].fault(twoTroubles()))
		})
	}
}

// The root that is meant is that of the failure which the proof names.
func TestTheRootIsThatOfTheNamedFailure(t *testing.T) {
	wanted, err := expecting(t, "failed: {piston-worn: 3}, brought-on-by: nothing")
	require.NoError(t, err)
	for _, e := range wanted {
		assert.Empty(t, e.fault(twoTroubles()))
	}
}

func TestNothingToldHoldsNothing(t *testing.T) {
	for _, expect := range []string{"failed: {piston-worn: 2}", "brought-on-by: sandy-mud", "brought-on-by: nothing"} {
		wanted, err := expecting(t, expect)
		require.NoError(t, err)
		assert.Equal(t, "nothing is told as what failed", wanted[0].fault(&engine.Report{}), expect)
	}
}

func TestMistakesInRootsHaveTheirPlace(t *testing.T) {
	for expect, message := range map[string]string{
		"failed: {piston-wron: 2}":                                                `local/proofs/a.yaml:6:23: unknown cause "piston-wron"`,
		"brought-on-by: nothin":                                                   "did you mean nothing?",
		"brought-on-by: {oil-pump-failing: 2}":                                    `local/proofs/a.yaml:6:30: oil-pump-failing is at no place "2" of this pump`,
		"root-within: [{cause: sandy-mud, places: 2}]":                            `an item of root-within has no "of"`,
		"root-chance: [{cause: sandy-mud, of: {piston-worn: 4}, from: 0, to: 1}]": `local/proofs/a.yaml:6:52: piston-worn is at no place "4" of this pump; expected one of: 1, 2, 3`,
		"by-itself: [{cause: oil-low, from: 1, to: 0}]":                           "the interval from 1 to 0 is empty",
		"troubles: many":                                                          "local/proofs/a.yaml:6:24: troubles must be a number",
		"brought-on: nothing":                                                     "did you mean brought-on-by?",
	} {
		_, err := expecting(t, expect)
		require.Error(t, err, expect)
		assert.Contains(t, err.Error(), message, expect)
	}
}
