package figures

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"telltale/evidence"
	"telltale/rules"
)

// On a triplex turning forward the lower guide carries the forward stroke and
// nothing presses on the way back; in reverse the upper guide carries it
// (common practice, no source). A duplex presses on both strokes.
func TestGuideTurnLoadsTheGuideThatTheRotationSays(t *testing.T) {
	book, err := rules.BuiltIn()
	require.NoError(t, err)
	quantity := func(text string, d evidence.Dimension) *evidence.Quantity {
		q, err := evidence.ParseQuantity(text, d)
		require.NoError(t, err)
		return &q
	}
	for _, action := range []evidence.Action{evidence.Triplex, evidence.Duplex} {
		t.Run(string(action), func(t *testing.T) {
			k := rules.BareCase(action)
			k.Pump.Liner, k.Pump.Stroke, k.Pump.PistonRod = quantity("6 1/2 in", evidence.Length), quantity("12 in", evidence.Length), quantity("2 1/2 in", evidence.Length)
			none, err := GuideTurn(book, k)
			require.NoError(t, err)
			assert.Nil(t, none, "no pressure, no load")
			k.Pump.Discharge = quantity("2800 psi", evidence.Pressure)
			turn, err := GuideTurn(book, k)
			require.NoError(t, err)
			require.Len(t, turn.Forward, angles)
			back, forward := (angles-1)/4, 3*(angles-1)/4
			assert.Positive(t, turn.Forward[forward], action)
			assert.Negative(t, turn.Reverse[forward], action)
			if action == evidence.Triplex {
				assert.Zero(t, turn.Forward[back])
				assert.Zero(t, turn.Reverse[back])
			} else {
				assert.Positive(t, turn.Forward[back])
				assert.Less(t, turn.Forward[back], turn.Forward[forward], "the rod takes area from the crank end")
				assert.Negative(t, turn.Reverse[back])
			}
			for i := range turn.Forward {
				assert.InDelta(t, -turn.Forward[i], turn.Reverse[i], 1e-9)
			}
			worked, err := Work(book, k)
			require.NoError(t, err)
			assert.InEpsilon(t, *worked.Pump.Side, turn.Forward[forward], 1e-9, "the most is what the pump's numbers say")
		})
	}
}
