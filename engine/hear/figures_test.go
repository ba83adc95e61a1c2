package hear

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/rules"
)

// Figures before and now are heard where one unit serves two of them, and where
// they can only be discharge pressures; a charge pressure is not taken for one.
func TestFiguresBeforeAndNow(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	ear := New(book)
	layout := evidence.Layout{Action: evidence.Triplex, Cylinders: evidence.DefaultCylinders(evidence.Triplex)}
	for told, want := range map[string]struct {
		sign    string
		figures []string
	}{
		"pressure dropped from 2800 to 2400 psi at 95 strokes":                   {"pressure-low", []string{"discharge was 2800 psi", "discharge 2400 psi", "speed 95 strokes/min"}},
		"pressure went from 2800 down to 2400, same strokes":                     {"pressure-low", []string{"discharge was 2800 psi", "discharge 2400 psi"}},
		"lost about four hundred pounds, 2800 down to 2400 at the same strokes":  {"pressure-low", []string{"discharge by 400 psi", "discharge was 2800 psi", "discharge 2400 psi"}},
		"gauge fell from twenty-nine hundred to about twenty-six hundred pounds": {"pressure-low", []string{"discharge was 2900 psi", "discharge 2600 psi"}},
		"charge pressure fell from 40 psi to 15 psi":                             {"charge-pressure-low", []string{"charge-pressure was 40 psi", "charge-pressure 15 psi"}},
		"it knocks at 60 and at 90 strokes":                                      {"knock-when-slower", []string{"speed 60 strokes/min", "speed 90 strokes/min"}},
	} {
		var got []string
		signs := map[string]bool{}
		for _, h := range ear.Hear(told, layout).Heard {
			signs[h.ID] = true
			for _, f := range h.Figures {
				how := map[[2]bool]string{{true, false}: "was ", {false, true}: "by "}[[2]bool{f.Was, f.Change}]
				got = append(got, fmt.Sprintf("%s %s%g %s", f.What, how, f.Value, f.Unit))
			}
		}
		assert.True(t, signs[want.sign], "%s: %v", told, signs)
		assert.Equal(t, want.figures, got, told)
	}
}
