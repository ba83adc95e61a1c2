package pumping

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// pressedDown is the oracle: the pin and the crosshead in a plane, x toward
// the fluid end and z up, and the force of the connecting rod along the line
// between them. It shares nothing with the package but the pump's numbers.
func pressedDown(p Geometry, c GuideCase, angle float64) float64 {
	radius, turn := p.Stroke/2, 1.0
	if c.Rotation == Forward {
		turn = -1 // pin at x = r cos, going back over 0..pi: its top goes to the fluid end if it goes back below
	}
	x, z := radius*math.Cos(angle), turn*radius*math.Sin(angle)
	along := math.Sqrt(p.ConnectingRod*p.ConnectingRod - z*z)
	speed := -radius * math.Sin(angle) * (1 + x/along)
	head := math.Pi / 4 * p.Liner * p.Liner
	crankEnd := head - math.Pi/4*p.Rod*p.Rod
	if p.Action == TriplexSingleActing {
		crankEnd = 0
	}
	fluid := c.Pressures.Suction*crankEnd - c.Pressures.Discharge*head // toward the fluid end
	if speed < 0 {
		fluid = c.Pressures.Discharge*crankEnd - c.Pressures.Suction*head
	}
	// The rod holds it along x; its line falls z over along.
	rod := -fluid
	return c.Weight + rod*z/along
}

func guideCases(t *testing.T) []Geometry {
	return []Geometry{triplex(t, 6.5, 12).geometry, duplex(t, 6.5, 18, 2.5).geometry}
}

// By mechanics, no source; 720 angles against the oracle.
func TestGuideForceOverATurn(t *testing.T) {
	for _, g := range guideCases(t) {
		p, err := New(g)
		require.NoError(t, err)
		for _, c := range []GuideCase{
			{Pressures: Pressures{Discharge: 1500 * psi}},
			{Pressures: Pressures{Discharge: 1500 * psi}, Rotation: Reverse},
			{Pressures: Pressures{Discharge: 1500 * psi, Suction: 40 * psi}, Weight: 800 * pound},
			{Pressures: Pressures{Discharge: 1500 * psi, Suction: 40 * psi}, Weight: 800 * pound, Rotation: Reverse},
		} {
			forward, back, err := p.GuideStrokes(c)
			require.NoError(t, err)
			assert.Equal(t, c.Weight, forward.Ends)
			assert.Equal(t, c.Weight, back.Ends)
			for i := range 720 {
				angle := rad(float64(i)/2 + 0.25)
				got, err := p.GuideForce(c, angle)
				require.NoError(t, err)
				assert.InDelta(t, pressedDown(g, c, angle), got, 1e-9*(1+math.Abs(forward.Middle)))
				stroke := back
				if angle > math.Pi {
					stroke = forward
				}
				assert.GreaterOrEqual(t, got, math.Min(stroke.Ends, stroke.Middle)-1e-6)
				assert.LessOrEqual(t, got, math.Max(stroke.Ends, stroke.Middle)+1e-6)
			}
		}
	}
}

// Which guide is loaded, by mechanics: as the engine's rotation test has it.
func TestWhichGuide(t *testing.T) {
	for _, c := range []struct {
		name                    string
		pump                    Pump
		rotation                Rotation
		upperForward, upperBack bool
	}{
		{"triplex forward", triplex(t, 6.5, 12), Forward, false, false},
		{"triplex reverse lifts and drops", triplex(t, 6.5, 12), Reverse, true, false},
		{"duplex forward", duplex(t, 6.5, 18, 2.5), Forward, false, false},
		{"duplex reverse", duplex(t, 6.5, 18, 2.5), Reverse, true, true},
	} {
		forward, back, err := c.pump.GuideStrokes(GuideCase{Pressures{Discharge: 1500 * psi}, 800 * pound, c.rotation})
		require.NoError(t, err)
		assert.Equal(t, c.upperForward, forward.Upper(), c.name)
		assert.Equal(t, c.upperBack, back.Upper(), c.name)
	}
	// A crosshead heavier than the side force stays down even in reverse.
	forward, _, err := triplex(t, 6.5, 12).GuideStrokes(GuideCase{Pressures{Discharge: 10 * psi}, 800 * pound, Reverse})
	require.NoError(t, err)
	assert.False(t, forward.Upper())
}

// Recomputed: duplex 6.5/2.5 in at 1500 psi and r/l 1/5.
func TestGuideForceOfADuplex(t *testing.T) {
	forward, back, err := duplex(t, 6.5, 18, 2.5).GuideStrokes(GuideCase{Pressures: Pressures{Discharge: 1500 * psi}})
	require.NoError(t, err)
	near(t, 10160, forward.Middle/pound, 1e-4)
	near(t, 8657, back.Middle/pound, 1e-4)
}

func TestGuideNeeds(t *testing.T) {
	p, err := New(Geometry{Action: TriplexSingleActing, Liner: 0.165, Stroke: 0.3})
	require.NoError(t, err)
	_, err = p.GuideForce(GuideCase{}, 0)
	assert.ErrorContains(t, err, "connecting-rod length")
	_, err = triplex(t, 6, 12).GuideForce(GuideCase{Rotation: 2}, 0)
	assert.Error(t, err)
	_, err = triplex(t, 6, 12).GuideForce(GuideCase{Weight: -1}, 0)
	assert.Error(t, err)
	_, err = triplex(t, 6, 12).GuideForce(GuideCase{Pressures: Pressures{Discharge: 1, Suction: 2}}, 0)
	assert.Error(t, err)
}
