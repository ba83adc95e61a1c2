package record

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
)

func words() evidence.Vocabulary {
	return evidence.Vocabulary{
		Signs: map[string]evidence.SignWord{
			"wiper-leaks": {Level: evidence.OfCylinder, Kinds: []string{"again", "first"}},
			"hiss":        {Level: evidence.OfChamber, Kinds: []string{"suction", "discharge"}},
			"knock":       {Level: evidence.OfPump, Kinds: []string{"once", "twice"}},
			"rod-marked":  {Level: evidence.OfCylinder},
		},
		Causes: map[string]evidence.Level{"clamp-loose": evidence.OfCylinder, "reverse": evidence.OfPump, "valve-cut": evidence.OfChamber},
		Checks: map[string]evidence.Level{"gauge-face": evidence.OfCylinder, "bump": evidence.OfPump, "listen": evidence.OfChamber},
		Openings: map[string]evidence.OpeningWord{
			"cover-off": {Level: evidence.OfCylinder}, "rod-out": {Level: evidence.OfCylinder, Needs: []string{"cover-off"}},
			"pot-open": {Level: evidence.OfChamber}, "platform-off": {Level: evidence.OfPump},
		},
		Works:  []string{"valves-changed", "wipers-changed"},
		Limits: map[string]evidence.Dimension{"cap-torque": evidence.Torque},
	}
}

const (
	triplex = "pump: {action: triplex-single-acting, state: isolated}\n"
	duplex  = "pump: {action: duplex-double-acting, state: isolated}\n"
)

// at reads a place as a crew writes it.
func at(text string) evidence.Place {
	for _, cylinder := range []string{"1", "2", "3", "left", "right"} {
		for _, end := range []string{"", evidence.HeadEnd, evidence.CrankEnd} {
			if p := (evidence.Place{Cylinder: cylinder, End: end}); p.String() == text {
				return p
			}
		}
	}
	return evidence.Place{Cylinder: text}
}

func apply(t require.TestingT, text string, edits ...Edit) string {
	out, _, err := Apply("case.yaml", []byte(text), words(), edits...)
	require.NoError(t, err, text)
	return string(out)
}

// change is a case's body before and after some edits.
type change struct {
	head, body string
	edits      []Edit
	want       string
}

func (c change) check(t *testing.T) {
	got := apply(t, c.head+c.body, c.edits...)
	assert.Equal(t, c.head+c.want, got)
	assert.Equal(t, got, apply(t, got, c.edits...), "said twice is said once")
}

// refusal is an edit that a case cannot take.
type refusal struct {
	head, body string
	edit       Edit
	want       string
}

func (c refusal) check(t *testing.T) {
	_, _, err := Apply("case.yaml", []byte(c.head+c.body), words(), c.edit)
	var refused *RefusedError
	require.ErrorAs(t, err, &refused)
	assert.Equal(t, c.want, err.Error())
}
