package words

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"telltale/engine"
	"telltale/engine/chances"
	"telltale/evidence"
)

func TestFindingsInWords(t *testing.T) {
	two := []evidence.Place{{Cylinder: "2"}}
	for want, f := range map[string]chances.Finding{
		"Wiper leaks: again (2)":                      {Sign: "w", Title: "Wiper leaks", Answer: "present", Kind: "again", KindTitle: "again", Places: two},
		"no: wiper leaks (1, 3)":                      {Sign: "w", Title: "Wiper leaks", Answer: "absent", Places: []evidence.Place{{Cylinder: "1"}, {Cylinder: "3"}}},
		"no: wiper leaks: again":                      {Sign: "w", Title: "Wiper leaks", Answer: "absent", Kind: "again", KindTitle: "again"},
		"SPM falls":                                   {Sign: "s", Title: "SPM falls", Answer: "present"},
		"no: SPM falls":                               {Sign: "s", Title: "SPM falls", Answer: "absent"},
		"measured: rod off centre: low (2)":           {Sign: "r", Title: "Rod off centre", Answer: "present", Kind: "low", KindTitle: "low", Places: two, Measured: true},
		"measured, in doubt: rod off centre":          {Sign: "r", Title: "Rod off centre", Answer: "present", Measured: true, InDoubt: true},
		"measured: no: rod off centre (2)":            {Sign: "r", Title: "Rod off centre", Answer: "absent", Places: two, Measured: true},
		"nothing found: bolts of the shoes (left)":    {Check: "b", Title: "Bolts of the shoes", Answer: chances.FoundNothing, Places: []evidence.Place{{Cylinder: "left"}}},
		"nothing found: look around the pump outside": {Check: "l", Title: "Look around the pump outside", Answer: chances.FoundNothing},
		"Valves changed (2), and it did not help":     {Work: "v", Title: "Valves changed", Answer: chances.NotCured, Places: two},
		"Valves changed, and it helped":               {Work: "v", Title: "Valves changed", Answer: chances.Cured},
	} {
		t.Run(want, func(t *testing.T) { assert.Equal(t, want, Finding(f)) })
	}
}

func TestWhatPointsToAFinding(t *testing.T) {
	both := []evidence.Place{{Cylinder: "2"}, {Cylinder: "3"}}
	r := &engine.Report{Found: []chances.Finding{
		{Number: 1, Sign: "k", Title: "Knock", Answer: "present"},
		{Number: 2, Sign: "r", Title: "Rod off centre", Answer: "present", Places: both, Measured: true},
	}}
	assert.Equal(t, []Weight{{"measured: rod off centre (2, 3)", 3}, {"Knock", -1}}, Weights(r.Found, []chances.Reason{{Finding: 2, Decibans: 3}, {Finding: 1, Decibans: -1}}))
	r.Unexplained = []chances.Unexplained{{Finding: 2, Place: both[1]}, {Finding: 1}}
	assert.Equal(t, []string{"Rod off centre (3)", "Knock"}, Unexplained(r), "at the one place")
	r.Unexplained[1] = chances.Unexplained{Finding: 2, Place: both[0]}
	assert.Equal(t, []string{"Rod off centre (3, 2)"}, Unexplained(r), "one line for all its places")
	assert.Equal(t, both, r.Found[1].Places)
}

func TestContradictionsInWords(t *testing.T) {
	c := chances.Contradiction{Check: "v", CheckTitle: "Valve and seat", Place: evidence.Place{Cylinder: "2"}, At: evidence.Place{Cylinder: "2"}}
	seen, proved := c, c
	seen.Sign, seen.Title, seen.Kind, seen.KindTitle = "d", "Valve damage", "fluid-cut", "cut through"
	proved.Cause, proved.Title = "s", "Suction valve cut"
	assert.Equal(t, `"valve and seat" found nothing (2), but the case says: valve damage: cut through (2). Which stands?`, Contradiction(seen))
	assert.Equal(t, `"valve and seat" found nothing (2), but this is confirmed: suction valve cut (2). Which stands?`, Contradiction(proved))
}
