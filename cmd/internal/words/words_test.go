package words

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"telltale/engine/figures"
	"telltale/evidence"
)

func TestMinutes(t *testing.T) {
	assert.Equal(t, []string{"under 1 min", "1 min", "239 min", "4.0 h"}, []string{Minutes(0.9), Minutes(1), Minutes(239), Minutes(240)})
}

func TestRangesOfSteps(t *testing.T) {
	assert.Equal(t, "1 to 13, 16, 24, 25", Ranges([]int{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 16, 24, 25}))
	assert.Equal(t, "step 4", Steps([]int{4}))
	assert.Empty(t, Steps(nil))
}

func TestPlaces(t *testing.T) {
	assert.Equal(t, "Leak", Titled("Leak", evidence.Place{}))
	assert.Equal(t, "Leak, cylinder 2 or left cylinder, head end", TitledAt("Leak", []evidence.Place{{Cylinder: "2"}, {Cylinder: "left", End: "head"}}))
}

// Lengths have the crew's unit first, and no more digits than their uncertainty
// leaves: 1 thou is 25.4 micrometres (NIST SP 811, appendix B).
func TestLengths(t *testing.T) {
	l := figures.Length{Mean: -0.3e-3, U: 5e-6}
	assert.Equal(t, "-11.8 thou (-0.300 mm)", InThou.Say(l))
	assert.Equal(t, "0.300 mm (11.8 thou) low, give or take 0.010 mm", Ruler{Metric: true}.Stands(l, "low", "high")+Ruler{Metric: true}.Give(l))
	assert.Equal(t, "11.8 low", InThou.ShortStands(l, "low", "high"))
	assert.Equal(t, "0.0", InThou.Short(figures.Length{Mean: -1e-9, U: 5e-6}))
	assert.Equal(t, "19000 lbf (84.4 kN)", Force(84400))
}
